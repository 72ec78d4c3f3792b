"""Readings from hands, files and the logbook: what is doubled, old, impossible or unclear is asked about."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from bankwright.forms.faults import QuestionError
from bankwright.forms.readings import Instant, Reading
from bankwright.logbook.logbook import open_logbook
from bankwright.match.collect import Typed, collected, from_csv
from bankwright.match.entry import meter_of
from bankwright.match.verdicts import match_of
from support.match_banks import bank, readings

NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)


def codes(raised: pytest.ExceptionInfo[QuestionError]) -> set[str]:
    return {fault.code for fault in raised.value.faults}


def written(folder: Path, text: str) -> Path:
    target = folder / "r.csv"
    target.write_text(text, encoding="utf-8")
    return target


def test_two_readings_of_one_module_are_asked_about():
    with pytest.raises(QuestionError) as raised:
        collected(bank(), Typed(voltage=("M1=52.6 V", "M1=53.1 V", "M2=52.6 V")))
    assert codes(raised) == {"reading-doubled"}


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_commas_semicolons_and_tabs_part_a_file_and_heads_may_be_large(tmp_path, mark):
    text = mark.join(("Module", "Voltage", "Rested")) + "\n" + mark.join(("M1", "52.6 V", "6 h")) + "\n"
    found = from_csv(written(tmp_path, text))
    assert found.voltage == ("M1=52.6 V",)
    assert found.rested == ("M1=6 h",)


def test_a_column_that_nobody_knows_is_no_silence(tmp_path):
    with pytest.raises(QuestionError) as raised:
        from_csv(written(tmp_path, "module,voltage,rest\nM1,52.6 V,6 h\n"))
    assert codes(raised) == {"columns-unknown"}


def test_rows_without_a_module_or_a_voltage_are_faults(tmp_path):
    typed = from_csv(written(tmp_path, "module,voltage,rested\n,52.6 V,\nM2,,6 h\nM3,52.6 V,6 h\nM1,52.6 V,1 h,x\n"))
    with pytest.raises(QuestionError) as raised:
        collected(bank(), typed)
    assert codes(raised) == {"module-missing", "voltage-missing", "row-too-long"}


def test_a_date_that_can_be_read_two_ways_is_not_read(tmp_path):
    typed = from_csv(written(tmp_path, "module;voltage;when\nM1;52.6 V;03/04/2026 18:00\nM2;52.6 V;2026-11-24 18:00\n"))
    with pytest.raises(QuestionError, match="year first") as raised:
        collected(bank(), typed, now=NOW)
    assert [fault.path for fault in raised.value.faults] == ["M1"]


def test_what_no_display_and_no_room_shows_is_refused():
    for beside in ({"soc": ("M1=130 %",)}, {"temperature": ("M1=150 degC",)}):
        with pytest.raises(QuestionError, match="M1"):
            collected(bank(), Typed(voltage=("M1=52.6 V",), **beside))


def test_a_slipped_decimal_point_is_asked_about():
    with pytest.raises(QuestionError, match=r"was 53\.2 V meant"):
        collected(bank(), Typed(voltage=("M1=5.32 V", "M2=53.2 V")))


def test_old_readings_of_the_logbook_do_not_join_with_new_ones(tmp_path):
    three = bank()
    with open_logbook(tmp_path / "bank.toml", three, write=True) as book:

        def read(module: str, value: float, when: str, quantity: str = "voltage", unit: str = "V") -> Reading:
            return Reading(quantity, module, value, None, None, None, f"{value} {unit}", "", Instant(when))

        book.append_readings(
            [
                read("M1", 53.2, "2026-11-25T02:50:00+00:00"),
                read("M2", 53.2, "2026-11-25T02:52:00+00:00"),
                read("M3", 53.2, "2026-06-01T10:00:00+00:00"),
                read("M1", 30.0, "2026-06-01T10:00:00+00:00", "temperature_degc", "degC"),
                read("M2", 15.0, "2026-11-25T02:52:00+00:00", "temperature_degc", "degC"),
            ],
            step="match",
        )
        given = collected(three, Typed(from_log=True, meter="0.05 % + 1 digits"), book, now=NOW)
    assert [reading.temperature_degc for reading in given] == [None, 15.0, None]  # that of June says nothing of now
    assert given[0].gain == pytest.approx(0.0005)  # the meter named stands for readings that name none
    found = match_of(three, given)
    assert found.may_join == "unknown"
    old = next(f for f in found.joining if f.code == "M-READ-2")
    assert (old.verdict, old.at) == ("unknown", ("M3",))
    assert found.equally_charged == "unknown"


def test_what_was_not_read_is_no_equal_charge():
    three = bank()
    near_full = readings(three, {"M1": "56.02 V", "M2": "56.05 V"}, last="charged")
    found = match_of(three, near_full)
    assert next(f for f in found.charge if f.code == "M-CHARGE-1").verdict == "pass"
    assert found.equally_charged == "unknown"


def test_digits_that_alone_decide_ask_for_a_finer_meter():
    three = bank()
    coarse = meter_of("0.5 % + 3 digits", three)
    assert coarse is not None
    given = readings(three, {"M1": "53.2 V", "M2": "53.0 V", "M3": "53.2 V"}, meter="0.5 % + 3 digits")
    into = next(f for f in match_of(three, given).joining if f.code == "M-JOIN-1")
    assert into.verdict == "fail"
    assert "finer meter" in into.do.text()


def test_equal_readings_give_plain_zeros_and_two_names():
    three = bank()
    found = match_of(three, readings(three, dict.fromkeys(("M1", "M2", "M3"), "53.20 V"), temperature_degc=25.0))
    into = next(f for f in found.joining if f.code == "M-JOIN-1").figure
    assert into.value == 0.0
    # the last digit, 0.01 V, may lie against one module and for the other two: 2 x 0.01 V over 9 + 4.5 mohm and leads
    assert into.high == pytest.approx(0.02 / 13.5e-3, rel=0.06)
    window = next(f for f in found.joining if f.code == "M-JOIN-5")
    assert len(set(window.at)) == 2
    evening = next(f for f in found.charge if f.code == "M-EVEN-1")
    assert evening.text.text().startswith("Joined and left alone")
    assert evening.verdict == "assumed"  # the kind gives no curve of its own
    assert [item.settle.key.rsplit(".", 1)[1] for item in evening.inputs if item.assumed] == ["ocv"]


@pytest.mark.slow
def test_without_a_trip_the_continuous_limit_bounds_it():
    three = bank()
    kind = three.modules[0].kind
    bare = replace(kind, charge=replace(kind.charge, trip=None), discharge=replace(kind.discharge, trip=None))
    asked = three.replaced(modules=tuple(replace(module, kind=bare) for module in three.modules))
    near = match_of(asked, readings(asked, {"M1": "53.20 V", "M2": "53.10 V", "M3": "53.20 V"}))
    assert next(f for f in near.joining if f.code == "M-JOIN-3").verdict == "pass"
    far = match_of(asked, readings(asked, {"M1": "53.20 V", "M2": "51.10 V", "M3": "53.20 V"}))
    trip = next(f for f in far.joining if f.code == "M-JOIN-3")
    assert trip.verdict == "unknown"
    assert trip.text.text().startswith("Whether")


def test_the_charge_after_a_discharge_starts_from_what_the_discharge_left():
    # an old large module beside small ones: at the end of the discharge it holds more; started from rest the charge
    # would begin with hundreds of amperes between the modules that nothing real ever sees
    from bankwright.match.extend import extension

    mixed = bank("BAAA")
    worn = replace(mixed.modules[0], capacity_ah=160.0)
    found = extension(mixed.replaced(modules=(worn, *mixed.modules[1:])), power=8000.0)
    assert max(found.peak) < 170.0
    assert set(found.peak_in) <= {"discharge", "charge after it"}


def test_digits_that_may_turn_a_current_count_against_the_limit_of_charge():
    # read 0.1 V above with 0.1 V of digits on each side: as read it gives, in truth it may take
    two = bank("AA", takes=4)
    given = readings(two, {"M1": "53.3 V", "M2": "53.2 V"}, meter="0 % + 1 digits", temperature_degc=25.0)
    found = match_of(two, given)
    into = next(f for f in found.joining if f.code == "M-JOIN-1")
    assert into.at == ("M2",)
    turned = found.inrush.sided(found.inrush.joined(2), "charge")
    assert turned[2, 0] == pytest.approx(0.1 / 18.2e-3, rel=0.03)
    assert turned[1, 0] == 0.0


@pytest.mark.slow
def test_two_meters_widen_what_flows_after_joining():
    three = bank()
    given = readings(three, {"M1": "53.20 V", "M2": "53.20 V", "M3": "53.20 V"}, meter="0.5 % + 1 digits")
    one = match_of(three, given).settled
    two = match_of(three, [replace(given[0], meter="another"), *given[1:]]).settled
    assert one.current[2, 0].min() > 1.0  # 0.01 V up, the others 0.01 V down: each module may give, and take
    assert one.current[0, 0].max() < -1.0
    assert two.current[2, 0].max() > 2 * one.current[2, 0].max()


def test_digits_of_equal_readings_put_no_current_through_a_lead_that_is_off():
    # each module may give or take a little; the lead of an idle inverter carries nothing whatever the digits hide
    three = bank()
    given = readings(three, dict.fromkeys(("M1", "M2", "M3"), "53.2 V"), meter="0.05 % + 2 digits")
    lines = next(f for f in match_of(three, given).joining if f.code == "M-JOIN-7")
    # outermost: one module 0.2 V up, the others 0.2 V down, over 9 + 4.5 mohm
    assert lines.figure.high <= 0.4 / 13.5e-3
    assert "I1" not in lines.at[0]
