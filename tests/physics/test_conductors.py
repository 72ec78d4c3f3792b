"""Conductors against printed tables and worked examples."""

import numpy as np
import pytest

from bankwright.physics import conductor

FOOT = 0.3048
KFT = 1000 * FOOT


def test_resistance_of_a_copper_bar():
    # IEC 60028 constants (read): 0.3 m of 25 x 6 mm.
    cold = conductor.resistance(0.3, 25e-3 * 6e-3)
    warm = conductor.resistance(0.3, 25e-3 * 6e-3, 60.0)
    assert cold == pytest.approx(34.482e-6, rel=1e-3)
    assert warm == pytest.approx(39.902e-6, rel=1e-3)


def test_standard_copper_agrees_with_the_printed_wire_table():
    # NBS Handbook 100 (1966), Copper Wire Tables, gage 0000 at 20 degC: 0.04901 ohm per 1000 ft [from memory].
    area = np.pi / 4 * (0.4600 * 0.0254) ** 2
    assert conductor.resistance(KFT, area) == pytest.approx(0.04901, abs=0.000005)


def test_inductance_of_a_pair():
    # Conductors of 7 mm radius, 50 mm apart: 0.89 uH/m (closed form of two parallel wires, mu0/pi (ln(d/a) + 1/4)).
    assert conductor.loop_inductance(1.0, 0.050, 0.007) == pytest.approx(0.89e-6, abs=0.005e-6)


def test_formulas_take_arrays():
    lengths = np.array([1.0, 2.0])
    np.testing.assert_allclose(conductor.resistance(lengths, 1e-4), [1.7241e-4, 3.4482e-4])
