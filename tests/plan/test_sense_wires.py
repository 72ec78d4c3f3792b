"""Sense and control wires: a meter's or a coil's, which carry next to nothing and burn like any other."""

import pytest

from bankwright.plan.checks import CHECKS
from bankwright.plan.context import plan_of
from bankwright.plan.results import findings_of
from support.plan_cases import SHORT, edited

BY_CODE = {check.code: check for check in CHECKS}
FUSE = {"kinds.device.tap": {
    "type": "fuse", "class": "class T", "rating": "15 A", "volts": "125 V", "interrupts": "100 kA",
    "let_through": "500 A2s", "least_breaking": "40 A",
    "curve": [["30 A", "100 s"], ["60 A", "1 s"], ["300 A", "10 ms"]],
}}  # fmt: skip
WIRE = {**SHORT, "cable": "14 AWG", "length": "2 m"}
METER = {"name": "V1", "sense_wire": True, "highest_input": "80 V", "lead": WIRE}
FREE = {"bars[0].studs": ["M1", "M2", "M3", "main"], "wiring.branch": SHORT}


def meter(**edits):
    return edited({**FREE, **FUSE, "+loads": METER, **edits})


def found(code, bank):
    return [f for f in BY_CODE[code].function(plan_of(bank)) if any(place.startswith("V1") for place in f.at)]


def test_a_sense_wire_takes_nothing_and_is_asked_for_no_power():
    bank = meter()
    assert (bank.loads[0].current, bank.loads[0].power) == (0.0, None)
    assert plan_of(bank).worst("V1+lead").value == pytest.approx(0.0, abs=1e-9)
    asked = {m.key for f in findings_of(plan_of(bank), ("P-SHARE-2",)) for m in f.missing if m.key.startswith("loads")}
    assert not [key for key in asked if key.endswith((".power", ".current"))]


def test_without_a_fuse_of_its_own_it_fails_like_any_thin_tap():
    assert "fail" in {f.verdict for f in found("P-DEVICE-2", meter())}


def test_with_a_fuse_where_it_begins_it_is_guarded():
    fused = meter(**{"+devices": {"name": "FV", "kind": "tap", "on": "V1+lead", "at": "J+"}})
    assert {f.verdict for f in found("P-DEVICE-2", fused)} == {"pass"}
    assert "fail" not in {f.verdict for f in found("P-CLEAR-1", fused)}


@pytest.mark.parametrize(
    ("load", "verdict"), [(METER, "caution"), ({**METER, "sense_wire": False, "current": "1 A"}, "fail")]
)
def test_a_wire_that_stays_live_behind_the_open_switch_is_a_caution_and_a_load_there_fails(load, verdict):
    own = {"devices[2].on": "I1+lead", "devices[2].at": "inverter end"}  # the switch in the inverter's own lead
    bank = edited({**FREE, **FUSE, "+loads": load, **own})
    told = [f for f in BY_CODE["P-REACH-2"].function(plan_of(bank)) if f.at == ("V1+",)]
    assert [f.verdict for f in told if "disconnect" in f.text.text()] == [verdict]
    whole = {f.verdict for f in BY_CODE["P-SWITCH-1"].function(plan_of(bank))}
    assert whole == ({"pass"} if verdict == "caution" else {"fail"})


def test_a_sense_wire_need_not_cross_the_shunt():
    assert {f.verdict for f in BY_CODE["P-SHUNT-1"].function(plan_of(meter()))} == {"pass"}
