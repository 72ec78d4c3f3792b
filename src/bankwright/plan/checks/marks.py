"""What is written on things: colours of conductors, listings of modules.

Gives: CHECKS (P-CABLE-6, P-SHEET-6). Limits: what is not given is not asked for here; labels are Build's.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from bankwright.bank.model import Link
from bankwright.forms.card import Card, Forced
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, by_name
from bankwright.forms.origin import Source
from bankwright.forms.trace import words
from bankwright.forms.wording import say
from bankwright.plan.context import Plan
from bankwright.plan.figures.usual import alike

__all__ = ["CHECKS"]

EARTH = re.compile(r"\bgreen\b", re.IGNORECASE)  # green, and green with yellow
GROUNDED = re.compile(r"\b(?:white|gr[ae]y)\b", re.IGNORECASE)  # of the earthed pole alone, NEC 200.6, 200.7
OTHER_POLE = {"+": re.compile(r"\bblack\b", re.IGNORECASE), "-": re.compile(r"\bred\b", re.IGNORECASE)}
BATTERY = re.compile(r"\b(?:UL\s*1973|UL\s*9540A?|IEC\s*62619|IEC\s*63056)\b", re.IGNORECASE)
_COLOURS = Card(
    "P-CABLE-6",
    "Colours do not mislead",
    "no green on a pole; white and grey on the earthed pole alone (NEC); red is plus, black minus",
    Source("NEC 200.7, 210.5(C)(2), 250.119; IEC 60445", "", "colours of conductors", "from memory"),
    "code",
)
_LISTED = Card(
    "P-SHEET-6",
    "Modules are listed as batteries",
    "listing names UL 1973, UL 9540, IEC 62619 or IEC 63056",
    Source("NEC 480.3; IRC R328.2", "", "storage batteries are listed", "from memory"),
    "code",
    "caution",
)


@check(_COLOURS.code, _COLOURS.title)
def colours_do_not_mislead(plan: Plan) -> Iterator[Finding]:
    """Where the file gives a colour: none of a pole is green or green with yellow, under NEC none of an unearthed pole
    white or grey; red on minus or black on plus is a caution.

    Why: whoever opens the box next goes by the colours, and green is touched without a thought.
    Not seen here: conductors whose colour is not given (red and black are then bought); sleeves at the ends.
    Source: NEC 200.7, 210.5(C)(2), 250.119; IEC 60445 [from memory].
    """
    told: dict[tuple[str, str, str], list[Link]] = {}
    for link in sorted(plan.bank.links, key=lambda each: by_name(each.name)):
        if link.colour:
            told.setdefault((link.colour, link.pole, link.role), []).append(link)
    for (colour, pole, _), links in told.items():
        wrong, forced = _wrong(plan, colour, pole)
        text = say("{link} is {colour}{wrong}", link=links[0].name, colour=colour, wrong=f": {wrong}" if wrong else "")
        key = plan.bank.key(f"{links[0].origin.path}.colour")
        inputs = (words("colour", f"colour of {links[0].name}", colour, key),)
        do = say("Take another colour, or sleeve both ends in the right one.")
        more = tuple(link.name for link in links[1:])
        yield _COLOURS.found(links[0].name, None, (None, None), text, do, inputs=inputs, forced=forced, more=more)


def _wrong(plan: Plan, colour: str, pole: str) -> tuple[str, Forced | None]:
    earthed = {"minus": "-", "plus": "+"}.get(plan.bank.site.earthing.pole or "", "")
    if EARTH.search(colour):
        return "green is for the protective conductor alone", "fail"
    if GROUNDED.search(colour) and pole != earthed and plan.bank.book == "nec-2023":
        return "white and grey are for the earthed pole alone", "fail"
    if OTHER_POLE[pole].search(colour):
        return "that is the colour of the other pole", "caution"
    return "", None


@check(_LISTED.code, _LISTED.title)
def modules_are_listed(plan: Plan) -> Iterator[Finding]:
    """Where the file gives the listings of a module, one of them is that of a stationary battery: UL 1973 (UL 9540 for
    the whole system), IEC 62619, IEC 63056; ends at caution: the inspector decides.

    Why: a cell's test (UL 1642), or one of transport (UN 38.3), says nothing of the module's electronics and box.
    Not seen here: modules whose listings are not given; the listing of the combination.
    Source: NEC 480.3, IRC R328.2 [from memory].
    """
    for first, *others in alike((each.name, each.kind.path) for each in plan.bank.modules).values():
        module = plan.bank.module(first)
        listing = module.kind.listing
        if not listing:
            continue
        proper = any(BATTERY.search(each) for each in listing)
        text = say(
            "{kind} is listed to {listing}" + ("" if proper else ", none of them that of a stationary battery"),
            kind=module.kind.name,
            listing=", ".join(listing),
        )
        inputs = (
            words("listing", f"listings of {module.kind.name}", ", ".join(listing), plan.bank.key(module.kind.path)),
        )
        do = say("Ask the maker for its UL 1973 or IEC 62619 certificate, and the inspector whether it will do.")
        forced: Forced | None = None if proper else "caution"
        yield _LISTED.found(module.name, None, (None, None), text, do, inputs=inputs, forced=forced, more=tuple(others))


CHECKS = (colours_do_not_mislead, modules_are_listed)
