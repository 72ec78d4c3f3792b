"""Runs against closed forms of the linear model: two modules joined, two modules under a constant current."""

import numpy as np
import pytest

from bankwright.circuit.run.loads import Profile, RunLoad
from bankwright.circuit.run.modules import run_modules
from bankwright.circuit.run.ports import Ports
from bankwright.circuit.run.run import run

LINE = ([0.0, 1.0], [40.0, 60.0])  # a straight curve: 20 V over the whole range


def joined(capacities, r0, r1, c1, lead, volts, until, tolerance=1e-7):
    """Two modules with capacitors for curves; capacitances in F become charges over 20 V."""
    modules = run_modules(
        LINE,
        np.multiply(capacities, 20 / 3600),
        r0,
        cells=1,
        branch_1=(r1, np.multiply(r1, c1)),
        names=("A", "B"),
    )
    ports = Ports.common_bar(np.array([lead / 2, lead / 2]))
    return run(ports, modules, until=until, soc=(np.array(volts) - 40) / 20, tolerance=tolerance)


CASES = [
    # capacitances, R0, R1, C1, lead, volts, currents at 0, 1, 60, 3600 s
    (
        ([180e3] * 2, [0.010] * 2, [0.005] * 2, [12e3] * 2, 0.002, (53.6, 52.0)),
        (72.72727, 72.14649, 53.73922, 14.25296),
    ),
    (
        ([180e3, 720e3], [0.011, 0.00275], [0.006, 0.0015], [10e3, 40e3], 0.00125, (53.5, 52.0)),
        (100.0, 99.13109, 72.18741, 21.82285),
    ),
]


@pytest.mark.parametrize(("case", "published"), CASES)
def test_joining_follows_the_exact_solution(case, published):
    # exact solution of the loop with equal time constants, roots of its characteristic equation; the printed currents
    # were also found with ngspice (72.7272, 72.1465, 53.7392, 14.2530 and 100.0000, 99.1311, 72.1874, 21.8229 A)
    for time, expected in zip((1.0, 60.0, 3600.0), published[1:], strict=True):
        found = joined(*case, until=time)
        assert found.module_current[0, 0] == pytest.approx(published[0], rel=1e-6)
        assert found.module_current[-1, 0] == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(("case", "published"), CASES)
def test_the_loop_decays_with_the_roots_of_its_equation(case, published):
    C, R0, R1, C1, lead, volts = (np.array(part, dtype=float) for part in case)
    series = 1 / (1 / C).sum()
    r0, r1, c1 = R0.sum() + lead, R1.sum(), 1 / (1 / C1).sum()
    b = 1 / (r1 * c1) + 1 / (r0 * c1) + 1 / (r0 * series)
    s1, s2 = np.roots([1.0, b, 1 / (r0 * series * r1 * c1)])
    start = (volts[0] - volts[1]) / r0
    slope = -start / r0 * (1 / c1 + 1 / series)
    A = (slope - s2 * start) / (s1 - s2)
    found = joined(*case, until=7200.0)
    exact = A * np.exp(s1 * found.time) + (start - A) * np.exp(s2 * found.time)
    assert np.abs(found.module_current[:, 0] / exact - 1).max() < 2e-6


def test_third_order_in_the_step():
    errors, steps = [], []
    for tolerance in (1e-4, 1e-6):
        found = joined(*CASES[0][0], until=3600.0, tolerance=tolerance)
        errors.append(abs(found.module_current[-1, 0] - 14.252955))
        steps.append(found.steps)
    order = np.log(errors[0] / errors[1]) / np.log(steps[1] / steps[0])
    assert order > 2.2


AFFINE = [
    # two modules in parallel, straight curve of slope alpha: tau, kappa, final difference, currents at 0 and at the end
    # (Weng et al., arXiv 2211.04961, formulas; figures computed from them)
    (3.0, 3.0 / 0.7, 0.150, 0.150 / 1.1, 1.2, -3.0, 1516.0, 0.04612, (-1.4286, -1.5714), (-1.2353, -1.7647)),
    (3.0, 3.0 / 0.7, 0.050, 0.050 / 1.1, 0.6, -3.0, 1010.7, 0.03075, (-1.4286, -1.5714), (-1.2353, -1.7647)),
    (100.0, 100.0, 0.016, 0.021, 1.12, 50.0, 5946.0, -0.1116, (28.38, 21.62), (25.0, 25.0)),
    (100.0, 100.0, 0.016, 0.021, 2.08, 50.0, 3202.0, -0.0601, (28.38, 21.62), (25.0, 25.0)),
    (100.0, 100.0, 0.016, 0.021, 5.6, 50.0, 1189.0, -0.0223, (28.38, 21.62), (25.0, 25.0)),
]


