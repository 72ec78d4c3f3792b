"""Heat that a short lets through a stretch of cable until everything that feeds it has cleared.

Gives: Heating, Fed, cuts_of(), heat_of(). A short at one end of a stretch is fed along the stretch from its other end:
by the devices there, whose let-through adds as the square of a sum, since their currents add in the stretch.
A module's breaker that counts is such a device; a module that nothing holds back is named in `bare`.
Limits: devices are taken to open together; the largest fault is sought over all places of the other pole, the smallest
lies at the same place of the other pole or on the frame; an arcing one is half of that.
Sources: (sum of sqrt(I2t))^2 [derived]; half of the smallest for an arcing fault [practice].
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from bankwright.bank.model import Device, Link
from bankwright.physics.fault import Values, arcing_fault
from bankwright.physics.withstand import LONGEST
from bankwright.plan.context import Plan
from bankwright.plan.figures.opening import clearing_many, let_through_at, let_through_many
from bankwright.plan.once import once
from bankwright.plan.zones.breakers import standing_of
from bankwright.plan.zones.guarding import Guarding, guarding_of
from bankwright.plan.zones.wiring import Stretch

if TYPE_CHECKING:
    from bankwright.circuit.shorts import Shorts

__all__ = ["Cut", "Fed", "Heating", "cuts_of", "heat_of"]


@dataclass(frozen=True, slots=True)
class Fed:
    """One device that feeds a side: the edge its current is read from, and how many like it."""

    device: Device
    edge: str
    copies: int = 1


@dataclass(frozen=True, slots=True)
class Cut:
    """A short at `place`, fed along a stretch of a cable by these devices, and by modules that nothing holds back."""

    place: str
    fed: tuple[Fed, ...]
    bare: tuple[str, ...]
    length: float | None = None  # of the stretch; None: not given
    unplaced: Device | None = None  # a device on this cable whose place is not given: the cut may not be there


@dataclass(frozen=True, slots=True)
class Heating:
    """Heat at one resistance end, through which devices, the short, the current of the fault. [A2s, A]"""

    heat: float
    cut: Cut
    current: float
    case: str
    shares: tuple[tuple[str, int, float, float], ...] = ()  # device, how many alike, its current, its let-through


def cuts_of(plan: Plan, link: Link) -> tuple[Cut, ...]:
    """Every way that a stretch of a cable, or of its twin where devices sit in the other pole, is fed into a short."""
    return _kept_cuts(plan, link.name)


@once
def _kept_cuts(plan: Plan, name: str) -> tuple[Cut, ...]:
    return tuple(_cuts(plan, plan.bank.link(name)))


def _cuts(plan: Plan, link: Link) -> Iterator[Cut]:
    guarding = guarding_of(plan)
    name = link.name if link.pole == plan.protected_pole else guarding.twins.links.get(link.name)
    if name is None:
        return
    for stretch in guarding.wiring.of_link[name]:
        if stretch.device is None and stretch.length != 0.0:
            for place, short in ((stretch.tail, stretch.head), (stretch.head, stretch.tail)):
                yield _cut(plan, stretch, place, short, None)
        elif (
            stretch.device is not None and stretch.device.distance is None and stretch.device.name in guarding.all_names
        ):
            yield _cut(plan, stretch, stretch.tail, stretch.tail, stretch.device)


def _cut(plan: Plan, stretch: Stretch, place: str, short: str, unplaced: Device | None) -> Cut:
    side = guarding_of(plan).all_zones.side(stretch, place)
    fed = [Fed(b.device, b.stretch.removesuffix(" to come"), b.copies or 1) for b in side.guards]
    bare = []
    for module in side.bare:
        standing = standing_of(plan, plan.bank.module(module))
        if standing.counts == "yes" and standing.device is not None:
            fed.append(Fed(standing.device, module))
        else:
            bare.append(module)
    return Cut(short, tuple(fed), tuple(bare), stretch.length, unplaced)


def heat_of(plan: Plan, cut: Cut, end: str) -> tuple[Heating, ...]:
    """Heat of one cut in the largest, smallest or arcing fault, at every resistance end; none where a device does not
    clear within 5 s, or nothing feeds it.
    """
    if not cut.fed:
        return ()
    found = _largest(plan, cut) if end == "largest" else _smallest(plan, cut, end == "arcing")
    return tuple(each for each in found if each is not None)


def _added(currents: list[tuple[Fed, float]]) -> float:
    """Let-through of devices that clear together: the square of the sum of the roots. [A2s]"""
    total = sum(each.copies * math.sqrt(let_through_at(each.device, amps)) for each, amps in currents)
    return total**2


def _shares(currents: list[tuple[Fed, float]]) -> tuple[tuple[str, int, float, float], ...]:
    return tuple((f.device.name, f.copies, amps, let_through_at(f.device, amps)) for f, amps in currents)


def _largest(plan: Plan, cut: Cut) -> Iterator[Heating]:
    for shorts in plan.faults.ends("highest"):
        other, row = _row(plan, shorts, cut.place)
        index = shorts.feeding.network.edge_index
        currents = [(each, abs(float(row[index[each.edge]]))) for each in cut.fed]
        total = sum(each.copies * amps for each, amps in currents)
        yield Heating(_added(currents), cut, total, f"short {cut.place} to {other}", _shares(currents))


@once
def _row(_plan: Plan, shorts: Shorts, place: str) -> tuple[str, np.ndarray]:
    short = shorts.at(place)
    return short.opposite, short.edge_current


def _smallest(plan: Plan, cut: Cut, arcs: bool) -> Iterator[Heating | None]:
    guarding = guarding_of(plan)
    rows = [number for number, pair in enumerate(guarding.pairs) if pair.place == cut.place]
    for end in range(len(guarding.ends)):
        found = [_together(guarding, cut, end, row, arcs) for row in rows]
        found += [_alone(plan, cut, end, row, arcs) for row in rows]
        yield max((each for each in found if each is not None), key=lambda each: each.heat, default=None)


def _together(guarding: Guarding, cut: Cut, end: int, row: int, arcs: bool) -> Heating | None:
    """All modules on; half the current where it arcs."""
    index = guarding.ends[end].feeding.network.edge_index
    line = guarding.together[end][row]
    currents = [(each, float(_arced(abs(float(line[index[each.edge]])), arcs))) for each in cut.fed]
    return _heating(cut, currents, f"{_where(guarding, row)}, all modules on")


def _alone(plan: Plan, cut: Cut, end: int, row: int, arcs: bool) -> Heating | None:
    """One module alone, half the current where it arcs, through the device that lets most through and still clears."""
    best: Heating | None = None
    where = f"{_where(guarding_of(plan), row)}, one module alone"
    for device, row_of in _by_kind(cut).values():
        currents = np.array([_single(plan, each.edge, end)[row] for each in row_of])
        currents = np.asarray(_arced(currents[np.isfinite(currents)], arcs))
        times = clearing_many(device, currents) if len(currents) else currents
        currents = currents[times <= LONGEST]
        if len(currents):
            heats = let_through_many(device, currents)
            most = int(np.argmax(heats))
            if best is None or heats[most] > best.heat:
                amps, heat = float(currents[most]), float(heats[most])
                best = Heating(heat, cut, amps, where, ((device.name, 1, amps, heat),))
    return best


def _arced(current: Values, arcs: bool) -> Values:
    return arcing_fault(current) if arcs else current


@once
def _single(plan: Plan, edge: str, end: int) -> np.ndarray:
    """Least current of an edge over the modules alone, for every pair, kept once found."""
    return guarding_of(plan).alone_through(edge)[end]


def _by_kind(cut: Cut) -> dict[int, tuple[Device, list[Fed]]]:
    """What feeds a cut, devices of one kind together: they share a curve."""
    found: dict[int, tuple[Device, list[Fed]]] = {}
    for each in cut.fed:
        found.setdefault(id(each.device.kind), (each.device, []))[1].append(each)
    return found


def _heating(cut: Cut, currents: list[tuple[Fed, float]], case: str) -> Heating | None:
    """Heat of devices that clear together; None where one of them does not within 5 s."""
    amps = {each.edge: value for each, value in currents}
    root = total = 0.0
    for device, row in _by_kind(cut).values():
        values = np.array([amps[each.edge] for each in row])
        copies = np.array([each.copies for each in row])
        if (clearing_many(device, values) > LONGEST).any():
            return None
        root += float((copies * np.sqrt(let_through_many(device, values))).sum())
        total += float((copies * values).sum())
    return Heating(root**2, cut, total, case, _shares(currents))


def _where(guarding: Guarding, row: int) -> str:
    pair = guarding.pairs[row]
    return f"short {pair.place} to {pair.other}"
