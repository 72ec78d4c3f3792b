"""Small banks for runs: plain arrays, invented values, curve of the BPX example cell (MIT, see tests/outside/data)."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from bankwright.circuit.run.modules import Limits, RunModules, run_modules
from bankwright.circuit.run.ports import Ports

DATA = Path(__file__).parents[1] / "outside" / "data"
HOURS = tuple(3600.0 * h for h in range(25))
DAY = (800.0, 700.0, 700.0, 700.0, 700.0, 900.0, 2000.0, 2500.0, 1500.0, 0.0, -2000.0, -3500.0, -4500.0)
DAY += (-4500.0, -4000.0, -3000.0, -1000.0, 500.0, 3000.0, 4500.0, 5000.0, 4000.0, 2500.0, 1200.0, 800.0)


def lfp_curve() -> tuple[np.ndarray, np.ndarray]:
    """Curve of an LFP cell on a grid of 1 %."""
    table = np.loadtxt(DATA / "ocv_bpx_lfp_18650.csv", delimiter=",", skiprows=1)
    return table[:, 0] / 100, table[:, 1]


def bank(count: int, seed: int = 1, limits: Limits | None = None, **more: Any) -> tuple[Ports, RunModules]:
    """A bank of 100 Ah modules on one pair of bars, each a little different."""
    spread = np.random.default_rng(seed).uniform(-1, 1, (4, count))
    modules = run_modules(
        lfp_curve(),
        100 * (1 + 0.02 * spread[0]),
        8e-3 * (1 + 0.1 * spread[1]),
        branch_1=(6e-3 * (1 + 0.1 * spread[2]), 35.0),
        branch_2=(5e-3, 1000.0),
        names=tuple(f"M{i + 1}" for i in range(count)),
        limits=limits,
        **more,
    )
    return Ports.common_bar(5e-4 * (1 + 0.2 * spread[3]), 5e-4), modules
