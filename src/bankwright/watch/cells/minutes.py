"""Cells of one module out of the telemetry, by the minute.

Gives: minutes_of(), tops_of(), cell_places(). Sums of minutes are kept for ever, so that weeks are read quickly.
Limits: a module whose cells are not read gives None.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np

from bankwright.circuit.network import Array
from bankwright.forms.readings import NOT_AVAILABLE, OUTSIDE
from bankwright.logbook.telemetry.rollup import RollUp
from bankwright.logbook.telemetry.store import Telemetry
from bankwright.watch.cells.senses import Minutes

__all__ = ["cell_places", "minutes_of", "tops_of"]

DAY, HOUR = 86400.0, 3600.0
LACKS, LOOKED = 3, 3  # readings that a cell lacks beside the others, before hours are looked at; so many of them
TOP_VOLTS, TOP_RATE = 3.45, 0.05  # V a cell; C


def cell_places(telemetry: Telemetry, module: str) -> tuple[str, ...]:
    """Places of the cells of a module that were ever read, in their order: M1.c1, M1.c2, .."""
    shape = re.compile(re.escape(module) + r"\.c([0-9]+)")
    found = {
        int(match[1]): signal.at
        for signal in telemetry.signals()
        if signal.quantity == "cell_voltage" and (match := shape.fullmatch(signal.at))
    }
    return tuple(found[number] for number in sorted(found))


def minutes_of(telemetry: Telemetry, module: str, start: float, end: float) -> Minutes | None:
    """Minutes of a stretch; None where no cell was read."""
    places = cell_places(telemetry, module)
    if not places:
        return None
    cells = telemetry.rollup("cell_voltage", places, start, end, every="minute")
    if not len(cells.mean.time):
        return None
    time = cells.mean.time
    beside = [_beside(telemetry.rollup(name, (module,), start, end, every="minute"), time) for name in _WITH]
    none, said = _none(telemetry, places, cells)
    volts, amps = beside
    return Minutes(time, cells.mean.value, cells.low.value, cells.high.value, volts, amps, none, said)


def _none(telemetry: Telemetry, places: tuple[str, ...], cells: RollUp) -> tuple[Array, Array]:
    """Share of each cell's readings that were none, and a number that was said instead; a few hours are looked at."""
    none, said = np.zeros(len(places)), np.full(len(places), np.nan)
    lacking = cells.count.max(axis=1, keepdims=True) - cells.count
    for k in np.flatnonzero(lacking.sum(axis=0) >= LACKS):
        hours = np.unique(np.floor(cells.mean.time[lacking[:, k] > 0] / HOUR)) * HOUR
        for hour in hours[np.linspace(0, len(hours) - 1, min(len(hours), LOOKED)).astype(int)]:
            found = telemetry.read("cell_voltage", (places[k],), float(hour), float(hour) + HOUR)
            wrong = np.isin(found.quality[:, 0], (OUTSIDE, NOT_AVAILABLE))
            if wrong.any():
                none[k] = float(lacking[:, k].sum() / max(cells.count.max(axis=1).sum(), 1))
                value = found.value[wrong, 0]
                said[k] = value[np.isfinite(value)][0] if np.isfinite(value).any() else said[k]
    return none, said


_WITH = ("voltage", "current")


def _beside(found: RollUp, time: Array) -> Array:
    answer = np.full(len(time), np.nan)
    if len(found.mean.time):
        place = np.clip(np.searchsorted(found.mean.time, time), 0, len(found.mean.time) - 1)
        same = np.abs(found.mean.time[place] - time) < 30
        answer[same] = found.mean.value[place[same], 0]
    return answer


def tops_of(
    telemetry: Telemetry, module: str, capacity_ah: float, start: float, end: float
) -> Iterator[tuple[float, Array]]:
    """Time and cell voltages of the last minute of each day on which the module was full and little flowed in."""
    places = cell_places(telemetry, module)
    if not places:
        return
    hours = telemetry.rollup("cell_voltage", places, start, end).high
    if not len(hours.time):
        return
    full = np.unique(hours.time[np.nanmax(hours.value, axis=1, initial=0.0) >= TOP_VOLTS])
    latest: dict[int, tuple[float, Array]] = {}
    for hour in full:
        found = minutes_of(telemetry, module, float(hour), float(hour) + HOUR)
        if found is None:
            continue
        rate = found.current / capacity_ah
        at = (np.nanmax(found.mean, axis=1) >= TOP_VOLTS) & (rate <= 0.002) & (rate > -TOP_RATE)
        for k in np.flatnonzero(at):
            latest[int(found.time[k] // DAY)] = (float(found.time[k]), found.mean[k])
    yield from latest.values()
