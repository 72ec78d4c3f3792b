"""Which devices end a zone, and the least fault that each of them has to clear.

Gives: Guarding, Pair, Least, guarding_of(), bond_resistance().
A device's least fault lies anywhere from it up to the next device of the
same pole that itself clears what it has to: half its least fault within 5 s, and above its least breaking current. What
does not, or whose curve is not known, ends no zone, and is judged itself as if it did.
Only shorts in a zone that a module feeds through the device count; side by side with others it is held against the
whole current (zones/beside). Shorts lie from pole to pole at the same place, and from the unearthed pole to the frame,
back through the earthing point.
Limits: one module alone on the bus feeds the least fault; a bond without a length counts as 0 ohm.
Sources: IEC 60364-4-43 434.5.2 (5 s); half for an arcing fault [practice].
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from bankwright.bank.model import Bank, Device
from bankwright.circuit.alone import Alone, alone
from bankwright.circuit.network import Array
from bankwright.circuit.of_bank.short_network import HOT_CONDUCTOR_DEGC
from bankwright.circuit.shorts import Shorts
from bankwright.forms.checks import NeedsValue
from bankwright.handbook.wires import ohm_per_m
from bankwright.physics.conductor import temperature_factor
from bankwright.physics.fault import arcing_fault
from bankwright.physics.withstand import LONGEST
from bankwright.plan.context import Plan
from bankwright.plan.figures.opening import clearing
from bankwright.plan.once import once
from bankwright.plan.zones.beside import Parting, cleared_nearer, counted, parting
from bankwright.plan.zones.twins import Twins, twins_of
from bankwright.plan.zones.wiring import Wiring, opens_by_itself, wiring_of
from bankwright.plan.zones.zones import Bound, Zones, zones_of

__all__ = ["Guarding", "Least", "Pair", "bond_resistance", "guarding_of"]

SMALL = 0.01  # share of a short's current under which a device does not carry it


@dataclass(frozen=True, slots=True)
class Pair:
    """A short: the place it is named by, its plus and its minus node."""

    place: str
    plus: str
    minus: str

    @property
    def other(self) -> str:
        """The node it goes to."""
        return self.minus if self.place == self.plus else self.plus


@dataclass(frozen=True, slots=True)
class Least:
    """Least fault through a device at one end of what is possible. [A]"""

    current: float
    pair: Pair
    module: str


@dataclass(frozen=True, eq=False)
class Guarding:
    """Zones of a bank, and least faults at each end of what stands in for missing resistances."""

    bank: Bank
    ends: tuple[Shorts, ...] = field(repr=False)  # lowest end, once a resistance end

    @cached_property
    def wiring(self) -> Wiring:
        """The stretches."""
        return wiring_of(self.bank)

    @cached_property
    def twins(self) -> Twins:
        """Both poles."""
        return twins_of(self.wiring)

    @cached_property
    def devices(self) -> tuple[Device, ...]:
        """Everything in the wiring that opens by itself."""
        return tuple(device for device in self.bank.devices if opens_by_itself(device.kind))

    @cached_property
    def all_names(self) -> frozenset[str]:
        """Names of these devices."""
        return frozenset(device.name for device in self.devices)

    @cached_property
    def pairs(self) -> tuple[Pair, ...]:
        """Shorts from pole to pole at the same place, and to the frame where a pole is earthed."""
        found = []
        for place, pole in self.wiring.poles.items():
            other = self.twins.places.get(place)
            if other is not None and self.wiring.poles.get(other) not in (None, pole):
                found.append(Pair(place, *((place, other) if pole == "+" else (other, place))))
        return (*found, *self._to_frame())

    def _to_frame(self) -> list[Pair]:
        earthing = self.bank.site.earthing
        earthed = {"minus": "-", "plus": "+"}.get(earthing.pole or "")
        points = [point for point in earthing.at if self.wiring.poles.get(point) == earthed]
        live = [place for place, pole in self.wiring.poles.items() if pole != earthed] if points else []
        return [Pair(a, *((a, point) if earthed == "-" else (point, a))) for a in live for point in points]

    @cached_property
    def _alone(self) -> tuple[Alone, ...]:
        found = []
        for shorts in self.ends:
            index = shorts.feeding.network.node_index
            pairs = [(index[pair.plus], index[pair.minus]) for pair in self.pairs]
            found.append(alone(shorts.feeding, pairs, self.in_the_fault))
        return tuple(found)

    @cached_property
    def in_the_fault(self) -> Array:
        """Resistance in each short itself: that of the bond in one to the frame, hot; none from pole to pole. [ohm]"""
        count, frame = len(self.pairs), len(self._to_frame())
        return np.where(np.arange(count) >= count - frame, bond_resistance(self.bank), 0.0)

    @cached_property
    def _kept(self) -> dict[frozenset[str], Zones]:
        return {}

    def zones_with(self, ending: frozenset[str]) -> Zones:
        """The zones for a choice of devices, made once."""
        if ending not in self._kept:
            self._kept[ending] = zones_of(self.wiring, ending)
        return self._kept[ending]

    @cached_property
    def proven(self) -> frozenset[str]:
        """Devices that end a zone: those that clear their own least fault, found by leaving out one after the other."""
        left = frozenset(d.name for d in self.devices if d.kind.curve or d.kind.instant is not None)
        while True:
            kept = frozenset(d.name for d in self.devices if d.name in left and self._clears(d, left))
            if kept == left:
                return kept
            left = kept

    def _clears(self, device: Device, ending: frozenset[str]) -> bool:
        try:
            half = min((float(arcing_fault(each.current)) for each in self.least(device, ending)), default=np.inf)
            if clearing(device, half) > LONGEST:
                return False
        except NeedsValue:
            return False
        name = (device.kind.device_class or "").lower().removeprefix("class ").strip()
        return name.startswith("g") or device.kind.least_breaking is None or half > device.kind.least_breaking

    @cached_property
    def zones(self) -> Zones:
        """The zones of the proven devices."""
        return self.zones_with(self.proven)

    @cached_property
    def all_zones(self) -> Zones:
        """The zones of all overcurrent devices, whether or not they clear."""
        return self.zones_with(self.all_names)

    def least(self, device: Device, ending: frozenset[str] | None = None, unaided: bool = False) -> tuple[Least, ...]:
        """Least fault through a device at each resistance end, one module alone; empty where none passes it.

        `unaided` leaves out the shorts that another device in line clears in time.
        """
        zones = self.zones_with((self.proven if ending is None else ending) | {device.name})
        feeding = self._feeding(device, zones) or self._feeding(device, self.all_zones)  # beside one that ends no zone
        leave = [cleared_nearer(each, device, self._edges) if unaided else None for each in self._alone]
        found = (self._least_of(number, feeding, leave[number]) for number in range(len(self._alone)))
        return tuple(each for each in found if each is not None)

    def _feeding(self, device: Device, zones: Zones) -> list[tuple[Bound, tuple[Bound, ...], np.ndarray]]:
        """Each way a device feeds a zone, the devices beside it, and which shorts lie in that zone (pairs,)."""
        found = []
        for zone in zones.zones:
            ways = zones.feeding(zone)
            own = [way for way in ways if way.device.name == device.name and not way.copies]
            inside = np.array([pair.place in zone.places for pair in self.pairs] if own else [], dtype=bool)
            for way in own if inside.any() else ():
                beside = tuple(each for each in ways if each is not way and not each.copies) if not zone.bare else ()
                found.append((way, beside, inside))
        return found

    @cached_property
    def _edges(self) -> tuple[tuple[Device, str], ...]:
        """Every overcurrent device with the edge its current is read from."""
        row = self.wiring.stretches
        return tuple((each.device, each.name) for each in row if each.device and each.device.name in self.all_names)

    def _parting(self, end: int, members: frozenset[str]) -> Parting:
        """How currents part between the devices of a zone, found once for all of them."""
        if (end, members) not in self._partings:
            self._partings[end, members] = parting(self._alone[end], members, self._edges)
        return self._partings[end, members]

    @cached_property
    def _partings(self) -> dict[tuple[int, frozenset[str]], Parting]:
        return {}

    def _least_of(
        self, end: int, ways: list[tuple[Bound, tuple[Bound, ...], np.ndarray]], leave: np.ndarray | None = None
    ) -> Least | None:
        feeding = self._alone[end]
        network = feeding.feeding.network
        best: Least | None = None
        for way, beside, inside in ways:
            passing = np.abs(feeding.through(network.edge_index[way.stretch]))
            members = frozenset((way.stretch, *(each.stretch for each in beside)))
            cleared = counted(feeding, way, self._parting(end, members) if beside else None)
            carried = (passing > np.maximum(SMALL * feeding.current, 1.0)) & inside
            carried = carried if leave is None else carried & ~leave
            left = np.where(carried, cleared, np.inf)
            module, pair = np.unravel_index(int(np.argmin(left)), left.shape)
            current = float(left[module, pair])
            if np.isfinite(current) and (best is None or current < best.current):
                best = Least(current, self.pairs[int(pair)], network.module_names[int(module)])
        return best

    def from_one(self, module: str, places: frozenset[str]) -> tuple[Least, ...]:
        """Least current that a module alone sends into shorts at some places, at each resistance end."""
        inside = np.array([pair.place in places for pair in self.pairs])
        found = []
        for each in self._alone if inside.any() else ():
            row = each.feeding.network.module_names.index(module)
            currents = np.where(inside, each.current[row], np.inf)
            pick = int(np.argmin(currents))
            found.append(Least(float(currents[pick]), self.pairs[pick], module))
        return tuple(found)

    def alone_through(self, edge: str) -> tuple[Array, ...]:
        """Size of an edge's current for every pair, least over the modules that send any, at each resistance end."""
        found = []
        for each in self._alone:
            network = each.feeding.network
            if edge in network.module_names:
                found.append(each.current[network.module_names.index(edge)])
                continue
            passing = np.abs(each.through(network.edge_index[edge]))
            counted = np.where(passing > np.maximum(SMALL * each.current, 1.0), passing, np.inf)
            found.append(counted.min(axis=0))
        return tuple(found)

    @cached_property
    def together(self) -> tuple[Array, ...]:
        """Edge currents of every pair with all modules on, at each resistance end (pairs, edges)."""
        pairs = [(pair.plus, pair.minus) for pair in self.pairs]
        return tuple(shorts.between(pairs, self.in_the_fault) for shorts in self.ends)


def bond_resistance(bank: Bank) -> float:
    """Resistance of the bond between frame and earthing point, hot as the cables of a least fault; 0 ohm where size or
    length is not given. [ohm]"""
    earthing = bank.site.earthing
    if earthing.bond is None or earthing.bond_length is None:
        return 0.0
    return ohm_per_m(earthing.bond).value * earthing.bond_length * float(temperature_factor(HOT_CONDUCTOR_DEGC))


@once
def guarding_of(plan: Plan) -> Guarding:
    """The zones of a bank, found once; NeedsValue where a resistance is missing without a stand-in."""
    return Guarding(plan.bank, plan.faults.ends("lowest"))
