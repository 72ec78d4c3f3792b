"""What the place does to things: thin air, rain.

Gives: CHECKS (P-PLACE-5, P-PLACE-6). Limits: condensation, salt, dust and sun are not seen;
the listing of the combination decides.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import bankwright.plan.walks.lines as lines
from bankwright.bank.asks import asking, wanted
from bankwright.bank.model import Inverter, Module
from bankwright.forms.card import Card, Forced
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Source
from bankwright.forms.trace import given, words
from bankwright.forms.wording import Figure, say
from bankwright.plan.context import Plan

__all__ = ["CHECKS"]

USUAL = 2000.0  # m; normal service of the standards
RAIN = frozenset({"3", "3R", "3S", "3X", "3RX", "3SX", "4", "4X", "6", "6P"})  # types that keep rain out
SPRAY, SPLASH = 3, 4  # second figure of the IP code: spray from above, splashes from all sides
_FIVE = Card(
    "P-PLACE-5",
    "Ratings hold at the height of the place",
    "height above the sea <= height that the ratings hold for",
    Source("IEC 60947-1, IEC 60269-1, IEC 62477-1", "", "normal service up to 2000 m", "from memory"),
    "code",
)
_SIX = Card(
    "P-PLACE-6",
    "What stands in the wet is built for it",
    "enclosure keeps rain and spray out",
    Source("NEC table 110.28; IEC 60529", "", "types for rain; second figure of the IP code", "from memory"),
    "code",
)


@dataclass(frozen=True, slots=True)
class _Thing:
    """Something with a data sheet: its name, its kind's path, what the sheet says of the place."""

    name: str
    path: str
    what: Literal["device", "other"]
    altitude: float | None
    enclosure: str | None


def _things(plan: Plan) -> Iterator[_Thing]:
    bank = plan.bank
    for device in lines.in_line(plan):
        yield _Thing(device.name, device.kind.path, "device", device.kind.altitude, device.kind.enclosure)
    others: tuple[Module | Inverter, ...] = (*bank.modules, *bank.inverters)
    for each in others:
        yield _Thing(each.name, each.kind.path, "other", each.kind.altitude, each.kind.enclosure)
    for charger in bank.chargers:
        if charger.of is None:
            yield _Thing(charger.name, charger.kind.path, "other", charger.kind.altitude, charger.kind.enclosure)


@check(_FIVE.code, _FIVE.title)
def ratings_hold_at_this_height(plan: Plan) -> Iterator[Finding]:
    """Devices, modules, inverters and chargers are used no higher above the sea than their ratings hold for; 2000 m
    where the sheet is silent.

    Case: the height of the place is given (site.altitude).
    Why: thin air puts out an arc later and cools less; a breaker for 60 V at the coast is one for less up there.
    Not seen here: by how much a rating falls, which only the maker knows.
    Source: normal service up to 2000 m: IEC 60947-1, IEC 60269-1, IEC 62477-1 [from memory].
    """
    height = plan.bank.site.altitude
    if height is None:
        return

    def one(thing: _Thing) -> Finding:
        key = f"{thing.path}.altitude"
        holds = wanted(thing.altitude, key) if height > USUAL else thing.altitude or USUAL
        text = say(
            "{thing} stands at {height}; its ratings hold up to {limit}",
            thing=thing.name,
            height=Figure(height, "length"),
            limit=Figure(holds, "length"),
        )
        origin = _FIVE.source if thing.altitude is None else plan.bank.key(key)
        inputs = (
            given("h", "height above the sea", height, "length", plan.bank.key("site.altitude")),
            given("h_max", f"height that the ratings of {thing.name} hold for", holds, "length", origin),
        )
        do = say("Ask the maker for the ratings at this height, or take what is rated for it.")
        return _FIVE.found(thing.name, Figure(height, "length"), (None, holds), text, do, inputs=inputs)

    yield from _FIVE.over(_things(plan), one)


@check(_SIX.code, _SIX.title)
def built_for_the_wet(plan: Plan) -> Iterator[Finding]:
    """Where rain, spray or hosing reaches, everything stands in an enclosure for it: a type for rain (3R, 4 ...), or an
    IP code with a second figure of 4 and more; 3 (spray from above alone) is a caution.

    Case: the place is wet (site.wet), or stands outdoors and does not say.
    Why: water makes a live bridge and eats joints; modules with IP20 are for a dry room.
    Not seen here: condensation, salt, frost; cables for wet places; the box around the box, unless it is what is given.
    Source: NEC table 110.28, IEC 60529 [from memory].
    """
    site = plan.bank.site
    outdoors = re.search("outdoor|outside|exterior", site.place or "", re.IGNORECASE) is not None
    if site.wet is None and outdoors:
        yield _SIX.unknown(plan.bank.modules[0].name, (asking("site.wet"),))
    if not site.wet:
        return

    def one(thing: _Thing) -> Finding:
        key = f"{thing.path}.enclosure"
        enclosure = wanted(thing.enclosure, key)
        forced = _keeps_out(enclosure)
        if forced == "unknown":
            return _SIX.unknown(thing.name, (asking(key, 'Give it as "IP65" or "type 3R".'),))
        against = {None: "for rain and splashes", "caution": "for spray from above alone", "fail": "for a dry place"}
        text = say("{thing} is built {against} ({given})", thing=thing.name, against=against[forced], given=enclosure)
        inputs: tuple[Input, ...] = (words("enclosure", thing.name, enclosure, plan.bank.key(key)),)
        do = say("Put it into an enclosure for the wet, or move it under a roof.")
        return _SIX.found(thing.name, None, (None, None), text, do, inputs=inputs, forced=forced)

    yield from _SIX.over(_things(plan), one)


def _keeps_out(enclosure: str) -> Forced | Literal["unknown"] | None:
    """None where it keeps rain and splashes out; "unknown" for what is no type and no IP code."""
    code = re.search(r"\bIP\s?[0-6X]([0-9X])", enclosure, re.IGNORECASE)
    if code is not None:
        figure = code.group(1).upper()
        if figure == "X":
            return "unknown"
        return None if int(figure) >= SPLASH else "caution" if int(figure) == SPRAY else "fail"
    kind = re.search(r"\b(?:type|nema)\s*([0-9]+[A-Z]*)\b", enclosure, re.IGNORECASE)
    if kind is None:
        return "unknown"
    return None if kind.group(1).upper() in RAIN else "fail"


CHECKS = (ratings_hold_at_this_height, built_for_the_wet)
