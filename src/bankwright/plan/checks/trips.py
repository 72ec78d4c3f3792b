"""Chains of trips: who leaves first in a surge or with a module away, and whether the load is lost.

Gives: CHECKS (P-TRIP-1). Limits: times only as "within the stated delay"; a trip is never credited as protection.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from bankwright.bank.asks import asking
from bankwright.circuit.cases import SURGE, case_of
from bankwright.circuit.errors import CircuitError, NotDeliverable
from bankwright.circuit.trips import Chain, chain_of_trips
from bankwright.forms.card import Card, Forced
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import Source
from bankwright.forms.trace import Traced, amperes, computed
from bankwright.forms.wording import Figure, Say, say
from bankwright.plan.context import Plan
from bankwright.plan.ends.surges import surge_inputs
from bankwright.plan.figures.corners import corners_of
from bankwright.plan.figures.limits import side_of, trip_input, trip_low

__all__ = ["CHECKS"]

_ONE = Card(
    "P-TRIP-1",
    "No chain of trips",
    "|I_k| < I_trip (low end), solved again after each module that leaves",
    Source("circuit laws", how_known="derived"),
)
DO = say("Add modules, make the shares more even, or limit the surge; spread loads so that they start one by one.")


@check(_ONE.code, _ONE.title)
def no_chain_of_trips(plan: Plan) -> Iterator[Finding]:
    """In a surge, and with any one module away, no module passes its trip: |I_k| < I_trip, low end, to the end.

    Cases: surge at the resistance of its own time (where it lasts longer than the sheet's surge value holds, at the
    value of later in a step); full discharge and full charge with each module away.
    The corner of the tolerances decides (this module's resistance low, the others' high); a surge with a module away
    ends at caution, with its chance.
    Why: one module that leaves hands its current to the rest, and the load is lost within seconds.
    Not seen here: times other than the stated delay; a surge shorter than the delay trips nobody.
    Source: derived.
    """
    groups = {
        "a surge": tuple(name for name in (SURGE,) if name in plan.steady.names),
        "full discharge with a module away": tuple(c for c in plan.aways if side_of(c) == "discharge"),
        "full charge with a module away": tuple(c for c in plan.aways if side_of(c) == "charge"),
    }
    for words, cases in groups.items():
        if not cases:
            continue
        try:
            yield _worst_of(plan, words, cases)
        except NeedsValue as error:
            yield _ONE.unknown(plan.bank.modules[0].name, error.missing)
    try:
        away = _surge_with_one_away(plan)
    except NeedsValue:
        return  # the surge with all modules has asked for it
    if away is not None:
        yield away


def _worst_of(plan: Plan, words: str, cases: tuple[str, ...]) -> Finding:
    """The case that comes nearest to a trip, followed to its end where one is passed."""
    lasts = None
    if cases == (SURGE,):
        times = [inverter.kind.surge_time for inverter in plan.bank.inverters]
        known = [time for time in times if time is not None]
        lasts = max(known) if known and len(known) == len(times) else None
        _need_surge_resistance(plan)
    ratio, module, worst = _leading([_nearest(plan, case) for case in cases])
    case = worst.case or cases[0]
    cornered = _corner(plan, case)
    if cornered is not None and cornered.ratio > 1.0 >= ratio:
        return _by_corner(plan, words, worst, cornered, lasts)
    low = trip_low(plan.bank.module(module), side_of(case))
    limit = trip_input(plan.bank, plan.bank.module(module), side_of(case))
    longer = surge_inputs(plan.bank) if cases == (SURGE,) else ()
    inputs = (computed("I_k", f"current of {module}", worst), limit, *longer, *worst.inputs)
    certain = not worst.inputs or worst.low > low
    if (ratio > 1.0 and certain) or _too_much(plan, cases):
        chains = _chains(plan, case, lasts)
        text, forced = _said(words, module, worst, low, chains[0])
        missing = worst.missing if _agree(chains) else _settle(worst.inputs)
        forced = forced if _agree(chains) or not missing else None
        return _ONE.found(
            module, worst.figure, (None, None), text, DO, inputs=inputs, case=case, missing=missing, forced=forced
        )
    text, _ = _said(words, module, worst, low, None)
    figure = worst.figure
    if cornered is not None:
        figure = Figure(worst.value, "current", worst.low, max(cornered.most, worst.high))
    return _ONE.found(module, figure, (None, low), text, DO, inputs=inputs, case=case, missing=worst.missing)


@dataclass(frozen=True, slots=True)
class Corner:
    """The module nearest to its trip in the corner of the tolerances, at both ends of what is missing."""

    ratio: float
    module: str
    current: float
    most: float


def _corner(plan: Plan, case: str) -> Corner | None:
    """The corner that comes nearest to a trip; None where the case has no solution."""
    try:
        ends = corners_of(plan, case)
    except CircuitError:
        return None
    found = []
    for row, module in enumerate(plan.bank.modules):
        currents = [abs(float(each[row, row])) for each in ends]
        ratio = min(currents) / trip_low(module, side_of(case))
        found.append(Corner(ratio, module.name, min(currents), max(currents)))
    return max(found, key=lambda each: each.ratio)


def _settle(inputs: tuple[Input, ...]) -> tuple[Missing, ...]:
    return tuple(item.settle for item in inputs if item.settle is not None)


def _agree(chains: tuple[Chain, ...]) -> bool:
    """Whether the load is lost, or kept, at every end of what is missing."""
    return len({(chain.lost, bool(chain.departures)) for chain in chains}) == 1


def _by_corner(plan: Plan, words: str, worst: Traced, cornered: Corner, lasts: float | None) -> Finding:
    """A module that trips only where its own resistance is at its low end and the others at their high end."""
    module, case = plan.bank.module(cornered.module), worst.case or ""
    side = side_of(case)
    limits = module.kind.discharge if side == "discharge" else module.kind.charge
    spared = lasts is not None and limits.trip_delay is not None and lasts < limits.trip_delay
    chains = () if spared else _chains(plan, case, lasts, module.name)
    text = say(
        "In " + words + " {module} may carry {current}, its resistance at the low end and the others at the high end; "
        "it may trip from {trip} on{then}",
        module=module.name,
        current=amperes(cornered.current),
        trip=amperes(trip_low(module, side)),
        then=_then(module.name, chains[0] if chains else None),
    )
    inputs = (
        computed("I_k", f"current of {module.name}, nominal", worst),
        trip_input(plan.bank, module, side),
        *worst.inputs,
    )
    missing = () if not chains or _agree(chains) else _settle(worst.inputs)
    forced: Forced = "fail" if any(chain.lost for chain in chains) else "caution"
    return _ONE.found(
        module.name,
        amperes(cornered.current),
        (None, None),
        text,
        DO,
        inputs=inputs,
        case=case,
        missing=missing,
        forced=None if missing else forced,
    )


def _then(first: str, rest: Chain | None) -> str:
    if rest is None:
        return ", but the surge is over before its delay"
    order = ", then ".join((first, *(departure.module for departure in rest.departures)))
    end = "and the load is lost" if rest.lost else "and the rest carries on"
    return f". {order} would leave within stated delays, {end}"


def _surge_with_one_away(plan: Plan) -> Finding | None:
    """A surge with a module away: ends at caution, with its chance inside the tolerances."""
    cases = [f"{SURGE}, {module.name} open" for module in plan.bank.modules]
    if len(cases) < 2 or SURGE not in plan.steady.names:
        return None
    _need_surge_resistance(plan)
    plan.stacked(tuple(cases))
    try:
        _, module, worst = _leading([_nearest(plan, case) for case in cases])
        cornered = _corner(plan, worst.case or cases[0])
    except CircuitError:
        return None  # what cannot be delivered is P-DROP-2's
    if cornered is None:
        return None
    ratio, name, current = cornered.ratio, cornered.module, cornered.current
    low = trip_low(plan.bank.module(name), "discharge")
    text = say(
        "In a surge with a module away ({case}) {module} may carry {current}; it may trip from {trip} on{chance}",
        case=worst.case or "",
        module=name,
        current=amperes(current),
        trip=amperes(low),
        chance=_chance(plan, worst.case or "") if ratio > 1.0 else "",
    )
    inputs = (
        computed("I_k", f"current of {module}, nominal", worst),
        trip_input(plan.bank, plan.bank.module(name), "discharge"),
        *worst.inputs,
    )
    return _ONE.found(
        name, amperes(current), (None, low), text, DO, inputs=inputs, case=worst.case, missing=worst.missing,
        ends_at="caution",
    )  # fmt: skip


def _chance(plan: Plan, case: str) -> str:
    """In what part of the banks that the tolerances allow some module trips."""
    import numpy as np

    from bankwright.circuit.scatter.scatter import scatter

    limits = np.array([trip_low(each, "discharge") for each in plan.bank.modules])
    columns = [plan.place(each.name) for each in plan.bank.modules]
    drawn = np.abs(scatter(plan.steady, [case]).currents(case)[:, columns])
    return f"; some module trips in {float((drawn > limits).any(axis=1).mean()):.0%} of what the tolerances allow"


def _too_much(plan: Plan, cases: tuple[str, ...]) -> bool:
    """Is more asked for than can be delivered, at either end of what is not known."""
    for steady in (each for row in plan.steadies for each in row):
        try:
            steady.case(cases[0])
        except NotDeliverable:
            continue
        except (CircuitError, NeedsValue):
            return False
        else:
            return False
    return True


def _need_surge_resistance(plan: Plan) -> None:
    lacking = [m.kind.path for m in plan.bank.modules if m.kind.resistance.surge is None and m.kind.capacity_ah is None]
    if lacking:
        raise NeedsValue(*(asking(f"{path}.resistance.surge") for path in dict.fromkeys(lacking)))


def _nearest(plan: Plan, case: str) -> tuple[float, str, Traced]:
    """The module nearest to its trip in a case: ratio, name, current."""
    side = side_of(case)
    way = "both" if case == SURGE else "out" if case.startswith(SURGE) or side == "discharge" else "in"
    sizes = plan.sizes([module.name for module in plan.bank.modules], (case,), way)
    ratios = [size / trip_low(module, side) for size, module in zip(sizes, plan.bank.modules, strict=True)]
    ratio, name = _first(list(zip(ratios, (module.name for module in plan.bank.modules), strict=True)))
    return ratio, name, plan.surge_current(name) if case == SURGE else plan.worst(name, (case,), way)


def _first(found: list[tuple[float, str]]) -> tuple[float, str]:
    top = max(ratio for ratio, _ in found)
    return next(each for each in found if each[0] >= top * (1.0 - 1e-9))


def _leading(found: list[tuple[float, str, Traced]]) -> tuple[float, str, Traced]:
    """The first that is nearest to its trip, ratios that differ by rounding counted equal."""
    top = max(ratio for ratio, _, _ in found)
    return next(each for each in found if each[0] >= top * (1.0 - 1e-9))


def _chains(plan: Plan, case: str, lasts: float | None, gone: str | None = None) -> tuple[Chain, ...]:
    """How a case goes on at every end of what is missing, with one more module gone where it is told."""
    found = []
    for each in (each for row in plan.steadies for each in row):
        start = case_of(each.bank, case)
        start = start if gone is None else replace(start, open=start.open | {gone})
        if start.open >= {module.name for module in each.bank.modules}:
            found.append(Chain(case, (), True, None))
            continue
        try:
            found.append(chain_of_trips(each, start, lasts))
        except CircuitError as error:
            raise NeedsValue(asking("wiring", "See the wiring there.", lacks=str(error))) from error
    return tuple(found)


def _said(words: str, module: str, worst: Traced, trip: float, chain: Chain | None) -> tuple[Say, Forced | None]:
    figures: dict[str, Figure | str] = {"module": module, "current": worst.figure, "trip": amperes(trip)}
    head = "In " + words + " {module} carries {current}; it may trip from {trip} on"
    if chain is None:
        return say(head, **figures), None
    if chain.lost and not chain.departures:
        return say(head + ", and more is asked for than can be delivered: the load is lost", **figures), "fail"
    if not chain.departures:
        spared = ", ".join(chain.spared)
        return say(head + ", but the surge is over before its delay ({spared})", spared=spared, **figures), "caution"
    order = ", then ".join(departure.module for departure in chain.departures)
    leave = "leaves within its stated delay" if len(chain.departures) == 1 else "leave within their stated delays"
    if chain.lost:
        return say(head + ". {order} {leave}, and the load is lost", order=order, leave=leave, **figures), "fail"
    return say(head + ". {order} {leave}; the rest carries on", order=order, leave=leave, **figures), "caution"


CHECKS = (no_chain_of_trips,)
