"""The sheet under load, charging and at a stop: figures due beside an independent table, planted faults told.

Table of the demo bank at 200 A, and at 160 A into it, as printed by an engine run of its own: 40.09 ... 39.94 A, bar
sag 0.591 V, main+ 153.1 and main- 95.1 mV, leads 93.5 and 35.5 mV; 32.07 ... 31.95 A and +0.473 V.
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

import pytest

from bankwright.prove.sheet.due import Facts
from bankwright.prove.sheet.sheet import StepNow, prove_sheet
from support.proved import barn

OUT = {"M1": 40.1, "M2": 40.0, "M3": 40.0, "M4": 40.0, "M5": 39.9}
RUNS = {"main+": 0.1531, "main-": 0.0951, "I1+lead": 0.0935, "I1-lead": 0.0355, "I2+lead": 0.0935, "I2-lead": 0.0355}


def facts(step: str = "E2", amps: dict[str, float] = OUT, main: float = 200.0, volts: float = 50.609, **runs: float):  # type: ignore[no-untyped-def]
    rest = "E1" if step == "E2" else "F0"
    taken = {(rest, "voltage", "bar+1"): 51.2, (step, "current", "main+"): main, (step, "voltage", "bar+1"): volts}
    taken |= {(step, "current", name): value for name, value in amps.items()}
    taken |= {(step, "voltage_drop", name.replace("_", "")): value for name, value in {**RUNS, **runs}.items()}
    return Facts(barn(), MappingProxyType(taken), may_join=True)


def at(found: Facts, name: str) -> StepNow:
    return next(now for now in prove_sheet(found, {}).steps if now.step.id == name)


def verdicts(now: StepNow, code: str) -> dict[tuple[str, ...], str]:
    return {f.at: f.verdict for f in now.findings if f.code == code}


def test_a_sound_bank_passes_every_row_under_load() -> None:
    now = at(facts(), "E2")
    assert {f.verdict for f in now.findings} == {"pass"}
    assert len(now.findings) == 5 + 1 + 6 + 1 + 2  # modules, volts, runs; closure, two ways
    due = {(each.due.quantity, each.due.at): each.due.expected for each in now.readings}
    volts = due["voltage", "bar+1"]
    assert volts is not None
    assert 51.2 - volts.value == pytest.approx(0.591, abs=0.003)  # modules warm by 0 to 5 K up the rack here
    for name, value in RUNS.items():
        figure = due["voltage_drop", name]
        assert figure is not None
        assert figure.value == pytest.approx(value, rel=0.004)


def test_what_does_not_close_makes_everything_built_on_it_unknown() -> None:
    now = at(facts(main=190.0), "E2")
    assert verdicts(now, "V-SUM-2") == {("main+",): "unknown"}
    assert {f.verdict for f in now.findings} == {"unknown"}  # nothing in the bank is accused
    assert now.state == "begun"
    past = at(facts(amps={**OUT, "M3": 130.0}), "E2")
    assert verdicts(past, "V-BRANCH-1")["M3",] == "fail"  # past its limit is past it, whatever does not close
    assert at(facts(main=201.5), "E2").state == "begun"  # the clamp leaves this open, only the tick is wanting


def test_a_limit_of_a_module_stops_and_its_band_cautions() -> None:
    amps = {"M1": 20.0, "M2": 45.0, "M3": 45.0, "M4": 45.0, "M5": 45.0}
    now = at(facts(amps=amps), "E2")
    assert verdicts(now, "V-BRANCH-1")["M1",] == "caution"
    more = at(facts(amps={**amps, "M1": 120.0, "M2": 10.0}, main=265.0), "E2")
    assert verdicts(more, "V-BRANCH-1")["M1",] == "fail"
    assert more.state == "stopped"


def test_a_tired_fuse_holder_shows_over_its_run_and_on_the_way() -> None:
    found = at(facts(**{"I1+lead": 0.0935 + 100.0 * 0.5e-3}), "E2")  # 0.5 mohm more at 100 A
    assert verdicts(found, "V-PATH-1") == {
        **{(name,): "pass" for name in RUNS}, ("I1+lead",): "caution", ("I1",): "caution", ("I2",): "pass",
    }  # fmt: skip
    assert verdicts(found, "V-SAG-1") == {("bar+1",): "pass"}  # the bank itself is sound


def test_a_module_that_did_not_join_shows_in_the_sag_and_the_currents() -> None:
    amps = {"M1": 50.0, "M2": 50.0, "M3": 0.0, "M4": 50.0, "M5": 50.0}
    now = at(facts(amps=amps, volts=51.2 - 0.591 * 1.25), "E2")
    assert verdicts(now, "V-BRANCH-1")["M3",] == "caution"
    assert verdicts(now, "V-SAG-1") == {("bar+1",): "caution"}


def test_a_small_load_settles_no_sag() -> None:
    now = at(facts(amps=dict.fromkeys(OUT, 2.0), main=10.0, volts=51.17), "E2")
    finding = next(f for f in now.findings if f.code == "V-SAG-1")
    assert finding.verdict == "unknown"
    assert "larger load" in finding.missing[0].how


@pytest.mark.parametrize(("back", "verdict"), [(51.19, "pass"), (51.0, "caution"), (51.26, "pass"), (51.4, "caution")])
def test_the_step_back(back: float, verdict: str) -> None:
    found = facts()
    found = replace(found, taken=MappingProxyType({**found.taken, ("E2B", "voltage", "bar+1"): back}))
    assert verdicts(at(found, "E2B"), "V-SAG-2") == {("bar+1",): verdict}


def test_charging_turns_the_signs() -> None:
    amps = {"M1": -32.1, "M2": -32.0, "M3": -32.0, "M4": -32.0, "M5": -31.9}
    now = at(facts("F1", amps, 160.0, 51.2 + 0.473), "F1")
    assert {f.verdict for f in now.findings} == {"pass"}
    due = {each.due.at: each.due.expected for each in now.readings if each.due.quantity == "current"}
    table = [-32.07, -32.02, -31.99, -31.96, -31.95]
    assert [due[f"M{n}"].value for n in range(1, 6)] == pytest.approx(table, abs=0.25)  # type: ignore[union-attr]
    assert verdicts(at(facts("F1", OUT, 200.0), "F1"), "V-SUM-2") == {("main+",): "unknown"}  # it discharges: a sign
    hot = {"M1": -65.0, "M2": -24.0, "M3": -24.0, "M4": -24.0, "M5": -23.0}
    assert verdicts(at(facts("F1", hot, 160.0), "F1"), "V-BRANCH-1")["M1",] == "fail"  # its sheet says 60 A


def test_after_a_stop_nothing_flows_and_alarms_say_what_is_seen() -> None:
    taken = {("I1", "current", f"M{n}"): 0.3 for n in range(1, 5)} | {("I1", "current", "M5"): 1.4}
    now = at(Facts(barn(), MappingProxyType(taken)), "I1")
    assert verdicts(now, "V-STOP-2")["M5",] == "fail"
    assert list(verdicts(now, "V-STOP-2").values()).count("pass") == 4
    words = dict(at(Facts(barn()), "I2").step.boxes)
    assert set(words) == {"message I1", "message I2", "smoke"}  # no detector in this file
    assert "unknown" in words["message I1"]
    watched = barn().replaced(site=replace(barn().site, earthing=replace(barn().site.earthing, detector=True)))
    assert "detector" in dict(at(Facts(watched), "I2").step.boxes)
