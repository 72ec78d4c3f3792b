"""Worked examples of first power-up that stand in no other file of this folder: inputs, expected value, tolerance.

They were computed elsewhere (derived from the stated laws, or by an engine run of the same two invented banks).
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

import pytest

from bankwright.bank.model import Bank
from bankwright.circuit.inverse.looks import voltage_look
from bankwright.forms.toleranced import Toleranced
from bankwright.handbook.ampacity import base_ampacity
from bankwright.handbook.books import book
from bankwright.physics.ampacity import conductor_temperature
from bankwright.physics.heat import heating_factor
from bankwright.physics.precharge import time_to_reach
from bankwright.physics.reading import camera_reading, reached, stray_field, thermal_ohms, time_constant
from bankwright.prove.expected import Conditions, expected, loads_of
from bankwright.prove.meters import Millivolts
from bankwright.prove.sheet.due import Due, Facts
from bankwright.prove.sheet.sheet import one_step
from support.proved import barn, chain_bank


def dues(facts: Facts, name: str) -> list[Due]:
    now = one_step(facts, name)
    assert now is not None
    return [each.due for each in now.readings]


@pytest.mark.parametrize(("seconds", "left"), [(1.0, 14.17), (2.0, 4.43), (3.0, 2.01), (8.0, 1.20)])
def test_volts_left_over_the_switch_while_it_fills(seconds: float, left: float) -> None:
    # 53.2 V, 30 ohm, 24 mF, 40 mA: the time to these volts is read backward, 8 s as "for ever"
    if seconds == 8.0:
        assert pytest.approx(left) == 30.0 * 0.040
        return
    found = time_to_reach(left, 53.2, 30.0, 24e-3, 40e-3)
    slope = (left - 1.20) / (30.0 * 24e-3)  # V/s there
    assert abs(found - seconds) * slope < 0.01


def one_inverter() -> Bank:
    """The chain with its one inverter as the example has it: 12 mF, 20 mA, 30 ohm."""
    bank, like = chain_bank(), barn().inverters[0].kind.precharge
    made = tuple(
        replace(
            i,
            kind=replace(i.kind, capacitance=Toleranced(12e-3, 9.6e-3, 14.4e-3), standby_current=20e-3, precharge=like),
        )
        for i in bank.inverters
    )
    return bank.replaced(inverters=made)


def test_pre_charge_of_the_chain() -> None:
    # 30 ohm, 12 mF, 20 mA to 2 V: 1.31 s [0.99, 1.65]; end 0.60 V; half a second is the hand's
    taken = MappingProxyType({("B1", "voltage", f"M{k}"): 53.2 for k in range(1, 5)})
    filled, left = dues(Facts(one_inverter(), taken), "C1")
    assert filled.expected is not None
    assert filled.expected.value == pytest.approx(1.31, abs=0.01)
    assert filled.window == pytest.approx((0.99 - 0.5, 1.65 + 0.5), abs=0.01)
    assert left.expected is not None
    assert left.expected.value == pytest.approx(0.60)


@pytest.mark.parametrize(("ohmic", "gap", "amps"), [(6e-3, 0.020, 2.38), (5e-3, 0.060, 8.42)])
def test_the_fifth_module_joins(ohmic: float, gap: float, amps: float) -> None:
    # 6.724 mohm each, 20 mV: 2.38 A; 5.7 mohm, 60 mV: 8.42 A
    bank = barn()
    kind = bank.modules[0].kind
    own = replace(kind, resistance=replace(kind.resistance, ohmic=Toleranced(ohmic, ohmic, ohmic)))
    alike = bank.replaced(modules=tuple(replace(m, kind=own) for m in bank.modules))
    taken = MappingProxyType({("B2", "voltage_drop", "M5"): gap})
    facts = Facts(alike, taken, tuple(f"M{k}" for k in range(1, 6)), may_join=True)
    due = next(each for each in dues(facts, "B2") if (each.at, each.quantity) == ("M5", "current"))
    assert due.expected is not None
    assert due.expected.value == pytest.approx(amps, rel=0.01)


def test_a_thermal_voltage_looks_like_a_resistance() -> None:
    # 5 K brass, 1 K oxide, at 50 A: 0.3 and 20 uohm
    assert thermal_ohms(3e-6, 5.0, 50.0) == pytest.approx(0.3e-6)
    assert thermal_ohms(1e-3, 1.0, 50.0) == pytest.approx(20e-6)
    acts = " ".join(one_step(Facts(barn(), may_join=True), "E3").step.acts)  # type: ignore[union-attr]
    assert "0.3 micro-ohm" in acts
    assert "like 20" in acts


@pytest.mark.parametrize(("step", "amps"), [(1e-4, 6.0), (1e-5, 1.5)])
def test_what_a_shunt_leaves_open(step: float, amps: float) -> None:
    # 50 mV at 500 A, 200 A: 20.0 mV; 0.5 % + 5 counts of 0.1 and 0.01 mV: +-6.0 and +-1.5 A
    volts = 0.050 / 500.0 * 200.0
    assert volts == pytest.approx(20.0e-3)
    assert Millivolts(step=step).half(volts) / (0.050 / 500.0) == pytest.approx(amps, abs=0.1)


def test_rise_of_a_cable() -> None:
    # 4/0 in free air, column 360 A: 214 A 15.9 K, with ripple of 1.225 23.9 K; 1 AWG 43 A 2.2 K
    rules = book("nec-2023")
    columns = {size: base_ampacity(rules, size, 75.0, "free air").value for size in ("4/0 AWG", "1 AWG")}
    assert columns["4/0 AWG"] == 360.0
    for size, amps, kelvin in (
        ("4/0 AWG", 214.0, 15.9),
        ("4/0 AWG", 214.0 * heating_factor(1.0), 23.9),
        ("1 AWG", 43.0, 2.2),
    ):
        assert conductor_temperature(amps, columns[size], 75.0, 0.0) == pytest.approx(kelvin, abs=0.1)


@pytest.mark.parametrize(
    ("emissivity", "shown"), [(0.04, 28.0), (0.1, 32.3), (0.3, 46.0), (0.63, 63.0), (0.78, 72.0), (0.95, 80.0)]
)
def test_what_a_camera_shows_of_bare_metal(emissivity: float, shown: float) -> None:
    # true 80 degC, room 25, set 0.95: 32.3 at 0.1 and 72.0 at 0.78; the others as rounded in a table
    exact = emissivity in (0.1, 0.78, 0.95)
    assert camera_reading(80.0, 25.0, emissivity) == pytest.approx(shown, abs=0.2 if exact else 2.2)


def test_part_of_the_final_rise_after_an_hour() -> None:
    # tau 11.9 and 38.3 min: 0.994 and 0.79
    assert reached(3600.0, 11.9 * 60) == pytest.approx(0.994, abs=0.005)
    assert reached(3600.0, 38.3 * 60) == pytest.approx(0.79, abs=0.005)
    assert time_constant(400e-6, 0.100, 6.0) == pytest.approx(38.3 * 60, rel=0.005)  # a bar of 40 x 10 mm
    assert time_constant(107.2e-6, 0.0504, 10.0) == pytest.approx(11.9 * 60, rel=0.05)  # a 4/0 cable


def test_the_field_beside_a_main() -> None:
    # 200 A at 5 and 10 cm: 800 and 400 uT
    assert stray_field(200.0, 0.05) == pytest.approx(800e-6, rel=1e-6)
    assert stray_field(200.0, 0.10) == pytest.approx(400e-6, rel=1e-6)


def test_post_volts_of_a_module_with_a_milliohm_more() -> None:
    # chain, 100 A, +1 mohm in M1: 50.839 V at its posts (in its plus link instead: 50.863, tests of the figures due)
    def more(value: Toleranced | None) -> Toleranced:
        assert value is not None
        return Toleranced(value.nominal + 1e-3, value.low + 1e-3, value.high + 1e-3)

    bank = chain_bank()
    first = bank.modules[0]
    own = first.kind.resistance
    worse = replace(own, dc=more(own.dc), surge=more(own.surge), ohmic=more(own.ohmic))
    grown = (replace(first, kind=replace(first.kind, resistance=worse)), *bank.modules[1:])
    cells = dict.fromkeys(("M1", "M2", "M3", "M4"), 25.0)
    there = bank.replaced(modules=grown)
    found = expected(there, Conditions(loads_of(there, 100.0), 30.0, cells_degc=cells))
    assert list(found.solution.module_currents()) == pytest.approx([24.06, 25.12, 25.10, 25.72], abs=0.011)
    assert found.figure(voltage_look("M1+", "M1-", "x")).value == pytest.approx(50.839, abs=1e-3)


def test_the_cold_busbar() -> None:
    """Camera at 55 % load: a bare plated spot shows the room, the taped one 22 K over it: past 75 degC at full load."""
    assert camera_reading(47.0, 25.0, 0.1) == pytest.approx(28.0, abs=0.7)  # plated copper at 47 degC
    bank, full = barn(), 2 * 5000.0 / 0.93 / 46.0
    taken = {("E4", "current", "main+"): 118.0, ("E4", "temperature_difference", "main+@F1a"): 22.0}
    now = one_step(Facts(bank, MappingProxyType(taken), may_join=True), "E4")
    assert now is not None
    assert 22.0 * (full / 118.0) ** 2 == pytest.approx(86.0, abs=1.0)  # by the square, at this file's full current
    assert [f.verdict for f in now.findings if f.code == "V-WARM-1"] == ["fail"]
