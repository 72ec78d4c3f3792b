"""What a bank loses while nothing is asked of it, and how long its charge lasts then.

Gives: Rest, rest_of(), step_of(), lasts(), QUIET. The bank's current in the hours of rest, the steps of its sensors and
their offsets in the band; and days until a state of charge is reached.
Limits: what a module's own electronics take before its current sensor is not in it; a sensor that says nothing below
half an ampere hides the draw, and then the answer is unknown. On the flat of the curve the voltage tells nothing of it.
Sources: charge = current times time [stated law]; hours that count as rest: own choice.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bankwright.circuit.network import Array
from bankwright.forms.toleranced import Toleranced
from bankwright.watch.running.hours import Hours

__all__ = ["QUIET", "Rest", "lasts", "rest_of", "step_of"]

QUIET, MOVES = 0.02, 0.004  # C: mean of a module in an hour of rest, and how far its readings go in it
HELD = 3.40  # V a cell from which a charger may be holding the bank
LEAST = 6  # hours
STRAIGHT = 1.96
DAY, APART = 24.0, 3.0  # h; days between the middles of two halves
WANDER = 0.03 / 100  # of the capacity in A, per root of a day: of the offset of one sensor; as in watch/charge


@dataclass(frozen=True, slots=True)
class Rest:
    """Current of the whole bank at rest [A] with its band, hours of it, and whether the sensors said nothing but 0."""

    draw: Toleranced
    hours: int
    is_mute: bool
    grown: Toleranced | None = None  # A, the later half of the hours less the earlier one; None: within one week


def rest_of(hours: Hours, capacity_ah: Array, cells: Array, *, offset: tuple[float, float]) -> Rest | None:
    """Hours of rest of all modules; None with fewer than six.

    Parameters
    ----------
    capacity_ah, cells : (module,). offset : of all current sensors together and one standard deviation. [A]
    """
    amps, rate = hours.amps, np.abs(hours.amps.mean) / capacity_ah
    quiet = (rate < QUIET) & ((amps.high - amps.low) / capacity_ah < 2 * MOVES)
    free = hours.volts.high / cells < HELD
    at = (quiet & free & (hours.told > 0)).all(axis=1)
    if at.sum() < LEAST:
        return None
    total, time = amps.mean[at].sum(axis=1), hours.time[at]
    step = sum(step_of(np.concatenate([amps.low[:, k], amps.high[:, k]])) for k in range(amps.low.shape[1]))
    mute = bool((amps.low[at] == 0).all() and (amps.high[at] == 0).all())
    middle = _standing(total) - offset[0]
    half = STRAIGHT * float(np.hypot(offset[1], _luck(total))) + step / 2
    grown = _grown(total, time, step, float(np.sqrt(len(capacity_ah))) * float(capacity_ah.mean()))
    return Rest(Toleranced(middle, middle - half, middle + half), int(at.sum()), mute, grown)


def _standing(total: Array) -> float:
    """What is always there: the lowest quarter of the hours ends at it, so that a light left on does not count."""
    return float(np.quantile(total, 0.25))


def _luck(total: Array) -> float:
    """Standard deviation of a quarter of hours, from how they scatter."""
    return float(np.median(np.abs(total - np.median(total)))) * 1.4826 * 1.36 / float(np.sqrt(len(total)))


def _grown(total: Array, time: Array, step: float, size: float) -> Toleranced | None:
    """The later half of the hours less the earlier one: offsets fall out of it, all but their wander."""
    half = len(total) // 2
    days = (float(time[half:].mean()) - float(time[:half].mean())) / 86400
    if half < LEAST or days < APART:
        return None
    rise = _standing(total[half:]) - _standing(total[:half])
    wander = WANDER * size * float(np.sqrt(days))
    by = STRAIGHT * float(np.hypot(np.hypot(_luck(total[half:]), _luck(total[:half])), wander)) + step / 2
    return Toleranced(rise, rise - by, rise + by)


def step_of(values: Array) -> float:
    """The step that a sensor's readings come in; 0 where too few are known to tell. [as the values]"""
    told = np.unique(np.round(values[np.isfinite(values)], 4))
    return float(np.diff(told).min()) if len(told) > 2 else 0.0


def lasts(soc: float, until: float, capacity_ah: float, draw: Toleranced) -> Toleranced | None:
    """Days from one state of charge down to another at a standing draw; None where it may be none at all.

    References
    ----------
    (soc - until) capacity / draw [derived]. 500 Ah from 95.9 to 80 % at 13.3 -+ 4.5 mA: 249 days, 186 to 376 [a home
    bank in store, published by its builder].
    """
    if not draw.low > 0:
        return None
    hours = (soc - until) * capacity_ah
    return Toleranced(hours / draw.nominal / DAY, hours / draw.high / DAY, hours / draw.low / DAY)
