"""Growth of every group of elements against the bank's own baseline, from sums of hours.

Gives: Hours, hours_of(), Base, base_days(), base_of(), Growth, growths(), WINDOWS, ALARMS, NOTE, BASE_DAYS. The first
days with enough hours are the baseline; later hours, summed over windows of 1 h to 240 h, are held against it, each
group for itself: size, and how many standard deviations of this bank's own quiet windows of that length it is away.
Limits: one group grows at a time; what all branches share is never seen; with a ridge of 60 uohm about the nominal
values, since one direction of the baseline is never seen; differences of currents that hardly were excited do not move
the baseline.
Sources: linear least squares with a prior [stated law]; ridge, floor of 10 uohm for the season, thresholds:
measured on pretend telemetry [derived: docs/watch-joints.md].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from bankwright.circuit.network import Array
from bankwright.watch.joints.hours import Day
from bankwright.watch.joints.wiring import Wiring

__all__ = [
    "ALARMS",
    "BASE_DAYS",
    "NOTE",
    "WINDOWS",
    "Base",
    "Growth",
    "Hours",
    "base_days",
    "base_of",
    "growths",
    "hours_of",
]

WINDOWS = (1, 2, 4, 8, 24, 72, 240)  # h
BASE_DAYS, BASE_HOURS = 14, 12  # days of the baseline, and hours that a day must have to count as one
RIDGE, FLOOR = 60e-6, 10e-6  # ohm
ALARMS = (6.5, 6.5, 6.0, 5.5, 5.5, 5.5, 5.5)  # standard deviations of each window; one hour holds few steps of the load
NOTE = 4.5
LEAST_INFORMATION = 0.05  # of the baseline's in the same time; below it a window is skipped
LONGEST_OWN, FEWEST = 24, 20  # h, windows: what of the baseline sets a scale of its own
LOOSE = 0.25  # A a block by which differences of currents must be excited before they move a baseline
CHUNK = 512


@dataclass(frozen=True, eq=False)
class Hours:
    """Sums of each hour for the bank's groups: A (hour, group, group), b (hour, group), y'y and rows (hour,)."""

    hour: np.ndarray
    A: Array
    b: Array
    power: Array  # y'y, weighted
    rows: Array  # independent values behind it


def hours_of(wiring: Wiring, days: Sequence[Day]) -> Hours:
    """Sums for the groups of a wiring; any other nominal resistances need no raw data."""
    made = [_of_day(wiring, day) for day in days if len(day)]
    groups = len(wiring.groups)
    if not made:
        return Hours(np.empty(0, np.int64), np.empty((0, groups, groups)), np.empty((0, groups)), *np.empty((2, 0)))
    return Hours(*(np.concatenate([getattr(each, name) for each in made]) for name in Hours.__dataclass_fields__))


def _of_day(wiring: Wiring, day: Day) -> Hours:
    count, G, P = len(day.modules), wiring.patterns, wiring.projection
    ii, iv = day.gram[:, :count, :count], day.gram[:, :count, count : 2 * count]
    vv = day.gram[:, count : 2 * count, count : 2 * count]
    W = wiring.nominal
    iy = (iv - ii @ W) @ P  # y = P (V - W i): a module that gives stands above the bus by the drop of its way
    yy = vv - W @ iv - np.swapaxes(W @ iv, 1, 2) + W @ ii @ W
    A = (G @ P @ G.T) * (G @ ii @ G.T)
    b = np.einsum("em,hmn,en->he", G, iy, G @ P)
    power = np.einsum("mn,hmn->h", P, yy)
    return Hours(day.hour, A, b, power, day.blocks * wiring.rank)


@dataclass(frozen=True, eq=False)
class Base:
    """The baseline: resistances beside the nominal ones (group,), their covariance, noise, and scale of each window."""

    until: int  # its last hour
    rho: Array
    covariance: Array
    noise: Array  # (group,) variance of a value of weight 1 [V2]
    scale: Array  # (window, group): how much wider than computed this bank's own windows are, 1 at least
    information: Array  # (group,) of an hour, on average


def base_days(days: Sequence[Day]) -> tuple[Day, ...]:
    """The first days with enough hours."""
    return tuple(day for day in days if len(day) >= BASE_HOURS)[:BASE_DAYS]


def base_of(wiring: Wiring, hours: Hours) -> Base:
    """Fit the baseline to its hours, then look how far its own windows stray."""
    A, b = _no_less_than_nothing(hours.A.sum(axis=0)), hours.b.sum(axis=0)
    groups, G, P = len(b), wiring.patterns, wiring.projection
    loose = LOOSE**2 * float(hours.rows.sum()) / max(wiring.rank, 1) * (G @ P @ G.T) * (G @ G.T)
    noise = max(float(hours.power.sum()) / max(float(hours.rows.sum()), 1.0), 1e-12)
    for _ in range(3):
        covariance: Array = np.asarray(np.linalg.inv((A + loose) / noise + np.eye(groups) / RIDGE**2), np.float64)
        rho = covariance @ b / noise
        left = float(hours.power.sum() - 2 * rho @ b + rho @ A @ rho)
        noise = max(left / max(float(hours.rows.sum()), 1.0), 1e-12)
    information = np.diag(A) / max(len(hours.hour), 1)
    one = np.ones((len(WINDOWS), groups))
    base = Base(int(hours.hour[-1]), rho, covariance, np.full(groups, noise), one, information)
    return replace(base, scale=_scales(hours, base))


def _no_less_than_nothing(A: Array) -> Array:
    """Without directions of less than no information, which taking off the noise of the currents may leave."""
    sizes, ways = np.linalg.eigh(A)
    return np.asarray((ways * np.maximum(sizes, 0.0)) @ ways.T, np.float64)


def _scales(hours: Hours, base: Base) -> Array:
    """How much wider than computed the baseline's own windows are; long ones take the last that had enough."""
    found: list[Array] = []
    for window in WINDOWS:
        if window > LONGEST_OWN:
            found.append(found[-1])
            continue
        size, sigma, _ = _windows(hours, base, window, inside=True)
        square = np.nan_to_num(size / sigma) ** 2
        count = np.isfinite(size).sum(axis=0)
        rms = np.sqrt(square.sum(axis=0) / np.maximum(count, 1))
        found.append(np.where(count >= FEWEST, np.maximum(rms, 1.0), found[-1] if found else 1.0))
    return np.array(found)


