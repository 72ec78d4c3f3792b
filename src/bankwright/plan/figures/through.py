"""Current that passes a module's pole without being the module's own.

Gives: through() of the posts of one pole: the inner bar's current where there are two posts, and what is stacked on one
post; None where nothing can pass, because only one link lands there.
Limits: continuous cases.
"""

from __future__ import annotations

from bankwright.forms.checks import NeedsValue
from bankwright.forms.trace import Traced
from bankwright.forms.wording import Figure
from bankwright.plan.context import Plan

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

    columns = [plan.place(name) for name, _ in links]
    solved, currents, missing = plan.stacked(plan.steady.continuous)
    if not solved:
        raise NeedsValue(*missing)
    flows = currents[..., columns] * [sign for _, sign in links]
    passing = np.minimum(np.maximum(flows, 0.0).sum(axis=-1), np.maximum(-flows, 0.0).sum(axis=-1))
    best, case_of = -1.0, solved[0]
    for case, most in zip(solved, passing.reshape(len(solved), -1).max(axis=1).tolist(), strict=True):
        if most > best * (1 + 1e-9):
            best, case_of = most, case
    low = float(passing.max(axis=0).min())
    same = best - low <= 1e-3 * max(best, 1e-9)
    inputs = () if same else (*plan.stood.resistances["dc"], *plan.stood.voltages)
    banded = bool(inputs) or bool(missing)
    figure = Figure(best, "current", low if banded else None, best if banded and not missing else None)
    return Traced(figure, inputs, missing, case_of)
