"""Conductors: ampacity in two tests, heating by the RMS current.

Gives: CHECKS (P-CABLE-1 to P-CABLE-4). Limits: withstand of a short circuit is in
plan/checks/clearing; drop in plan/checks/drop.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from bankwright.bank.asks import asking
from bankwright.bank.model import Link
from bankwright.forms.card import Card, Forced
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.trace import Traced, amperes, computed, words
from bankwright.forms.wording import say
from bankwright.plan.context import Plan
from bankwright.plan.ends.parallel import too_small, unlike
from bankwright.plan.ends.tolerances import told
from bankwright.plan.figures.carried import by_terminals, cables, carried, least_size
from bankwright.plan.figures.ripple import heating_factor

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
_FOUR = Card(
    "P-CABLE-4",
    "Conductors in parallel make one set",
    "each 1/0 AWG or larger, alike in length, size, insulation and ends",
    Source("NEC (NFPA 70)", "2023", "310.10(G)", "from memory"),
    "code",
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
    return card.found(link.name, need.figure, (None, None), text, do, inputs=inputs, case=need.case, missing=missing)


@check(_ONE.code, _ONE.title, books=("nec-2023",))
def terminals_carry_the_current(plan: Plan) -> Iterator[Finding]:
    """The column of the terminals, without factors, is at least 1.25 times the design current: I_term >= 1.25 Ib.

    Case: continuous set; Ib is the 99 % quantile inside the tolerances that the file gives, the worst corner is told.
    Why: the cable is the heat sink of the terminals; a continuous current warms them for hours.
    Not seen here: air and neighbours (P-CABLE-2); the two tests are never multiplied.
    Source: NEC 210.19(A)(1), "larger of" rule, read for 2014; 110.14(C) read.
    """

    yield from _ONE.over(cables(plan), lambda link: _terminals_carry_the_current_at(plan, link))


def _terminals_carry_the_current_at(plan: Plan, link: Link) -> Finding:
    design = plan.design_current(link.name)
    factor = plan.book.factors.continuous_conductor
    need = design.scaled(factor)
    if link.cable is None:
        size = least_size(plan, link, need.high, lambda tried: by_terminals(plan, tried, need.high).value)
        return _no_cable(_ONE, link, need, size)
    allowed = by_terminals(plan, link, need.value)
    text = say(
        "{link} needs {need} ({factor} x {current}{spread}); {size} carries {limit} at its terminals",
        link=link.name,
        need=amperes(need.value),
        factor=f"{factor:g}",
        current=amperes(design.value),
        spread=told(design),
        size=link.cable.size,
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
        inputs=inputs,
        case=design.case,
        missing=design.missing,
        source=source,
    )


@check(_TWO.code, _TWO.title)
def conductor_carries_its_current(plan: Plan) -> Iterator[Finding]:
    """Ampacity with factors, and no more than the terminals take, is at least the design current: Iz >= Ib.

    Case: continuous set; Ib is the 99 % quantile inside the tolerances that the file gives, the worst corner is told;
    hottest air where the cable lies (room, plus the rack's rise for links and leads).
    Why: insulation ages at its limit and chars above it, and no device reacts to that.
    Not seen here: the 1.25 of a continuous current (P-CABLE-1), RMS heating (P-CABLE-3).
    Source: NEC 310.16, 310.17, 310.15(B), (C), 110.14(C); IEC 60364-5-52 annex B, IEC 60364-4-43 433.1.
    """

    yield from _TWO.over(cables(plan), lambda link: _conductor_carries_its_current_at(plan, link))


def _conductor_carries_its_current_at(plan: Plan, link: Link) -> Finding:
    design = plan.design_current(link.name)
    circuit = design.value * plan.book.factors.continuous_conductor
    if link.cable is None:
        size = least_size(plan, link, design.high, lambda tried: carried(plan, tried, design.high, circuit).value)
        return _no_cable(_TWO, link, design, size)
    allowed = carried(plan, link, design.value, circuit)
    text = say(
        "{link} carries {current}{spread}; {size} where it lies may carry {limit}",
        link=link.name,
        current=amperes(design.value),
        spread=told(design),
        size=link.cable.size,
        limit=amperes(allowed.value),
    )
    inputs = (computed("Ib", f"design current of {link.name}", design), *allowed.inputs, *design.inputs)
    missing = (*design.missing, *allowed.missing)
    source = plan.book.source("ampacity")
    return _TWO.found(
        link.name,
        design.figure,
        (None, allowed.value),
        text,
        LARGER,
        inputs=inputs,
        case=design.case,
        missing=missing,
        source=source,
    )


@check(_THREE.code, _THREE.title)
def conductor_stands_the_ripple(plan: Plan) -> Iterator[Finding]:
    """The RMS of a single-phase inverter's current stays inside the ampacity: k_r Ib < Iz. Ends at caution.

    Why: the current swings at twice line frequency, and heat follows the square; clamp meters show the mean.
    Not seen here: meters; balanced three-phase inverters make no ripple on what they share.
    Source: derived; the 1.25 of P-CABLE-1 covers it only where no factor applies.
    """

    yield from _THREE.over(cables(plan), lambda link: _conductor_stands_the_ripple_at(plan, link))


def _conductor_stands_the_ripple_at(plan: Plan, link: Link) -> Finding | None:
    design = plan.design_current(link.name)
    factor = heating_factor(plan, link)
    heating = design.scaled(factor.value)
    allowed = carried(plan, link, heating.value, design.value * plan.book.factors.continuous_conductor)
    text = say(
        "{link} is heated as by {heating} ({factor} x {current}{spread}); it may carry {limit}",
        link=link.name,
        heating=amperes(heating.value),
        factor=f"{factor.value:.3f}",
        current=amperes(design.value),
        spread=told(design),
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
        link.name,
        heating.figure,
        (None, allowed.value),
        text,
        LARGER,
        inputs=inputs,
        case=design.case,
        missing=missing,
    )


@check(_FOUR.code, _FOUR.title)
def parallel_conductors_make_a_set(plan: Plan) -> Iterator[Finding]:
    """Conductors in parallel share a current only if they are alike: NEC: each >= 1/0 AWG, and alike in length, size,
    insulation and ends; IEC: alike, else each must carry its computed share (P-CABLE-2).

    Case: each cable's own share with all of the set closed; with one open the rest is told, and is no case to pass.
    Why: the shorter or thicker one takes more than its part, and a thin one that stays alone burns.
    Not seen here: one of a set that comes loose; nobody notices it.
    Source: NEC 310.10(G) [from memory]; IEC 60364-4-43 433.4.1 [from memory].
    """

    for members in plan.parallel_sets:
        yield from _FOUR.over((members[0].name,), partial(_parallel_conductors_make_a_set_at, plan, members))


def _parallel_conductors_make_a_set_at(plan: Plan, members: tuple[Link, ...], _: str) -> Finding:
    for each in members:
        if each.cable is None:
            raise NeedsValue(asking(f"{each.origin.path}.cable"))
    nec = plan.bank.book == "nec-2023"
    small, differ = too_small(members) if nec else (), unlike(members)
    names = ", ".join(each.name for each in members)
    shares = [plan.design_current(each.name).value for each in members]
    alone = max(plan.worst(each.name).value for each in members)
    what = (
        f"{', '.join(small)} is less than 1/0 AWG"
        if small
        else f"they differ in {', '.join(differ)}"
        if differ
        else "alike"
    )
    text = say(
        "{links} lie in parallel: {what}; they carry {least} to {most}, with one open {alone}",
        links=names,
        what=what,
        least=amperes(min(shares)),
        most=amperes(max(shares)),
        alone=amperes(alone),
    )
    inputs = tuple(
        words("cable", each.name, each.cable.size if each.cable else "", plan.bank.key(each.origin.path))
        for each in members
    )
    do = say("Take one larger cable, or a set of alike cables of 1/0 AWG and larger.")
    forced: Forced | None = "fail" if nec and (small or differ) else "caution" if differ else None
    return _FOUR.found(
        members[0].name,
        None,
        (None, None),
        text,
        do,
        inputs=inputs,
        forced=forced,
        more=tuple(m.name for m in members[1:]),
    )


CHECKS = (
    terminals_carry_the_current,
    conductor_carries_its_current,
    conductor_stands_the_ripple,
    parallel_conductors_make_a_set,
)
