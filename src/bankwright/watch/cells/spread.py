"""What a spread between the cells of one string means: a difference of charge, or of something else.

Gives: ChargeApart, charge_apart(), Meaning, meaning(), inverse(), NARROW, and the doubts READ, UNLIKE, JOINT. The same
58 mV are under one point of charge at the top, and can be none at all on the flat. Every published curve gives an
answer; their lowest and highest are the band. A band no wider than what is let pass counts by its middle.
Limits: cells in series carry one current, so the gap of charge and discharge falls out, except after balancing. What
the current makes between two cells of unlike resistance is taken off as a doubt; above a twentieth of the capacity an
hour nothing is said.
Sources: handbook curves lfp/ocv-18650, lfp/ocv-26650 (both branches), lfp/ocv-bpx; doubt of the current: 3.8 % of the
cell's resistance and 0.2 mohm of sense wire and joint [own assumption]; 3 mV between the meters of two cells [common
practice, no source]; 10 and 3 points: own choice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from bankwright.circuit.network import Array
from bankwright.circuit.run.curves import Curve
from bankwright.watch.charge.library import GRID, on_grid

__all__ = ["JOINT", "NARROW", "READ", "UNLIKE", "ChargeApart", "Meaning", "charge_apart", "inverse", "meaning"]

REST_RATE = 0.05  # C
READ = 3e-3  # V by which two cells may be read apart: their meters; common practice, no source
UNLIKE, JOINT = 0.038, 0.2e-3  # share of a cell's resistance; ohm
MUCH, LITTLE, NARROW = 0.10, 0.03, 0.05  # of the charge
FINE = np.linspace(0.0, 1.0, 4001)

Kind = Literal["even", "charge", "not charge", "unknown", "too much current"]


@dataclass(frozen=True, slots=True)
class ChargeApart:
    """Difference of charge between two cells, as a share: lowest, middle and highest over the curves."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a spread says: `kind`, and the difference of charge that it would be."""

    kind: Kind
    apart: ChargeApart | None


def inverse(curve: Curve, volts: Array) -> Array:
    """State of charge at which a curve meets voltages of a cell. [0..1]"""
    table = np.interp(FINE, GRID, on_grid(curve.soc, curve.volts))
    return np.interp(volts, np.maximum.accumulate(table + np.arange(len(FINE)) * 1e-9), FINE)


def charge_apart(highest: float, lowest: float, curves: Sequence[Curve], doubt: float = 0.0) -> ChargeApart:
    """Difference of charge of two cells at rest from their voltages.

    Parameters
    ----------
    highest, lowest : of the string. [V]
    curves : at least one. doubt : by which the difference of the two voltages may be off. [V]
    """
    if not curves:
        raise ValueError("a curve is needed")
    least = [float(np.diff(inverse(c, np.array([min(lowest + doubt, highest), highest])))[0]) for c in curves]
    plain = [float(np.diff(inverse(c, np.array([lowest, highest])))[0]) for c in curves]
    most = [float(np.diff(inverse(c, np.array([lowest - doubt, highest])))[0]) for c in curves]
    return ChargeApart(min(least), float(np.median(plain)), max(most))


def meaning(
    highest: float, lowest: float, curves: Sequence[Curve], *, rate: float = 0.0, current: float = 0.0, ohm: float = 0.0
) -> Meaning:
    """Judge a spread.

    Parameters
    ----------
    highest, lowest : of the string. [V]
    rate : current over capacity, without sign. [C] current : the same in A. ohm : of one cell, all of it. [ohm]
    """
    if rate > REST_RATE:
        return Meaning("too much current", None)
    doubt = READ + abs(current) * (UNLIKE * ohm + JOINT)
    found = charge_apart(highest, lowest, curves, doubt)
    if found.high <= LITTLE or (found.high - found.low <= LITTLE and found.middle <= LITTLE):
        return Meaning("even", found)
    if found.low >= MUCH:
        return Meaning("not charge", found)
    if found.low > LITTLE:
        return Meaning("charge", found)
    return Meaning("unknown", found)
