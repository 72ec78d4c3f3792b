"""Which solved case stands behind a finding, and at which end of what is possible.

Gives: behind(). Where missing values are stood in for, or a case is solved several ways, it is the solution whose
current or voltage at the finding's place comes nearest to a figure of the finding.
Limits: None where a finding rests on no solved case, or its case cannot be solved. A figure from the scatter of
tolerances (a 99 % quantile, a corner) has the case at the values as given behind it.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from bankwright.circuit.cases import case_of
from bankwright.circuit.errors import CircuitError, NotDeliverable
from bankwright.circuit.solution import Solution
from bankwright.circuit.steady import Steady
from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Finding
from bankwright.forms.wording import Figure
from bankwright.plan.behind.rows import Behind
from bankwright.plan.behind.short_rows import ShortFound, short_behind, shorts_named
from bankwright.plan.behind.steady_rows import steady_behind
from bankwright.plan.context import Plan

__all__ = ["behind"]

_COUNTED = ("current", "voltage")


def behind(plan: Plan, finding: Finding) -> Behind | None:
    """The numbers of the solved case that a finding rests on."""
    case = finding.case
    if case is None or plan.ill_posed() is not None:
        return None
    try:
        if case.startswith("short "):
            return _of_short(plan, finding, case)
        return _of_steady(plan, finding, case) if case in plan.steady.names else None
    except (CircuitError, NeedsValue):
        return None


def _figures(finding: Finding) -> tuple[float, ...]:
    held = (finding.figure, *(each.figure for each in finding.inputs))
    return tuple(abs(each.value) for each in held if isinstance(each, Figure) and each.quantity in _COUNTED)


def _off(values: Iterator[float], figures: tuple[float, ...]) -> float:
    """How far the nearest value lies from a figure, as a share of it."""
    pairs = [abs(value - figure) / max(figure, 1e-9) for value in map(abs, values) for figure in figures]
    return min(pairs, default=np.inf)


def _links_of(plan: Plan, places: tuple[str, ...]) -> tuple[str, ...]:
    """The places, and the links that devices among them sit in."""
    more = [each for d in plan.bank.devices if d.name in places for each in (d.on, *d.also_on)]
    return tuple(dict.fromkeys((*places, *more)))


def _of_steady(plan: Plan, finding: Finding, case: str) -> Behind | None:
    places, figures = _links_of(plan, finding.at), _figures(finding)
    found: list[tuple[float, int, Steady, Solution]] = []
    for number, each in enumerate(each for row in plan.steadies for each in row):
        try:
            solution = each.case(case)
        except NotDeliverable:
            solution = each.solved(case_of(each.bank, case), partly=True)
        found.append((_off(_seen(solution, places), figures), number, each, solution))
    _, number, each, solution = min(found, key=lambda row: row[:2])
    words = "values as given" if len(found) == 1 else f"end {number + 1} of {len(found)} of what stands in"
    return steady_behind(each, solution, words)


def _seen(solution: Solution, places: tuple[str, ...]) -> Iterator[float]:
    for name in places:
        if name in solution.network.edge_index:
            yield solution.current(name)
            if solution.network.edges[solution.network.edge_index[name]].kind != "passive":
                yield solution.voltage(name)


def _of_short(plan: Plan, finding: Finding, case: str) -> Behind | None:
    places, figures = _links_of(plan, finding.at), _figures(finding)
    devices = tuple(device.name for device in plan.bank.devices if device.name in finding.at)
    found = list(shorts_named(plan, case, devices))
    if not found:
        return None
    off = [_off(_carried(each, places), figures) for each in found]
    return short_behind(found[int(np.argmin(off))], case)


def _carried(found: ShortFound, places: tuple[str, ...]) -> Iterator[float]:
    index = found.short.edge_index
    yield from (found.short.through(name) for name in places if name in index)
    yield found.short.current
