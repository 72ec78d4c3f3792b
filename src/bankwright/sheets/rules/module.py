"""Rules of a module's sheet: cells, limits, voltages, temperatures, resistances, listings.

Gives: RULES.
Takes: a Look. Rooms module_body and module_breaker hold the rest of its keys.
Limits: the greatest current by charge temperature is `charge.continuous`, the rest `charge.by_temperature`; recommended
values are no limits; a value of the module is not divided by its cells.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from bankwright.sheets.answer import Answer, Ask, Said, settle
from bankwright.sheets.concepts import ideas, negated, phrase
from bankwright.sheets.measures import Measure, measures
from bankwright.sheets.rules.charge_table import by_temperature
from bankwright.sheets.rules.common import (
    best,
    bounded,
    clauses,
    different,
    number,
    sentence_of,
    timed,
    warm,
    yes_or_no,
)
from bankwright.sheets.rules.module_volts import cell_end, cell_trip, highest_voltage
from bankwright.sheets.rules.place import altitude, enclosure
from bankwright.sheets.view import Hit, Look, Seen

__all__ = ["RULES"]

_SERIES = re.compile(r"(?<![\w.])(\d{1,2})(?:S(?:\s?\d{1,2}P)?|s\d{1,2}p)(?![\w])")
_NO_LIMIT = (
    "protection",
    "overcurrent",
    "recommended",
    "breaker",
    "interrupt",
    "shortcircuit",
    "fuse",
    "parallel",
    "trip",
)


def cells(look: Look) -> Answer | None:
    """Cells in series."""
    found = []
    for seen in look.rows:
        text = f"{seen.row.label} {seen.text}" if seen.row.values else seen.text
        found += [seen.said(m[1]) for m in _SERIES.finditer(text) if 3 <= int(m[1]) <= 20]
        if "series" in seen.own and "cell" in seen.every:
            found += [seen.said(str(n)) for m in phrase("in_series").finditer(text) if (n := number(m[1]))]
            counts = seen.of("count") if seen.row.values else ()
            found += [seen.said(m.text()) for m in counts if m.unit == "" and 3 <= m.number() <= 20]
    return settle(found or _alone(look), "several numbers of cells are printed")


def _alone(look: Look) -> list[Said]:
    """A number of cells that a module of iron phosphate usually has, where its row says nothing of rows in parallel."""
    rows = [s for s in look.rows if "cell" in s.own and not s.own & {"parallel", "voltage", "resistance"}]
    counts = [(s, m) for s in rows for m in s.of("count") if m.unit == "" and not m.ranges]
    near = [(s, m) for s, m in counts if m.text() in USUAL and "cell" in ideas(s.text[m.end : m.end + 14])]
    return [s.said(m.text()) for s, m in near]


USUAL = ("4", "8", "15", "16")  # cells in series of 12 V, 24 V and 48 V modules


def chemistry(look: Look) -> Answer | None:
    """Lithium iron phosphate, where it is said."""
    for seen in look.rows:
        if phrase("lfp").search(f"{seen.row.label} {seen.text}"):
            return seen.said("LFP")
    return None


def capacity(look: Look) -> Answer | None:
    """Rated capacity; typical and usable ones are not it."""
    hits = [
        h
        for h in look.hits("charge", none=("usable", "consumption"))
        if "capacity" in h.seen.every or "rated" in h.seen.own
    ]
    hits = [h for h in hits if not ("cell" in h.seen.label and len(hits) > 1 and "module" not in h.seen.label)]
    rated = [h for h in hits if "rated" in h.seen.label and not h.seen.label & {"typical", "least", "most"}]
    plain = [h for h in hits if not h.seen.own & {"typical", "least", "guaranteed"}]
    return best((rated, plain), "several capacities are printed") or _asked(hits, "no rated capacity is printed")


def _asked(hits: list[Hit], why: str) -> Answer | None:
    return Ask(why, tuple(h.said for h in hits)) if hits else None


def energy(look: Look) -> Answer | None:
    """Nominal energy; the usable one is not it."""
    hits = [h for h in look.hits("energy", none=("usable",)) if not h.seen.own & {"consumption", "cell"}]
    hits = [h for h in hits if h.seen.every & {"energy", "capacity", "rated"} and not _usable_part(h)]
    hits = [
        h for h in hits if "parallel" not in ideas(h.seen.row.line) or "parallel" in h.seen.label
    ]  # of all together
    rated = [h for h in hits if "rated" in h.seen.label]
    return best((rated, hits), "several energies are printed")


def _usable_part(hit: Hit) -> bool:
    return "usable" in ideas(hit.after) | ideas(hit.before)


def standby_power(look: Look) -> Answer | None:
    """Own consumption when idle."""
    hits = [h for h in look.hits("power", "standby|consumption") if h.measure is h.seen.of("power")[0] or _columns(h)]
    awake = [h for h in hits if "sleep" not in h.seen.label]
    hits = awake or [h for h in hits if "standby" in h.seen.label]
    return best(([h for h in hits if "standby" in h.seen.own], hits), "several are printed")


def _columns(hit: Hit) -> bool:
    """Whether its row has cells of which the headings are not known: each may be what is sought."""
    return len(hit.seen.row.values) > 1 and not hit.seen.side


def continuous(way: str) -> Callable[[Look], Answer | None]:
    """The continuous current of one direction."""

    def rule(look: Look) -> Answer | None:
        hits = [h for h in look.hits("current", way=way, none=_NO_LIMIT) if _is_limit(h)]
        hits = hits or _beside_recommended(look, way)
        hits = [h for h in hits if not _by_temperature_row(h.seen)]
        timeless = [h for h in hits if timed(h) is None and not _momentary(h)]
        over = _over_temperature(timeless, look) if way == "charge" else None
        if over is not None:
            return over
        if any(warm(h) for h in timeless) and len({h.measure.text() for h in timeless}) > 1:
            return Ask("it depends on the temperature", tuple(h.said for h in timeless))
        named = [h for h in timeless if "continuous" in h.seen.own]
        rated = [h for h in timeless if "rated" in h.seen.own]
        if named:
            strongest = [h for h in named if "most" in h.seen.own] or named
            return bounded(strongest, look) or settle([h.said for h in strongest], "several are printed")
        short = any(timed(h) or _momentary(h) for h in hits)
        if rated and len({h.measure.text() for h in timeless}) == 1:
            return bounded(timeless, look) or rated[0].said
        upper = [h for h in timeless if "most" in h.seen.label]
        if timeless and short and not rated and not upper:
            return bounded(timeless, look) or settle([h.said for h in timeless], "several are printed")
        if not timeless and not hits:
            return None
        if timeless and all(h.seen.row.notes for h in timeless) and (answer := bounded(timeless, look)):
            return answer
        return Ask("continuous or for a short time is not said", different(timeless or hits))

    return rule


def _over_temperature(hits: list[Hit], look: Look) -> Answer | None:
    """A question where the label of a current holds a range of temperatures: all currents of the table."""
    spans = [m for h in hits for m in measures(h.seen.row.label, look.marks) if h.seen.row.values]
    table = by_temperature(look)
    if not any(m.dimension == "temperature" and m.ranges for m in spans) or not isinstance(table, Said):
        return None
    steps = table.value if isinstance(table.value, list) else []
    amounts = dict.fromkeys(str(step[-1]) for step in steps if isinstance(step, list))
    return Ask("it depends on the temperature", tuple(Said(amount, table.spot) for amount in amounts))


def _beside_recommended(look: Look, way: str) -> list[Hit]:
    """Currents of a row that recommends another one: "50 A recommended, 100 A max. continuous"."""
    none = tuple(idea for idea in _NO_LIMIT if idea != "recommended")
    hits = [h for h in look.hits("current", way=way, none=none) if "recommended" in h.seen.value and h.seen.row.values]
    hits = [h for h in hits if not {"recommended"} & (h.seen.label | h.seen.around | ideas(_part_of(h)))]
    return [h for h in hits if "," in h.seen.text or ";" in h.seen.text]


def _part_of(hit: Hit) -> str:
    """The part of a value between commas that a measure stands in."""
    text, start, end = hit.seen.text, hit.measure.start, hit.measure.end
    first = max(text.rfind(mark, 0, start) for mark in ",;")
    last = min((n for mark in ",;" if (n := text.find(mark, end)) >= 0), default=len(text))
    return text[first + 1 : last]


def _is_limit(hit: Hit) -> bool:
    before = ideas(hit.before[-25:])
    named = "current" in hit.seen.every or not hit.seen.row.values
    if not hit.seen.row.values and _opens(hit.seen):
        return False  # at this current its protection opens
    return named and not before & {"recommended", "protection"} and hit.measure.bound != "least"


def _momentary(hit: Hit) -> bool:
    own = hit.seen.label | ideas(hit.before[-20:]) | ideas(hit.after[:14])
    return "peak" in own and "continuous" not in hit.seen.label


def trip(way: str) -> Callable[[Look], Answer | None]:
    """Current and delay of its own over-current protection."""

    def rule(look: Look) -> Answer | None:
        rows = list(look.where("overcurrent", none=("shortcircuit", "breaker", "fuse", "parallel"), way=way))
        rows = rows or list(
            look.where(
                "protection", "current", none=("shortcircuit", "breaker", "fuse", "parallel", "interrupt"), way=way
            )
        )
        rows = rows or _opening(look, way)
        found = [seen.said(_trip_text(h, look)) for seen in rows for h in [Hit(seen, m) for m in seen.of("current")]]
        return settle(found, "it has several stages")

    return rule


def _opening(look: Look, way: str) -> list[Seen]:
    """Running text that says at which current, standing for how long, a path opens."""
    rows = [s for s in look.rows if not s.row.values and s.direction == way and s.of("current") and s.of("time")]
    none = {"breaker", "fuse", "shortcircuit", "parallel"}
    return [s for s in rows if _opens(s) and not s.every & none]


def _opens(seen: Seen) -> bool:
    """Whether a sentence says that something opens or is cut off."""
    sentence = sentence_of(seen)
    return bool(phrase("opens").search(sentence)) or "opens" in ideas(sentence)


def _trip_text(hit: Hit, look: Look) -> str:
    after = timed(hit) or next((m for m in hit.seen.of("time") if m.start > hit.measure.end), None)
    conditions = measures(hit.seen.row.label, look.marks) if hit.seen.row.values else ()
    after = after or next((m for m in conditions if m.dimension == "time" and not m.ranges), None)
    after = after or _lone_time(hit.seen) or _delay_beside(hit.seen, look)
    return hit.measure.text() + (f" for {after.text()}" if after else "")


def _lone_time(seen: Seen) -> Measure | None:
    """Running text: the only time of a clause, wherever it stands."""
    times = seen.of("time")
    return times[0] if len(times) == 1 and not seen.row.values and not times[0].ranges else None


def _delay_beside(seen: Seen, look: Look) -> Measure | None:
    """The delay in a row of its own: same direction, same idea."""
    for other in look.where("delay", way=seen.direction, none=("shortcircuit",)):
        if other.of("time") and not other.of("current") and "overcurrent" in other.every:
            return other.of("time")[0]
    return None


def temperature(way: str, end: str) -> Callable[[Look], Answer | None]:
    """One end of the range of cell temperatures in which it may be charged or discharged."""

    def rule(look: Look) -> Answer | None:
        none = ("storage", "current", "protection", "blocks", "heater", "restart", "resistance", "capacity")
        hits = look.hits("temperature", way=way, none=none)
        side = "least" if end == "lowest" else "most"
        columns = [h for h in hits if side in h.seen.label and not h.measure.ranges]
        if columns:
            return settle([h.said for h in columns], "several are printed")
        ranges = [h for h in hits if h.measure.ranges and not _same_again(h)]
        found = [
            h.seen.said(f"{h.measure.low if end == 'lowest' else h.measure.high} {h.measure.unit}") for h in ranges
        ]
        return settle(found, "several ranges are printed")

    return rule


def _same_again(hit: Hit) -> bool:
    """Whether a range is the one before it once more, in brackets and in another unit: "32 °F to 122 °F (0 °C ...)"."""
    firsts = [m for m in hit.seen.of("temperature") if m.ranges and m.end <= hit.measure.start]
    apart = hit.seen.text[firsts[-1].end : hit.measure.start].strip() if firsts else ""
    return bool(firsts) and apart in ("(", "/") and firsts[-1].unit != hit.measure.unit


def _by_temperature_row(seen: Seen) -> bool:
    return any(m.dimension == "temperature" for m in seen.measured) and len(seen.of("current")) > 2


def inhibits(look: Look) -> Answer | None:
    """Whether it stops charging by itself when too cold."""
    found = []
    for seen in look.where("blocks", "charge"):
        for clause in clauses(seen.text if not seen.row.values else f"{seen.row.label}: {seen.text}"):
            have = ideas(clause)
            cold = any(m.dimension == "temperature" for m in measures(f"{seen.row.label} {seen.text}", look.marks))
            if "blocks" in have and "charge" in have and cold and len(clause) > 15:
                word = yes_or_no(seen.text) if seen.row.values else None
                found.append(seen.said(word if word is not None else not _denied(clause)))
    return settle(found, "it is said in two ways")


def _denied(clause: str) -> bool:
    return bool(
        re.search(
            r"\b(?:does not|not|nicht|ne .* pas|non|no|niet)\s+(?:block|inhibit|prevent|sperr|blok|bloc|stop)",
            clause,
            re.IGNORECASE,
        )
    )


def heated(look: Look) -> Answer | None:
    """Whether the cells have a heater."""
    for seen in look.where("heater"):
        whole = f"{seen.row.label} {seen.text}" if seen.row.values else seen.text
        text = next((c for c in clauses(whole) if "heater" in ideas(c)), whole) if not seen.row.values else whole
        if phrase("extra").search(text) and not negated(text):
            return Ask("it is an option", (seen.said(True), seen.said(False)))
        answer = yes_or_no(seen.text) if seen.row.values else None
        return seen.said(answer if answer is not None else not negated(text))
    return None


RULES: dict[str, Callable[[Look], Answer | None]] = {
    "cells": cells,
    "chemistry": chemistry,
    "capacity": capacity,
    "energy": energy,
    "altitude": altitude,
    "enclosure": enclosure,
    "standby_power": standby_power,
    "discharge.continuous": continuous("discharge"),
    "discharge.trip": trip("discharge"),
    "discharge.cell_empty": cell_end("discharge"),
    "discharge.cell_trip": cell_trip("discharge", "undervoltage"),
    "discharge.lowest": temperature("discharge", "lowest"),
    "discharge.highest": temperature("discharge", "highest"),
    "charge.continuous": continuous("charge"),
    "charge.trip": trip("charge"),
    "charge.cell_full": cell_end("charge"),
    "charge.cell_trip": cell_trip("charge", "overvoltage"),
    "charge.highest_voltage": highest_voltage,
    "charge.lowest": temperature("charge", "lowest"),
    "charge.highest": temperature("charge", "highest"),
    "charge.by_temperature": by_temperature,
    "charge.inhibits": inhibits,
    "charge.heated": heated,
}
