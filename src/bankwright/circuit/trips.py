"""Chain of trips: a module over its trip current leaves, the rest is solved again, to the end.

Gives: chain_of_trips(), Chain, Departure, low_end(). One module leaves at a time, the one furthest over its limit; each
step happens within that module's stated delay, and no other time is invented.
A surge shorter than the delay trips nobody.
Limits: steady between the steps; the trip's low end (-10 % where no tolerance is stated: common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from bankwright.bank.asks import asking
from bankwright.bank.model import Module
from bankwright.bank.model_kinds import ChargeLimits, DischargeLimits
from bankwright.circuit.errors import NotDeliverable
from bankwright.circuit.solution import Case, Solution
from bankwright.circuit.steady import Steady
from bankwright.forms.checks import NeedsValue
from bankwright.forms.toleranced import Toleranced

__all__ = ["Chain", "Departure", "chain_of_trips", "low_end"]

UNSTATED = 0.9  # low end of a trip given without tolerance


@dataclass(frozen=True, slots=True)
class Departure:
    """One module that leaves: its current, the low end of its trip, the ratio, and the delay it happens within."""

    module: str
    current: float
    trip: float
    within: float | None  # s, as stated


@dataclass(frozen=True, slots=True)
class Chain:
    """How a case goes on: who leaves in which order, whether the load is lost, and what the rest still carries."""

    case: str
    departures: tuple[Departure, ...]
    lost: bool
    end: Solution | None
    spared: tuple[str, ...] = ()  # modules over their trip current for less than their delay


def low_end(trip: Toleranced) -> float:
    """Current from which a trip may happen: its low end, 10 % early where no tolerance is stated. [A]"""
    return trip.nominal * UNSTATED if trip.is_exact else trip.low


def _limits(module: Module, current: float) -> DischargeLimits | ChargeLimits:
    return module.kind.discharge if current > 0 else module.kind.charge


def _trip(module: Module, current: float) -> tuple[float, float | None]:
    """Low end of the trip current on the side of this current, and the delay."""
    limits = _limits(module, current)
    if limits.trip is None:
        side = "discharge" if current > 0 else "charge"
        raise NeedsValue(asking(f"{module.kind.path}.{side}.trip"))
    return low_end(limits.trip), limits.trip_delay


def chain_of_trips(steady: Steady, case: Case, lasts: float | None = None) -> Chain:
    """Follow a case to its end; `lasts` is how long the load lasts, None: until somebody stops it. [s]"""
    modules = {module.name: module for module in steady.bank.modules}
    departures: list[Departure] = []
    spared: dict[str, None] = {}
    solution: Solution | None = None
    while True:
        try:
            solution = steady.solved(case)
        except NotDeliverable:
            return Chain(case.name, tuple(departures), True, None, tuple(spared))
        over = []
        for name, module in modules.items():
            current = solution.current(name)
            if current == 0.0:
                continue
            trip, delay = _trip(module, current)
            if abs(current) > trip:
                if lasts is not None and delay is not None and lasts < delay:
                    spared[name] = None
                else:
                    over.append(Departure(name, current, trip, delay))
        if not over:
            return Chain(case.name, tuple(departures), False, solution, tuple(spared))
        worst = _first_to_leave(over)
        departures.append(worst)
        case = _after(case, modules[worst.module], worst.current)
        if all(name in case.open or name in case.only for name in modules):
            return Chain(case.name, tuple(departures), True, None, tuple(spared))


def _first_to_leave(over: list[Departure]) -> Departure:
    """The one furthest over its trip; of those that differ by rounding the first in the order of the bank."""
    ratios = [abs(leaving.current) / leaving.trip for leaving in over]
    return next(each for each, ratio in zip(over, ratios, strict=True) if ratio >= max(ratios) * (1.0 - 1e-9))


def _after(case: Case, module: Module, current: float) -> Case:
    """The case with a module tripped: what the trip leaves open is in the kind; not stated: it opens."""
    trips = module.kind.trips
    stays = trips.discharge == "still charges" if current > 0 else trips.charge == "still discharges"
    if stays and module.name not in case.only:
        return replace(case, only={**case.only, module.name: "charge" if current > 0 else "discharge"})
    return replace(case, open=case.open | {module.name})
