"""Worked examples of first power-up that were computed elsewhere, against the sheet and the physics under it."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

import pytest

from bankwright.physics.insulation import leaks
from bankwright.physics.precharge import energy, first_current, held_power
from bankwright.prove.sheet.due import Due, Facts
from bankwright.prove.sheet.sheet import StepNow, prove_sheet
from support.proved import barn


def at(facts: Facts, name: str) -> StepNow:
    return next(now for now in prove_sheet(facts, {}).steps if now.step.id == name)


def insulation(*isolated: bool | None) -> Due:
    bank = barn()
    made = tuple(
        replace(i, kind=replace(i.kind, isolated=apart)) for i, apart in zip(bank.inverters, isolated, strict=True)
    )
    return at(Facts(bank.replaced(inverters=made)), "A6").readings[0].due


def test_row_of_the_insulation_test_follows_from_the_inverters() -> None:
    # 51.2 V: all separated 250 V, 0.5 Mohm; one that is not: 500 V, 1 Mohm (IEC 60364-6 as printed)
    apart, one_not = insulation(True, True), insulation(True, False)
    assert (apart.window[0], "250 V" in apart.words) == (0.5e6, True)
    assert (one_not.window[0], "500 V" in one_not.words) == (1e6, True)
    assert insulation(True, None).missing  # nobody said: unknown, not the milder row


@pytest.mark.parametrize(("minus", "verdict"), [(-48.041, "fail"), (-47.5, "pass")])
def test_the_live_limit_of_a_51_volt_bank_is_5_12_kohm(minus: float, verdict: str) -> None:
    taken = {("B3", "frame_voltage", "bar+1"): 0.024, ("B3", "frame_voltage", "bar-1"): minus}
    taken |= {("B3", "voltage", "bar+1"): 53.2, ("B3", "resistance", "bar+1"): 46.78e3}
    facts = Facts(barn(), MappingProxyType(taken), may_join=True, not_earthed="not yet")
    (finding,) = at(facts, "B3").findings
    assert finding.verdict == verdict
    if verdict == "fail":
        assert finding.limits[0] == pytest.approx(5120.0)
        assert finding.figure is not None
        assert finding.figure.value == pytest.approx(4998.0, rel=1e-3)


def test_both_forms_of_the_leak_agree() -> None:
    # UN rule for vehicles, R0 U (1/V1' - 1/V1): 53.2 V, 48.364 then 16.483 V with 47 kohm make 100.0 kohm
    independent = 47e3 * 53.2 * (1 / 16.483 - 1 / 48.364)
    assert independent == pytest.approx(100e3, rel=1e-3)
    found = leaks(53.2, 4.793, 47.928, 10e6)  # the same bank with one meter of 10 Mohm
    assert found.plus == pytest.approx(independent, rel=2e-3)
    assert found.both == pytest.approx(90.9e3, abs=200.0)


def test_leaks_of_a_bank_with_a_detector() -> None:
    for volts, meter in ((26.47, 10e6), (25.33, 1e6)):  # 2 x 100 kohm, two meters
        assert leaks(53.2, volts, volts, meter).both == pytest.approx(50e3, rel=0.02)


def test_peak_power_and_energy_of_the_pre_charge() -> None:
    # 53.2 V, 30 ohm, 24 mF: 1.77 A, 94.3 W, 34.0 J
    assert first_current(53.2, 30.0) == pytest.approx(1.77, abs=0.005)
    assert held_power(53.2, 30.0) == pytest.approx(94.3, abs=0.1)
    assert energy(53.2, 24e-3) == pytest.approx(34.0, abs=0.1)


def test_what_stays_over_the_resistor_is_told_as_a_current() -> None:
    # 12.0 V over 30 ohm: 0.40 A
    taken = {("C1", "voltage_drop", "S1"): 12.0}
    finding = at(Facts(barn(), MappingProxyType(taken), may_join=True), "C1").findings[0]
    assert finding.verdict == "caution"
    assert "400 mA is drawn" in finding.do.text()
