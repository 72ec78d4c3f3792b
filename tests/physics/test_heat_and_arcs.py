"""Ripple, warmth, joints, arcs, devices."""

import numpy as np
import pytest

from bankwright.handbook.tables import load
from bankwright.physics import arc, device, heat, joint

CAL_CM2 = 4.184e4


def rms_over_mean(resistance, inductance, capacitance, line, series):
    """Battery current of a source behind R and L with a capacitor beside a load 1 + cos(2 w t), by integration."""
    w = 4 * np.pi * line
    h = 1 / line / 4000
    voltage, current, kept = 1.0, 1.0, []
    for n in range(160000):
        load_now = 1 + np.cos(w * n * h)
        capacitor = current - load_now
        terminal = voltage + series * capacitor
        current += h / inductance * (1.0 + resistance - terminal - resistance * current)
        voltage += h * capacitor / capacitance
        if n >= 80000:
            kept.append(current)
    kept = np.array(kept)
    return np.sqrt((kept**2).mean()) / kept.mean()


def test_ripple_agrees_with_integration():
    # 20 mF (2 mohm in series) against 8 mohm and 2 uH, 50 Hz: 1.228.
    by_integration = rms_over_mean(0.008, 2e-6, 0.020, 50, 0.002)
    computed = heat.heating_factor(heat.ripple_share(0.008, 2e-6, 0.020, 50, 0.002))
    assert computed == pytest.approx(by_integration, abs=0.003)
    assert computed == pytest.approx(1.228, abs=0.0005)


def test_ripple_of_a_large_capacitor():
    # 60 mF (2 mohm in series) against 15 mohm and 2 uH, 50 Hz: 1.175.
    assert heat.heating_factor(heat.ripple_share(0.015, 2e-6, 0.060, 50, 0.002)) == pytest.approx(1.175, abs=0.0005)


def test_without_capacitors_the_bank_gives_the_whole_ripple():
    assert heat.ripple_share(0.008, 3e-6, 0.0, 50) == 1.0
    assert heat.heating_factor(1.0) == pytest.approx(np.sqrt(1.5))


@pytest.mark.parametrize(("ohms", "factor"), [(0.008, 1.24), (0.003, 1.30)])
def test_worst_capacitor_up_to_100_mf(ohms, factor):
    worst = heat.worst_heating_factor(ohms, 3e-6, 60)
    assert worst == pytest.approx(factor, abs=0.006)
    tried = np.linspace(1e-4, 0.1, 5000)
    assert worst == pytest.approx(heat.heating_factor(heat.ripple_share(ohms, 3e-6, tried, 60)).max(), rel=1e-5)


def test_one_bad_lug():
    assert joint.heat(200.0, 50e-6) == pytest.approx(2.0)


def test_rms_of_a_continuous_inverter():
    # By hand: 135.87 A mean heats like 166.4 A where no capacitor helps.
    assert 135.87 * heat.heating_factor(1.0) == pytest.approx(166.4, abs=0.05)


def test_bars():
    # 40 x 10 mm, 9 mm hole, 280 A: 0.90 A/mm2; 25 x 6, 9 mm hole, 400 A: 4.17 A/mm2 (arithmetic).
    assert joint.density(280.0, joint.net_section(0.040, 0.010, 0.009)) / 1e6 == pytest.approx(0.903, abs=0.001)
    assert joint.density(400.0, joint.net_section(0.025, 0.006, 0.009)) / 1e6 == pytest.approx(4.167, abs=0.001)
    # NEC 366.23 (read): 1/2 x 3/4 in: 375 A copper.
    section = joint.net_section(0.75 * 0.0254, 0.5 * 0.0254)
    rows = {row["rule"]: row["density"] for row in load("busbar/density").rows}
    assert rows["nec copper"] * section * 1e6 == pytest.approx(375, rel=2e-3)
    assert rows["nec aluminium"] * section * 1e6 == pytest.approx(262.5, rel=2e-3)


def test_arc_bound_unchanged():
    # Own figures of the equation itself, no outside word; the only one is the sphere below, to 6 %.
    # Maximum power method, NFPA 70E Annex D.5.1 (equation from memory; 1/(8 pi) derived): 53.6 V, 8933 A bolted, 18 in.
    current = arc.most_power_current(8933.33)
    assert current == pytest.approx(4466.67, abs=0.01)
    assert arc.incident_energy(53.6, current, 2.0, 0.4572) / CAL_CM2 == pytest.approx(2.2907, rel=1e-3)
    assert arc.incident_energy(53.6, current, 0.01, 0.4572) / CAL_CM2 == pytest.approx(0.01145, rel=1e-3)
    assert arc.incident_energy(125.0, 5000.0, 0.5, 0.4572) / CAL_CM2 == pytest.approx(1.495, rel=1e-3)


def test_arc_bound_of_a_large_bank():
    # By hand: 54.4 V, 30 kA bolted, 18 in: 0.04 cal/cm2 in 10 ms, 7.8 in 2 s.
    current = arc.most_power_current(30e3)
    assert arc.incident_energy(54.4, current, 0.010, 0.4572) / CAL_CM2 == pytest.approx(0.039, abs=0.0005)
    assert arc.incident_energy(54.4, current, 2.0, 0.4572) / CAL_CM2 == pytest.approx(7.8, abs=0.05)
    assert arc.incident_energy(54.4, current, 2.0, 0.4572) > arc.ONSET


def test_printed_arc_constant_is_the_derived_one_rounded_up():
    spread_over_a_sphere = 0.5 * 100 * 1000 * 1.0 / (4 * np.pi * 0.5**2)  # half the voltage times the current
    printed = arc.incident_energy(100.0, 1000.0, 1.0, 0.5)
    assert printed == pytest.approx(spread_over_a_sphere, rel=0.06)
    assert printed > spread_over_a_sphere


def test_derating():
    # 250 A, 0.5 percent per kelvin above 25 degC, at 40 degC: 231 A; 200 A: 185 A.
    assert device.derated(250.0, 40.0, 25.0, 0.005) == pytest.approx(231.25)
    assert device.derated(200.0, 40.0, 25.0, 0.005) == pytest.approx(185.0)
    assert device.derated(200.0, 10.0, 25.0, 0.005) == 200.0


def test_clearing_time_on_logarithmic_paper():
    currents, times = [500.0, 5000.0], [100.0, 0.01]
    assert device.clearing_time(np.sqrt(500.0 * 5000.0), currents, times) == pytest.approx(1.0)
    assert device.clearing_time(400.0, currents, times) == np.inf
    assert np.isnan(device.clearing_time(9000.0, currents, times))
    assert device.steady_let_through(500.0, device.clearing_time(500.0, currents, times)) == pytest.approx(
        500.0**2 * 100
    )
