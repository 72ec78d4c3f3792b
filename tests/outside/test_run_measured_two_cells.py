"""Two cells in parallel, measured: the run is replayed against branch currents and the deviation is shown.

Data: Weng et al., arXiv 2310.10396, repository wengandrew/current-imbalance, MIT, copyright 2022 Andrew Weng; every
fourth row, rounded. Two aged NMC cells, 1.83 and 1.93 Ah, at C/4 and C/10; currents positive = charge.
"""

import numpy as np
import pytest

from bankwright.circuit.run.loads import Profile, RunLoad
from bankwright.circuit.run.modules import run_modules
from bankwright.circuit.run.ports import Ports
from bankwright.circuit.run.run import run
from support.run_banks import DATA

CAPACITY = (1.83, 1.93)


def replay(name, start, end):
    """Square deviations of both branches over one phase, and the share of the phase before a curve ends."""
    measured = np.loadtxt(DATA / f"parallel_two_cells_{name}.csv", delimiter=",", skiprows=1)
    table = np.loadtxt(DATA / "parallel_two_cells_ocv_r.csv", delimiter=",", skiprows=1)
    soc, first, second = table[:, 0] / 100, table[:, 1], table[:, 3]
    resistance = [table[:, 2].mean(), table[:, 4].mean()]
    begin, stop = np.searchsorted(measured[:, 0], (start, end))
    rows = measured[begin:stop]
    time, out = rows[:, 0] - rows[0, 0], -rows[:, 2:].sum(axis=1)
    keep = np.concatenate([[True], np.diff(time) > 0])
    rest = measured[begin - 1, 1]
    z = [np.interp(rest, first, soc), np.interp(rest, second, soc)]
    curves = [(soc, first), (soc, second)]
    modules = run_modules(curves, CAPACITY, resistance, cells=1, curve_of=[0, 1], names=("one", "two"))
    load = RunLoad("load", "current", Profile(tuple(time[keep]), tuple(out[keep]), "ramps"))
    ports = Ports.common_bar(np.zeros(2))
    found = run(ports, modules, [load], until=float(time[-1]), soc=z, tolerance=1e-4)
    inside = time <= found.time[-1]
    ours = np.stack([np.interp(time[inside], found.time, -found.module_current[:, k]) for k in (0, 1)], axis=1)
    return ((ours - rows[inside, 2:]) ** 2).ravel(), float(inside.mean())


PHASES = [
    # current, start of charge, start of discharge, own replay elsewhere with the same model, A root mean square
    ("c4", 3544.0, 20744.0, 0.0293),
    ("c10", 3013.0, 33384.0, 0.0211),
]


@pytest.mark.parametrize(("name", "charge", "discharge", "published"), PHASES)
def test_measured_branch_currents_are_met(name, charge, discharge, published, capsys):
    one, share_one = replay(name, charge, discharge)
    two, share_two = replay(name, discharge, np.inf)
    deviation = float(np.sqrt(np.concatenate([one, two]).mean()))
    with capsys.disabled():
        print(f"\n  two measured cells, {name}: {deviation:.4f} A deviation of the branch currents (root mean square),")
        print(
            f"  over {share_one:.0%} of the charge and {share_two:.0%} of the discharge, up to the ends of the curves"
        )
    assert min(share_one, share_two) > 0.4
    assert deviation < 1.1 * published
