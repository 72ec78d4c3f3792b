"""Conductors: ampacity in two tests, heating by the RMS current.

Gives: CHECKS (P-CABLE-1 to P-CABLE-3). Limits: withstand of a short circuit is in checks/withstand; drop in
checks/drop.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.model import Link
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.wording import say
from bankwright.plan.asks import asking
from bankwright.plan.carried import by_terminals, carried, least_size
from bankwright.plan.checks.frame import Card
from bankwright.plan.context import Plan
from bankwright.plan.ripple import heating_factor
from bankwright.plan.trace import Traced, amperes, computed

__all__ = ["CHECKS"]

_ONE = Card(
    "P-CABLE-1",
    "A conductor's terminals carry 1.25 times the current",
    "1.25 x Ib <= column of the terminals, no factors",
    Source("NEC (NFPA 70)", "2014 text", "210.19(A)(1), the larger of two tests", "read"),
    "code",
)
_TWO = Card(
    "P-CABLE-2",
    "A conductor carries its current where it lies",
    "Ib <= Iz = min(I_table x f_air x f_bundle, I_term)",
    Source("rule book", how_known="copy"),
    "code",
)
_THREE = Card(
    "P-CABLE-3",
    "A conductor stands the heating of the RMS current",
    "k_r x Ib < Iz",
    Source("derived; no code text asks for it", how_known="derived"),
    "physical",
    "caution",
)
LARGER = say("Take the next larger cable, or one that lies cooler.")


def _no_cable(card: Card, link: Link, need: Traced, size: str | None) -> Finding:
    """Nobody has chosen the cable yet: what it has to carry, and the smallest size that does in any case."""
    text = say("{link} needs a cable for {need}; its size is not given", link=link.name, need=amperes(need.high))
    do = say(
        "Take {size} or larger for {link}.",
        size=size or "two cables, or more modules on leads of their own,",
        link=link.name,
    )
    inputs = (computed("Ib", f"current that {link.name} has to carry", need), *need.inputs)
    missing = (*need.missing, asking(f"{link.origin.path}.cable"))
    return card.found(link.name, need.figure, (None, None), text, do, inputs, need.case, missing)


@check(_ONE.code, _ONE.title, books=("nec-2023",))
def terminals_carry_the_current(plan: Plan) -> Iterator[Finding]:
    """The column of the terminals, without factors, is at least 1.25 times the design current: I_term >= 1.25 Ib.

    Why: the cable is the heat sink of the terminals; a continuous current warms them for hours.
    Not seen here: air and neighbours (P-CABLE-2); the two tests are never multiplied.
    Source: NEC 210.19(A)(1), "larger of" rule, read for 2014; 110.14(C) read.
    """

    def one(link: Link) -> Finding:
        design = plan.design_current(link.name)
        factor = plan.book.factors.continuous_conductor
        need = design.scaled(factor)
        if link.cable is None:
            size = least_size(plan, link, need.high, lambda tried: by_terminals(plan, tried, need.high).value)
            return _no_cable(_ONE, link, need, size)
        allowed = by_terminals(plan, link, need.value)
        text = say(
            "{link} needs {need} ({factor} x {current}); {size} carries {limit} at its terminals",
            link=link.name,
            need=amperes(need.value),
            factor=f"{factor:g}",
            current=amperes(design.value),
            size=link.cable.size if link.cable else "it",
            limit=amperes(allowed.value),
        )
        inputs = (computed("Ib", f"design current of {link.name}", design), *allowed.inputs, *design.inputs)
        source = plan.book.source("conductor_continuous")
        return _ONE.found(
            link.name,
            need.figure,
            (None, allowed.value),
            text,
            LARGER,
            inputs,
            design.case,
            design.missing,
            source=source,
        )

    yield from _ONE.over(plan.bank.links, one)


@check(_TWO.code, _TWO.title)
def conductor_carries_its_current(plan: Plan) -> Iterator[Finding]:
    """Ampacity with factors, and no more than the terminals take, is at least the design current: Iz >= Ib.

    Case: continuous set; hottest air where the cable lies (room, plus the rack's rise for links and leads).
    Why: insulation ages at its limit and chars above it, and no device reacts to that.
    Not seen here: the 1.25 of a continuous current (P-CABLE-1), RMS heating (P-CABLE-3).
    Source: NEC 310.16, 310.17, 310.15(B), (C), 110.14(C); IEC 60364-5-52 annex B, IEC 60364-4-43 433.1.
    """

    def one(link: Link) -> Finding:
        design = plan.design_current(link.name)
        circuit = design.value * plan.book.factors.continuous_conductor
        if link.cable is None:
            size = least_size(plan, link, design.high, lambda tried: carried(plan, tried, design.high, circuit).value)
            return _no_cable(_TWO, link, design, size)
        allowed = carried(plan, link, design.value, circuit)
        text = say(
            "{link} carries {current}; {size} where it lies may carry {limit}",
            link=link.name,
            current=amperes(design.value),
            size=link.cable.size if link.cable else "it",
            limit=amperes(allowed.value),
        )
        inputs = (computed("Ib", f"design current of {link.name}", design), *allowed.inputs, *design.inputs)
        missing = (*design.missing, *allowed.missing)
        source = plan.book.source("ampacity")
        return _TWO.found(
            link.name, design.figure, (None, allowed.value), text, LARGER, inputs, design.case, missing, source=source
        )

    yield from _TWO.over(plan.bank.links, one)


@check(_THREE.code, _THREE.title)
def conductor_stands_the_ripple(plan: Plan) -> Iterator[Finding]:
    """The RMS of a single-phase inverter's current stays inside the ampacity: k_r Ib < Iz. Ends at caution.

    Why: the current swings at twice line frequency, and heat follows the square; clamp meters show the mean.
    Not seen here: meters; balanced three-phase inverters make no ripple on what they share.
    Source: derived; the 1.25 of P-CABLE-1 covers it only where no factor applies.
    """

    def one(link: Link) -> Finding | None:
        design = plan.design_current(link.name)
        factor = heating_factor(plan, link)
        heating = design.scaled(factor.value)
        allowed = carried(plan, link, heating.value, design.value * plan.book.factors.continuous_conductor)
        text = say(
            "{link} is heated as by {heating} ({factor} x {current}); it may carry {limit}",
            link=link.name,
            heating=amperes(heating.value),
            factor=f"{factor.value:.3f}",
            current=amperes(design.value),
            limit=amperes(allowed.value),
        )
        inputs = (
            computed("Ib", f"design current of {link.name}", design),
            *factor.inputs,
            *allowed.inputs,
            *design.inputs,
        )
        missing = (*design.missing, *allowed.missing)
        return _THREE.found(
            link.name, heating.figure, (None, allowed.value), text, LARGER, inputs, design.case, missing
        )

    yield from _THREE.over(plan.bank.links, one)


CHECKS = (terminals_carry_the_current, conductor_carries_its_current, conductor_stands_the_ripple)
