"""Rules of a charger's sheet, and of the charging side and the battery terminals of an inverter's.

Gives: CHARGER, Rule, battery_volts(), on_battery_side().
Takes: a Look.
Limits: charge currents of several sources are asked where their sum is not printed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from itertools import pairwise

from bankwright.sheets.answer import Answer, Ask, Said, settle
from bankwright.sheets.concepts import ideas, phrase
from bankwright.sheets.rules.common import (
    bolts,
    bounded,
    clauses,
    lugs,
    says_ac,
    says_dc,
    sentence_of,
    torque,
    volts_of,
    warm,
)
from bankwright.sheets.rules.line_side import one_way
from bankwright.sheets.rules.place import altitude, enclosure
from bankwright.sheets.rules.told import message_lost, message_socket, rated_for
from bankwright.sheets.view import Hit, Look, Seen

__all__ = ["CHARGER", "Rule", "battery_volts", "on_battery_side"]

Rule = Callable[[Look], Answer | None]


def on_battery_side(seen: Seen) -> bool:
    """Whether a voltage or current is of the battery."""
    over = ideas(seen.side)
    if over & {"battery", "ac", "solar", "grid"}:
        return "battery" in over and not says_ac(seen.side)
    if seen.every & {"solar", "grid"}:
        return False
    if "ac" in seen.label and "battery" not in seen.label | seen.around:
        return False
    return not (says_ac(seen.text) and not says_dc(seen.text))


def battery_volts(look: Look, *need: str, none: Sequence[str] = ()) -> list[Hit]:
    """Voltages of the battery side, in V that a 24 to 96 V bank can have."""
    hits = look.hits("voltage", *need, none=("solar", *none))
    return [h for h in hits if on_battery_side(h.seen) and 15 <= volts_of(h.measure) <= 120]


def highest_input(look: Look) -> Answer | None:
    """Highest voltage that its battery side stands."""
    none = ("charge", "charger", "recommended", "factory", "cutout", "undervoltage", "restart", "surge", "fullpower")
    hits = [h for h in battery_volts(look, "most|overvoltage", none=none) if not h.measure.ranges]
    hits = [h for h in hits if h.seen.side or h.seen.every & {"battery"} or not h.seen.every & {"ac"}]
    if hits:
        stated = [h for h in hits if "most" in h.seen.own]
        return settle([h.said for h in stated or hits], "several are printed")
    ranges = [
        h
        for h in battery_volts(look, "voltage", none=("ac", *none))
        if h.measure.ranges and (h.seen.side or "battery" in h.seen.every)
    ]
    found = tuple(h.seen.said(f"{h.measure.high} {h.measure.unit}") for h in ranges)
    return Ask("only a range of working is printed", found[:1]) if found else None


_NOT_OF_IT = frozenset({"grid", "without", "fuse", "input", "recommended", "solar"})  # in running text


def _charge_rows(look: Look, dimension: str, none: Sequence[str] = ()) -> list[Hit]:
    hits = look.hits(dimension, "charge|charger", none=("discharge", *none))
    told = {"most", "continuous", "both"} | ({"factory"} if dimension == "voltage" else set())
    hits = [h for h in hits if h.seen.row.values or _told_of_charging(h, told)]
    return [h for h in hits if not says_ac(h.measure.printed)]


def _told_of_charging(hit: Hit, told: set[str]) -> bool:
    """Whether running text says it of the charge current or voltage, by itself and not by its heading alone."""
    own = hit.seen.value
    spoken = own & told or hit.measure.ranges or _up_to(hit)
    return bool(spoken and own & {"charge", "charger", "factory"} and not own & _NOT_OF_IT)


def charge_current(look: Look) -> Answer | None:
    """Largest charge current from all sources together."""
    hits = _charge_rows(look, "current", ("without", "fuse", "breaker", "terminal", "consumption"))
    hits = [
        h
        for h in hits
        if (h.seen.label & {"current", "charge"} or _up_to(h))
        and not ("current" not in h.seen.label and "ac" in h.seen.label)
    ]
    hits = [
        h for h in hits if not (h.seen.label & {"grid"} and "charge" not in h.seen.label) and h.measure.bound != "least"
    ]
    total = [
        h
        for h in hits
        if "both" in ideas(h.before[-25:]) | h.seen.label | ideas("".join(re.findall(r"^\s*\(.*?\)", h.after)))
    ]
    if total:
        return bounded(total, look) or settle([h.said for h in total], "several are printed")
    hits = [h for h in hits if not _is_setting(h)]
    every = [*hits, *_in_one_sentence(hits, look)]
    if len({h.measure.text() for h in every}) > 1:
        return Ask("it depends on the source", tuple(h.said for h in every))
    if any(warm(h) for h in hits):
        return Ask("it holds at a temperature", tuple(h.said for h in hits))
    upper = [h.seen.said(f"{h.measure.high} {h.measure.unit}") if h.measure.ranges else h.said for h in hits]
    return bounded(hits, look) or settle(upper, "several are printed")


def _is_setting(hit: Hit) -> bool:
    """Whether a current in brackets after another one is but what can be set: "60 A (settable 5 A to 60 A)"."""
    opened = hit.before.rpartition("(")[2] if hit.before.count("(") > hit.before.count(")") else ""
    first = hit.seen.of("current")[:1] != (hit.measure,)
    return first and bool(phrase("settable").search(opened))


def _in_one_sentence(hits: Sequence[Hit], look: Look) -> list[Hit]:
    """Running text: other currents of the sentence, "lead batteries with 40 A and LFP batteries with 60 A"."""
    told = [h.seen for h in hits if not h.seen.row.values]
    near = [
        s
        for before, s in pairwise(look.rows)
        if before in told and s.row is before.row and not s.row.values and not before.text.rstrip().endswith(".")
    ]
    near = [s for s in near if "battery" in s.value and not s.value & (_NOT_OF_IT | {"message"})]
    return [Hit(s, m) for s in near for m in s.of("current")]


def _up_to(hit: Hit) -> bool:
    """Running text: "charges the battery with up to 100 A"."""
    return not hit.seen.row.values and hit.measure.bound == "most" and not hit.seen.value & {"message", "recommended"}


def charge_voltage(look: Look) -> Answer | None:
    """Range in which the charge voltage can be set."""
    hits = [
        h
        for h in _charge_rows(look, "voltage", ("solar", "grid", "fuse"))
        if h.measure.ranges and 15 <= volts_of(h.measure) <= 120
    ]
    return settle([h.said for h in hits if on_battery_side(h.seen)], "several are printed")


def charge_setting(look: Look) -> Answer | None:
    """Charge voltage that it leaves the works with."""
    hits = [h for h in _charge_rows(look, "voltage") if not h.measure.ranges and 15 <= volts_of(h.measure) <= 120]
    hits = [h for h in hits if not (h.seen.row.values and phrase("lead").search(h.seen.row.label))] or hits
    default = [
        h
        for h in hits
        if "factory"
        in ideas(h.seen.side)
        | ideas(h.before[-28:])
        | ideas(h.after[:22].split(". ")[0])
        | (h.seen.label if len(hits) == 1 else frozenset())
    ]
    return settle([h.said for h in default] or _setting_below(look) or _setting_in_prose(look), "several are printed")


def _setting_in_prose(look: Look) -> list[Said]:
    """Running text: the sentence after that of the charge voltage, "it leaves the works set to 56.8 V"."""
    found = []
    for above, seen in look.stacked():
        one = [h for h in (Hit(seen, m) for m in seen.of("voltage")) if 15 <= volts_of(h.measure) <= 120]
        about = {"charge", "voltage"} <= above.value | seen.value
        if not seen.row.values and "factory" in seen.value and about and len(one) == 1 and not one[0].measure.ranges:
            found.append(one[0].said)
    return found


def _setting_below(look: Look) -> list[Said]:
    """The factory setting in a row of its own, right below the range of the charge voltage."""
    return [
        seen.said(seen.measured[0].text())
        for above, seen in look.stacked()
        if "factory" in seen.label
        and len(seen.of("voltage")) == len(seen.measured) == 1
        and "charge" in above.label
        and any(m.ranges and m.number() >= volts_of(seen.measured[0]) for m in above.of("voltage"))
    ]


def without_message(look: Look) -> Answer | None:
    """Current that it gives without the modules' message."""
    found = []
    for seen in look.where("without|message", "message"):
        for clause in (seen.text,) if seen.row.values else clauses(seen.text):
            if "without" in ideas(f"{seen.row.label} {clause}") and len(seen.of("current")) == 1:
                found.append(seen.said(seen.of("current")[0].text()))
    return settle(found, "several are printed")


