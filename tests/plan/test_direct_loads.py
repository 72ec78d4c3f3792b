"""Direct loads in Plan: what they draw at the end of discharge, their drop, and power that the bank cannot give.

Outside measure: current = power / (cells x end of discharge), resistance of copper wires (circuit laws).
"""

import pytest

from bankwright.circuit.cases import LOWEST
from bankwright.forms.finding import Finding
from bankwright.plan.checks.drop import drop_at_full_power
from bankwright.plan.checks.post import temperature_of_terminals
from bankwright.plan.context import Plan, plan_of
from support.plan_cases import K, edited

LEAD = {"cable": "6 AWG", "strands": "fine", "insulation": "90 degC", "length": "3 m", "joint": "20 uohm"}
BRANCH = {"cable": "2/0 AWG", "strands": "fine", "insulation": "90 degC", "length": "1 m", "joint": "20 uohm"}
END = f"{K}.discharge.cell_empty"


def plan_with(load: dict, **changes: str) -> Plan:
    return plan_of(edited({"+loads": {"name": "D1", "lead": LEAD, **load}, "wiring.branch": BRANCH, **changes}))


def findings(plan: Plan, at: str) -> list[Finding]:
    return [each for each in drop_at_full_power.function(plan) if each.at[0] == at]


def drawn(plan: Plan) -> float:
    return abs(plan.worst("D1", (LOWEST,)).value)


@pytest.mark.parametrize("end", [2.5, 2.8, 3.0])
def test_a_load_given_as_power_draws_what_it_takes_at_the_end_of_discharge(end):
    assert drawn(plan_with({"power": "1 kW"}, **{END: f"{end} V"})) == pytest.approx(1000 / (16 * end), rel=1e-6)


def test_without_an_end_of_discharge_both_ends_count_and_the_key_is_named():
    worst = plan_with({"power": "1 kW"}).worst("D1", (LOWEST,))
    assert worst.high == pytest.approx(1000 / (16 * 2.5), rel=1e-6)
    assert worst.low == pytest.approx(1000 / (16 * 3.0), rel=1e-6)
    assert [each.settle.key for each in worst.inputs if each.settle is not None] == [END]


def test_a_load_given_as_current_needs_no_end_of_discharge():
    worst = plan_with({"current": "20 A"}).worst("D1", (LOWEST,))
    assert (worst.value, worst.inputs) == (pytest.approx(20.0), ())


def test_the_drop_to_a_load_is_that_of_its_wires():
    """6 AWG copper, 13.3 mm2 at 17.2 to 22 nohm m, cold to hot: 1.3 to 1.65 mohm a metre, out and back."""
    short, longer = (
        findings(plan_with({"current": "20 A", "lead": {**LEAD, "length": f"{m} m"}}), "D1")[0] for m in (3, 13)
    )
    assert short.figure is not None
    assert longer.figure is not None
    more = (longer.figure.value - short.figure.value) * 51.2
    assert 20 * 2 * 10 * 1.2e-3 < more < 20 * 2 * 10 * 1.7e-3
    assert short.verdict == "pass"


def test_power_that_cannot_be_delivered_is_told_with_its_part():
    found = [
        each
        for each in findings(plan_with({"power": "300 kW"}, **{END: "2.8 V"}), "I1")
        if each.case == "full discharge"
    ]
    assert [each.verdict for each in found] == ["fail"]
    assert found[0].more == ("D1",)
    assert "cannot be delivered" in found[0].text.text()


def test_nothing_is_said_where_all_power_can_be_delivered():
    plan = plan_with({"power": "1 kW"}, **{END: "2.8 V"})
    assert not [each for each in findings(plan, "I1") if each.case == "full discharge"]


@pytest.mark.parametrize(("rating", "verdict"), [("60 degC", "caution"), ("90 degC", "pass")])
def test_terminals_of_a_load_are_held_against_what_they_stand(rating, verdict):
    """In air of 65 degC no terminal stays under 60 degC."""
    lead = {**LEAD, "cable": "2/0 AWG", "lug": "ring"}
    bar = {"site.ambient": "8 degC to 65 degC", "wiring.branch": {**BRANCH, "lug": "ring"}}
    plan = plan_with({"current": "20 A", "lead": lead, "terminals": {"rating": rating}}, **bar)
    found = next(each for each in temperature_of_terminals.function(plan) if each.at[0] == "D1+lead")
    assert "loads[0].terminals.rating" not in {each.key for each in found.missing}
    assert found.limits[1] == pytest.approx(float(rating.split()[0]))
    assert found.verdict == verdict


def test_terminals_of_a_load_that_are_not_given_are_asked_for_by_a_key_of_the_file():
    plan = plan_with({"current": "40 A"})
    found = next(each for each in temperature_of_terminals.function(plan) if "D1+lead" in each.at[0])
    assert "loads[0].terminals.rating" in {each.key for each in found.missing}
    kept = plan_with({"current": "40 A", "terminals": {"rating": "75 degC"}})
    found = next(each for each in temperature_of_terminals.function(kept) if "D1+lead" in each.at[0])
    assert "loads[0].terminals.rating" not in {each.key for each in found.missing}
