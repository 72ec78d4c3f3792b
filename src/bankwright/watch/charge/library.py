"""The curve that a bank's cells may follow, with how little is known of it.

Gives: CurveBand, own_curve(), library_curve(), GRID. Centre of the open-circuit voltage of a cell over its state of
charge, half the gap between rested charge and discharge, and one standard deviation of both.
Limits: all published curves are of small cylindrical cells; a bank of other cells is met through the spread of the
library, which is all that is known. Slow test curves still hold their own current: it is taken off here.
Sources: handbook tables lfp/ocv-26650 (both branches at C/30), lfp/ocv-18650 (C/32), lfp/ocv-bpx. Sizes of the doubt
(4 mV and 2 % of charge beside the spread; 4 mV and 1.5 % for a curve of the same cell): own trials on open data.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.circuit.network import Array, frozen
from bankwright.circuit.run.curves import Curve

__all__ = ["GRID", "CurveBand", "library_curve", "on_grid", "own_curve", "smooth"]

GRID = frozen(np.linspace(0.0, 1.0, 401))
HALF_GAP = 0.012  # V a cell between rested charge and discharge, where both branches are not measured [own trials]
GAP_SD, GAP_SD_MEASURED = 0.35, 0.15  # of it
COLD_GAP = 0.004  # V a cell more for every doubling of the resistance [lfp/ocv-26650 by temperature, own reading]
TOP = 0.9  # above it a charge ends on what it has not yet settled: the branch that begins there is nearer to rest
ALONG = 0.12  # of the charge, over which an error of a curve keeps its sign [own trials]
TEST_RATE = 1 / 30  # C of the slow branches


@dataclass(frozen=True, eq=False, slots=True)
class CurveBand:
    """Curve of one cell on GRID, with its doubt. [V]"""

    centre: Array
    half_gap: Array  # rested, charge above and discharge below the centre
    sd: Array  # of the centre
    gap_sd: float  # of the half gap, as a share of it
    slow_sd: float  # V, what a whole bank's voltage wanders by over hours
    along: float  # of the charge, over which an error of the curve keeps its sign
    axis_sd: float  # of the charge, by which the axis of the curve may lie off the axis of the count
    is_own: bool  # measured on this kind of cell
    names: tuple[str, ...] = ()

    @property
    def doubt(self) -> Array:
        """Standard deviation of centre and half gap together. [V]"""
        return np.asarray(np.sqrt(self.sd**2 + (self.gap_sd * self.half_gap) ** 2))


def own_curve(discharge: Array, charge: Array, polarisation: float, name: str = "own curve") -> CurveBand:
    """Both branches of this very cell on GRID, freed of the test current's own polarisation.

    Parameters
    ----------
    discharge, charge : (401,) slow branches. [V]
    polarisation : test current times all resistance of the cell at the temperature of the test. [V]
    """
    low, high = discharge + polarisation, charge - polarisation
    gap = np.clip(smooth((high - low) / 2, 9), 0.003, 0.04)
    gap = np.where(GRID > TOP, np.interp(TOP, GRID, gap), gap)
    centre = np.where(GRID > TOP, low + gap, (low + high) / 2)
    doubt = np.hypot(0.004, smooth(np.abs(np.gradient(centre, GRID)), 17) * 0.015)
    return CurveBand(frozen(centre), frozen(gap), frozen(doubt), GAP_SD_MEASURED, 0.002, 0.10, 0.007, True, (name,))


def library_curve(curves: Sequence[Curve], resistance_factor: float, cell_ohm_ah: float) -> CurveBand:
    """What several curves say together, or one curve of a data sheet alone.

    Parameters
    ----------
    curves : at least one; branches named "charge" and "discharge" of one cell count as one.
    resistance_factor : of the cells at their temperature to 25 degC. [-]
    cell_ohm_ah : all resistance of a cell times its capacity at 25 degC, to free slow branches. [ohm Ah]

    References
    ----------
    Spread of a small sample as the doubt of one more: s^2 (1 + 1/n) [elementary statistics].
    """
    if not curves:
        raise ValueError("a curve is needed")
    tables = _tables(curves, TEST_RATE * cell_ohm_ah)
    centre = np.mean(tables, axis=0)
    slope = smooth(np.abs(np.gradient(centre, GRID)), 17)
    spread = np.full(len(GRID), 0.014) if len(tables) == 1 else np.sqrt(_spread(tables))
    axis = 0.03 if len(tables) == 1 else 0.02
    sd = np.sqrt(spread**2 + 0.004**2 + (slope * axis) ** 2)
    gap = np.full(len(GRID), HALF_GAP + COLD_GAP * max(np.log2(resistance_factor), 0.0))
    names = tuple(c.name for c in curves)
    return CurveBand(frozen(centre), frozen(gap), frozen(sd), GAP_SD, 0.004, ALONG, 0.012, False, names)


def _spread(tables: Sequence[Array]) -> Array:
    count = len(tables)
    return smooth(np.var(tables, axis=0, ddof=1), 81) * (1 + 1 / count)


def _tables(curves: Sequence[Curve], polarisation: float) -> list[Array]:
    """Each cell's curve on GRID: two branches become their mean."""
    sign = {"discharge": 1.0, "charge": -1.0}
    single = [on_grid(c.soc, c.volts) for c in curves if c.branch is None]
    pairs = [on_grid(c.soc, c.volts) + sign[c.branch] * polarisation for c in curves if c.branch is not None]
    return single + ([np.mean(pairs, axis=0)] if pairs else [])


def on_grid(soc: Sequence[float] | Array, volts: Sequence[float] | Array) -> Array:
    """A table (share of charge, V) on GRID, run straight on beyond its ends."""
    z, v = np.asarray(soc, dtype=float), np.asarray(volts, dtype=float)
    found = np.asarray(np.interp(GRID, z, v))
    low, high = z[0] > GRID, z[-1] < GRID
    found[low] = v[0] + (GRID[low] - z[0]) * (v[1] - v[0]) / (z[1] - z[0])
    found[high] = v[-1] + (GRID[high] - z[-1]) * (v[-1] - v[-2]) / (z[-1] - z[-2])
    return np.asarray(found)


def smooth(values: Array, width: int) -> Array:
    """Mean over an odd number of neighbours; the ends are carried on."""
    wide = np.pad(values, width // 2, mode="edge")
    return np.asarray(np.convolve(wide, np.ones(width) / width, "valid"))