@pytest.mark.parametrize("case", AFFINE)
def test_two_modules_under_constant_current(case):
    qa, qb, ra, rb, alpha, current, printed_tau, final, first, last = case
    Qa, Qb = 3600 * qa, 3600 * qb
    tau = (ra + rb) / alpha * Qa * Qb / (Qa + Qb)
    kappa = (ra * Qa - rb * Qb) / (alpha * (Qa + Qb))
    assert tau == pytest.approx(printed_tau, abs=0.5)
    modules = run_modules(([0, 1], [10.0, 10.0 + alpha]), [qa, qb], [ra, rb], cells=1)
    until = 0.4 * min(Qa, Qb) / abs(current)
    start = 0.6 if current > 0 else 0.3
    load = RunLoad("load", "current", Profile.constant(current))
    ports = Ports.common_bar(np.zeros(2))
    found = run(ports, modules, [load], until=until, soc=[start + 0.01, start], tolerance=1e-8)
    fall = np.exp(-found.time / tau)
    dz = 0.01 * fall + kappa * current * (1 - fall)
    assert np.abs(found.soc[:, 0] - found.soc[:, 1] - dz).max() < 1e-6
    Ia = (alpha * dz + current * rb) / (ra + rb)
    assert np.abs(found.module_current[:, 0] - Ia).max() < 1e-6 * abs(current)
    assert kappa * current == pytest.approx(final, rel=1e-3)
    apart = alpha * 0.01 / (ra + rb)
    assert found.module_current[0] == pytest.approx([first[0] + apart, first[1] - apart], abs=6e-3 if qa > 50 else 6e-5)
    end = [alpha * kappa * current + current * rb, current * ra - alpha * kappa * current]
    assert [part / (ra + rb) for part in end] == pytest.approx(list(last), abs=6e-3 if qa > 50 else 6e-5)
    left = np.exp(-found.time[-1] / tau)  # of the way from the first current to the last
    assert found.module_current[-1] - last == pytest.approx(
        (found.module_current[0] - last) * left, abs=6e-3 if qa > 50 else 6e-5
    )


LEVELLING = [
    # per cent before (low, high), first current A, hours until 10, 5, 2 points apart; two 100 Ah modules of 16 mohm,
    # 2 mohm joint, curve of the 18650 cell at C/32, no hysteresis: computed elsewhere with steps of 10 s
    (45, 60, 2.7, 1.1, 3.0, 5.6),
    (40, 60, 3.9, 1.9, 4.0, 6.5),
    (50, 70, 8.1, 1.1, 2.4, 4.2),
    (30, 55, 10.9, 1.3, 2.7, 4.6),
    (75, 95, 4.7, 1.8, 3.6, 6.1),
    (20, 90, 46.9, 3.3, 5.2, 7.6),
]


@pytest.mark.parametrize("row", LEVELLING)
def test_levelling_after_a_join_takes_hours(row, request):
    table = np.loadtxt(request.path.parents[1] / "outside/data/ocv_lab_18650_c32.csv", delimiter=",", skiprows=1)
    modules = run_modules((table[:, 0] / 100, table[:, 1]), 100.0, [0.016, 0.016], names=("low", "high"))
    ports = Ports.common_bar(np.array([0.001, 0.001]))
    found = run(ports, modules, until=9 * 3600.0, soc=[row[0] / 100, row[1] / 100], tolerance=1e-6)
    assert found.module_current[0, 1] == pytest.approx(row[2], abs=0.06)
    apart = found.soc[:, 1] - found.soc[:, 0]
    for points, hours in zip((0.10, 0.05, 0.02), row[3:], strict=True):
        reached = np.interp(-points, -apart, found.time) / 3600
        assert reached == pytest.approx(hours, abs=0.06)
