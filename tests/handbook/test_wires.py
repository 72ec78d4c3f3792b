"""Wire sizes against the standard's formula, printed tables and each other."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankwright.handbook.tables import load
from bankwright.handbook.wires import UnknownSize, counts_as, labels, nearest_label, ohm_per_m, wire
from support.outside_tables import outside_table

INCH = 0.0254


@pytest.mark.parametrize(("label", "inches", "mm2"), [("4/0 AWG", 0.46, 107.219), ("6 AWG", 0.16202, 13.302)])
def test_gauge_sizes(label, inches, mm2):
    # ASTM B258 (formula read; 4/0 is 0.4600 in by definition); areas agree with a printed gauge table.
    assert wire(label).diameter == pytest.approx(inches * INCH, rel=1e-4)
    assert wire(label).area == pytest.approx(mm2 * 1e-6, rel=1e-4)


def test_every_gauge_agrees_with_its_printed_row():
    # Rounded areas of a distributor's printed table agree (ASTM B258 rows).
    for row in outside_table("astm-b258/awg").rows:
        size = wire(row["size"])
        assert size.diameter == pytest.approx(row["diameter_mm"] * 1e-3, rel=1e-4)
        assert size.area == pytest.approx(row["area_mm2"] * 1e-6, rel=2e-4)


def test_circular_mils():
    # Definition: 500 kcmil is 253.35 mm2.
    assert wire("500 kcmil").area == pytest.approx(253.35e-6, rel=1e-4)
    assert wire("2/0 AWG").area == pytest.approx(67.431e-6, rel=1e-4)


def test_two_printed_columns_of_table_8_agree():
    # NEC Chapter 9 Table 8: ohm/kft (copy) and ohm/km (from memory), rounded separately: within 0.6 percent.
    table = load("nec-2023/ch9-t8")
    for row in table.rows:
        by_km = table.value(row, "ohm_per_km")
        if by_km is not None:
            assert table.value(row, "ohm_per_kft") == pytest.approx(by_km, rel=0.006)


def test_printed_resistance_is_a_little_above_that_of_the_bare_section():
    # Stranded conductors are some percent longer than the cable: Table 8 lies 1 to 3 percent above rho/area at 20 degC.
    for label in labels("awg"):
        solid = 1.7241e-8 / wire(label).area
        assert 1.005 < ohm_per_m(label).value / solid < 1.035, label


def test_metric_resistance_depends_on_the_strands():
    # IEC 60228 tables 2 and 3 (read): 35 mm2 0.554 flexible, 0.524 class 2.
    assert ohm_per_m("35 mm2").value == pytest.approx(0.554e-3)
    assert ohm_per_m("35 mm2", "class 5").value == pytest.approx(0.554e-3)
    assert ohm_per_m("35 mm2", "class 2").value == pytest.approx(0.524e-3)


def test_sizes_come_in_order():
    for system in ("awg", "mm2"):
        areas = [wire(label).area for label in labels(system)]
        assert areas == sorted(areas)
        ohms = [ohm_per_m(label).value for label in labels(system)]
        assert ohms == sorted(ohms, reverse=True)


@given(st.sampled_from(labels("mm2") + labels("awg")), st.sampled_from(["awg", "mm2"]))
def test_a_size_never_counts_as_more_metal_than_it_has(label, system):
    other = counts_as(label, system)
    if other is not None:
        assert ohm_per_m(other).value >= ohm_per_m(label).value
        assert wire(other).system == system


def test_a_metric_name_is_not_its_metal():
    # 35 mm2 class 5 has the resistance of 31.1 mm2 of standard copper, less than 2 AWG (33.6 mm2).
    assert 1.7241e-8 / ohm_per_m("35 mm2").value == pytest.approx(31.1e-6, abs=0.05e-6)
    assert counts_as("35 mm2", "awg") == "3 AWG"
    assert counts_as("120 mm2", "awg") == "4/0 AWG"
    assert counts_as("4/0 AWG", "mm2") == "95 mm2"


@pytest.mark.parametrize(
    ("written", "right"),
    [
        ("0000", "4/0 AWG"),
        ("AWG 00", "2/0 AWG"),
        ("60 mm2", "50 mm2"),
        ("35mm²", "35 mm2"),
        ("260 MCM", "250 kcmil"),
        ("5 AWG", "4 AWG|6 AWG"),
        ("5/0 AWG", "4/0 AWG"),
        ("70", "70 mm2"),
    ],
)
def test_the_nearest_right_label_is_named(written, right):
    with pytest.raises(UnknownSize) as caught:
        wire(written)
    assert caught.value.nearest in right.split("|")
    assert nearest_label(written) == caught.value.nearest


@given(st.text(max_size=12))
def test_whatever_is_written_there_is_a_nearest_label(text):
    assert nearest_label(text) in labels("awg") + labels("mm2")
