"""Six planted faults on a pretend bank and its pretend rack, each found by the reading that should find it.

Readings are those of the bank with the fault in it, solved; what is due is that of the bank as the file has it.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from types import MappingProxyType

import pytest

from bankwright.bank.model import Bank
from bankwright.circuit.inverse.looks import current_look, drop_look, voltage_look
from bankwright.forms.toleranced import Toleranced
from bankwright.job import open_bank
from bankwright.job.powering import keep_ticks, powering
from bankwright.logbook.logbook import open_logbook
from bankwright.prove.currents import Level
from bankwright.prove.expected import Conditions, expected, loads_of
from bankwright.prove.millivolt_subject import MillivoltSubject, Read
from bankwright.prove.millivolt_test import millivolt_test
from bankwright.prove.sheet.due import Facts
from bankwright.prove.sheet.sheet import StepNow, prove_sheet
from support.pretend_racks import surveyed
from support.proved import barn, one_round, solved, with_growth

BARN = Path(__file__).parents[2] / "demo" / "barn.toml"
RUNS = ("main+", "main-", "I1+lead", "I1-lead", "I2+lead", "I2-lead")
SPOTS = ("F1", "S1", "L1+", "L2+", "L3+", "L4+", "L5+")
NAMES = ("M1", "M2", "M3", "M4", "M5")


def read_on(bank: Bank) -> tuple[Facts, dict[str, float]]:
    """What the meters show on this bank at 200 A, and the millivolts at some spots."""
    found = expected(bank, Conditions(loads_of(bank, 200.0), 30.0))
    see = lambda look: abs(found.figure(look).value)  # noqa: E731
    taken = {("E1", "voltage", "bar+1"): 51.2, ("E2", "current", "main+"): 200.0}
    taken["E2", "voltage", "bar+1"] = see(voltage_look("bar+1", "bar-1", "x"))
    taken |= {("E2", "current", name): round(see(current_look(name, "x")), 1) for name in NAMES}
    taken |= {("E2", "voltage_drop", name): round(see(drop_look("x", name)), 4) for name in RUNS}
    return Facts(barn(), MappingProxyType(taken), may_join=True), {at: see(drop_look("x", at)) for at in SPOTS}


def step(facts: Facts, name: str) -> StepNow:
    return next(now for now in prove_sheet(facts, {}).steps if now.step.id == name)


def odd(facts: Facts, name: str = "E2") -> set[str]:
    return {at for f in step(facts, name).findings if f.verdict != "pass" for at in f.at}


def by_millivolts(facts: Facts, spots: dict[str, float]) -> set[str]:
    reads = tuple(Read(at, Level(200), round(volts, 4), 0.0, 40.0, f"{volts} V") for at, volts in spots.items())
    rounds = (one_round(0, [0.0] * 5), one_round(200, [facts.read("E2", "current", name) or 0.0 for name in NAMES]))
    made = millivolt_test(MillivoltSubject(barn(), solved("bars"), reads, rounds=rounds))
    return {at for f in made.findings if f.code == "V-DROP-1" and f.verdict != "pass" for at in f.at}


def test_on_the_sound_bank_nothing_is_found() -> None:
    facts, spots = read_on(barn())
    assert odd(facts) == set()
    assert by_millivolts(facts, spots) == set()


def test_a_loose_joint_is_named_by_millivolts_and_not_by_its_share() -> None:
    facts, spots = read_on(with_growth(barn(), "L3+@M3+", 1e-3))
    assert odd(facts) == set()  # the module's tolerance hides it
    assert by_millivolts(facts, spots) == {"L3+"}


def test_a_tired_fuse_holder_shows_on_the_way_and_over_the_device() -> None:
    bank = barn()
    tired = Toleranced(0.75e-3, 0.75e-3, 0.75e-3)
    worn = tuple(replace(d, kind=replace(d.kind, resistance=tired)) if d.name == "F1" else d for d in bank.devices)
    facts, spots = read_on(bank.replaced(devices=worn))
    assert odd(facts) == {"main+", "I1", "I2"}  # the run, and both ways along it
    assert by_millivolts(facts, spots) == {"F1"}


def test_a_reversed_lead_stops_at_the_module_alone() -> None:
    facts = Facts(barn(), MappingProxyType({("B1", "voltage", n): -53.2 if n == "M4" else 53.2 for n in NAMES}))
    assert odd(facts, "B1") == {"M4"}


def test_one_module_a_tenth_of_a_volt_low_shows_at_zero_load() -> None:
    low = {name: -5.43 if name == "M3" else 1.36 for name in NAMES}
    facts = Facts(
        barn(), MappingProxyType({("B6", "current", name): amps for name, amps in low.items()}), may_join=True
    )
    assert odd(facts, "B6") == {"M3"}


def test_a_second_bond_of_a_pole_shows_against_the_frame_before_the_first_is_made() -> None:
    taken = {
        ("B3", "frame_voltage", "bar+1"): 53.2,
        ("B3", "frame_voltage", "bar-1"): 0.0,
        ("B3", "voltage", "bar+1"): 53.2,
    }
    taken["B3", "resistance", "bar+1"] = 46.8e3
    facts = Facts(barn(), MappingProxyType(taken), may_join=True, not_earthed="The minus pole is not earthed yet")
    (finding,) = step(facts, "B3").findings
    assert finding.verdict == "fail"
    assert step(facts, "C1").state == "locked"


@pytest.mark.parametrize(
    ("trouble", "code", "at"),
    [
        ("unplug:M4", "BUS-BEHIND", ("M4", "M5")),
        ("doubled:M4=M3", "BUS-DOUBLED", ("M3", "M4")),
        ("serial:M2=PRETEND-M1", "BUS-SERIAL", ("M1", "M2")),
    ],
)
def test_the_survey_names_what_is_wrong_with_the_data_line(trouble: str, code: str, at: tuple[str, ...]) -> None:
    _, told = surveyed(trouble)
    assert code in told, list(told)
    assert told[code].at == at


def test_days_of_the_second_look_follow_from_the_day_of_service(tmp_path: Path) -> None:
    path = tmp_path / "barn.toml"
    path.write_text(BARN.read_text("utf-8"), "utf-8")
    job = open_bank(path)
    facts = Facts(job.bank, may_join=True, in_service="2026-02-25")
    words = dict(step(facts, "J2").step.boxes)
    assert date(2026, 3, 4).isoformat() in words["day 7"]
    assert date(2026, 3, 27).isoformat() in words["day 30"]
    assert "7 days after" in dict(step(Facts(job.bank), "J2").step.boxes)["day 7"]
    with open_logbook(path, job.bank) as book:
        book.hand_over("match record", {"may_join": "pass"})
        now = next(each for each in powering(job, book).steps if each.step.id == "J2")
        keep_ticks(book, job.bank, replace(now, state="open"), ("service",))
        then = next(each for each in powering(job, book).steps if each.step.id == "J2")
        assert "Looked again on 2" in dict(then.step.boxes)["day 7"]
