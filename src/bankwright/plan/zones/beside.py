"""Devices side by side: what each of them has to clear once the others have opened.

Gives: Parting, parting(), counted(), cleared_nearer(). Where several devices feed one zone, a module's current parts
between them. The first to open leaves all of it to the others, so each is held against the whole current; but only
where the parting lasts not too long: the largest part opens its device, and the whole the next, within 5 s together, or
a device nearer to the module, which carries the whole from the start, clears it within 5 s. Else each is held against
its own part.
Limits: devices of a set count as alike; half the current for an arcing fault [practice].
Sources: derived; 5 s: IEC 60364-4-43 434.5.2.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from bankwright.bank.model import Device
from bankwright.circuit.alone import Alone
from bankwright.circuit.network import Array
from bankwright.forms.checks import NeedsValue
from bankwright.physics.withstand import LONGEST
from bankwright.plan.figures.opening import clearing_many
from bankwright.plan.zones.zones import Bound

__all__ = ["WHOLE", "Parting", "cleared_nearer", "counted", "parting"]

WHOLE = 0.99  # share of a module's current from which on a device carries all of it
ARC = 0.5  # of a short's current, common practice


@dataclass(frozen=True, eq=False, slots=True)
class Parting:
    """How the current of each short parts between the devices that feed one zone, the same for each of them."""

    first: Array  # (modules, pairs) the largest part, which opens its device first [A]
    nearer: np.ndarray  # (modules, pairs) whether a device that is none of them carries the whole, and clears it


def parting(feeding: Alone, members: frozenset[str], devices: Iterable[tuple[Device, str]]) -> Parting:
    """The parting between the stretches of some devices; `devices`: every device of the wiring with its edge."""
    whole, times = feeding.current, dict[int, np.ndarray]()
    first = np.maximum.reduce([_through(feeding, stretch) for stretch in sorted(members)])
    nearer = np.zeros(whole.shape, dtype=bool)
    for device, edge in devices:
        if edge in members:
            continue
        if id(device.kind) not in times:  # devices of one kind share a curve
            times[id(device.kind)] = _time(device, whole) <= LONGEST
        nearer |= (_through(feeding, edge) >= WHOLE * whole) & times[id(device.kind)]
    return Parting(first, nearer)


def counted(feeding: Alone, own: Bound, among: Parting | None) -> Array:
    """What a device has to clear of each short (modules, pairs): the whole current, or only its part. [A]

    `among`: the parting between it and the others that feed the zone; None where it is the only one.
    """
    part, whole = _through(feeding, own.stretch), feeding.current
    if among is None:
        return part
    soon = (_time(own.device, among.first) + _time(own.device, whole) <= LONGEST) | among.nearer
    return np.where((part < WHOLE * whole) & soon, whole, part)


def cleared_nearer(feeding: Alone, device: Device, devices: Iterable[tuple[Device, str]]) -> np.ndarray:
    """Which shorts (modules, pairs) another device, that carries all of them, breaks within 5 s while they arc."""
    whole, half = feeding.current, ARC * feeding.current
    found = np.zeros(whole.shape, dtype=bool)
    for each, edge in devices:
        if each.name == device.name:
            continue
        name = (each.kind.device_class or "").lower().removeprefix("class ").strip()
        least = 0.0 if name.startswith("g") else each.kind.least_breaking or 0.0
        in_line = _through(feeding, edge) >= WHOLE * whole
        if (in_line & ~found).any():
            found |= in_line & (_time(each, whole) <= LONGEST) & (half > least)
    return found


def _through(feeding: Alone, stretch: str) -> Array:
    edge = stretch.removesuffix(" to come")
    return np.abs(feeding.through(feeding.feeding.network.edge_index[edge]))


def _time(device: Device, currents: Array) -> Array:
    """Clearing times at half of these currents; infinite where the curve is not given."""
    try:
        return clearing_many(device, (ARC * currents).ravel()).reshape(currents.shape)
    except NeedsValue:
        return np.full(currents.shape, np.inf)
