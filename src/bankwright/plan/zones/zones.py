"""Zones: parts of the wiring between which an overcurrent device lies.

Gives: Zones, Zone, Bound, zones_of(). Every place of a zone is fed by the same devices and by the same modules without
a device between. A device ends a zone only where it is told to (`ending`): one that does not clear its own least fault
ends none. sides() gives what feeds one end of a stretch while the short lies at the other.
Modules to come count as copies of the last one: with a lead of its own they hang on that lead's far post through a
copy of its device, else right at its posts.
Limits: sources are the modules; on a ring both ends of a stretch may be fed by the same devices, and both count.
Sources: graph of the bank [derived].
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from bankwright.bank.model import Device
from bankwright.plan.zones.wiring import Stretch, Wiring

__all__ = ["Bound", "Side", "Zone", "Zones", "zones_of"]


@dataclass(frozen=True, slots=True)
class Bound:
    """A device at the edge of a zone: the place inside, the place beyond, copies of it for modules to come."""

    device: Device
    stretch: str
    inside: str
    beyond: str
    copies: int = 0


@dataclass(frozen=True, slots=True)
class Side:
    """What feeds a place: devices, and modules without a device between."""

    guards: tuple[Bound, ...]
    bare: tuple[str, ...]


@dataclass(frozen=True, eq=False, slots=True)
class Zone:
    """One zone: its places, stretches, the devices that feed it, the modules inside it, modules to come inside it."""

    pole: str
    places: frozenset[str]
    stretches: tuple[Stretch, ...]
    bounds: tuple[Bound, ...]
    bare: tuple[str, ...]
    to_come: int = 0


@dataclass(frozen=True, eq=False)
class Zones:
    """The zones of a bank for one choice of devices that end them."""

    wiring: Wiring
    zones: tuple[Zone, ...]

    @cached_property
    def of_place(self) -> dict[str, Zone]:
        """The zone of every place."""
        return {place: zone for zone in self.zones for place in zone.places}

    def fed(self, bound: Bound, zone: Zone) -> bool:
        """Does a module feed the zone through this device."""
        key = (bound.beyond, id(zone))
        if key not in self._kept:
            self._kept[key] = self._fed(bound.beyond, zone)
        return self._kept[key]

    @cached_property
    def _kept(self) -> dict[tuple[str, int], bool]:
        return {}

    def _fed(self, start: str, zone: Zone) -> bool:
        first = self.of_place[start]
        seen, waiting = {id(zone)}, [first]
        while waiting:
            here = waiting.pop()
            if id(here) in seen:
                continue
            seen.add(id(here))
            if here.bare:
                return True
            waiting += [self.of_place[bound.beyond] for bound in here.bounds]
        return False

    def feeding(self, zone: Zone) -> tuple[Bound, ...]:
        """Devices through which a module feeds a zone."""
        return tuple(bound for bound in zone.bounds if self.fed(bound, zone))

    def side(self, stretch: Stretch, place: str) -> Side:
        """What feeds one end of a stretch, the stretch left out."""
        zone = self.of_place[place]
        ends = {bound.stretch for bound in zone.bounds}
        inside = {place}
        waiting = [place]
        while waiting:
            here = waiting.pop()
            for other, there in self.wiring.beside.get(here, ()):
                if other is not stretch and there in zone.places and there not in inside and other.name not in ends:
                    inside.add(there)
                    waiting.append(there)
        guards = tuple(b for b in zone.bounds if b.inside in inside and self.fed(b, zone) and b.stretch != stretch.name)
        sources = self.wiring.sources
        return Side(guards, tuple(sources[post] for post in sorted(inside & set(sources), key=_order(sources))))


def _order(sources: dict[str, str]):  # type: ignore[no-untyped-def]
    places = {post: number for number, post in enumerate(sources)}
    return lambda post: places[post]


def zones_of(wiring: Wiring, ending: frozenset[str]) -> Zones:
    """Cut the wiring at the devices named; nothing else ends a zone."""
    found: list[Zone] = []
    seen: set[str] = set()
    for place in wiring.poles:
        if place not in seen:
            zone = _grown(wiring, place, ending)
            seen |= zone.places
            found.append(zone)
    return Zones(wiring, tuple(found))


def _grown(wiring: Wiring, start: str, ending: frozenset[str]) -> Zone:
    places, waiting = {start}, [start]
    stretches: dict[str, Stretch] = {}
    bounds: list[Bound] = []
    while waiting:
        here = waiting.pop()
        for stretch, there in wiring.beside.get(here, ()):
            if stretch.device is not None and stretch.device.name in ending:
                bounds.append(Bound(stretch.device, stretch.name, here, there))
                continue
            stretches[stretch.name] = stretch
            if there not in places:
                places.add(there)
                waiting.append(there)
    bare = tuple(dict.fromkeys(name for post, name in wiring.sources.items() if post in places))
    bounds += _copies(wiring, places, bounds)
    come = _to_come(wiring, places, bounds)
    return Zone(wiring.poles[start], frozenset(places), tuple(stretches.values()), tuple(bounds), bare, come)


def _last_lead(wiring: Wiring, pole: str) -> tuple[str, str] | None:
    """Lead of the last module at a pole, and its far post."""
    posts = set(wiring.bank.modules[-1].posts)
    for link in wiring.bank.links:
        if link.role == "lead" and link.pole == pole and posts & {link.a, link.b}:
            return link.name, link.b if link.a in posts else link.a
    return None


def _copies(wiring: Wiring, places: set[str], bounds: list[Bound]) -> list[Bound]:
    """Devices of modules to come, where their leads end in this zone behind a copy of the last module's device."""
    count = wiring.bank.site.extension
    lead = _last_lead(wiring, wiring.poles[next(iter(places))]) if count else None
    if lead is None or lead[1] not in places:
        return []
    like = next((b for b in bounds if any(s.name == b.stretch for s in wiring.of_link[lead[0]])), None)
    if like is None:
        return []
    return [Bound(like.device, f"{like.stretch} to come", lead[1], like.beyond, count)]


def _to_come(wiring: Wiring, places: set[str], bounds: list[Bound]) -> int:
    """Modules to come that feed this zone without a device."""
    count = wiring.bank.site.extension
    if not count:
        return 0
    pole = wiring.poles[next(iter(places))]
    lead = _last_lead(wiring, pole)
    at = lead[1] if lead is not None else next(p for p in wiring.bank.modules[-1].posts if p.endswith(pole))
    guarded = any(bound.copies for bound in bounds)
    held = lead is not None and any(
        s.device for s in wiring.of_link[lead[0]] if s.device and s.device.kind.type in ("fuse", "breaker")
    )
    return count if at in places and not guarded and not held else 0
