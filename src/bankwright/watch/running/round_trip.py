"""Energy out over energy in, between two states of charge, with everything in the band that makes it unsure.

Gives: Trip, trip_of(), mixed_hours(), Through, through_of(). Whatever constant the current sensors are off by shows in
the charge: what went in and did not come out must still be there. So charge is balanced first, by the states of charge
at both ends, and the energy is counted from the currents without that offset.
Limits: an offset that wanders, or a sensor that reads charge and discharge with two gains, is not parted from a loss of
charge. What a module's own electronics take before its sensor, cables and inverters are not in it.
Sources: energy = voltage times current times time [stated law]; charge that cells lose in a round trip, up to 1 %:
common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bankwright.circuit.network import Array
from bankwright.watch.running.hours import Hours

__all__ = ["LOST", "Through", "Trip", "mixed_hours", "through_of", "trip_of"]

LOST = (0.0, 0.01)  # share of the charge that a cell does not give back
STRAIGHT = 1.96


@dataclass(frozen=True, eq=False, slots=True)
class Through:
    """Steps of one bank: power and charge as read, in their order. (step, module)"""

    volts: Array  # V of the module
    amps: Array  # A, positive leaves the module
    hours: Array  # (step,) h that each stands for


@dataclass(frozen=True, slots=True)
class Trip:
    """Energy in and out of the modules [kWh], efficiency with its 95 % band, and what it rests on."""

    energy_in: float
    energy_out: float
    efficiency: float
    low: float
    high: float
    offset: float  # A, of all modules together, that balances the charge
    ends_share: float  # of the half band, what the doubt of the two states of charge makes


def mixed_hours(hours: Hours) -> Array:
    """Hours in which some module both took and gave current. (hour,) s since 1970"""
    floor = 0.02 * np.nanmax(np.abs(hours.amps.mean), initial=0.0)
    with np.errstate(invalid="ignore"):
        both = (hours.amps.low < -floor) & (hours.amps.high > floor)
    return np.asarray(hours.time[both.any(axis=1)])


def through_of(hours: Hours, minutes: Hours | None) -> Through:
    """Hours, those of them taken by the minute that minutes are given for."""
    parts = [hours] if minutes is None else [hours, minutes]
    fine = np.zeros(0) if minutes is None else np.unique(np.floor(minutes.time / hours.step)) * hours.step
    volts, amps, span = [], [], []
    for part in parts:
        keep = ~np.isin(part.time, fine) if part is hours else np.ones(len(part.time), dtype=bool)
        keep &= part.told.any(axis=1)
        volts.append(part.volts.mean[keep])
        amps.append(part.amps.mean[keep])
        span.append(np.full(int(keep.sum()), part.step / 3600))
    return Through(np.concatenate(volts), np.concatenate(amps), np.concatenate(span))


def trip_of(through: Through, moved_ah: float, doubt_ah: float) -> Trip | None:
    """Efficiency between two ends that lie `moved_ah` apart (more at the end: positive), known to `doubt_ah` (one
    standard deviation); None where nothing went in or came out.

    References
    ----------
    eta = E_out / (E_in - E_left), E_left = charge left times mean voltage, currents freed of the offset that leaves
    this charge [derived]. The band is that of both ends of the charge left and of the charge that cells lose.
    """
    middle = _efficiency(through, moved_ah, LOST[1] / 2)
    if middle is None:
        return None
    by_ends = [_efficiency(through, moved_ah + way * STRAIGHT * doubt_ah, LOST[1] / 2) for way in (-1, 1)]
    by_loss = [_efficiency(through, moved_ah, lost) for lost in LOST]
    told = [one[0] for one in (*by_ends, *by_loss) if one is not None]
    if len(told) < 4:
        return None
    ends = float(np.ptp(told[:2])) / 2
    half = float(np.hypot(ends, np.ptp(told[2:]) / 2))
    return Trip(
        middle[1], middle[2], middle[0], middle[0] - half, min(middle[0] + half, 1.0), middle[3], ends / max(half, 1e-9)
    )


def _efficiency(through: Through, moved_ah: float, lost: float) -> tuple[float, float, float, float] | None:
    """Efficiency, energy in and out [kWh], and the offset that balances the charge [A]."""
    told = np.isfinite(through.amps) & np.isfinite(through.volts)
    span = np.where(told, through.hours[:, None], 0.0)
    amps, volts = np.where(told, through.amps, 0.0), np.where(told, through.volts, 0.0)
    whole = float(span.sum())
    taken = -float(np.minimum(amps, 0.0).ravel() @ span.ravel())
    if not whole or not taken:
        return None
    wanted = -(moved_ah + lost * taken)  # charge that should have left
    offset = (float((amps * span).sum()) - wanted) / whole  # A of one module
    right = np.where(told, amps - offset, 0.0)
    energy = volts * right * span / 1000
    energy_in, energy_out = -float(np.minimum(energy, 0.0).sum()), float(np.maximum(energy, 0.0).sum())
    left = moved_ah * float((volts * span).sum()) / whole / 1000
    if energy_in - left <= 0 or energy_out <= 0:
        return None
    return energy_out / (energy_in - left), energy_in, energy_out, offset * through.amps.shape[1]
