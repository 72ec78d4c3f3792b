"""Equal modules on a ladder: closed forms, and their table to its last digit.

Source of the forms: i_{k-1} - 2 i_k + i_{k+1} = 2 x i_k on the rungs, cosh(theta) = 1 + x [derived: Kirchhoff's laws].
same end: i_k/I = 2 sinh(theta/2) cosh((N-k+1/2) theta)/sinh(N theta), R_eff = r i_1/I
opposite ends: i_k/I = sinh(theta/2) cosh((N+1-2k) theta/2)/sinh(N theta/2), R_eff = r (i_1/I + x (N-1)/2)
Values of the table were checked elsewhere by a nodal solution and by ngspice.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from bankwright.circuit.solution import Case, Solution
from bankwright.circuit.solver.laws import Current
from bankwright.circuit.solver.solve import solve
from support.networks import ladder

pytestmark = pytest.mark.quick

# N, x, same end: max share, min share, R_eff/r, opposite ends: max share, min share, R_eff/r
TABLE = """
2 0.01 0.504950 0.495050 0.504950 0.500000 0.500000 0.505000
3 0.01 0.344241 0.324633 0.344241 0.334437 0.331126 0.344437
4 0.01 0.266992 0.237959 0.266992 0.252475 0.247525 0.267475
5 0.01 0.222994 0.184895 0.222994 0.203945 0.196063 0.223945
6 0.01 0.195491 0.148750 0.195491 0.172121 0.162317 0.197121
7 0.01 0.177287 0.122379 0.177287 0.149833 0.137310 0.179833
8 0.01 0.164779 0.102213 0.164779 0.133496 0.118979 0.168496
2 0.05 0.523810 0.476190 0.523810 0.500000 0.500000 0.525000
3 0.05 0.384164 0.293255 0.384164 0.338710 0.322581 0.388710
4 0.05 0.326220 0.197589 0.326220 0.261905 0.238095 0.336905
5 0.05 0.298846 0.138541 0.298846 0.218693 0.181488 0.318693
6 0.05 0.285125 0.099039 0.285125 0.192082 0.146628 0.317082
7 0.05 0.278043 0.071502 0.278043 0.174773 0.118050 0.324773
8 0.05 0.274334 0.051887 0.274334 0.163110 0.098795 0.338110
2 0.1 0.545455 0.454545 0.545455 0.500000 0.500000 0.550000
3 0.1 0.427083 0.260417 0.427083 0.343750 0.312500 0.443750
4 0.1 0.385403 0.160051 0.385403 0.272727 0.227273 0.422727
5 0.1 0.369246 0.100953 0.369246 0.235099 0.165563 0.435099
6 0.1 0.362751 0.064332 0.362751 0.213542 0.130208 0.463542
7 0.1 0.360103 0.041166 0.360103 0.200634 0.099128 0.500634
8 0.1 0.359017 0.026387 0.359017 0.192702 0.080026 0.542702
"""
ROWS = [tuple(map(float, line.split())) for line in TABLE.split("\n") if line]
SIZES = [(int(row[0]), row[1]) for row in ROWS]
r, I = 0.020, 100.0  # noqa: E741  any values: shares do not depend on them


def solved(count: int, feed: str, x: float) -> Solution:
    network = ladder(count, feed, r, x * r, 0.0)
    return solve(network, Case(feed, {"I1": Current(I)}), network.resistances(), np.full(count, 51.2))


def closed_form(count: int, feed: str, x: float) -> tuple[np.ndarray, float]:
    """Shares in the order of the modules from the plus feed, and R_eff / r."""
    theta, k = math.acosh(1 + x), np.arange(1, count + 1)
    if feed == "same end":
        shares = 2 * math.sinh(theta / 2) * np.cosh((count - k + 0.5) * theta) / math.sinh(count * theta)
        return shares, float(shares[0])
    shares = math.sinh(theta / 2) * np.cosh((count + 1 - 2 * k) * theta / 2) / math.sinh(count * theta / 2)
    return shares, float(shares[0]) + x * (count - 1) / 2


@pytest.mark.parametrize("feed", ["same end", "opposite ends"])
@pytest.mark.parametrize(("count", "x"), SIZES)
def test_shares_and_resistance_follow_the_closed_form(count: int, x: float, feed: str):
    solution = solved(count, feed, x)
    shares, resistance = closed_form(count, feed, x)
    assert np.abs(solution.module_currents() / I - shares).max() <= 1e-9
    assert (51.2 - solution.voltage("I1")) / I / r == pytest.approx(resistance, abs=1e-9)


@pytest.mark.parametrize("row", ROWS)
def test_table_of_shares_to_its_last_digit(row: tuple[float, ...]):
    count, x = int(row[0]), row[1]
    for feed, (most, least, resistance) in (("same end", row[2:5]), ("opposite ends", row[5:8])):
        solution = solved(count, feed, x)
        shares = solution.module_currents() / I
        assert shares.max() == pytest.approx(most, abs=0.5e-6)
        assert shares.min() == pytest.approx(least, abs=0.5e-6)
        assert (51.2 - solution.voltage("I1")) / I / r == pytest.approx(resistance, abs=0.5e-6)


def test_three_modules_are_exact_fractions():
    # N 3, x 0.1: 41/96, 30/96, 25/96 and 11/32, 10/32, 11/32 [derived by hand].
    assert solved(3, "same end", 0.1).module_currents() / I == pytest.approx([41 / 96, 30 / 96, 25 / 96], abs=1e-12)
    assert solved(3, "opposite ends", 0.1).module_currents() / I == pytest.approx(
        [11 / 32, 10 / 32, 11 / 32], abs=1e-12
    )


# Rows of modules on a bar pair, 50 A a module, equal voltages: Rm, r per segment in mohm, currents in A
# [computed elsewhere with a resistor network].
ROWS_IN_AMPERES = [
    ("same end", 16, 0.25, [50.77, 49.23]),
    ("same end", 16, 0.25, [52.53, 49.48, 47.99]),
    ("same end", 16, 0.25, [55.22, 50.70, 47.76, 46.31]),
    ("same end", 16, 1.0, [68.47, 52.03, 42.09, 37.41]),
    ("same end", 16, 0.25, [63.10, 55.70, 50.03, 45.94, 43.27, 41.96]),
    ("same end", 16, 1.0, [92.17, 66.19, 48.49, 36.84, 29.81, 26.50]),
    ("same end", 16, 0.25, [73.69, 63.49, 55.28, 48.79, 43.83, 40.24, 37.91, 36.76]),
    ("opposite ends", 16, 0.25, [50.26, 49.48, 50.26]),
    ("opposite ends", 16, 1.0, [52.94, 47.06, 47.06, 52.94]),
    ("opposite ends", 16, 1.0, [59.33, 48.00, 42.67, 42.67, 48.00, 59.33]),
    ("opposite ends", 16, 0.25, [55.22, 50.70, 47.76, 46.31, 46.31, 47.76, 50.70, 55.22]),
]


@pytest.mark.parametrize(("feed", "ohms", "segment", "expected"), ROWS_IN_AMPERES)
def test_rows_of_modules_in_amperes(feed: str, ohms: float, segment: float, expected: list[float]):
    network = ladder(len(expected), feed, ohms * 1e-3, segment * 1e-3, 0.0)
    case = Case(feed, {"I1": Current(50.0 * len(expected))})
    solution = solve(network, case, network.resistances(), np.full(len(expected), 51.2))
    assert solution.module_currents() == pytest.approx(expected, abs=0.005)
