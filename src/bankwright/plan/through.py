"""Current that passes a module's pole without being the module's own.

Gives: through() of the posts of one pole: the inner bar's current where there are two posts, and what is stacked on
one
post; None where nothing can pass, because only one link lands there.
Limits: continuous cases.
"""

from __future__ import annotations

from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Missing
from bankwright.forms.wording import Figure
from bankwright.plan.context import Plan
from bankwright.plan.trace import Traced

__all__ = ["through"]


def through(plan: Plan, posts: tuple[str, ...]) -> Traced | None:
    """Largest through current of a pole over the continuous cases; None where only one link lands on it."""
    links = [
        (link.name, 1.0 if link.a in posts else -1.0)
        for link in plan.bank.links
        if (link.a in posts) != (link.b in posts)
    ]
    if len(links) < 2:
        return None
    return _worst(plan, links)


def _worst(plan: Plan, links: list[tuple[str, float]]) -> Traced:
    """What comes in by some links and goes out by others: the smaller of both sums."""
    import numpy as np

    columns = [(plan.place(name), sign) for name, sign in links]
    best, ends = -1.0, []
    case_of: str | None = None
    missing: tuple[Missing, ...] = ()
    for case in plan.steady.continuous:
        try:
            found = plan.currents(case)
        except NeedsValue as error:
            missing = error.missing
            continue
        flows = np.array([sign * found[..., column] for column, sign in columns])
        passing = np.minimum(np.maximum(flows, 0.0).sum(axis=0), np.maximum(-flows, 0.0).sum(axis=0))
        ends.append(passing)
        if float(passing.max()) > best * (1 + 1e-9):
            best, case_of = float(passing.max()), case
    if case_of is None:
        raise NeedsValue(*missing)
    table = np.array(ends).max(axis=0)
    low = float(table.min())
    same = best - low <= 1e-3 * max(best, 1e-9)
    inputs = () if same else (*plan.stood.resistances["dc"], *plan.stood.voltages)
    banded = bool(inputs) or bool(missing)
    figure = Figure(best, "current", low if banded else None, best if banded and not missing else None)
    return Traced(figure, inputs, missing, case_of)
