"""Rows of the AC side for an electrician, and the figures in them against worked examples computed elsewhere."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import pytest

from bankwright.bank.model_house import Bonds
from bankwright.forms.faults import QuestionError
from bankwright.forms.toleranced import Toleranced
from bankwright.job import open_bank
from bankwright.job.powering import keep_readings, powering
from bankwright.logbook.logbook import open_logbook
from bankwright.physics.neutral import between_legs, gfci_time, stray_current
from bankwright.prove.sheet.due import Due, Facts
from bankwright.prove.sheet.sheet import ProveSheet, StepNow, prove_sheet
from support.proved import barn


def sheet(frequency: float | None = 60.0, inverters: bool = True) -> ProveSheet:
    bank = barn()
    made = tuple(replace(i, kind=replace(i.kind, frequency=frequency)) for i in bank.inverters)
    return prove_sheet(Facts(bank.replaced(inverters=made if inverters else ())), {})


def now(found: ProveSheet, name: str) -> StepNow:
    return next(each for each in found.steps if each.step.id == name)


def due(found: ProveSheet, name: str, at: str) -> Due:
    return next(each.due for each in now(found, name).readings if each.due.at == at)


def read(name: str, frequency: float = 60.0, **values: float) -> StepNow:
    """The step with these readings taken: `I1_LN=121` is I1.L-N."""
    places = {"LN": "L-N", "LPE": "L-PE", "NPE": "N-PE", "PE": "PE", "L": "L"}
    taken = {}
    for key, value in values.items():
        owner, _, at = key.partition("_")
        taken[name, "ac_current" if at in ("PE", "L") else "ac_voltage", f"{owner}.{places[at]}"] = value
    made = tuple(replace(i, kind=replace(i.kind, frequency=frequency)) for i in barn().inverters)
    facts = Facts(barn().replaced(inverters=made), MappingProxyType(taken), may_join=True)
    return now(prove_sheet(facts, {}), name)


def told(step: StepNow) -> dict[str, str]:
    return {f"{f.code} {f.at[0]}": f.verdict for f in step.findings}


def test_a_second_bond_puts_the_heaters_current_on_the_protective_conductor() -> None:
    # 12.5 A, neutral 1.61 and PE 4.07 mohm/m: 3.54 A; equal sizes 6.25 A
    assert stray_current(12.5, 1.61e-3, 4.07e-3) == pytest.approx(3.54, abs=0.005)
    assert stray_current(12.5, 3.0, 3.0) == 6.25
    assert stray_current(12.5, 1.61e-3, 1e9) == pytest.approx(0.0, abs=1e-9)  # one bond: no way back there


@pytest.mark.parametrize(("amps", "seconds"), [(6e-3, 5.59), (30e-3, 0.560), (264e-3, 0.025)])
def test_trip_time_of_class_a(amps: float, seconds: float) -> None:
    assert gfci_time(amps) == pytest.approx(seconds, rel=0.01)


@pytest.mark.parametrize(("degrees", "volts"), [(0.0, 0.0), (120.0, 207.8), (180.0, 240.0)])
def test_two_legs_of_120_volts(degrees: float, volts: float) -> None:
    assert between_legs(120.0, degrees) == pytest.approx(volts, abs=0.1)


def test_every_row_of_the_ac_side_is_an_electricians_and_says_how_it_is_known() -> None:
    found = sheet()
    rows = [each for each in found.steps if each.step.id in ("D1", "D2", "D3", "G1", "G2", "G3")]
    assert len(rows) == 6
    assert {each.step.hands for each in rows} == {"electrician"}
    assert all(each.due.source.how_known for step in rows for each in step.readings)
    assert due(found, "G1", "I1.L-N").window == pytest.approx((114.0, 126.0))
    assert due(found, "D3", "RCD.30mA").window[1] == pytest.approx(0.560, rel=0.01)
    assert "3.5 A" in " ".join(now(found, "D2").step.acts)


def test_the_limits_follow_the_frequency_and_are_unknown_without_it() -> None:
    assert due(sheet(50.0), "G1", "I1.L-N").window == pytest.approx((207.0, 253.0))
    assert due(sheet(50.0), "D1", "I1").window == pytest.approx((49.917, 50.083), abs=0.001)
    assert due(sheet(None), "G1", "I1.L-N").missing
    assert due(sheet(None), "D1", "I1").missing


@pytest.mark.parametrize(
    ("volts", "verdict"), [(121.0, "pass"), (125.0, "caution"), (127.0, "fail"), (0.0, "fail"), (60.0, "fail")]
)
def test_a_leg_is_judged_as_typed(volts: float, verdict: str) -> None:
    assert told(read("D1", I1_LN=volts))["V-AC-1 I1.L-N"] == verdict


def test_the_inverters_own_sheet_is_the_limit_in_island() -> None:
    own = Toleranced(120.0, 117.6, 122.4)
    made = tuple(replace(i, kind=replace(i.kind, volts_out=own, frequency=60.0)) for i in barn().inverters)
    found = prove_sheet(Facts(barn().replaced(inverters=made)), {})
    assert due(found, "D1", "I1.L-N").window == (117.6, 122.4)
    assert due(found, "G1", "I1.L-N").window == pytest.approx((114.0, 126.0))


def test_half_of_the_voltage_at_both_ends_is_a_missing_bond() -> None:
    step = read("D1", I1_LN=120.0, I1_LPE=61.0, I1_NPE=59.0)
    assert told(step)["V-AC-2 I1.N-PE"] == "fail"
    assert told(step)["V-AC-1 I1.L-PE"] == "fail"
    assert step.state == "stopped"
    assert "no bond" in next(f for f in step.findings if f.code == "V-AC-2").do.text()


def test_three_readings_that_do_not_close_are_unknown_and_accuse_nothing() -> None:
    assert told(read("D1", I1_LN=120.0, I1_LPE=119.0, I1_NPE=0.1))["V-AC-3 I1.L-PE"] == "pass"
    assert told(read("D1", I1_LN=120.0, I1_LPE=110.0, I1_NPE=0.1))["V-AC-3 I1.L-PE"] == "unknown"


def test_a_heaters_current_on_the_earth_wire_is_two_bonds() -> None:
    # 12.5 A heater, clamp round PE 3.5 A, N-PE 0.02 V at the sub-panel: two bonds
    step = read("D2", panel_L=12.5, panel_PE=3.5, panel_NPE=0.02)
    assert told(step)["V-BOND-1 panel.PE"] == "fail"
    words = next(f for f in step.findings if f.code == "V-BOND-1").do.text()
    assert "3.54 A" in words
    assert "6.25 A" in words
    assert told(read("D2", panel_L=12.5, panel_PE=0.05))["V-BOND-1 panel.PE"] == "pass"


def test_the_conductors_of_the_file_tell_what_two_bonds_would_show() -> None:
    bank = barn()
    bonds = Bonds(island="I1", neutral="6 AWG", protective="10 AWG")
    wired = bank.replaced(site=replace(bank.site, bonds=bonds))
    step = now(prove_sheet(Facts(wired), {}), "D2")
    assert "10 AWG PE" in step.step.acts[0]
    assert "3.5 A" in step.step.acts[0]  # 12.5 A x 1.30 / (1.30 + 3.28): 6 and 10 AWG have the ratio 1 : 2.53
    dead = next(each.due for each in step.readings if each.due.quantity == "resistance")
    assert "the bond is at: I1" in dead.words
    assert not dead.missing
    assert next(r.due for r in now(sheet(), "D2").readings if r.due.quantity == "resistance").missing


@pytest.mark.parametrize(("volts", "verdict"), [(240.0, "pass"), (0.0, "fail"), (207.8, "fail")])
def test_two_units_on_one_phase_give_nothing_between_them(volts: float, verdict: str) -> None:
    made = tuple(
        replace(i, kind=replace(i.kind, frequency=60.0), phase=phase)
        for i, phase in zip(barn().inverters, ("L1", "L2"), strict=True)
    )
    taken = MappingProxyType({("D1", "ac_voltage", "panel.L1-L2"): volts})
    found = prove_sheet(Facts(barn().replaced(inverters=made), taken), {})
    legs = due(found, "D1", "panel.L1-L2")
    assert legs.expected is not None
    assert legs.expected.value == pytest.approx(240.0)
    assert told(now(found, "D1"))["V-AC-5 panel.L1-L2"] == verdict


def test_volts_on_the_utilitys_side_of_an_open_transfer_stop() -> None:
    taken = MappingProxyType({("G2", "ac_voltage", "utility.L1-N"): 118.0})
    step = now(prove_sheet(Facts(barn(), taken, may_join=True), {}), "G2")
    assert step.state == "stopped"


@pytest.mark.parametrize(
    ("at", "text", "code"),
    [
        ("I1.L-N", "121 A", "wrong-dimension"),
        ("I1.L-N", "-3 V", "value-impossible"),
        ("I9.L-N", "121 V", "which-place"),
        ("I1.L-N", "12100 V", "value-impossible"),
        ("I1.L-N", "121", "unit-missing"),
    ],
)
def test_wrong_entries_of_the_ac_side_are_named(tmp_path: Path, at: str, text: str, code: str) -> None:
    path = tmp_path / "barn.toml"
    path.write_text((Path(__file__).parents[2] / "demo" / "barn.toml").read_text("utf-8"), "utf-8")
    job = open_bank(path)
    with open_logbook(path, job.bank) as book:
        step = replace(now(powering(job, book), "D1"), state="open")
        keep_readings(book, job.bank, step, ("I1.L-N=120.4 V", "I2.N-PE=0.1 V"), who="Ira")
        assert len(book.readings(quantity="ac_voltage")) == 2
        with pytest.raises(QuestionError) as refused:
            keep_readings(book, job.bank, step, (f"{at}={text}",))
        assert len(book.readings(quantity="ac_voltage")) == 2
    assert code in {fault.code for fault in refused.value.faults}, refused.value.faults


def test_load_waits_for_the_residual_devices_and_without_an_inverter_there_is_no_ac_side() -> None:
    waits = {now.step.id: now.step.waits for now in sheet().steps}
    assert waits["E1"] == ("D3",)
    bare = {now.step.id: now.step.waits for now in sheet(inverters=False).steps}
    assert not [name for name in bare if name[0] in "DG"]
    assert bare["E1"] == ("C4",)
