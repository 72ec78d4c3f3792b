"""Zones of the wiring: what feeds a stretch, what a device has to clear, whether a module's own breaker counts."""

import numpy as np
import pytest

from bankwright.circuit.alone import alone
from bankwright.circuit.of_bank.short_network import ShortNetwork
from bankwright.circuit.shorts import Shorts, shorts
from bankwright.plan.checks import CHECKS
from bankwright.plan.context import plan_of
from bankwright.plan.figures.opening import clearing, clearing_many, let_through_at, let_through_many
from bankwright.plan.zones.breakers import standing_of
from bankwright.plan.zones.guarding import guarding_of
from support.plan_cases import CHAIN, edited

pytestmark = pytest.mark.quick

BY_CODE = {check.code: check for check in CHECKS}
K = "kinds.module.S100"
TAP = {
    "bars[0].studs": ["M1", "M2", "M3", "main", "D1"],
    "bars[1].studs": ["M1", "M2", "M3", "main", "D1", ""],
    "site.earthing.at": ["bar-6"],
    "kinds.device.tap": {
        "type": "fuse",
        "class": "class T",
        "rating": "20 A",
        "volts": "80 V",
        "interrupts": "50 kA",
        "least_breaking": "60 A",
        "let_through": "2000 A2s",
        "curve": [["60 A", "100 s"], ["200 A", "0.5 s"], ["400 A", "30 ms"]],
        "terminals": {"rating": "75 degC"},
    },
    "+loads": {
        "name": "D1",
        "current": "10 A",
        "highest_input": "80 V",
        "lead": {"cable": "12 AWG", "insulation": "90 degC", "length": "3 m", "method": "free air"},
    },
}
BREAKER = {
    "class": "IEC 60947-2",
    "sits_in": "plus",
    "rating": "125 A",
    "volts": "80 V",
    "interrupts": "40 kA",
    "poles": 1,
    "polarised": False,
    "let_through": "300000 A2s",
    "curve": [["200 A", "60 s"], ["600 A", "20 ms"], ["1 kA", "10 ms"]],
}


def tapped(at):
    return edited({**TAP, "+devices": {"name": "FT", "kind": "tap", "on": "D1+lead", "at": at}})


def verdicts(code, bank, *places):
    found = BY_CODE[code].function(plan_of(bank))
    return {finding.verdict for finding in found if not places or finding.at[0] in places}


def test_a_fuse_at_the_far_end_protects_nothing_before_it():
    """Three fuses of 30 000 A2s let (3 sqrt(30 000))^2 = 270 000 A2s through; 12 AWG stands (k S)^2 = 223 000."""
    bank = tapped("D1+")
    assert "fail" in verdicts("P-CLEAR-1", bank, "D1+lead")
    assert "fail" in verdicts("P-REACH-1", bank, "D1+lead")
    worst = max(
        (
            f
            for f in BY_CODE["P-CLEAR-1"].function(plan_of(bank))
            if f.at[0] == "D1+lead" and "largest" in f.text.text()
        ),
        key=lambda f: f.figure.value,
    )
    assert worst.figure.value >= 270_000
    assert worst.limits[1] == pytest.approx((142.87e6 * 3.31e-6) ** 2, rel=0.02)


def test_a_fuse_at_the_bar_makes_no_other_device_fail():
    bank = tapped("0 mm")
    assert verdicts("P-CLEAR-1", bank, "D1+lead") == {"pass"}
    assert verdicts("P-CLEAR-3", bank, "F1", "FB-M1", "FB-M2", "FB-M3") == {"pass"}
    assert "fail" not in verdicts("P-REACH-1", bank)


@pytest.mark.parametrize(
    ("curve", "due", "words"),
    [
        ([["60 A", "100 s"], ["650 A", "0.8 s"], ["1100 A", "20 ms"]], "caution", "arcing"),
        ([["60 A", "100 s"], ["650 A", "0.8 s"], ["2000 A", "0.1 s"]], "fail", "smallest"),
    ],
)
def test_a_short_that_arcs_ends_at_caution_a_bolted_one_fails(curve, due, words):
    """Some 1.2 kA bolted of one module alone, half of it arcing: IEC 60364-4-43 434.5.2 asks for the bolted one."""
    slow = {**TAP, "+devices": {"name": "FT", "kind": "tap", "on": "D1+lead", "at": "0 mm"}}
    slow["kinds.device.tap"] = {**TAP["kinds.device.tap"], "curve": curve}

    told = [f for f in BY_CODE["P-CLEAR-1"].function(plan_of(edited(slow))) if f.at[0] == "D1+lead"]
    assert {f.verdict for f in told if f.verdict != "pass"} == {due}
    assert words in [f for f in told if f.verdict == due][-1].text.text()


def test_a_device_that_does_not_clear_ends_no_zone():
    slow = {**TAP, "+devices": {"name": "FT", "kind": "tap", "on": "D1+lead", "at": "0 mm"}}
    slow["kinds.device.tap"] = {**TAP["kinds.device.tap"], "curve": [["60 A", "100 s"], ["900 A", "8 s"]]}
    guarding = guarding_of(plan_of(edited(slow)))
    assert "FT" not in guarding.proven
    (least,) = guarding.least(next(d for d in guarding.devices if d.name == "FB-M1"))
    assert least.pair.place.startswith("D1")  # now FB-M1 has to clear a short at the load


