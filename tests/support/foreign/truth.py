"""One true series of a module, made up, and the form of a case: a file with what must come of it."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

START = datetime(2026, 3, 14, 22, 40, tzinfo=UTC)  # passes midnight, and has a day above 12
Signals = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Truth:
    """A module over time; current leaving it is positive."""

    time: list[datetime]
    volts: list[float]
    amps: list[float]
    soc: list[float]  # 0..1
    degrees: list[list[float]]  # two probes
    cells: list[list[float]]


def truth(rows: int = 120, step: float = 60.0, cells: int = 16, seed: int = 5, start: datetime = START) -> Truth:
    """A made-up module: discharges, rests, charges; cells in whole mV."""
    draw, soc = random.Random(seed), 0.62
    out = Truth([], [], [], [], [], [])
    for k in range(rows):
        amps = round((38.0 if k % 30 < 14 else -21.5 if k % 30 > 20 else 0.0) + draw.uniform(-0.4, 0.4), 2)
        soc -= amps * step / 3600 / 100
        rest = 3.29 + 0.04 * math.tanh((soc - 0.5) * 5)
        row = [round(rest - amps * 6e-4 + draw.gauss(0, 6e-4) + 0.0004 * c, 3) for c in range(cells)]
        out.time.append(start + timedelta(seconds=k * step))
        out.cells.append(row)
        out.volts.append(round(sum(row), 2))
        out.amps.append(amps)
        out.soc.append(round(soc, 3))
        out.degrees.append([round(21.3 + 0.02 * k + draw.uniform(-0.1, 0.1), 1), round(22.8 + 0.02 * k, 1)])
    return out


@dataclass(frozen=True)
class Case:
    """One file, what is told beforehand, and what must come of it."""

    name: str
    data: bytes
    told: dict[str, object] = field(default_factory=dict)
    kept: int = 0
    first: datetime | None = None
    last: datetime | None = None
    values: dict[tuple[str, str], list[float | None]] = field(default_factory=dict)  # of every kept row
    rejected: dict[str, int] = field(default_factory=dict)  # part of the reason -> rows
    open: tuple[str, ...] = ()  # what must be asked
    refused: str = ""  # code of the fault
    says: tuple[str, ...] = ()  # parts of decisions, checks or marks


def text(rows: Sequence[Sequence[object]], mark: str = ",", end: str = "\n") -> str:
    return end.join(mark.join(map(str, row)) for row in rows) + end


def comma(value: float, digits: int = 2) -> str:
    return f"{value:.{digits}f}".replace(".", ",")


def one(t: Truth, *, sign: float = 1.0) -> dict[tuple[str, str], list[float | None]]:
    return {("voltage", "M1"): list(t.volts), ("current", "M1"): [a * sign for a in t.amps]}


def cells_of(t: Truth, at: str = "M1") -> dict[tuple[str, str], list[float | None]]:
    return {("cell_voltage", f"{at}.c{c + 1}"): [row[c] for row in t.cells] for c in range(len(t.cells[0]))}


class Cases(list[Case]):
    """A list that a function's case is added to, where the function is made."""

    def add(self, make: Callable[[], Case]) -> Callable[[], Case]:
        self.append(make())
        return make


def whole(t: Truth) -> dict[str, object]:
    return {"kept": len(t.time), "first": t.time[0], "last": t.time[-1]}
