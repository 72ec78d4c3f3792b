"""Open records of one cell with its true state of charge, and what an estimator makes of them.

Data: LFP 26650, 2.07 Ah, drive profile at 25, 5, -5 degC, and slow branches; repository batterysim/esctoolbox-python,
folders dyn_data and ocv_data (MIT, copyright 2017 batterysim; the scripts of the original toolbox carry CC BY-NC-SA
4.0); measured for Plett, Battery Management Systems vol. I (2015). They may not travel with the project: they are read
from the folder that the variable BANKWRIGHT_OPEN_DATA names, or from reference/data beside the project, and what needs
them is skipped where they are absent. Sign and names of columns: as in that folder's readme (discharge positive).
"""

from __future__ import annotations

import csv
import os
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from bankwright.circuit.run.curves import published_curves
from bankwright.watch.charge.blocks import Resistances, blocks_of
from bankwright.watch.charge.common import Common
from bankwright.watch.charge.library import CurveBand, library_curve, on_grid, own_curve
from bankwright.watch.charge.mixture import Look, Prior

CAPACITY = 2.0726  # Ah
RECORDS = {"p25": 25, "p05": 5, "n05": -5}
OHMIC = {25: 9.9e-3, 5: 17.5e-3, -5: 29.2e-3}  # ohm, handbook table lfp/resistance-temperature, rounded
SIGNS = {"perfect": (0, 0.0, 0.0), "plus": (1, 0.01, 0.1), "minus": (-1, -0.01, -0.1)}  # offset, gain, start
START_SD = 0.12  # what the estimator is told of the start; starts are off by 0.1 (stated; sd of random ones)
KNOWN_TO = 0.0045  # 1/h, as the estimator takes a usual sensor; for offsets of 0.3 %/h


def folder() -> Path | None:
    """Where the open records are, if anywhere."""
    places = [Path(os.environ["BANKWRIGHT_OPEN_DATA"])] if os.environ.get("BANKWRIGHT_OPEN_DATA") else []
    for parent in Path(__file__).resolve().parents[1:6]:
        places += [parent / "reference" / "data", parent / "shared" / "reference" / "data"]
    return next((place for place in places if (place / "dynamic_26650_p25.csv").is_file()), None)


needs_open_data = pytest.mark.skipif(
    folder() is None,
    reason="open records dynamic_26650_*.csv and ocv_lab_26650_8temps.csv are absent (set BANKWRIGHT_OPEN_DATA)",
)


@dataclass(frozen=True)
class Score:
    """Error of a run in points, from 30 min on, between 10 and 100 %: root mean square, worst; cover and half band."""

    rms: float
    worst: float
    cover: float  # share of the time that the band holds the truth
    half: float


@cache
def record(name: str) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Time, current, voltage, true state of charge."""
    place = folder()
    assert place is not None
    time, current, volts, out = np.loadtxt(place / f"dynamic_26650_{name}.csv", delimiter=",", skiprows=1).T
    return time, current, volts, 1 - out / CAPACITY


@cache
def curve(kind: str, degc: int) -> CurveBand:
    """The cell's own branches at its temperature, or two other cells of the handbook."""
    if kind == "foreign":
        others = [c for c in published_curves() if c.name in ("18650", "parameter set")]
        return library_curve(others, OHMIC[degc] / OHMIC[25], 4 * OHMIC[25] * CAPACITY)
    place = folder()
    assert place is not None
    with (place / "ocv_lab_26650_8temps.csv").open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if int(row["temp_c"]) == degc]
    branches = []
    for column in ("v_discharge", "v_charge"):
        told = [(float(row["soc_pct"]) / 100, float(row[column])) for row in rows if row[column]]
        branches.append(on_grid([z for z, _ in told], [v for _, v in told]))
    return own_curve(branches[0], branches[1], CAPACITY / 30 * 4 * OHMIC[degc])


def score(name: str, kind: str, size: float, *, offset: float, gain: float, start: float, begin: float = 0.0) -> Score:
    """Run over a record: `offset` 1/h, `gain` and `start` as shares; `size` 1/h is the prior; begin: share of it."""
    time, current, volts, soc = (part[int(begin * len(record(name)[0])) :] for part in record(name))
    degc = RECORDS[name]
    ohmic = np.array([OHMIC[degc]])
    parts = Resistances(ohmic, 1.5 * ohmic, 35.0, 1.5 * ohmic, 1000.0)
    read = current * (1 + gain) + CAPACITY * offset
    blocks, _ = blocks_of([time], [read], [volts], parts, np.array([CAPACITY]))
    prior = Prior(offset=max(size, KNOWN_TO))
    common = Common.begin(curve(kind, degc), prior, float(parts.total[0]) * CAPACITY, float(soc[0]) + start, START_SD)
    said = np.empty((len(blocks), 3))
    for k in range(len(blocks)):
        share = blocks.charge[k] / CAPACITY
        look = Look(blocks.volts[k] + blocks.over[k], blocks.over[k], share / 2)
        common.step(float(share[0]), float(blocks.end[k] - blocks.start[k]) / 3600, look)
        said[k] = common.mean(), *common.band()
    true = soc[np.minimum(np.searchsorted(time, blocks.end), len(soc) - 1)]
    counts = (true > 0.1) & (blocks.end - time[0] > 1800)
    error = (said[counts, 0] - true[counts]) * 100
    inside = (true >= said[:, 1]) & (true <= said[:, 2])
    half = (said[:, 2] - said[:, 1])[counts].mean() * 50
    return Score(
        float(np.sqrt((error**2).mean())), float(np.abs(error).max()), float(inside[counts].mean()), float(half)
    )


def stated(name: str, kind: str, size: float, sign: str) -> Score:
    """One of the stated cases: perfect, or offset, gain 1 % and start 10 points off, all to one side."""
    way, gain, start = SIGNS[sign]
    return score(name, kind, size, offset=way * size, gain=gain, start=start)


def at_random(name: str, kind: str, size: float, runs: int, seed: int) -> list[Score]:
    """Starts anywhere in the first 60 %, start 10 points, offset `size` and gain 1 % off (one standard deviation)."""
    luck = np.random.default_rng(seed)
    draws = [(luck.uniform(0, 0.6), *luck.normal(0, (0.1, size, 0.01))) for _ in range(runs)]
    return [score(name, kind, size, offset=o, gain=g, start=s, begin=b) for b, s, o, g in draws]