def test_the_others_feed_back_into_a_module_s_lead():
    """The stretch between a module's fuse and the bar is fed by the two others: 4 times one let-through."""
    found = [f for f in BY_CODE["P-CLEAR-1"].function(plan_of(edited({}))) if f.at == ("L1+",)]
    largest = next(f for f in found if "largest" in f.text.text())
    assert largest.figure.value == pytest.approx(4 * 30_000)


def test_a_chain_with_breakers_that_count_can_pass():
    bank = edited({**CHAIN, f"{K}.breaker": BREAKER})
    plan = plan_of(bank)
    assert [standing_of(plan, module).counts for module in bank.modules] == ["yes"] * 3
    assert verdicts("P-REACH-1", bank) <= {"pass"}
    assert "fail" not in verdicts("P-CLEAR-1", bank)


@pytest.mark.parametrize(
    ("change", "counts"),
    [
        ({"class": None}, "unknown"),
        ({"sits_in": None}, "unknown"),
        ({"curve": None}, "unknown"),
        ({"interrupts": None}, "unknown"),
        ({"polarised": None}, "unknown"),
        ({"sits_in": "minus"}, "no"),
        ({"class": "UL 1077"}, "no"),
        ({"class": "IEC 60947-3"}, "no"),
        ({"interrupts": "20 kA"}, "no"),
        ({"volts": "48 V"}, "no"),
        ({"polarised": True}, "no"),
        ({"ac_rating_only": True}, "no"),
        ({"curve": [["200 A", "600 s"], ["5 kA", "20 s"]]}, "no"),
    ],
)
def test_what_a_breaker_lacks_keeps_it_from_counting(change, counts):
    breaker = {key: value for key, value in {**BREAKER, **change}.items() if value is not None}
    bank = edited({**CHAIN, f"{K}.breaker": breaker})
    plan = plan_of(bank)
    assert standing_of(plan, bank.modules[0]).counts == counts
    assert {"unknown": "unknown", "no": "fail"}[counts] in verdicts("P-REACH-1", bank)


def test_a_floating_bank_needs_both_poles():
    bank = edited({**CHAIN, "site.earthing": {"pole": "none", "detector": True}, f"{K}.breaker": BREAKER})
    assert standing_of(plan_of(bank), bank.modules[0]).counts == "no"


def test_a_bare_tail_of_one_module_is_common_practice_to_one_and_a_half_metres():
    for length, verdict in (("1.5 m", "pass"), ("1.6 m", "caution")):
        bank = edited({"devices[0].at": "bar end", "wiring.link.length": length})
        assert verdicts("P-REACH-1", bank) == {verdict}
    long = edited({"devices[0].at": "bar end", "wiring.link.length": "1.6 m"})
    assert "fail" in verdicts(
        "P-CLEAR-1", long
    )  # nothing towards the module clears: its breaker of 10 kA does not count


# ---- the searches as arrays, against the same thing done one by one ----


@pytest.mark.parametrize("edits", [{}, CHAIN, TAP])
def test_one_module_alone_as_an_array_is_each_module_solved_by_itself(edits):
    network = shorts(edited(edits), "lowest")
    names = network.feeding.network.nodes
    pairs = [(p, q) for p in network._poles["+"] for q in network._poles["-"]][:40]
    found = alone(network.feeding, pairs)
    edge = network.feeding.network.edge_index["F1"]
    through = found.through(edge)
    for row, module in enumerate(network.feeding.network.module_names):
        single = network.alone(module)
        for column, (p, q) in enumerate(pairs):
            short = single.at(names[p], names[q])
            assert found.current[row, column] == pytest.approx(short.current, rel=1e-4)
            assert abs(through[row, column]) == pytest.approx(abs(short.through("F1")), rel=1e-4, abs=1e-3)


@pytest.mark.parametrize("edits", [{}, CHAIN, {"kinds.device.main.resistance": "0.3 mohm"}])
def test_what_is_available_at_a_device_is_the_network_without_its_resistance(edits):
    made = shorts(edited(edits))
    edge = made.feeding.network.edge_index["F1"]
    R = made.feeding.resistance.copy()
    R[edge] = 0.0
    feeding = ShortNetwork(made.feeding.network, R, made.feeding.emf, made.feeding.injected)
    direct = Shorts(made.bank, made.end, feeding).through("F1")
    assert made.prospective("F1").largest == pytest.approx(direct.largest, rel=1e-9)


def test_a_short_inside_a_module_is_the_network_without_its_voltage_and_resistance():
    made = shorts(edited({}))
    edge = made.feeding.network.edge_index["M2"]
    E, R = made.feeding.emf.copy(), made.feeding.resistance.copy()
    E[edge], R[edge] = 0.0, 0.0
    direct = ShortNetwork(made.feeding.network, R, E, made.feeding.injected)
    f0 = Shorts(made.bank, made.end, direct)._response[1]
    inside = made.inside("M2")
    assert inside.current == pytest.approx(-f0[edge], rel=1e-9)
    assert np.allclose(inside.edge_current, f0)


def test_many_currents_clear_as_each_by_itself():
    device = next(d for d in edited({}).devices if d.name == "F1")
    currents = np.array([100.0, 349.0, 350.0, 700.0, 1400.0, 2800.0, 9000.0])
    assert list(clearing_many(device, currents)) == pytest.approx([clearing(device, float(i)) for i in currents])
    heats = [let_through_at(device, float(i)) for i in currents]
    assert list(let_through_many(device, currents)) == pytest.approx(heats)
