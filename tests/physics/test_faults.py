"""Short circuits and what conductors stand."""

import numpy as np
import pytest

from bankwright.handbook.tables import load
from bankwright.physics import fault, withstand

pytestmark = pytest.mark.quick

MM2 = 1e-6


def test_least_fault_through_an_arc():
    # By hand: 48 V behind 6.6 mohm: 7.2 to 7.3 kA, half of it 3.6 kA; one cold module of 29 mohm: half of 1.6 kA.
    assert fault.arcing_fault(48.0 / 6.6e-3) == pytest.approx(3.6e3, abs=0.05e3)
    assert fault.arcing_fault(48.0 / 29e-3) == pytest.approx(0.8e3, abs=0.05e3)


def test_withstand_formula_reproduces_the_printed_values():
    # IEC 60364-4-43:2008 table 43A (read): whole numbers; the standard's own formula gives each within 0.7 percent.
    for row in load("iec-60364-4-43/k").rows:
        assert withstand.k_factor(row["initial"], row["final"]) / 1e6 == pytest.approx(row["k"], rel=0.007)
    assert withstand.k_factor(70, 160) / 1e6 == pytest.approx(114.84, rel=0.002)
    assert withstand.k_factor(90, 250) / 1e6 == pytest.approx(142.87, rel=0.002)
    assert withstand.k_factor(105, 250) / 1e6 == pytest.approx(134.6, rel=0.002)


def test_withstand_agrees_with_the_other_standard_form():
    # IEC 60949, copper: k = 226 sqrt(ln(1 + (Tf - Ti)/(234.5 + Ti))), read beside the printed values.
    for initial, final in ((70, 160), (90, 250), (30, 250)):
        other = 226 * np.sqrt(np.log1p((final - initial) / (234.5 + initial)))
        assert withstand.k_factor(initial, final) / 1e6 == pytest.approx(other, rel=0.002)


def test_withstand_of_a_main_and_of_a_meter_tap():
    # 107.2 mm2, k 134.6: 2.08e8 A2s. A 13.3 mm2 tap, k 134.6, at 5.4 kA for 0.2 s: 5.8e6 against 3.2e6.
    assert withstand.withstand_let_through(107.2 * MM2, 134.6e6) == pytest.approx(2.08e8, abs=0.005e8)
    assert withstand.withstand_let_through(13.3 * MM2, 134.6e6) == pytest.approx(3.2e6, abs=0.05e6)
    assert withstand.withstand_let_through(13.3 * MM2, 134.6e6) < 5400.0**2 * 0.2


@pytest.mark.parametrize(
    ("current", "time", "section", "last_digit"), [(10e3, 0.1, 22.11, 0.01), (12e3, 0.02, 11.9, 0.1)]
)
def test_printed_sections_just_stand_their_short(current, time, section, last_digit):
    # k 143. A published page (read): 12 kA, 0.02 s: 11.9 mm2; 10 kA for 0.1 s: 22.11 mm2 (S = sqrt(I2 t)/k by hand).
    for end, stands in ((section + last_digit / 2, True), (section - last_digit / 2, False)):
        assert (withstand.withstand_let_through(end * MM2, 143e6) >= current**2 * time) is stands
