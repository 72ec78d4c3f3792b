"""Thin conductors that chargers feed: a charger, or an inverter that charges,
is a source for what carries less than it can send.

Gives: charged(), the finding of one cable, None where no charger sends more into it than it carries. A short is fed
from each end of a stretch; what chargers send from one end with no device between counts together.
Limits: largest currents of the chargers; how long a charger feeds a short is its own matter. Only the thin cable itself
counts as bare, not what leads to it.
Sources: circuit laws; 1.5 m is common practice, not found in any text read.
"""

from __future__ import annotations

from bankwright.bank.asks import asking
from bankwright.bank.model import Charger, Link
from bankwright.forms.card import Card, Forced
from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Finding
from bankwright.forms.trace import amperes, given
from bankwright.forms.wording import Figure, say
from bankwright.plan.context import Plan
from bankwright.plan.figures.carried import carried
from bankwright.plan.zones.guarding import guarding_of
from bankwright.plan.zones.tails import MOST_BARE
from bankwright.plan.zones.wiring import Stretch

__all__ = ["charged"]


def charged(plan: Plan, link: Link, *, card: Card) -> Finding | None:
    """How much of a cable lies bare towards chargers that send more than it carries; None where none does."""
    if link.pole not in plan.protected_poles:
        return None
    rows = [(stretch, _sent(plan, stretch)) for stretch in guarding_of(plan).wiring.of_link.get(link.name, ())]
    rows = [(stretch, sent) for stretch, sent in rows if sent]
    if not rows:
        return None
    unknown = tuple(dict.fromkeys(c for _, sent in rows for c in sent if c.kind.current is None))
    most = max(sum(c.kind.current or 0.0 for c in sent) for _, sent in rows)
    allowed = _carries(plan, link, most)
    if most <= allowed:
        if unknown:
            raise NeedsValue(*(asking(f"{charger.kind.path}.current") for charger in unknown))
        return None
    return _found(plan, link, allowed, rows, card)


def _carries(plan: Plan, link: Link, need: float) -> float:
    """What a cable may carry, with those beside it in its set. [A]"""
    members = plan.set_of(link)
    return sum(carried(plan, each, need / len(members), need).value for each in members)


def _found(
    plan: Plan, link: Link, allowed: float, rows: list[tuple[Stretch, tuple[Charger, ...]]], card: Card
) -> Finding:
    thin = [(s, sent) for s, sent in rows if sum(c.kind.current or 0.0 for c in sent) > allowed]
    if any(stretch.length is None for stretch, _ in thin):
        raise NeedsValue(asking(f"{link.origin.path}.length"))
    bare = sum(stretch.length or 0.0 for stretch, _ in thin)
    chargers = max((sent for _, sent in thin), key=lambda sent: sum(c.kind.current or 0.0 for c in sent))
    most = sum(charger.kind.current or 0.0 for charger in chargers)
    names = " + ".join(charger.name for charger in chargers)
    text = say(
        "{chargers} can send {current} into {length} of {link} with no device between; it carries {allowed}; "
        "1.5 m is common practice",
        chargers=names,
        current=amperes(most),
        length=Figure(bare, "length"),
        link=link.name,
        allowed=amperes(allowed),
    )
    key = plan.bank.key
    inputs = (
        *(
            given("I", f"largest current of {c.name}", c.kind.current or 0.0, "current", key(f"{c.kind.path}.current"))
            for c in chargers
        ),
        given("Iz", f"ampacity of {link.name}", allowed, "current", key(link.origin.path)),
    )
    words = "Put a fuse where {link} begins, or take a cable there that carries {most}."
    forced: Forced | None = "fail" if bare > MOST_BARE else None
    return card.found(
        link.name, Figure(bare, "length"), (None, MOST_BARE), text, say(words, link=link.name, most=amperes(most)),
        inputs=inputs, case=f"short on {link.name}, fed by {names}", source=plan.book.source("source_end"),
        forced=forced,
    )  # fmt: skip


def _sent(plan: Plan, stretch: Stretch) -> tuple[Charger, ...]:
    """Chargers that feed a stretch from one of its ends with no device between; the stronger end."""
    if stretch.device is not None or stretch.length == 0.0:
        return ()
    sides = [_behind(plan, stretch, place) for place in (stretch.tail, stretch.head)]
    return max(sides, key=lambda row: (sum(c.kind.current or 0.0 for c in row), len(row)))


def _behind(plan: Plan, stretch: Stretch, place: str) -> tuple[Charger, ...]:
    zones = guarding_of(plan).all_zones
    zone, wiring = zones.of_place[place], zones.wiring
    ends = {bound.stretch for bound in zone.bounds}
    inside, waiting = {place}, [place]
    while waiting:
        here = waiting.pop()
        for other, there in wiring.beside.get(here, ()):
            if other is not stretch and there in zone.places and there not in inside and other.name not in ends:
                inside.add(there)
                waiting.append(there)
    return tuple(charger for charger in plan.bank.chargers if inside & set(charger.posts))
