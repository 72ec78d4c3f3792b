"""Rules of the sheet of a fuse, breaker, disconnect or shunt: ratings on DC, curves, derating, terminals.

Gives: RULES.
Takes: a Look.
Limits: what is printed for AC is never taken for DC; of resistance and drop, the bank file takes one: the resistance.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

from bankwright.sheets.answer import Answer, Ask, Said, settle
from bankwright.sheets.columns import looks_like_poles
from bankwright.sheets.concepts import ideas, negated, phrase
from bankwright.sheets.measures import Measure, measures
from bankwright.sheets.rules.breaker import polarised, poles
from bankwright.sheets.rules.common import (
    beside,
    best,
    bolts,
    bounded,
    dc_or_ask,
    is_limit,
    listing,
    lugs,
    mass,
    says_ac,
    says_dc,
)
from bankwright.sheets.rules.curves import curve, derating
from bankwright.sheets.rules.device_own import by_footnote, of_its_own, only_dc, stud_of, terminals_rated, torque_of
from bankwright.sheets.rules.device_rows import asked_in_rows
from bankwright.sheets.rules.fault import current_limiting, time_constant, withstands
from bankwright.sheets.rules.place import altitude, enclosure
from bankwright.sheets.view import Hit, Look, Seen

__all__ = ["RULES"]

Rule = Callable[[Look], Answer | None]
_CLASS = re.compile(
    r"\b(?i:class|klasse|classe|clase)\s+(T|J|RK1|RK5|CC|L|aR|gR|gG|gS|gPV|gBat|G|H|K5)\b|\b(aR|gR|gG|gS|gPV|gBat)\b"
)
_AT_IN = re.compile(r"\b(?:at|à|a|bei|bij|przy|vid|ved|pour|con|em|při)\s+In\b|@\s*In\b")
_TRIP_CLASS = re.compile(r"\b((?:[A-ZČ]{2,3}[- ])?EN|IEC|UL)\s?(60947-2|60898-[12]|60898|489|1077|60947-3)\b")


def device_type(look: Look) -> Answer | None:
    """Fuse, breaker, disconnect or shunt: the word that is said most, the title first."""
    order = ("fuse", "breaker", "disconnect", "shunt")
    head = list(look.rows[:4])
    for rows in (head, look.rows):
        counted = {name: [s for s in rows if name in _named(s) and "holder" not in s.label] for name in order}
        most = max(order, key=lambda name: len(counted[name]))
        if counted[most]:
            tied = [n for n in order if len(counted[n]) == len(counted[most])]
            if len(tied) == 1:
                return counted[most][0].said(most)
    return None


def _named(seen: Seen) -> frozenset[str]:
    """What a row speaks of; of the names of several models, the whole line that they stand on."""
    return seen.own | (ideas(seen.row.line) if not seen.row.label else frozenset())


def rating(look: Look) -> Answer | None:
    """Rated current."""
    none = (
        "interrupt",
        "smallest",
        "withstand",
        "melting",
        "clearing",
        "drop",
        "derating",
        "shortcircuit",
        "magnetic",
        "i2t",
        "curve",
    )
    hits = [h for h in look.hits("current", none=none) if h.seen.row.values and not h.measure.ranges]
    hits = [
        h
        for h in hits
        if (not h.seen.of("time") and "rated" in h.seen.label) or ("current" in h.seen.label and not h.seen.of("time"))
    ]
    dc = [h for h in hits if says_dc(f"{h.seen.row.label} {h.measure.printed}")]
    named = [h for h in hits if "rated" in h.seen.label]
    lasts = [h for h in dc or named or hits if any(phrase("part_for_long").search(note) for note in h.seen.row.notes)]
    return (bounded(dc or named or hits, look) if not lasts else None) or best((dc, named, hits), "several are printed")


def _rated_for(look: Look, dimension: str, *need: str, none: tuple[str, ...] = ()) -> Answer | None:
    """What is printed for DC; else a question."""
    every = look.hits(dimension, *need, none=none)
    hits = [h for h in every if h.seen.row.values]
    hits = [h for h in hits if set(need) & h.seen.own] or hits  # not for its heading alone
    hits = hits or [h for h in every if _beside(h) == "dc" and h.seen.value & {"rated", "interrupt"}]  # running text
    hits = hits or _in_clauses(look, dimension, {*need} if dimension == "current" else {*need, "rated"}, none)
    dc = [h for h in hits if _beside(h) == "dc"]
    bare = [h for h in hits if _beside(h) == ""]
    if dc:
        return settle([h.said for h in dc], "several are printed")
    if bare:
        answers = [dc_or_ask(h, look) for h in bare]
        said = [a for a in answers if isinstance(a, Said)]
        return (
            settle(said, "several are printed")
            if said
            else Ask("AC or DC is not said beside it", tuple(h.said for h in bare))
        )
    return Ask("it is printed for AC", tuple(h.said for h in hits)) if hits else None


def _in_clauses(look: Look, dimension: str, need: set[str], none: tuple[str, ...]) -> list[Hit]:
    """Running text: values on DC in a clause of their own, "rated 160 V DC, breaking capacity 20 kA DC"."""
    found = []
    for seen in (s for s in look.rows if not s.row.values):
        ends = [m.end() for m in re.finditer(r"[;,(](?!\d)|\)", seen.text)]
        for start, end in pairwise([0, *ends, len(seen.text)]):
            about = ideas(seen.text[start:end])
            hits = [Hit(seen, m) for m in seen.of(dimension) if start <= m.start < end]
            if about & need and not about & set(none) and len(hits) == 1 and _beside(hits[0]) == "dc":
                found += hits
    return found


def _beside(hit: Hit) -> str:
    """DC or AC as said beside the value, in its unit, or in its label."""
    near = beside(hit)
    if near:
        return near
    label = f"{hit.seen.row.label} {hit.seen.row.section} {hit.seen.row.group} {hit.seen.side}"
    if says_dc(label) != says_ac(label):
        return "dc" if says_dc(label) else "ac"
    return ""


def volts(look: Look) -> Answer | None:
    """Rated voltage on DC."""
    none = ("drop", "interrupt", "clearing", "melting", "i2t", "insulationtest", "peak", "curve")
    insulation = phrase("insulation")
    rows = tuple(s for s in look.rows if not (s.row.values and insulation.search(s.row.label)))
    return by_footnote(_rated_for(replace(look, rows=rows), "voltage", "voltage", none=none), look, "voltage")


def interrupts(look: Look) -> Answer | None:
    """Breaking capacity on DC."""
    return _rated_for(look, "current", "interrupt", none=("smallest", "i2t"))


def least_breaking(look: Look) -> Answer | None:
    """Smallest current that it breaks."""
    hits = [h for h in look.hits("current", "smallest") if h.seen.label & {"interrupt", "current", "smallest"}]
    dc = [h for h in hits if _beside(h) == "dc"]
    return best((dc, hits), "several are printed")


def ac_only(look: Look) -> Answer | None:
    """Whether only AC ratings are printed."""
    hits = [h for h in look.hits("voltage", "voltage", none=("drop",)) if h.seen.row.values]
    if hits and all(_beside(h) == "ac" for h in hits) and not says_dc(look.sheet.text):
        return hits[0].seen.said(True)
    return None


def _i2t(look: Look, idea: str, other: str) -> list[Hit]:
    return [
        h for h in look.hits("let_through") if idea in h.seen.label and other not in h.seen.label and _beside(h) != "ac"
    ]


def melting_i2t(look: Look) -> Answer | None:
    """I2t before melting."""
    return settle([h.said for h in _i2t(look, "melting", "clearing")], "several are printed")


def let_through(look: Look) -> Answer | None:
    """Total clearing I2t at the breaking capacity on DC."""
    hits = _i2t(look, "clearing", "melting")
    dc = [h for h in hits if _beside(h) == "dc"]
    breaks = interrupts(look)
    at = str(breaks.value) if isinstance(breaks, Said) else ""
    dc = dc or [h for h in hits if only_dc(look) or _at_breaking(h, look, at)]
    if dc:
        return settle([h.said for h in dc], "several are printed")
    return Ask("AC or DC is not said beside it", tuple(h.said for h in hits)) if hits else None


def _at_breaking(hit: Hit, look: Look, breaks: str) -> bool:
    """Whether it is said at the breaking capacity on DC, and no current on AC is as large."""
    seen = hit.seen
    currents = {m.text() for m in measures(f"{seen.row.label} {seen.text}", look.marks) if m.dimension == "current"}
    currents = currents or {m.text() for m in measures(seen.row.line, look.marks) if m.dimension == "current"}
    on_ac = {h.measure.text() for h in look.hits("current") if _beside(h) == "ac"}
    return currents == {breaks} and breaks not in on_ac


def resistance(look: Look) -> Answer | None:
    """Cold resistance."""
    hits = look.hits("resistance", none=("insulationtest", "precharge"))
    answer = best(([h for h in hits if "cold" in h.seen.label], hits), "several are printed")
    if isinstance(answer, Said) and any(phrase("each_pole").search(f"{h.seen.row.label} {h.seen.text}") for h in hits):
        return Ask("it is printed for one pole", (answer,))
    if isinstance(answer, Said) and hits and all(is_limit(h) for h in hits):
        return Ask("only an upper limit is printed", (answer,))
    return answer


def drop(look: Look) -> Answer | None:
    """Voltage drop at a current, where no resistance is printed."""
    if resistance(look) is not None:
        return None
    found = []
    for hit in look.hits("voltage", "drop|shunt"):
        at = next((m for m in hit.seen.of("current")), None) or _rated_at(hit, look)
        if at is not None and hit.measure.unit == "mV":
            found.append(hit.seen.said(f"{hit.measure.text()} at {at.text()}"))
    return settle(found, "several are printed")


def _rated_at(hit: Hit, look: Look) -> Measure | None:
    """The rated current, where the drop is said to hold at it."""
    at_rated = _AT_IN.search(f"{hit.seen.row.label} {hit.seen.text}")
    if "rated" not in hit.seen.label and not at_rated and "shunt" not in hit.seen.every:
        return None
    rows = [h for h in look.hits("current", "rated", none=("drop", "interrupt", "smallest")) if h.seen.row.values]
    return rows[0].measure if rows else None


def device_class(look: Look) -> Answer | None:
    """Class of a fuse, standard of a breaker."""
    found = []
    for seen in look.rows:
        text = f"{seen.row.label} {seen.text}"
        found += [
            seen.said(f"class {m[1]}" if m[1] and m[1] not in _GROUPS else (m[1] or m[2]))
            for m in _CLASS.finditer(text)
        ]
    if not found and _kind(look) == "breaker":
        found = [
            s.said(f"{m[1]} {m[2]}".lower()) for s in look.rows for m in _TRIP_CLASS.finditer(f"{s.row.label} {s.text}")
        ]
    return settle(found, "several are printed")


_GROUPS = ("aR", "gR", "gG", "gS", "gPV", "gBat")


def _kind(look: Look) -> str:
    answer = device_type(look)
    return str(answer.value) if isinstance(answer, Said) else ""


def breaks_load(look: Look) -> Answer | None:
    """Whether it may be opened under load."""
    found = []
    for seen in look.where("underload"):
        for sentence in re.split(
            r"(?<=[^\W\d_]{2})\.\s+|;\s+", seen.text if not seen.row.values else f"{seen.row.label}: {seen.text}"
        ):
            if "underload" in ideas(sentence) and phrase("operated").search(sentence):
                found.append(seen.said(not negated(_up_to_load(sentence))))
    return settle(found, "it is said in two ways")


def _up_to_load(sentence: str) -> str:
    """A sentence without what is said after its clause of the load: "may be opened under load and is not polarised"."""
    parts = re.split(r"(,?\s+(?:and|und|et|y|e|en|och|og|i|a)\s+)", sentence)
    last = max((n for n, part in enumerate(parts) if "underload" in ideas(part)), default=len(parts) - 1)
    return "".join(parts[: last + 1])


def full_rated(look: Look) -> Answer | None:
    """Marked for all of its rating without end."""
    for seen in look.where("fullrated"):
        return seen.said(not negated(seen.text))
    for seen in look.rows:
        if phrase("part_for_long").search(seen.text):
            return seen.said(False)
    return None


def instant(look: Look) -> Answer | None:
    """Magnetic trip of a breaker."""
    if _kind(look) != "breaker":
        return None
    hits = [h for h in look.hits("current", "magnetic") if h.seen.row.values]
    dc = [h for h in hits if _beside(h) == "dc"] or [h for h in hits if _beside(h) != "ac"]
    if hits and not dc:
        return Ask("it is printed for AC", tuple(h.said for h in hits))
    return settle([h.said for h in dc], "several are printed")


def number_of_poles(look: Look) -> Answer | None:
    """Poles in series: of a model that is named by them, its name."""
    if _kind(look) not in ("breaker", "disconnect"):
        return None
    named = re.match(r"\d", look.model) if looks_like_poles(look.model) else None
    heading = next((s for s in look.rows if named and look.model in s.text), None)
    if named and heading:
        return heading.said(named[0])
    return poles([s for s in look.rows if s.row.values])


def _count_of_poles(seen: Seen) -> bool:
    """Whether a row counts the poles, which are no terminals."""
    return "poles" in seen.label and not seen.label & {"lugs", "post"} and bool(re.fullmatch(r"\d", seen.text))


_JOINTS = {"terminal", "torque", "lugs"}


def _terminals(look: Look) -> list[Seen]:
    """Rows of its terminals; of what fixes it to its wall only where nothing else is printed."""
    rows = [s for s in look.where("terminal|torque|lugs") if s.own & _JOINTS]
    told = [s for s in rows if s.row.values and (s.label & _JOINTS or s.of("torque") or bolts([s]) or lugs([s]))]
    rows = [s for s in told if not _count_of_poles(s)] or [s for s in rows if s.of("torque") or "terminal" in s.value]
    other = [s for s in rows if "fixing" not in s.label]
    return other if any(s.label & {"post"} for s in other) else rows


_RULES: dict[str, Rule] = {
    "type": device_type,
    "rating": rating,
    "volts": volts,
    "interrupts": interrupts,
    "least_breaking": least_breaking,
    "ac_rating_only": ac_only,
    "poles": number_of_poles,
    "polarised": lambda look: polarised(look.rows),
    "class": device_class,
    "curve": curve("curve"),
    "melting": curve("melting"),
    "melting_i2t": melting_i2t,
    "let_through": let_through,
    "resistance": resistance,
    "drop": drop,
    "derating": derating,
    "breaks_load": breaks_load,
    "full_rated": full_rated,
    "instant": instant,
    "time_constant": time_constant,
    "withstands": withstands,
    "current_limiting": current_limiting,
    "altitude": altitude,
    "enclosure": enclosure,
    "mass": mass,
    "listing": lambda look: listing(look, ("cell", "holder")),
    "terminals.stud": lambda look: stud_of(_terminals(look)),
    "terminals.lugs": lambda look: lugs(_terminals(look)),
    "terminals.torque": lambda look: torque_of(_terminals(look)),
    "terminals.rating": terminals_rated,
}
RULES: dict[str, Rule] = {key: asked_in_rows(key, of_its_own(rule)) for key, rule in _RULES.items()}
