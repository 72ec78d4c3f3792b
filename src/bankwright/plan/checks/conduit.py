"""Cables in a conduit: how much of it they fill.

Gives: CHECKS (P-CABLE-5). Limits: all cables in the conduit count as thick as this one; the earthing conductor in it
has to be counted by hand; bends and pulling force are not in it.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking, wanted
from bankwright.bank.model import Link
from bankwright.forms.card import Card, Limits
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Computed, Source
from bankwright.forms.trace import PRACTICE, given
from bankwright.forms.wording import Figure, say
from bankwright.handbook.tables import load, look_up
from bankwright.physics.conductor import conduit_fill
from bankwright.plan.context import Plan

__all__ = ["CHECKS"]

PRACTICE_FILL = 0.40  # under a book without a number of its own; common practice, no source
NIPPLE = 0.6  # m, up to which the NEC book lets a conduit be filled further
_ONE = Card(
    "P-CABLE-5",
    "Cables fill their conduit no further than allowed",
    "n x d^2 / D^2 <= fill of the table",
    Source("NEC (NFPA 70)", "2017 text, 2023 unchanged from memory", "chapter 9, table 1 and its notes", "read"),
    "code",
)


@check(_ONE.code, _ONE.title)
def cables_fit_the_conduit(plan: Plan) -> Iterator[Finding]:
    """The cables of a conduit fill its inside area to 53 % (one), 31 % (two), 40 % (three and more), 60 % up to 600 mm:
    n d^2/D^2 <= fill. Three of 2.8 to 3.2 times less than the conduit jam: a caution.

    Case: every cable in a raceway, its conduit (conduit) and outer diameter (outer_diameter) given.
    Why: a conduit that is too full skins the insulation when the cable is pulled, and its heat stays in.
    How many lie in it is not given: the poles of the lead alone, where they are too many already.
    Not seen here: the earthing conductor in it, thicker or thinner neighbours; ducts with a lid.
    Source: NEC chapter 9 table 1 [read for 2017]; the IEC book has no number: caution above 40 % (practice).
    """

    def one(link: Link) -> Finding | None:
        if link.cable is None or (link.cable.method != "raceway" and link.cable.conduit is None):
            return None
        return _filled(plan, link)

    yield from _ONE.over(plan.bank.links, one)


def _filled(plan: Plan, link: Link) -> Finding:
    cable, path = wanted(link.cable, f"{link.origin.path}.cable"), link.origin.path
    bore = wanted(cable.conduit, f"{path}.conduit")
    across = wanted(cable.outer_diameter, f"{path}.outer_diameter")
    count, told = _count(plan, link, bore, across)
    fill = float(conduit_fill(count, across, bore))
    limits, steps, source = _limits(plan, link, count, bore / across)
    most = limits[1] if limits[1] is not None else PRACTICE_FILL
    jams = ", and three of this size jam" if steps is not None and limits[1] is not None else ""
    text = say(
        "{count} cables like {link} fill {fill} of their conduit; {most} is the limit{jams}",
        count=str(count),
        link=link.name,
        fill=Figure(fill, "share"),
        most=Figure(most, "share"),
        jams=jams,
    )
    inputs = (
        told,
        given("d", f"outer diameter of {link.name}", across, "height", plan.bank.key(f"{path}.outer_diameter")),
        given("D", "inside diameter of the conduit", bore, "height", plan.bank.key(f"{path}.conduit")),
    )
    do = say("Take a larger conduit, or part the cables over two.")
    figure = Figure(fill, "share")
    return _ONE.found(link.name, figure, limits, text, do, inputs=inputs, caution_limits=steps, source=source)


def _count(plan: Plan, link: Link, bore: float, across: float) -> tuple[int, Input]:
    """Cables in the conduit. Not given: the poles of this lead alone, where these are too many already."""
    path = link.origin.path
    if link.cable is not None and link.cable.bundled is not None:
        count = link.cable.bundled
        return count, given("n", "conductors that lie together", count, "count", plan.bank.key(f"{path}.bundled"))
    least = sum(each.origin.path == path for each in plan.bank.links)
    limits, _, _ = _limits(plan, link, least, bore / across)
    if limits[1] is None or float(conduit_fill(least, across, bore)) <= limits[1]:
        raise NeedsValue(asking(f"{path}.bundled"))
    return least, Input(
        "n", "poles of this lead, at the least", Figure(least, "count"), Computed("the file's own poles")
    )


def _limits(plan: Plan, link: Link, count: int, ratio: float) -> tuple[Limits, Limits | None, Source | None]:
    """Where the fill fails, where it cautions, and by whose word."""
    if plan.book.id != "nec-2023":
        return (None, None), (None, PRACTICE_FILL), PRACTICE
    table = load("nec-2023/ch9-t1")
    short = link.length is not None and link.length <= NIPPLE
    most = look_up(table, min(count, 3), "short" if short else "fill").value
    low, high = float(table.conditions["jams_from"]), float(table.conditions["jams_to"])
    jams = count == 3 and low <= ratio <= high
    return (None, most), (None, 0.0) if jams else None, table.source


CHECKS = (cables_fit_the_conduit,)