@dataclass(frozen=True, eq=False)
class Growth:
    """What one length of window says, one row an hour at its end: size [ohm], its deviation, z; NaN where skipped."""

    window: int  # h
    hour: np.ndarray  # (hour,) the last of each window
    size: Array  # (hour, group)
    sigma: Array  # (hour, group)
    fine: Array  # (hour, group) deviation without the floor for the season: what tells one group from another
    z: Array  # (hour, group), on the scale of this bank's own windows

    @property
    def clear(self) -> Array:
        """Size over its deviation without the floor, (hour, group): the largest is the group that explains most."""
        return np.asarray(self.size / self.fine)


def growths(hours: Hours, base: Base) -> tuple[Growth, ...]:
    """Every window over these hours, which are later than the baseline."""
    found = []
    for place, window in enumerate(WINDOWS):
        size, sigma, fine = _windows(hours, base, window, inside=False)
        scale = base.scale[place]
        found.append(Growth(window, hours.hour, size, sigma * scale, fine * scale, size / (sigma * scale)))
    return tuple(found)


def _windows(hours: Hours, base: Base, window: int, *, inside: bool) -> tuple[Array, Array, Array]:
    """Size of each group over the `window` hours up to each hour, its deviation with and without floor; NaN: skipped.

    `inside`: these hours are those of the baseline itself.
    """
    count, groups = len(hours.hour), len(base.rho)
    begin = np.searchsorted(hours.hour, hours.hour - window + 1)
    sums = np.concatenate([np.zeros((1, groups)), np.cumsum(hours.b, axis=0)])
    b = sums[np.arange(count) + 1] - sums[begin]
    size, sigma, fine = (np.full((count, groups), np.nan) for _ in range(3))
    for low in range(0, count, CHUNK):
        span = slice(low, min(low + CHUNK, count))
        A = _summed(hours.A, begin[span], np.arange(span.start, span.stop) + 1)
        own = np.einsum("hee->he", A)
        both = np.einsum("hef,fg,hge->he", A, base.covariance, A, optimize=True)
        variance = np.maximum(base.noise * own + (-both if inside else both), 1e-30)
        safe = np.where(own > LEAST_INFORMATION * window * base.information, own, np.nan)
        size[span] = (b[span] - A @ base.rho) / safe
        fine[span] = np.sqrt(variance) / safe
        sigma[span] = np.sqrt(variance + (FLOOR * own) ** 2) / safe
    return size, sigma, fine


def _summed(A: Array, begin: np.ndarray, end: np.ndarray) -> Array:
    """Sums of A over [begin, end) for a run of hours, without the rounding of one long cumulative sum."""
    first = int(begin.min()) if len(begin) else 0
    last = int(end.max()) if len(end) else 0
    sums = np.concatenate([np.zeros((1, *A.shape[1:])), np.cumsum(A[first:last], axis=0)])
    return np.asarray(sums[end - first] - sums[begin - first])
