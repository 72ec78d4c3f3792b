"""Every finding of a bank: all checks of its rule book, put together by place, worst first.

Gives: findings_of(), SCATTERED. A bank whose network has no single answer gives one finding that says where, and no
others.
Limits: printing is the faces' matter; questions and measurements are in plan/lists/gaps.
"""

from __future__ import annotations

from collections.abc import Collection

from bankwright.forms.card import Card
from bankwright.forms.checks import findings
from bankwright.forms.finding import Finding
from bankwright.forms.grouping import ordered
from bankwright.forms.origin import Source
from bankwright.forms.trace import words
from bankwright.forms.wording import say
from bankwright.plan.checks import CHECKS
from bankwright.plan.context import Plan

__all__ = ["NETWORK", "SCATTERED", "findings_of"]

SCATTERED = ("P-SHARE-2",)  # checks that look at thousands of variants

NETWORK = Card(
    "P-NETWORK-1",
    "The wiring has one answer",
    "every part fed, no module bridged, no ring of zero ohms",
    Source("graph of the bank", how_known="derived"),
    "code",
    why="Every part is fed, no module is bridged by its own links, and no ring has zero ohms.\n\n"
    "Why: otherwise no current has a single value, and no other check can be made.",
)


def findings_of(plan: Plan, without: Collection[str] = ()) -> tuple[Finding, ...]:
    """All findings, worst first: fail, unknown that may hide a fail, caution, other unknown, pass.

    `without`: codes of checks to leave out for now; SCATTERED are those that wait for thousands of variants.
    """
    error = plan.ill_posed()
    if error is not None:
        names = tuple(name for name in error.names if name in plan.bank) or (plan.bank.modules[0].name,)
        inputs = (words("where", "posts or conductors", ", ".join(error.names), plan.bank.key("wiring")),)
        text = say("{what}", what=str(error))
        return (
            NETWORK.found(
                names,
                None,
                (None, None),
                text,
                say("Mend the wiring first; nothing else was computed."),
                inputs=inputs,
                forced="fail",
            ),
        )
    chosen = tuple(item for item in CHECKS if item.code not in without)
    return ordered(findings(chosen, plan, plan.bank.book))
