"""Modules as a run over time sees them: curve, resistances, branches, temperature, limits.

Gives: Curves, Limits, RunModules, run_modules(). Plain arrays, one column a module, variants in front where there are
any. Capacity inside is in A s; voltages are those of whole modules unless the name says cell.
Limits: no bank is known here (circuit/run/bank), no time (circuit/run/step).
Sources: model of a cell, physics/cell; values come from the handbook or the bank file.
"""

from __future__ import annotations

from collections.abc import (
    Mapping,
    Sequence,
)
from dataclasses import dataclass, field, fields
from typing import Any

import numpy as np

from bankwright.circuit.network import Array, frozen

__all__ = ["Curves", "Limits", "RunModules", "run_modules"]

NO_BRANCH = (0.0, 1.0)  # ohm, s: without resistance the time does not matter
APART = 10.0  # distance of two curves on the common axis; a state of charge is 0..1


@dataclass(frozen=True, eq=False)
class Curves:
    """Curves of open-circuit voltage laid one behind the other on one axis, so that one search finds all modules."""

    axis: Array
    volts: Array
    slope: Array
    area: Array  # from the first point of each curve, V
    origin: Array  # where the straight line of each piece meets 0, V
    first: Array  # (curves,)
    last: Array

    @classmethod
    def of(cls, tables: Sequence[tuple[Sequence[float], Sequence[float]]], cells: float = 1.0) -> Curves:
        """Build from (state of charge, V a cell); each gets a guard point before it, reached by trial steps only."""
        axis, volts, slope, area = [], [], [], []
        for number, (soc, cell_volts) in enumerate(tables):
            z, v = np.asarray(soc, dtype=float), np.asarray(cell_volts, dtype=float) * cells
            if len(z) < 2 or (np.diff(z) <= 0).any() or z[0] < 0 or z[-1] > 1:
                raise ValueError("a curve needs rising states of charge between 0 and 1")
            s = np.diff(v) / np.diff(z)
            under = np.concatenate([[0.0], np.cumsum(np.diff(z) * (v[1:] + v[:-1]) / 2)])
            axis.append(np.concatenate([[z[0] - 1], z]) + APART * number)
            volts.append(np.concatenate([[v[0] - s[0]], v]))
            slope.append(np.concatenate([[s[0]], s, [s[-1]]]))
            area.append(np.concatenate([[s[0] / 2 - v[0]], under]))
        ends = [(np.min(soc), np.max(soc)) for soc, _ in tables]
        joined = [frozen(np.concatenate(part)) for part in (axis, volts, slope, area)]
        first, last = frozen([low for low, _ in ends]), frozen([high for _, high in ends])
        places, height, rise, under_all = joined
        return cls(places, height, rise, under_all, frozen(height - rise * places), first, last)

    def look_up(self, soc: Array, shift: Array) -> tuple[Array, Array]:
        """Voltage and slope; `shift` is APART times the curve's number."""
        z = soc + shift if len(self.first) > 1 else soc
        place = self.axis.searchsorted(z, "right") - 1
        slope = self.slope[place]
        return self.origin[place] + slope * z, slope

    def energy(self, soc: Array, shift: Array) -> Array:
        """Area under the curve from its first point: energy over capacity. [V]"""
        z = soc + shift
        place = self.axis.searchsorted(z, "right") - 1
        inside = z - self.axis[place]
        return np.asarray(self.area[place] + inside * (self.volts[place] + self.slope[place] * inside / 2))


NEVER = np.inf


@dataclass(frozen=True, eq=False)
class Limits:
    """What opens a module; every entry a number or an array over modules, infinite where there is no such limit."""

    discharge_trip: Any = NEVER  # A
    discharge_delay: Any = 0.0  # s
    charge_trip: Any = NEVER  # A, as a positive number
    charge_delay: Any = 0.0
    cell_high: Any = NEVER  # V
    cell_low: Any = -NEVER
    ahead: Any = 0.0  # share of capacity by which the fullest cell leads the module
    behind: Any = 0.0
    spread: Any = 0.0  # V at rest, highest minus lowest cell, half of it to each side
    charge_lowest_degc: Any = -NEVER
    charge_highest_degc: Any = NEVER
    discharge_lowest_degc: Any = -NEVER
    discharge_highest_degc: Any = NEVER
    charge_trip_opens: Any = True  # False: the module still discharges
    discharge_trip_opens: Any = True  # False: the module still charges
    reclose_after: Any = NEVER  # s


