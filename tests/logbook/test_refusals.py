"""Wrong input is named and nothing is stored; what is merely strange is kept."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankwright.forms.readings import Instant, Instrument, Reading
from bankwright.logbook.entries import Entry
from bankwright.logbook.errors import EntryRefused
from bankwright.logbook.logbook import Logbook, open_logbook
from bankwright.logbook.meters import described, limits_of
from bankwright.logbook.plausible import faults_of
from bankwright.logbook.typed import moment, quantity_of, typed_reading
from support.logbank import CLAMP, StepClock, two_modules, volts

pytestmark = pytest.mark.quick

NOW = StepClock().now()
BANK = two_modules()


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    with open_logbook(tmp_path / "orchard.toml", BANK, clock=StepClock()) as logbook:
        yield logbook
        assert list(logbook.entries()) == []


@pytest.mark.parametrize(
    ("at", "text", "said"),
    [
        ("M1", "526 V", "526 V; it must be from −80.0 V to 80.0 V, with 16 cells in series"),
        ("M1+", "526 V", "16 cells in series"),
        ("M3", "52.6 V", 'M3 is no place in this bank. Did you mean "M'),
        ("m1", "52.6 V", 'Did you mean "M1"'),
        ("M1.c17", "3.3 V", "M1 has 16 cells"),
        ("M1.c3", "52.6 V", "must be from −5.00 V to 5.00 V"),
        ("L1+@M1+", "1000 N m", "to 50.0 N·m, or the stud is gone"),
        ("L1+@M1+", "-3 mohm", "0 Ω or more"),
        ("M1", "900 degC", "to 400 °C"),
        ("M1", "5000 A", "20 times what M1 gives"),
        ("M1", "52.6", "a unit is missing"),
        ("M1", "V", "no number"),
        ("M1", "52,6 V", "a comma is no decimal point"),
        ("M1", "52.6 volt", '"volt" is no unit'),
    ],
)
def test_a_wrong_reading_is_named_and_not_stored(book: Logbook, at: str, text: str, said: str) -> None:
    with pytest.raises(EntryRefused, match="Nothing was stored") as caught:
        book.append_reading(typed_reading(at, text, NOW, bank=BANK).reading)
    assert said in str(caught.value)


def test_all_that_is_wrong_is_said_at_once(book: Logbook) -> None:
    with pytest.raises(EntryRefused) as caught:
        typed_reading("m1", "52.6", NOW, bank=BANK)
    assert [fault.code for fault in caught.value.faults] == ["place-unknown", "unit-missing"]


@pytest.mark.parametrize(
    ("at", "text", "quantity", "value"),
    [
        ("M1", "52.6 V", "voltage", 52.6),
        ("M1+", "−52.6 V", "voltage", -52.6),
        ("M1.c3", "3312 mV", "cell_voltage", 3.312),
        ("L1+@M1+", "2.3 mV", "voltage_drop", 0.0023),
        ("L1+@M1+", "10 N m", "torque", 10.0),
        ("M1", "68 degF", "temperature_degc", 20.0),
        ("M1", "0 A", "current", 0.0),
        ("L1+", "92 uohm", "resistance", 92e-6),
        ("M1", "40 %", "soc", 0.4),
    ],
)
def test_the_unit_and_the_place_tell_the_quantity(at: str, text: str, quantity: str, value: float) -> None:
    reading = typed_reading(at, text, NOW, bank=BANK).reading
    assert reading.quantity == quantity
    assert reading.value == pytest.approx(value)
    assert list(faults_of(_entry(reading), BANK)) == []


def test_limits_come_from_the_text_when_it_carries_them_and_from_the_meter_otherwise() -> None:
    given_limits = typed_reading("M1", "52.6 V +- 0.3 V", NOW).reading
    assert [given_limits.low, given_limits.high] == pytest.approx([52.3, 52.9])
    by_meter = typed_reading("M1", "52.6 V", NOW, meter="clamp", instruments=[CLAMP]).reading
    assert [by_meter.low, by_meter.high] == pytest.approx([52.137, 53.063])
    assert typed_reading("M1", "52.6 V", NOW).reading.low is None


def test_a_count_is_the_last_digit_as_typed_when_the_resolution_is_not_known() -> None:
    meter = replace(CLAMP, resolution=None)
    assert limits_of(52.6, "52.60 V", "voltage", meter) == pytest.approx((52.6 - 0.283, 52.6 + 0.283))
    assert limits_of(0.0526, "52.6 mV", "voltage", meter) == pytest.approx((0.0526 - 0.000463, 0.0526 + 0.000463))
    assert limits_of(52.6, "52.6 V", "voltage", replace(meter, percent_of_reading=None)) is None


def test_the_smallest_range_that_holds_the_value_is_taken() -> None:
    fine = Instrument("clamp", "voltage", 0.003, 1, 0.001, 0.0, 6.0)
    typed = typed_reading("M1.c1", "3.312 V", NOW, bank=BANK, meter="clamp", instruments=[CLAMP, fine])
    assert typed.instrument == fine
    assert typed_reading("M1", "52.6 V", NOW, bank=BANK, meter="clamp", instruments=[CLAMP, fine]).instrument == CLAMP


def test_a_meter_that_is_not_known_or_reads_something_else_is_refused() -> None:
    with pytest.raises(EntryRefused, match=r"Did you mean .clamp"):
        typed_reading("M1", "52.6 V", NOW, meter="clmap", instruments=[CLAMP])
    with pytest.raises(EntryRefused, match="clamp reads voltage, not current"):
        typed_reading("M1", "52.6 A", NOW, meter="clamp", instruments=[CLAMP])
    with pytest.raises(EntryRefused, match="0 to 60 V; 70 V is beyond it"):
        typed_reading("M1", "70 V", NOW, meter="clamp", instruments=[CLAMP])


def test_an_instrument_is_described_as_its_data_sheet_does() -> None:
    assert described("clamp", "voltage", "0.5 % + 2 digits", "0 V to 60 V") == replace(CLAMP, resolution=None)
    assert described("clamp", "voltage", "0.5%") == Instrument("clamp", "voltage", 0.005)
    with pytest.raises(EntryRefused, match=r'Write "0.5 % \+ 2 digits"'):
        described("clamp", "voltage", "good")
    with pytest.raises(EntryRefused, match="unit of"):
        described("clamp", "voltage", "0.5 %", "0 A to 60 A")


def test_a_time_by_hand_may_not_lie_ahead() -> None:
    assert moment("08:30", NOW).wall == "2026-03-01T08:30:00+01:00"
    assert moment("2026-02-27T18:00+01:00", NOW).wall == "2026-02-27T18:00:00+01:00"
    assert moment("08:30", NOW).boot == ""
    with pytest.raises(EntryRefused, match="ahead of now"):
        moment("10:00", NOW)
    with pytest.raises(EntryRefused, match='Write "14:02"'):
        moment("yesterday", NOW)


def test_a_tick_without_step_an_empty_note_and_no_quantity_are_refused(book: Logbook) -> None:
    with pytest.raises(EntryRefused, match="belongs to a step"):
        book.tick("")
    with pytest.raises(EntryRefused, match="note is empty"):
        book.note("  ")
    with pytest.raises(EntryRefused, match=r"Did you mean .voltage"):
        book.append_reading(replace(volts("M1", 52.6), quantity="voltge"))
    with pytest.raises(EntryRefused, match="no entry 7"):
        book.strike(7, "why")


@given(st.text(max_size=20), st.sampled_from(["M1", "M1.c3", "L1+@M1+", "nowhere"]))
def test_any_text_is_read_or_refused_by_name(text: str, at: str) -> None:
    try:
        reading = typed_reading(at, text, NOW, bank=BANK).reading
    except EntryRefused:
        return
    assert reading.quantity == quantity_of(text, at, BANK)


def _entry(reading: Reading) -> Entry:
    return Entry("reading", "x", reading.at, quantity=reading.quantity, value=reading.value, when=Instant(NOW.wall))
