"""Limits of Match pinned from both sides, 0.1 % of the limit apart from it, and the limits themselves.

All are common practice without a source unless their line in match/sources, match/stops or match/entry names one.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from bankwright.forms.finding import Finding
from bankwright.match import charge_checks, sources, stops, uneven
from bankwright.match.cautions import band_of
from bankwright.match.charge_checks import ChargeSubject
from bankwright.match.charge_range import ChargeRange
from bankwright.match.entry import ModuleReading, faults_of_readings, stale
from bankwright.match.extend import is_unlike
from bankwright.match.uneven import uneven_sharing
from bankwright.match.verdicts import match_of
from support.match_banks import bank, readings

pytestmark = pytest.mark.quick

NO_METER = "0 % + 0 digits"
THREE = bank()


def codes(found: list[Finding]) -> set[str]:
    return {finding.code for finding in found}


def range_of(module: str, low: float, high: float) -> ChargeRange:
    return ChargeRange(module, low, high, (), (52.0, 52.0), loaded=False)


def equal(low: float, high: float) -> Finding:
    """The verdict on two modules, one at 50 %, the other between two ends above it."""
    ranges = (range_of("M1", 0.5, 0.5), range_of("M2", 0.5 + low, 0.5 + high))
    return next(iter(charge_checks.equal.function(ChargeSubject((), ranges, None))))


@pytest.mark.parametrize(
    ("apart", "verdict"), [(0.04757, "pass"), (0.04767, "unknown"), (0.04995, "unknown"), (0.05005, "fail")]
)
def test_charges_are_equal_within_five_points(apart: float, verdict: str) -> None:
    # from 5 % below the limit on the readings do not settle it: unknown, with what would
    finding = equal(apart, apart)
    assert finding.limits == (None, 0.05)
    assert finding.verdict == verdict


def rested(seconds: float) -> Finding:
    one = tuple(replace(reading, rested=seconds) for reading in readings(THREE, {"M1": "52.60 V"}))
    return next(iter(charge_checks.rested.function(ChargeSubject(one, (), None))))


@pytest.mark.parametrize(
    ("seconds", "limit", "inside"),
    [(1798.2, 1800.0, False), (1801.8, 10800.0, False), (10789.2, 10800.0, False), (10810.8, 10800.0, True)],
)
def test_half_an_hour_is_loaded_and_three_hours_are_rested(seconds: float, limit: float, inside: bool) -> None:
    # 1800 s and 3 h: derived from two-branch relaxation with time constants of 35 s and 1000 s.
    finding = rested(seconds)
    assert finding.limits == (limit, None)
    assert (finding.verdict == "pass") is inside


def sagged(fall: float, ago: float = 3600.0, rest: float = 6 * 3600.0) -> set[str]:
    reading = readings(THREE, {"M1": "52.60 V"}, meter=NO_METER)[0]
    return codes(list(stops._sagging(replace(reading, rested=rest, earlier=((ago, reading.voltage + fall),)))))


def test_a_module_sags_by_a_tenth_of_a_volt() -> None:
    assert not sagged(0.0999)
    assert len(sagged(0.1001)) == 1


def test_the_earlier_reading_counts_when_it_was_rested_itself() -> None:
    assert not sagged(0.5, ago=3600.0, rest=3600.0 + 10789.2)
    assert sagged(0.5, ago=3600.0, rest=3600.0 + 10810.8)


def far_low(volts: float, others: float | None = None, **kind: object) -> list[Finding]:
    one = bank("A", **kind) if kind else bank("A")
    reading = readings(one, {"M1": f"{volts:.6f} V"}, meter=NO_METER)[0]
    return list(stops._far_low(one.modules[0], reading, others))


def test_a_module_stops_below_its_cut_off_and_is_asked_about_below_three_volts_a_cell() -> None:
    # 16 cells: discharge cell trip of the kind 2.5 V = 40 V; 3.0 V a cell = 48 V.
    assert [f.verdict for f in far_low(39.96)] == ["fail"]
    assert far_low(39.96)[0].limits == (40.0, None)
    assert [f.verdict for f in far_low(40.04)] == ["unknown"]
    assert [f.verdict for f in far_low(47.952)] == ["unknown"]
    assert far_low(48.048) == []


def test_without_a_cell_trip_the_published_cut_off_stands_in() -> None:
    kind = THREE.modules[0].kind
    silent = replace(THREE.modules[0], kind=replace(kind, discharge=replace(kind.discharge, cell_trip=None)))
    low, high = (readings(THREE, {"M1": f"{volts} V"}, meter=NO_METER)[0] for volts in (39.96, 40.04))
    assert [f.verdict for f in stops._far_low(silent, low, None)] == ["fail"]
    assert [f.verdict for f in stops._far_low(silent, high, None)] == ["unknown"]


def test_nearly_empty_and_far_below_the_others_is_a_stop() -> None:
    assert [f.verdict for f in far_low(44.0, others=44.0 / 16 + 0.0999)] == ["unknown"]
    assert [f.verdict for f in far_low(44.0, others=44.0 / 16 + 0.1001)] == ["fail"]


@pytest.mark.parametrize(("share", "asked"), [(0.00599, True), (0.00601, False)])
def test_a_reading_near_that_of_another_count_of_cells_is_asked_about(share: float, asked: bool) -> None:
    volts = {"M1": f"{15 * 3.3 * (1 + share):.6f} V", "M2": "52.80 V", "M3": "52.80 V"}
    found = list(stops._odd(THREE, readings(THREE, volts, meter=NO_METER)))
    assert bool(found) is asked


@pytest.mark.parametrize(("share", "told"), [(0.7992, True), (0.8008, False)])
def test_a_module_clearly_takes_less_than_the_middle_of_the_others(share: float, told: bool) -> None:
    found = uneven_sharing({"M1": 20.0 * share, "M2": 20.0, "M3": 20.0})
    assert (found is not None) is told


def test_what_it_gives_is_judged_by_the_same_share() -> None:
    charging = {"M1": 10.0, "M2": 20.0, "M3": 20.0}
    low = uneven_sharing(charging, {"M1": 20.0 * 0.7992, "M2": 20.0, "M3": 20.0})
    even = uneven_sharing(charging, {"M1": 20.0 * 0.8008, "M2": 20.0, "M3": 20.0})
    assert low is not None
    assert even is not None
    assert "low in both directions" in low.text.text()
    assert "even while discharging" in even.text.text()


@pytest.mark.parametrize(("hours", "old"), [(11.988, False), (12.012, True)])
def test_a_reading_is_stale_after_twelve_hours(hours: float, old: bool) -> None:
    one = tuple(replace(reading, age=hours * 3600.0) for reading in readings(THREE, {"M1": "52.60 V"}))
    assert bool(stale(one)) is old


def faults(volts: str, **beside: float) -> set[str]:
    one: tuple[ModuleReading, ...] = readings(THREE, {"M1": volts}, meter=NO_METER, **beside)
    return {fault.code for fault in faults_of_readings(THREE, one)}


@pytest.mark.parametrize(
    ("volts", "code"),
    [
        ("60.739 V", None), ("60.861 V", "reading-of-another-battery"),  # 3.8 V a cell
        ("5.005 V", "reading-of-another-battery"), ("4.995 V", "posts-dead"),  # 5 V a module
        ("16.02 V", None), ("15.98 V", "reading-of-another-battery"),  # 1.0 V a cell: far too low, and a stop
    ],
)  # fmt: skip
def test_voltages_that_no_module_has(volts: str, code: str | None) -> None:
    assert faults(volts) == ({code} if code else set())


@pytest.mark.parametrize(("degc", "fault"), [(-39.96, False), (-40.04, True), (79.92, False), (80.08, True)])
def test_temperatures_at_which_nobody_reads_a_meter(degc: float, fault: bool) -> None:
    assert ("temperature-out-of-range" in faults("52.6 V", temperature_degc=degc)) is fault


def test_a_meter_that_is_not_named_stands_in_with_half_a_percent() -> None:
    reading = readings(THREE, {"M1": "52.60 V"}, meter=None)[0]
    assert reading.half == pytest.approx(0.005 * 52.60 + reading.digit, rel=1e-9)


@pytest.mark.parametrize(("capacity", "unlike"), [(105.11, False), (105.4, True)])
def test_modules_are_unlike_from_a_tenth_of_the_mean(capacity: float, unlike: bool) -> None:
    # one factor moves capacity and so resistance times capacity alike: (x - 95) / ((x + 95) / 2) = 0.10 at x = 105
    first = replace(THREE.modules[0], capacity_ah=95.1)
    second = replace(THREE.modules[1], capacity_ah=capacity)
    assert is_unlike((first, second)) is unlike


def test_a_window_that_no_sheet_gives_is_0_to_45_degc() -> None:
    sheet = replace(THREE.modules[0].kind.charge, lowest_degc=None, highest_degc=None)
    module = replace(THREE.modules[0], kind=replace(THREE.modules[0].kind, charge=sheet))
    figures = band_of(module).words.figures
    assert (figures["low"].value, figures["high"].value) == (0.0, 45.0)


def test_limits_stand_as_they_are_documented() -> None:
    assert sources.RULE_OF_THUMB == (0.1, 0.5)
    assert (stops.GENTLE, stops.EMPTY, stops.CUT_OFF) == (0.05, 3.0, 2.5)
    assert uneven.CLEARLY == 0.8


@pytest.mark.parametrize(("degc", "verdict"), [(0.005, "caution"), (-0.005, "unknown")])
def test_without_a_stated_lowest_zero_is_taken_and_asked_for(degc: float, verdict: str) -> None:
    kind = THREE.modules[0].kind
    silent = replace(kind, charge=replace(kind.charge, lowest_degc=None))
    modules = tuple(replace(module, kind=silent) for module in THREE.modules)
    cold = replace(THREE, modules=modules)
    read = readings(cold, {"M1": "52.0 V", "M2": "53.0 V", "M3": "53.0 V"}, temperature_degc=degc)
    found = [f for f in match_of(cold, read).findings if f.code == "M-JOIN-4" and "M1" in f.at]
    assert [f.verdict for f in found] == [verdict]
