"""Why the age of the step is kept: the share of one branch with +1 mohm over the time since the step.

Five modules of 100 Ah on a bar, 200 A, R0 6 + R1 4 (35 s) + R2 4 (1000 s) mohm, links 0.724 mohm, +1 mohm in the third
branch, curve of 16 mV/% [computed elsewhere with a simulation of its own]; here by the run over time.
"""

from __future__ import annotations

import numpy as np
import pytest

from bankwright.circuit.run.loads import Profile, RunLoad
from bankwright.circuit.run.modules import run_modules
from bankwright.circuit.run.ports import Ports
from bankwright.circuit.run.run import run

LINKS = np.array([0.724, 0.724, 1.724, 0.724, 0.724]) * 1e-3
SHARES = {0.0: 0.894, 5.0: 0.902, 10.0: 0.908, 30.0: 0.923, 60.0: 0.932, 120.0: 0.937, 600.0: 0.953, 3600.0: 0.983}


def test_the_same_joint_shows_less_the_older_the_step() -> None:
    modules = run_modules(
        ([0.0, 1.0], [51.0, 52.6]), 100.0, 6e-3 + LINKS, cells=1, branch_1=(4e-3, 35.0), branch_2=(4e-3, 1000.0),
        names=("M1", "M2", "M3", "M4", "M5"),
    )  # fmt: skip
    load = RunLoad("load", "current", Profile.constant(200.0))
    found = run(Ports.common_bar(np.zeros(5)), modules, [load], until=3600.0, soc=np.full(5, 0.7), longest=5.0)
    third = found.module_current[:, 2] / 40.0
    shares = [float(np.interp(age, found.time, third)) for age in SHARES]
    assert shares == pytest.approx(list(SHARES.values()), abs=0.002)
    # read between 30 s and 2 min it moves by a point and a half; an hour into the load it has all but gone
    assert shares[5] - shares[3] == pytest.approx(0.0145, abs=0.003)