@dataclass(frozen=True, eq=False)
class RunModules:
    """Modules of one run."""

    names: tuple[str, ...]
    curves: Curves
    shift: Array
    cells: Array
    capacity: Array  # A s
    metal: Array  # ohm, the part of the ohmic resistance that temperature does not change
    ohmic_cells: Array  # ohm at 25 degC
    r1: Array
    tau1: Array
    r2: Array
    tau2: Array
    temperature_degc: Array  # at the start
    factor_table: tuple[Array, Array] | None  # degC, factor
    heat_capacity: Array  # J/K; infinite: temperature stays. Nothing cools a module
    limits: Limits
    lead: tuple[int, ...] = field(default=())  # shape of the variants

    @property
    def soc_ends(self) -> tuple[Array, Array]:
        """Ends of each module's curve, narrowed by its fullest and emptiest cell."""
        number = np.rint(self.shift / APART).astype(int)
        return self.curves.first[number] + self.limits.behind, self.curves.last[number] - self.limits.ahead


def run_modules(
    curve: tuple[Sequence[float], Sequence[float]] | Sequence[tuple[Sequence[float], Sequence[float]]],
    capacity_ah: object,
    ohmic: object,
    *,
    names: tuple[str, ...] = (),
    cells: int = 16,
    curve_of: object = 0,
    metal: object = 0.0,
    branch_1: tuple[object, object] = NO_BRANCH,
    branch_2: tuple[object, object] = NO_BRANCH,
    temperature_degc: object = 25.0,
    factor_table: tuple[Sequence[float], Sequence[float]] | None = None,
    heat_capacity: object = np.inf,
    limits: Limits | None = None,
) -> RunModules:
    """Spread numbers over modules (and variants). `ohmic` is post to post, `metal` the part of it outside the cells."""
    given = {
        "capacity": np.multiply(capacity_ah, 3600.0),  # type: ignore[call-overload]
        "metal": metal,
        "ohmic_cells": np.subtract(ohmic, metal),  # type: ignore[call-overload]
        "r1": branch_1[0],
        "tau1": branch_1[1],
        "r2": branch_2[0],
        "tau2": branch_2[1],
        "temperature_degc": temperature_degc,
        "heat_capacity": heat_capacity,
        "shift": np.multiply(curve_of, APART),  # type: ignore[call-overload]
    }
    spread, wide, shape = _spread(given, limits or Limits(), len(names) or 1)
    table = None if factor_table is None else (frozen(factor_table[0]), frozen(np.log(factor_table[1])))
    return RunModules(
        names=names or tuple(f"M{i + 1}" for i in range(shape[-1])),
        curves=Curves.of(_tables(curve), cells),
        cells=frozen(np.full(shape[-1], float(cells))),
        factor_table=table,
        limits=wide,
        lead=shape[:-1],
        **spread,
    )


def _tables(curve: object) -> list[tuple[Sequence[float], Sequence[float]]]:
    """One curve or several."""
    return [curve] if np.ndim(curve[0][0]) == 0 else list(curve)  # type: ignore[index, list-item, call-overload]


def _spread(
    given: Mapping[str, object], limits: Limits, count: int
) -> tuple[dict[str, Array], Limits, tuple[int, ...]]:
    """Numbers and limits over variants and modules, and the shape of both."""
    parts = [np.asarray(value, dtype=float) for value in given.values()]
    bounds = {f.name: np.asarray(getattr(limits, f.name)) for f in fields(limits)}
    shape = np.broadcast_shapes((count,), *(p.shape for p in parts), *(b.shape for b in bounds.values()))
    spread = {key: frozen(np.broadcast_to(part, shape)) for key, part in zip(given, parts, strict=True)}
    _refuse_nonsense(spread)
    return spread, Limits(**{key: np.broadcast_to(value, shape) for key, value in bounds.items()}), shape


def _refuse_nonsense(values: dict[str, Array]) -> None:
    for key in ("capacity", "tau1", "tau2", "heat_capacity"):
        if not (values[key] > 0).all():
            raise ValueError(f"{key} must be above zero")
    for key in ("metal", "ohmic_cells", "r1", "r2"):
        if not (values[key] >= 0).all():
            raise ValueError(f"{key} must not be negative")
