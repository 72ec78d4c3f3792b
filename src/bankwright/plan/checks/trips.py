"""Chains of trips: who leaves first in a surge or with a module away, and whether the load is lost.

Gives: CHECKS (P-TRIP-1). Limits: times only as "within the stated delay"; a trip is never credited as protection.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.circuit.cases import SURGE, case_of
from bankwright.circuit.errors import CircuitError, NotDeliverable
from bankwright.circuit.errors import NeedsValue as CircuitNeedsValue
from bankwright.circuit.trips import Chain, chain_of_trips
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, Say, say
from bankwright.plan.asks import asking
from bankwright.plan.checks.frame import Card
from bankwright.plan.context import Plan
from bankwright.plan.limits import side_of, trip_input, trip_low
from bankwright.plan.surges import surge_inputs
from bankwright.plan.trace import Traced, amperes, computed

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


def _worst_of(plan: Plan, words: str, cases: tuple[str, ...]) -> Finding:
    """The case that comes nearest to a trip, followed to its end where one is passed."""
    lasts = None
    if cases == (SURGE,):
        times = [inverter.kind.surge_time for inverter in plan.bank.inverters]
        known = [time for time in times if time is not None]
        lasts = max(known) if known and len(known) == len(times) else None
        _need_surge_resistance(plan)
    near = [_nearest(plan, case) for case in cases]
    ratio, module, worst = max(near, key=lambda found: found[0])
    limit = trip_input(plan.bank, plan.bank.module(module), side_of(worst.case or ""))
    certain = not worst.inputs or worst.low > trip_low(plan.bank.module(module), side_of(worst.case or ""))
    chain = _chain(plan, worst.case or cases[0], lasts) if (ratio > 1.0 and certain) or _too_much(plan, cases) else None
    text, forced = _said(words, module, worst, trip_low(plan.bank.module(module), side_of(worst.case or "")), chain)
    longer = surge_inputs(plan.bank) if cases == (SURGE,) else ()
    inputs = (computed("I_k", f"current of {module}", worst), limit, *longer, *worst.inputs)
    limits = (
        (None, None) if chain is not None else (None, trip_low(plan.bank.module(module), side_of(worst.case or "")))
    )
    figure = worst.figure
    return _ONE.found(module, figure, limits, text, DO, inputs, worst.case, worst.missing, forced=forced)  # type: ignore[arg-type]


def _too_much(plan: Plan, cases: tuple[str, ...]) -> bool:
    """Is more asked for than can be delivered, at either end of what is not known."""
    for steady in (each for row in plan.steadies for each in row):
        try:
            steady.case(cases[0])
        except NotDeliverable:
            continue
        except CircuitError:
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
    side, found = side_of(case), []
    for module in plan.bank.modules:
        if case == SURGE:
            worst = plan.surge_current(module.name)
        else:
            worst = plan.worst(module.name, (case,), "out" if side == "discharge" else "in")
        found.append((worst.value / trip_low(module, side), module.name, worst))
    return max(found, key=lambda each: each[0])


def _chain(plan: Plan, case: str, lasts: float | None) -> Chain:
    try:
        return chain_of_trips(plan.steady, case_of(plan.steady.bank, case), lasts)
    except CircuitNeedsValue as error:
        raise NeedsValue(*plan.missing_of(error)) from error
    except CircuitError as error:
        raise NeedsValue(asking("wiring", str(error))) from error


def _said(words: str, module: str, worst: Traced, trip: float, chain: Chain | None) -> tuple[Say, str | None]:
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
