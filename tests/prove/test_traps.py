"""Traps of first power-up: what a careful hand takes for something else, and where the product keeps it from that.

The list was made elsewhere; each trap stands with what was read and what may be concluded.
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

import pytest

from bankwright.bank.model import Bank
from bankwright.prove.capacity.judged import capacity_test
from bankwright.prove.capacity.read import CapacityTyped, capacity_read
from bankwright.prove.share_plan import HOW
from bankwright.prove.sheet.due import Facts
from bankwright.prove.sheet.sheet import StepNow, prove_sheet
from bankwright.prove.spots import spots
from support.proved import barn, one_round, share, verdicts


def sheet(taken: dict[tuple[str, str, str], float] | None = None, bank: Bank | None = None) -> dict[str, StepNow]:
    facts = Facts(bank or barn(), MappingProxyType(taken or {}), may_join=True)
    return {now.step.id: now for now in prove_sheet(facts, {}).steps}


def words(now: StepNow) -> str:
    """All that a step says: title, cautions, acts, boxes, readings with their means."""
    step = now.step
    rows = [f"{each.due.words} {' '.join(each.due.means)} {each.due.then}" for each in now.readings]
    return " ".join((step.title, *step.cautions, *step.acts, *(text for _, text in step.boxes), *rows))


TOLD = [
    # step, what the trap is, words that keep from it
    ("A3", "a torque line for a good joint", "one unbroken line"),
    ("A2", "a non-contact tester for proof", "A non-contact tester proves nothing"),
    ("A2", "a post called dead because its module is off", "live from its neighbour's bar"),
    ("A5", "ohms on a live part", "Ohms only on dead parts"),
    ("A6", "insulation tester across a module", "Never across a module or an inverter"),
    ("B3", "pole to frame with the inverters on", "inverters off"),
    ("B3", "the range jumps", "its range held"),
    ("B6", "clamp zeroed at the bench", "zeroed closed, in place"),
    ("C1", "a second inverter closed onto a live hub", "never closed onto a live hub"),
    ("C1", "waiting longer", "never wait longer"),
    ("D1", "two units on one leg giving 240", "0 V: both units are set to one phase"),
    ("D1", "phantom volts of a meter of 10 Mohm", "a low-ohm meter makes them fall"),
    ("D2", "a relay bond looked for with the inverter off", "not seen dead"),
    ("D3", "the button of a residual-current device", "Its own button proves no bond"),
    ("E1", "heaters that switch", "thermostats locked on"),
    ("E4", "camera on bare metal", "a camera shows 32"),
    ("E3", "thermal voltage", "scratch through"),
    ("J2", "the second look never made", "Looked again"),
    ("C4", "dead too early", "Until below 10 V the terminals are live"),
]


@pytest.mark.parametrize(("step", "trap", "kept"), TOLD)
def test_the_step_says_it_where_the_hand_is(step: str, trap: str, kept: str) -> None:
    made = tuple(
        replace(i, phase=f"L{k}", kind=replace(i.kind, frequency=60.0)) for k, i in enumerate(barn().inverters, 1)
    )
    assert kept in words(sheet(bank=barn().replaced(inverters=made))[step]), trap


def test_a_share_test_is_no_joint_test() -> None:
    """Every share test ends by asking for the millivolts of all joints."""
    assert "Then the millivolts of every joint and link, whatever the shares say." in HOW


def test_equal_currents_at_one_load_may_be_unequal_twice() -> None:
    """Voltage and resistance that cancel at 200 A: without zero nothing is concluded, with it both are seen."""
    even = [40.0] * 5
    assert set(verdicts(share("bars", one_round(200, even)), "V-SHARE-1").values()) == {"unknown"}
    zeros = [-5.4, 1.35, 1.35, 1.35, 1.35]
    both = share("bars", one_round(0, zeros), one_round(200, even))
    assert verdicts(both, "V-ZERO-1")["M1"] == "caution"


def test_a_reading_an_hour_into_the_load_is_told() -> None:
    late = share("bars", one_round(0, [0.0] * 5), one_round(200, [40.0] * 5, age=3600.0))
    assert "caution" in verdicts(late, "V-AGE-1").values() or "unknown" in verdicts(late, "V-AGE-1").values()


def test_probes_are_told_off_nut_and_bolt() -> None:
    assert all("not the nut, not the bolt head" in spot.tips for spot in spots(barn()) if spot.kind == "joint")


def test_a_sum_equal_to_the_whole_is_too_low_to_tell() -> None:
    """0.027 and 53.147 of 53.2 V with 10 Mohm: not "about equal, fine", but unknown, with 47 kohm as the way out."""
    taken = {("B3", "frame_voltage", "bar+1"): 0.027, ("B3", "frame_voltage", "bar-1"): -53.147}
    (finding,) = sheet(taken | {("B3", "voltage", "bar+1"): 53.2})["B3"].findings
    assert finding.verdict == "unknown"
    assert "47 kohm" in finding.missing[0].how


def test_two_readings_of_fifty_volts_are_no_drop() -> None:
    """The drop to an inverter is read as millivolts along each run, never as a difference of two large volts."""
    rows = [each.due for each in sheet()["E2"].readings if each.due.code == "V-PATH-1"]
    assert {due.quantity for due in rows} == {"voltage_drop"}
    assert {due.at for due in rows} == {"main+", "main-", "I1+lead", "I1-lead", "I2+lead", "I2-lead"}


def test_a_closed_breaker_that_carries_nothing() -> None:
    """A tripped module still talks and stands at the right volts: its current is nothing, and the others carry more."""
    taken = {("E1", "voltage", "bar+1"): 51.2, ("E2", "current", "main+"): 200.0}
    taken |= {("E2", "current", f"M{k}"): 50.0 if k != 3 else 0.0 for k in range(1, 6)}
    found = {f.at[0]: f.verdict for f in sheet(taken)["E2"].findings if f.code == "V-BRANCH-1"}
    assert found["M3"] == "caution"


@pytest.mark.parametrize(("part", "settles"), [(0.2, False), (0.6, True)])
def test_a_camera_at_a_fifth_of_the_load_tells_nothing(part: float, settles: bool) -> None:
    full = 2 * 5000.0 / 0.93 / 46.0
    taken = {("E4", "current", "main+"): part * full, ("E4", "temperature_difference", "main+@bar+1"): 9.0}
    found = [f.verdict for f in sheet(taken)["E4"].findings if f.code == "V-WARM-1"]
    assert (found != ["unknown"]) is settles


def test_a_warm_cable_is_not_accused_by_what_it_has_over_the_room() -> None:
    """A 4/0 main is meant to run 16 K over the room: the limit is the terminal's rating, its like the comparison."""
    full = 2 * 5000.0 / 0.93 / 46.0
    taken = {("E4", "current", "main+"): full}
    taken |= {("E4", "temperature_difference", f"main{pole}@bar{pole}1"): 16.0 for pole in "+-"}
    assert {f.verdict for f in sheet(taken)["E4"].findings} == {"pass"}


def test_one_way_with_an_unread_zero_is_no_capacity() -> None:
    found = capacity_test(capacity_read(barn(), CapacityTyped("462 Ah", "4.6 h", temperature=("8 degC",))))
    bank = next(f for f in found.findings if f.code == "V-CAPACITY-1")
    assert bank.verdict == "caution"
    assert not found.whole


def test_a_value_of_the_baseline_never_stands_without_its_temperature_and_age() -> None:
    """As-built resistance without both is a number without a meaning: the fields are part of every value."""
    from bankwright.cli.show.baseline import _said
    from bankwright.logbook.baseline import Measured

    assert "temperature not read" in _said(Measured("resistance", "M1", 14e-3, age=30.0, when="2026-03-01"), "metric")
    assert "21 °C" in _said(Measured("resistance", "M1", 14e-3, degc=21.0, when="2026-03-01"), "metric")
