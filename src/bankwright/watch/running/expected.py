"""Shares of the current that the bank's own wiring and the modules' temperatures make, and those that were heard.

Gives: Share, expected_shares(), heard_shares(), currents_at(). Cells in the cold have more resistance, so a cold row
takes less: that is in the expected share, before any joint is blamed.
Limits: modules at equal state of charge, minutes after a step; over hours the slope of the curve pulls shares towards
the capacities, so the band of what is expected reaches that far. Loads and chargers are taken to carry alike.
Sources: network of the bank (circuit/run/ports); resistance of the cells over temperature: handbook table
lfp/resistance-temperature; regression, doubt by leaving out one day after the other [stated law].
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bankwright.bank.model import Bank, Module
from bankwright.circuit.network import Array
from bankwright.circuit.of_bank.cell_part import temperature_factor
from bankwright.circuit.run.bank import bank_ports, parts_of
from bankwright.watch.running.hours import Hours

__all__ = ["CARRIES", "Share", "currents_at", "expected_shares", "heard_shares"]

CARRIES = 0.03  # C, mean of the modules, from which the bank counts as carrying
DRAWS, SEED = 200, 7  # of resistances inside their tolerances
USUAL_DEGC, SPREAD = 25.0, 2.0  # where no temperature is heard; K between sensor and cells
STRAIGHT, LEAST_DAYS = 1.96, 2


@dataclass(frozen=True, slots=True)
class Share:
    """Part of the bank's current that a module takes, with its 95 % band."""

    value: float
    low: float
    high: float


def expected_shares(bank: Bank, degc: Array) -> tuple[Share, ...]:
    """Shares by the network, at the modules' temperatures (module,), NaN where they are not known."""
    ports, _, _ = bank_ports(bank)
    luck = np.random.default_rng(SEED)
    count = len(bank.modules)
    warm = np.where(np.isfinite(degc), degc, USUAL_DEGC)
    spread = np.where(np.isfinite(degc), SPREAD, 5 * SPREAD)
    ohm = np.array([_ohm(m, warm[k], spread[k], luck) for k, m in enumerate(bank.modules)]).T
    loads = np.full(len(ports.load_names), 1 / max(len(ports.load_names), 1))
    found = ports.view(ohm, np.ones((len(ohm), count), dtype=bool)).k @ loads
    size = np.array([m.capacity_ah or m.kind.capacity_ah or 1.0 for m in bank.modules])
    even = size / size.sum()
    low, high = np.quantile(found[1:], 0.025, axis=0), np.quantile(found[1:], 0.975, axis=0)
    ends = np.minimum(low, even), np.maximum(high, even)  # hours pull towards the capacities
    return tuple(Share(float(found[0, k]), float(ends[0][k]), float(ends[1][k])) for k in range(count))


def _ohm(module: Module, degc: float, spread: float, luck: np.random.Generator) -> Array:
    """Resistance half a minute into a step: the nominal one first, then draws inside the tolerance. [ohm]"""
    parts, dc = parts_of(module), module.kind.resistance.dc
    nominal = parts.ohmic.nominal + parts.quick
    away = max((parts.ohmic.high - parts.ohmic.low) / 2 / parts.ohmic.nominal if dc is None else
               (dc.high - dc.low) / 2 / dc.nominal, 0.0)  # fmt: skip
    warm = np.concatenate([[degc], degc + spread / 2 * luck.standard_normal(DRAWS)])
    scale = np.concatenate([[1.0], 1 + away * luck.uniform(-1, 1, DRAWS)])
    return np.asarray((parts.metal + (nominal - parts.metal) * temperature_factor(warm)) * scale)


def heard_shares(hours: Hours, capacity_ah: Array) -> tuple[Share | None, ...]:
    """Share of each module over the hours in which all were heard and the bank carried; None with under two days."""
    amps = hours.amps.mean
    with np.errstate(invalid="ignore"):
        at = np.isfinite(amps).all(axis=1) & (np.abs(amps.mean(axis=1)) > CARRIES * capacity_ah.mean())
    day = (hours.time[at] // 86400).astype(int)
    days = np.unique(day)
    if len(days) < LEAST_DAYS:
        return tuple(None for _ in range(amps.shape[1]))
    each, whole = amps[at], amps[at].sum(axis=1)
    found = _slope(each, whole)
    left = np.array([_slope(each[day != one], whole[day != one]) for one in days])
    sd = np.sqrt((len(days) - 1) / len(days) * ((left - left.mean(axis=0)) ** 2).sum(axis=0))
    half = STRAIGHT * sd
    answer: list[Share | None] = []
    for value, by in zip(found, half, strict=True):
        answer.append(Share(float(value), float(value - by), float(value + by)))
    return tuple(answer)


def _slope(each: Array, whole: Array) -> Array:
    """Rise of each module's current with the bank's; a constant offset of a sensor is not in it. (module,)"""
    x = whole - whole.mean()
    if float(x @ x) < 0.1 * float(whole @ whole):  # always the same current: through nothing
        return np.asarray(whole @ each / float(whole @ whole))
    return np.asarray(x @ each / float(x @ x))


def currents_at(share: Share, whole: float) -> tuple[float, float, float]:
    """Current of a module at a current of the bank, with its band. [A]"""
    ends = sorted((share.low * whole, share.high * whole))
    return share.value * whole, ends[0], ends[1]
