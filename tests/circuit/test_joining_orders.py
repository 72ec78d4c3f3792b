"""Orders of closing on plain arrays, against currents that can be written down."""

from itertools import permutations

import numpy as np
import pytest

from bankwright.circuit.joining import Joining
from bankwright.circuit.run.ports import Ports


def joining(volts, r=0.01, takes=50.0, gives=100.0):
    count = len(volts)
    ports = Ports.common_bar(np.zeros(count))
    return Joining(ports, np.array(volts, float), np.full(count, r), np.full(count, takes), np.full(count, gives))


def test_currents_of_three_unequal_modules_at_rest():
    # millman: E 53.3, 53.2, 53.0 V behind 20, 20, 25 mohm: 6.071429, 1.071429, -7.142857 A
    ports = Ports.common_bar(np.zeros(3))
    found = Joining(
        ports, np.array([53.3, 53.2, 53.0]), np.array([0.02, 0.02, 0.025]), np.full(3, 50.0), np.full(3, 50.0)
    )
    assert found.currents(frozenset(range(3))) == pytest.approx([6.071429, 1.071429, -7.142857], abs=1e-6)
    assert found.currents(frozenset([0, 2])) == pytest.approx([0.3 / 0.045, 0.0, -0.3 / 0.045])


def test_the_gentlest_order_is_the_best_of_all():
    found = joining([52.5, 53.1, 52.4, 52.55])
    ratios = []
    for sequence in permutations(range(4)):
        worst = max(found.step_ratio(frozenset(sequence[:n]))[0] for n in (2, 3, 4))
        ratios.append(worst)
    assert found.gentlest().ratio == pytest.approx(min(ratios))
    assert found.gentlest().names[-1] == "M2"


def test_largest_difference_of_two_modules_is_limit_times_loop():
    # 50 A allowed at once, loop 22 mohm: 1.1 V (worked example of the electrical reference)
    found = joining([52.0, 52.0], r=0.011)
    assert found.largest_difference(0, frozenset([1])) == (pytest.approx(1.1), pytest.approx(1.1))


def test_a_high_module_onto_four_is_bound_by_what_it_gives():
    found = joining([52.0] * 5, r=0.01, takes=50.0, gives=100.0)
    above, below = found.largest_difference(0, frozenset(range(1, 5)))
    assert above == pytest.approx(100 * (0.01 + 0.01 / 4))
    assert below == pytest.approx(50 * (0.01 + 0.01 / 4))


def test_beyond_six_modules_a_good_order_is_built():
    rng = np.random.default_rng(5)
    found = joining(list(52.5 + 0.3 * rng.uniform(-1, 1, 9)))
    good = found.gentlest()
    some = [found.order(tuple(rng.permutation(9).tolist())).ratio for _ in range(200)]
    assert good.ratio <= min(some) * (1 + 1e-9)
    assert len(list(found.orders())) == 9
