"""The loop between the modules and what they feed: its inductance, and which devices lie in it."""

import math

import pytest

from bankwright.plan.checks.short_circuit import circuit_inductive_as_rated
from bankwright.plan.context import plan_of
from bankwright.plan.figures.loops import loop_henry, on_the_way
from bankwright.plan.figures.ripple import loop_of
from support.plan_cases import edited

CHARGER = {
    "kinds.charger.pv": {"current": "40 A", "voltage": "48 V to 60 V", "one_way": True},
    "+chargers": {"name": "C1", "kind": "pv"},
    "kinds.device.small": {"type": "fuse", "rating": "63 A", "time_constant": "0.1 ms"},
    "+devices": {"name": "FC", "kind": "small", "on": "C1+lead", "at": "J+"},
}
BRANCH = {"wiring.branch": {"cable": "2/0 AWG", "length": "1 m"}}


def with_lead(length):
    lead = {"cable": "6 AWG", "length": length}
    return plan_of(edited({**CHARGER, "+chargers": {"name": "C1", "kind": "pv", "lead": lead}, **BRANCH}))


def henry(length, radius, apart=0.05):
    return 4e-7 * length * (math.log(apart / radius) + 0.25)


def test_a_loop_is_as_inductive_as_its_own_cables():
    plan = plan_of(edited({}))
    (inverter,) = plan.bank.inverters
    assert loop_henry(plan, inverter) == pytest.approx(henry(1.5, math.sqrt(67.43e-6 / math.pi)), rel=1e-3)


def test_the_lead_of_a_charger_is_in_its_own_loop_alone():
    short, long = with_lead("1 m"), with_lead("30 m")
    (charger,) = [each for each in long.bank.chargers if each.of is None]
    own = henry(29.0, math.sqrt(13.3e-6 / math.pi))
    assert loop_henry(long, charger) - loop_henry(short, charger) == pytest.approx(own, rel=1e-3)
    assert "C1+lead" in on_the_way(long, charger)
    inductances = set()
    for plan in (short, long):
        (inverter,) = plan.bank.inverters
        assert not {"C1+lead", "C1-lead"} & on_the_way(plan, inverter)
        assert {"main+", "main-", "L1+", "L3-"} <= on_the_way(plan, inverter)
        inductances.add(round(loop_of(plan, inverter)[1], 12))
    assert len(inductances) == 1


@pytest.mark.parametrize("count", [2, 3])
def test_a_set_of_alike_cables_is_no_more_inductive_than_one(count):
    seen = []
    for number in (1, count):
        beside = {key: value for key, value in CHARGER.items() if key != "+devices"}
        plan = plan_of(edited({**beside, "wiring.branch": {"cable": "2/0 AWG", "length": "1 m", "parallel": number}}))
        seen.append(loop_henry(plan, plan.bank.inverters[0]))
    assert seen[1] == pytest.approx(seen[0])


def test_inductance_and_resistance_of_a_time_constant_are_of_one_loop():
    plan = plan_of(edited({"kinds.device.main.time_constant": "5 ms"}))
    (finding,) = [each for each in circuit_inductive_as_rated.function(plan) if each.at == ("F1",)]
    fault = plan.faults.at("I1+", opposite="I1-")
    assert finding.case == "short I1+ to I1-"
    assert fault.value < plan.faults.at("I1+").value  # that one goes past the minus cable
    ohms = 58.4 / fault.value
    assert finding.figure.value == pytest.approx(loop_henry(plan, plan.bank.inverters[0]) / ohms)


def test_a_fuse_is_judged_by_the_loops_that_it_lies_in():
    """The charger's fuse holds for 0.1 ms; the main's loop of 0.6 ms is none of its business, its own lead is."""
    found = {
        length: next(f for f in circuit_inductive_as_rated.function(with_lead(length)) if f.at == ("FC",))
        for length in ("1 m", "30 m")
    }
    assert all("C1" in f.text.text() for f in found.values())
