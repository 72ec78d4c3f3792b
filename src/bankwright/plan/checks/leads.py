"""Leads of unlike length: what the lengths alone do to the shares of modules on a bar.

Gives: CHECKS (P-SHARE-5). Limits: minutes after a load step, from equal states of charge; the modules' own tolerance is
P-SHARE-2's, a limit that is passed P-SHARE-1's.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, Link
from bankwright.circuit.network import Array
from bankwright.circuit.steady import Steady, steady
from bankwright.forms.card import Card
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Source
from bankwright.forms.trace import given
from bankwright.forms.wording import Figure, say
from bankwright.plan.context import Plan
from bankwright.plan.ends.parallel import SAME_LENGTH

__all__ = ["CHECKS", "MOST_APART"]

MOST_APART = (
    0.10  # between the most and the least loaded, of a share; common practice, no source, as for unlike modules
)
_FIVE = Card(
    "P-SHARE-5",
    "Leads of modules are alike in length",
    "max(s_k) - min(s_k) <= 0.10, s_k = I_k / I_k with all leads of the mean length",
    Source("circuit laws", "", "10 %: common practice, no source", "derived"),
    "physical",
    "caution",
)
_DO = say("Make the leads of all modules of one length, the longest: a short one may lie in a bow.")


@check(_FIVE.code, _FIVE.title)
def leads_are_alike(plan: Plan) -> Iterator[Finding]:
    """By the lengths of their leads alone, no two modules on a bar differ in their shares by more than 10 %; ends at
    caution.

    Case: full discharge at the lowest voltage (full charge where there is none): each module's current against its
    current with all leads of the mean length.
    Why: the module with the short lead gives more and takes more, wears first and trips first, for ever.
    Not seen here: links of a row, whose order decides (P-SHARE-1); tolerances of the modules (P-SHARE-2).
    Source: circuit laws (derived); 10 %: common practice, no source.
    """
    leads = _leads(plan.bank)
    if len({module for row in leads.values() for module in row}) > 1:
        yield from _FIVE.over(plan.bank.modules[:1], lambda _: _over(plan, leads))


def _leads(bank: Bank) -> dict[Link, tuple[str, ...]]:
    """Leads of modules to bars, with their module."""
    of_post = {post: module.name for module in bank.modules for post in module.posts}
    rows = ((link, [of_post[end] for end in (link.a, link.b) if end in of_post]) for link in bank.links)
    return {link: tuple(modules) for link, modules in rows if link.role == "lead" and len(modules) == 1}


def _over(plan: Plan, leads: dict[Link, tuple[str, ...]]) -> Finding | None:
    silent = [link for link in leads if link.length is None and link.resistance is None]
    if silent:
        raise NeedsValue(*dict.fromkeys(asking(f"{link.origin.path}.length") for link in silent))
    lengths = [link.length for link in leads if link.length is not None]
    if not lengths or max(lengths) <= min(lengths) * (1 + SAME_LENGTH):
        text = say("The leads of all modules are of one length")
        return _FIVE.found(
            plan.bank.modules[0].name, None, (None, None), text, say("Nothing to do."), inputs=_lengths(leads)
        )
    return _spread(plan, leads, plan.bases[0]) if plan.bases else None


@dataclass(frozen=True, slots=True)
class _Ratios:
    """Currents of the modules over those with leads alike, at each end of what stands in for resistances."""

    ends: tuple[Array, ...]

    @property
    def spreads(self) -> tuple[float, ...]:
        """Most less least, at each end."""
        return tuple(float(np.ptp(each)) for each in self.ends)

    @property
    def worst(self) -> Array:
        """The ratios of the end where they lie furthest apart."""
        return self.ends[int(np.argmax(self.spreads))]


def _spread(plan: Plan, leads: dict[Link, tuple[str, ...]], case: str) -> Finding:
    plan.currents(case)  # what cannot be solved says so
    own = tuple(dict.fromkeys(module for modules in leads.values() for module in modules))
    ratios = _Ratios(tuple(_ratios(row[0], tuple(leads), own, case) for row in plan.steadies))
    worst, spreads = ratios.worst, ratios.spreads
    most, least = own[int(worst.argmax())], own[int(worst.argmin())]
    odd = most if worst.max() - 1 > 1 - worst.min() else least
    text = say(
        "Leads of {short} to {long}: by their lengths alone {most} carries {high} of what it would with leads alike, "
        "{least} {low}",
        short=Figure(min(link.length or np.inf for link in leads), "length"),
        long=Figure(max(link.length or 0.0 for link in leads), "length"),
        most=most,
        high=Figure(float(worst.max()), "share"),
        least=least,
        low=Figure(float(worst.min()), "share"),
    )
    assumed = plan.stood.resistances["dc"] if max(spreads) > min(spreads) else ()
    figure = Figure(max(spreads), "share", *((min(spreads), max(spreads)) if assumed else ()))
    return _FIVE.found(
        odd,
        figure,
        (None, None),
        text,
        _DO,
        inputs=(*_lengths(leads), *assumed),
        case=case,
        caution_limits=(None, MOST_APART),
        more=tuple(link.name for link, modules in leads.items() if odd in modules),
    )


def _lengths(leads: dict[Link, tuple[str, ...]]) -> tuple[Input, ...]:
    return tuple(
        given(link.name, f"length of {link.name}", link.length, "length", link.origin)
        for link in leads
        if link.length is not None
    )


def _ratios(solved: Steady, leads: tuple[Link, ...], modules: tuple[str, ...], case: str) -> Array:
    alike = steady(_made_alike(solved.bank, {link.name for link in leads}))
    here, there = (
        [float(each.edge_current(case, partly=True)[each.network.edge_index[name]]) for name in modules]
        for each in (solved, alike)
    )
    ratios: Array = np.array(here) / np.array(there)
    return ratios


def _made_alike(bank: Bank, leads: set[str]) -> Bank:
    """The bank with all leads of the mean length; a measured resistance goes with its length."""
    lengths = [link.length for link in bank.links if link.name in leads and link.length is not None]
    mean = sum(lengths) / len(lengths)

    def of(link: Link) -> Link:
        if link.name not in leads or not link.length:
            return link
        metal = None if link.resistance is None else link.resistance.scaled(mean / link.length)
        return replace(link, length=mean, resistance=metal)

    return bank.replaced(links=tuple(map(of, bank.links)))


CHECKS = (leads_are_alike,)