def _terminal_rows(look: Look) -> list[Seen]:
    rows = [s for s in look.where("terminal|torque|lugs", none=("solar", "earthing", "message")) if not s.of("voltage")]
    rows = [
        s
        for s in rows
        if not ("ac" in s.label and "battery" not in s.label) and s.label & {"terminal", "torque", "lugs", "battery"}
    ]
    named = [s for s in rows if "battery" in s.label or (s.side and on_battery_side(s))]
    named += [s for s in _rows_told(look) if s not in named]
    named += [seen for above, seen in look.stacked() if above in named and seen in rows and _torque_alone(seen)]
    others = any("ac" in s.label for s in look.where("terminal|torque"))
    return named if named or others else rows


def _rows_told(look: Look) -> list[Seen]:
    """Running text: the clauses of a sentence on the terminals of the battery."""
    found = []
    for seen in (s for s in look.rows if not s.row.values):
        about, own = ideas(sentence_of(seen)), seen.value
        ours = ("battery" in about or look.kind == "charger") and about & {"terminal", "lugs", "torque"}
        away = {"line"} if look.kind == "charger" else {"ac", "line"}
        if ours and not (about | own) & {*away, "solar", "earthing", "message", "recommended", "fuse"}:
            found.append(seen)
    return found


def _torque_alone(seen: Seen) -> bool:
    """A torque that names no terminal is that of the row above it."""
    return "torque" in seen.label and not seen.label & {"ac", "solar", "earthing", "battery"}


CHARGER: dict[str, Rule] = {
    "current": charge_current,
    "voltage": charge_voltage,
    "setting": charge_setting,
    "without_message": without_message,
    "highest_input": highest_input,
    "one_way": one_way,
    "altitude": altitude,
    "enclosure": enclosure,
    "terminals.stud": lambda look: bolts(_terminal_rows(look)),
    "terminals.lugs": lambda look: lugs(_terminal_rows(look)),
    "terminals.torque": lambda look: torque([s for s in _terminal_rows(look) if s.of("torque")]),
    "terminals.rating": rated_for,
    "message.socket": message_socket,
    "message.lost": message_lost(),
}
