"""The largest fraction of what several loads ask for, against the maximum power of a source and a slow search."""

import numpy as np
import pytest

from bankwright.circuit.solver import power as under_test
from bankwright.circuit.solver.power import power_currents


@pytest.mark.parametrize("powers", [(9e4, 3e4), (9e4, 3e4, 6e4), (1e5, 1e5, 1e5, 1e5), (5e5, 0.0)])
def test_loads_on_one_point_take_together_what_one_may_take(powers):
    """Maximum power of a source behind a resistance, U^2 / 4Z, whoever draws it [stated law]."""
    U, z = 51.2, 0.02
    J, fraction = power_currents(
        np.array(powers), np.full((1, len(powers)), U), np.full((1, len(powers), len(powers)), z)
    )
    assert fraction[0] * sum(powers) == pytest.approx(U * U / (4 * z), rel=1e-9)
    assert J.sum() == pytest.approx(U / (2 * z), rel=1e-5)


def _asked(seed: int, count: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    luck = np.random.default_rng(seed)
    loads = int(luck.integers(2, 6))
    A = luck.normal(size=(count, loads, loads)) * 0.003
    Z = A @ np.swapaxes(A, 1, 2) + np.eye(loads) * luck.uniform(1e-4, 5e-3) + luck.uniform(0, 0.01)
    U = luck.uniform(40, 58, (count, 1)) + luck.normal(size=(count, loads)) * 0.01
    power = luck.uniform(0.2, 1, loads) * 10 ** luck.uniform(4.5, 5.2)
    if seed % 3 == 0:
        power[0] *= -0.3  # one pushes
    return power, U, Z


@pytest.mark.parametrize("seed", range(24))
def test_the_fold_is_where_a_slow_search_ends(seed):
    """The road of one variant and that of two hundred; by halving what holds and what does not, on the guard alone."""
    power, U, Z = _asked(seed, 5)
    J, fraction = power_currents(power, U, Z)
    for row in range(len(U)):
        low, high = 0.0, 1.0
        for _ in range(34):
            middle = (low + high) / 2
            asked = np.where(power > 0, middle * power, power)
            held = under_test._several(asked[None], U[row, None], Z[row, None])[1][0]
            low, high = (middle, high) if held else (low, middle)
        if fraction[row] < 1.0:
            assert fraction[row] == pytest.approx(low, abs=2e-9)
            at_load = U[row] - Z[row] @ J[row]
            assert at_load * J[row] == pytest.approx(np.where(power > 0, low * power, power), rel=1e-7)
        else:
            assert low > 1 - 1e-9


def test_far_more_than_can_be_delivered_is_found_too():
    """Below a sixteenth of what is asked the fold has no start near it."""
    U, z = 51.2, 0.02
    both = np.array([3e6, 1e6])
    _, fraction = power_currents(both, np.full((3, 2), U), np.full((3, 2, 2), z))
    assert fraction * both.sum() == pytest.approx(np.full(3, U * U / (4 * z)), rel=1e-6)
