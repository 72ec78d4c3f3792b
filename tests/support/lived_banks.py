"""Days of a bank with every cell of it, faults planted in cells, sensors and logs, and the logs they make.

Gives: Cells, Life, live(), bank(), csv_of(), imported(), stored(). All values are invented: how a house charges and
draws, spread of capacity, charge and resistance between cells, noise of the meters. Truth curves are published cells
(handbook). A charger holds the highest cell at 3.55 V until the current has fallen, as chargers do.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from bankwright.bank.model import Bank
from bankwright.forms.readings import Columns
from bankwright.logbook.elsewhere.asked import Asked
from bankwright.logbook.elsewhere.bring import brought, looked_at
from bankwright.logbook.elsewhere.facts import facts_of
from bankwright.logbook.telemetry.store import Telemetry
from bankwright.watch.charge.library import GRID
from support.charged_banks import truth_curve
from support.joints.files import bank_of

START = datetime(2026, 3, 2, tzinfo=UTC).timestamp()
DAY = 86400.0
CELLS, CAPACITY, OHM, SLOW, SLOW_TIME = 16, 100.0, 0.75e-3, 0.35e-3, 1000.0  # of a cell: ohm, ohm, s
HALF_GAP, GAP_RATE, HELD, ENDED = 0.012, 20.0, 3.55, 2.95  # V, per unit of charge, V at the top and at the empty end


@dataclass
class Cells:
    """Every cell of every module, (module, cell): as they are made, and what is planted."""

    capacity: np.ndarray
    ohm: np.ndarray
    soc: np.ndarray
    leak: np.ndarray  # A that a cell loses by itself

    @classmethod
    def made(cls, modules: int, seed: int) -> Cells:
        """A bank in order: 0.7 % of capacity, 3 % of resistance, 0.3 points of charge from cell to cell."""
        luck, shape = np.random.default_rng(7000 + seed), (modules, CELLS)
        capacity = CAPACITY * (1 + 0.01 * luck.uniform(-1, 1, (modules, 1)) + 0.007 * luck.uniform(-1, 1, shape))
        return cls(
            capacity, OHM * (1 + 0.03 * luck.normal(0, 1, shape)), 0.5 + 0.003 * luck.normal(0, 1, shape),
            np.zeros(shape),
        )  # fmt: skip


@dataclass
class Life:
    """What modules and cells say, (time, module) and (time, module, cell); current positive out."""

    time: np.ndarray
    current: np.ndarray
    volts: np.ndarray
    cells: np.ndarray
    soc: np.ndarray = field(repr=False)  # truth, mean of a module


def bank(modules: int) -> Bank:
    """The bank file of such a bank, on bars."""
    return bank_of(modules, "bars")


def live(
    cells: Cells, days: float, seed: int, *, truth: str = "18650", step: float = 60.0, full_every: int = 1,
    deep_every: int = 1, half_gap: float = HALF_GAP,
) -> Life:  # fmt: skip
    """Sun by day until the top, or until 0.8; evenings down to the empty end, or to 0.35."""
    luck, count = np.random.default_rng(8000 + seed), len(cells.capacity)
    table, steps = truth_curve(truth), int(days * DAY / step)
    soc, turned, slow = cells.soc.copy(), np.zeros(cells.soc.shape), np.zeros(cells.soc.shape)
    share = 1 + 0.05 * luck.uniform(-1, 1, count)
    told = [np.empty((steps, count)), np.empty((steps, count, CELLS)), np.empty((steps, count))]
    mean = float(soc.mean())
    for k in range(steps):
        now = k * step
        wanted = _wanted(now, mean, luck, int(now // DAY), full_every, deep_every)
        away = soc.mean(axis=1) - mean
        amps = CAPACITY * wanted * share * (1 + 4 * away * np.sign(wanted))
        rest = np.interp(soc, GRID, table) + half_gap * turned
        limit = (HELD - rest + slow) / (cells.ohm * 1.0) if wanted < 0 else (rest - slow - ENDED) / cells.ohm
        most = np.maximum(limit.min(axis=1), 0.0) * 0.5  # the charger, or the load, follows the worst cell
        amps = np.sign(amps) * np.minimum(np.abs(amps), most)
        amps = np.where(np.abs(amps) < 0.004 * CAPACITY, 0.0, amps)
        moved = (amps[:, None] + cells.leak) * step / 3600 / cells.capacity
        soc = soc - moved
        way = -np.sign(amps)[:, None]
        turned = np.where(way == 0, turned, way + (turned - way) * np.exp(-GAP_RATE * np.abs(moved)))
        slow += (amps[:, None] * SLOW - slow) * -np.expm1(-step / SLOW_TIME)
        mean = float(soc.mean())
        told[0][k], told[2][k] = amps, soc.mean(axis=1)
        told[1][k] = np.interp(soc, GRID, table) + half_gap * turned - amps[:, None] * cells.ohm - slow
    return _read(START + step * np.arange(steps), *told, luck)


def _wanted(
    now: float, soc: float, luck: np.random.Generator, day: int, full_every: int, deep_every: int
) -> float:  # fmt: skip
    """Share of the capacity an hour that house and sun ask for, out positive."""
    hour = now % DAY / 3600
    busy = 0.02 * float(luck.lognormal(0, 0.5)) + (0.15 if luck.random() < 0.03 else 0.0)
    if 8 <= hour < 16.5:
        top = 2.0 if (day + 1) % full_every == 0 else 0.8
        sun = 0.32 * np.sin((hour - 8) / 8.5 * np.pi) * float(np.clip(luck.normal(1, 0.2), 0.1, 2))
        return busy - sun if soc < top else 0.0
    bottom = 0.0 if day % deep_every == 0 else 0.35
    evening = 0.16 * np.exp(-(((hour - 20) / 2.5) ** 2)) if hour > 16 else 0.03
    return busy + evening if soc > bottom else 0.0


def _read(
    time: np.ndarray, amps: np.ndarray, cells: np.ndarray, soc: np.ndarray, luck: np.random.Generator
) -> Life:  # fmt: skip
    """Meters: cells off by 1 mV (sd) and read to 1 mV, current off by 0.2 A and 1 %, voltage in steps of 10 mV."""
    count = amps.shape[1]
    whole = cells.sum(axis=2) + luck.normal(0, 0.02, count) + luck.normal(0, 0.003, amps.shape)
    read = cells + luck.normal(0, 1e-3, cells.shape[1:]) + luck.normal(0, 6e-4, cells.shape)
    current = amps * (1 + luck.uniform(-0.01, 0.01, count)) + luck.uniform(-0.2, 0.2, count)
    current += luck.normal(0, 0.05, amps.shape)
    return Life(time, np.round(current, 1), np.round(whole, 2), np.round(read, 3), soc)


def csv_of(life: Life, module: int, keep: np.ndarray | None = None) -> str:
    """The log of one module, as a meter with a memory writes it; `keep`: numbers of rows, in the order written."""
    names = [f"Cell {c + 1} (V)" for c in range(CELLS)]
    lines = [",".join(["Time (UTC)", "Voltage (V)", "Discharge current (A)", *names])]
    rows = range(len(life.time)) if keep is None else keep.tolist()
    for k in rows:
        moment = datetime.fromtimestamp(float(life.time[k]), UTC).strftime("%Y-%m-%d %H:%M:%S")
        values = [f"{life.volts[k, module]:.2f}", f"{life.current[k, module]:.1f}"]
        lines.append(",".join([moment, *values, *(f"{v:.3f}" for v in life.cells[k, module])]))
    return "\n".join([*lines, ""])


def imported(telemetry: Telemetry, folder: Path, life: Life, texts: dict[int, str] | None = None) -> None:
    """Bring the logs of all modules into the logbook, the way `bankwright import` does."""
    count = life.current.shape[1]
    facts = facts_of(bank(count))
    for m in range(count):
        file = folder / f"module{m + 1}.csv"
        file.write_text((texts or {}).get(m) or csv_of(life, m), "utf-8")
        look = looked_at(file, facts, Asked(module=f"M{m + 1}", positive="discharging"), store=telemetry)
        assert brought(look, facts, telemetry).rows


def stored(telemetry: Telemetry, life: Life) -> None:
    """Put it into the logbook as a listener's readings, not by way of a file."""
    names = tuple(f"M{m + 1}" for m in range(life.current.shape[1]))
    tables = {("current", names): life.current, ("voltage", names): life.volts}
    for m, name in enumerate(names):
        tables["cell_voltage", tuple(f"{name}.c{c + 1}" for c in range(CELLS))] = life.cells[:, m]
    for (quantity, at), table in tables.items():
        columns = Columns(quantity, at, life.time, table, np.zeros(table.shape, np.uint8))
        telemetry.append_dated(columns, source=f"{quantity}{at[0]}")
