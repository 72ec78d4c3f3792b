"""Quantities as written: metric and US are equal, tolerances are limits, what is not in the table is refused."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankwright.bank.file.quantity_text import QuantityFault, example, parse, parse_paired, parse_range
from bankwright.bank.sizes import stud_diameter, stud_label, wire_area, wire_label, wire_sizes
from bankwright.forms.quantities import QUANTITIES

pytestmark = pytest.mark.quick

NUMBERS = st.decimals(-9999, 9999, places=3, allow_nan=False, allow_infinity=False)


@pytest.mark.parametrize(
    ("us", "metric", "quantity"),
    [
        # exact: the inch is 25.4 mm, the pound 0.45359237 kg, the pound-force that times 9.80665 N (yard and pound
        # agreement of 1959; NIST SP 811:2008, appendix B) [from memory]
        ("12 in", "304.8 mm", "length"),
        ("1 ft", "0.3048 m", "length"),
        ("1 1/2 in", "38.1 mm", "length"),
        ("3/8 in", "9.525 mm", "length"),
        ("3 U", "133.35 mm", "height"),
        ("100 lb", "45.359237 kg", "mass"),
        ("95 degF", "35 degC", "temperature_degc"),
        ("-40 degF", "-40 degC", "temperature_degc"),
        ("14.4 degF", "8 K", "temperature_difference"),
        ("100 in lb", "11.298482902762 N m", "torque"),
        ("10 ft lb", "13.558179483314 N m", "torque"),
        ("1 ft2", "0.09290304 m2", "floor_area"),
        ("1 psf", "47.880258980336 Pa", "pressure"),
    ],
)
def test_us_and_metric_are_equal(us: str, metric: str, quantity: str) -> None:
    assert parse(us, quantity).nominal == pytest.approx(parse(metric, quantity).nominal, rel=1e-12)


@given(NUMBERS, st.sampled_from([q for q in QUANTITIES.values() if q.name != "temperature_degc"]), st.data())
def test_every_unit_is_its_factor(number: object, row: object, data: st.DataObject) -> None:
    from bankwright.forms.quantities import Quantity

    assert isinstance(row, Quantity)
    unit = data.draw(st.sampled_from(row.units))
    value = parse(f"{number} {unit.symbol}", row.name).nominal
    assert value == pytest.approx(float(Fraction(str(number))) * unit.factor + unit.offset, rel=1e-12, abs=1e-300)


@given(NUMBERS, NUMBERS)
def test_a_tolerance_is_a_pair_of_limits(middle: object, half: object) -> None:
    width = abs(float(str(half)))
    value = parse(f"{middle} V +- {width} V", "voltage")
    assert value.nominal == float(str(middle))
    assert value.low == pytest.approx(value.nominal - width)
    assert value.high == pytest.approx(value.nominal + width)


@pytest.mark.parametrize(
    ("text", "quantity", "nominal", "low", "high"),
    [
        ("14 mohm", "resistance", 0.014, 0.014, 0.014),
        ("14 mohm +- 3 mohm", "resistance", 0.014, 0.011, 0.017),
        ("14 mΩ ± 3000 µΩ", "resistance", 0.014, 0.011, 0.017),
        ("14 mohm +/- 50 %", "resistance", 0.014, 0.007, 0.021),
        ("14 mohm +4 mohm -2 mohm", "resistance", 0.014, 0.012, 0.018),
        ("11 mohm to 17 mohm", "resistance", 0.014, 0.011, 0.017),
        ("40 degC +- 2 K", "temperature_degc", 40, 38, 42),
        ("100 degF +- 9 degF", "temperature_degc", 340 / 9, 295 / 9, 385 / 9),
        ("\u22125 degC", "temperature_degc", -5, -5, -5),
        ("93 % +- 2 %", "share", 0.93, 0.91, 0.95),
        (" 20\u00a0mF ", "capacitance", 0.02, 0.02, 0.02),
    ],
)
def test_forms_of_tolerance(text: str, quantity: str, nominal: float, low: float, high: float) -> None:
    value = parse(text, quantity)
    assert (value.nominal, value.low, value.high) == pytest.approx((nominal, low, high))


def test_forty_microohm_is_the_nearest_float() -> None:
    assert parse("40 uohm", "resistance").nominal == 4e-05


def test_ranges_and_pairs() -> None:
    assert parse_range("-5 degC to 40 degC", "temperature_degc") == (-5, 40)
    assert parse_range("20 degC", "temperature_degc") == (20, 20)
    trip, delay = parse_paired("150 A for 3 s", "for", "current", "time")
    assert (trip.nominal, delay) == (150, 3)
    assert parse_paired("150 A", "for", "current", "time")[1] is None


@pytest.mark.parametrize(
    ("text", "quantity", "code"),
    [
        ("1,5 m", "length", "decimal-comma"),
        ("1.299,99 m", "length", "decimal-comma"),
        ("1 000 m", "length", "unit-unknown"),
        ("3 ft 6 in", "length", "two-part"),
        ("3ft6in", "length", "two-part"),
        ("350", "length", "unit-missing"),
        ("-5 to 40 degC", "temperature_degc", "unit-missing"),
        ("4/0", "length", "unit-unknown"),
        ("m", "length", "not-a-quantity"),
        ("", "length", "not-a-quantity"),
        ("nan m", "length", "not-a-quantity"),
        ("inf m", "length", "not-a-quantity"),
        ("1e400 m", "length", "out-of-range"),
        ("1e99 m", "length", "out-of-range"),
        ("1/0 in", "length", "not-a-quantity"),
        ("1/2 m", "length", "not-a-quantity"),
        ("5 A", "length", "wrong-dimension"),
        ("5 kg", "voltage", "wrong-dimension"),
        ("5 Volts", "voltage", "unit-unknown"),
        ("5 M", "length", "unit-unknown"),
        ("-300 degC", "temperature_degc", "out-of-range"),
        ("40 degC +- 5 %", "temperature_degc", "not-a-quantity"),
        ("5 V +- 1 V +- 2 V", "voltage", "not-a-quantity"),
        ("5 V to 6 V to 7 V", "voltage", "not-a-quantity"),
        ("0x10 V", "voltage", "unit-unknown"),
        ("1_0 V", "voltage", "unit-unknown"),
        ("٣ V", "voltage", "not-a-quantity"),
    ],
)
def test_what_is_not_in_the_table_is_refused(text: str, quantity: str, code: str) -> None:
    with pytest.raises(QuantityFault) as caught:
        parse(text, quantity)
    assert caught.value.code == code
    assert caught.value.hint


@given(st.text(max_size=20), st.sampled_from(sorted(QUANTITIES)))
def test_any_text_is_read_or_refused(text: str, quantity: str) -> None:
    try:
        value = parse(text, quantity)
    except QuantityFault:
        return
    assert value.low <= value.nominal <= value.high


@pytest.mark.parametrize("name", sorted(QUANTITIES))
def test_the_example_of_each_quantity_reads(name: str) -> None:
    assert parse(example(name), name).is_exact


@pytest.mark.parametrize(
    ("text", "label"),
    [
        ("4/0 AWG", "4/0 AWG"),
        ("AWG 4/0", "4/0 AWG"),
        ("0000 AWG", "4/0 AWG"),
        ("2 awg", "2 AWG"),
        ("70mm2", "70 mm2"),
        ("70 mm²", "70 mm2"),
        ("350 kcmil", "350 kcmil"),
        ("350 MCM", "350 kcmil"),
    ],
)
def test_wire_sizes_are_labels(text: str, label: str) -> None:
    assert wire_label(text) == label


@pytest.mark.parametrize("text", ["4/0", "5/0 AWG", "5 AWG", "71 mm2", "70", "70 mm", "", "AWG", "350 in2"])
def test_no_other_size_is_one(text: str) -> None:
    with pytest.raises(QuantityFault) as caught:
        wire_label(text)
    assert caught.value.code == "unknown-size"
    assert caught.value.hint


def test_areas_agree_with_the_printed_ones() -> None:
    # circular mils of the sizes as printed: 4/0 211600, 1/0 105600, 2 66360, 8 16510 (NEC chapter 9 table 8, 2023)
    # [from memory], one circular mil being pi/4 x (0.0254 mm)^2 by definition
    for label, cmil, last_digit in (
        ("4/0 AWG", 211600, 100),
        ("1/0 AWG", 105600, 100),
        ("2 AWG", 66360, 20),
        ("8 AWG", 16510, 10),
    ):
        printed = cmil * 3.141592653589793 / 4 * (0.0254e-3) ** 2
        assert abs(wire_area(label) - printed) <= last_digit * 5.067e-10
    assert wire_area("70 mm2") == pytest.approx(70e-6)
    assert list(wire_sizes()) == sorted(
        wire_sizes(), key=lambda label: (label.split()[1] != "AWG", label.split()[1] != "kcmil", wire_area(label))
    )


def test_studs_are_labels() -> None:
    assert [stud_label(text) for text in ("M8", "m 8", "3/8 in", '3/8"')] == ["M8", "M8", "3/8 in", "3/8 in"]
    assert stud_diameter("3/8 in") == pytest.approx(9.525e-3)
    with pytest.raises(QuantityFault, match="no stud size"):
        stud_label("M7")
