"""Rules of a module's sheet that is written in sentences: what opens, what stays possible, how it comes back.

Gives: after_trip_told(), cell_opens_at(), restart_told().
Takes: a Look.
Limits: one sentence at a time; a sentence of both directions or without a clear condition says nothing.
"""

from __future__ import annotations

import re

from bankwright.sheets.answer import Said
from bankwright.sheets.concepts import direction, ideas, negated, phrase
from bankwright.sheets.rules.common import cell_volts, sentence_of
from bankwright.sheets.view import Hit, Look, Seen

__all__ = ["after_trip_told", "cell_opens_at", "restart_told"]


def _told(look: Look) -> dict[str, Seen]:
    """The sentences of running text, each with a row that it stands in."""
    prose = [seen for seen in look.rows if not seen.row.values]
    return {sentence_of(seen): seen for seen in prose}


def cell_opens_at(look: Look, way: str) -> list[Hit]:
    """Voltage of a cell at which a sentence says that the module opens: "disconnects when any cell falls to 2.50 V"."""
    side = "falls" if way == "discharge" else "rises"
    hits = [h for h in look.hits("voltage", "cell") if not h.seen.row.values and cell_volts(h)]
    found = []
    for hit in hits:
        sentence = sentence_of(hit.seen)
        opens = phrase("opens").search(sentence) and not negated(sentence)
        both = phrase("falls").search(sentence) and phrase("rises").search(sentence)
        if opens and not both and phrase(side).search(hit.before[-45:]):
            found.append(hit)
    return found


def after_trip_told(look: Look, way: str) -> list[Said]:
    """What stays possible after a trip: "after a cut-off on charge, discharge stays possible"."""
    other = "discharge" if way == "charge" else "charge"
    stays = "still discharges" if way == "charge" else "still charges"
    found = []
    for sentence, seen in _told(look).items():
        parts = re.split(r",\s+", sentence, maxsplit=1)
        parts = _without_comma(sentence) if len(parts) < 2 else parts
        if len(parts) < 2 or not _after_a_trip(parts[0]) or direction(parts[0]) != way:
            continue
        if direction(parts[1]) == other and "possible" in ideas(parts[1]):
            found.append(seen.said("opens" if negated(parts[1]) else stays))
        elif not direction(parts[1]) and phrase("opens").search(parts[1]) and not negated(parts[1]):
            found.append(seen.said("opens"))
    return found


def _after_a_trip(text: str) -> bool:
    have = ideas(text)
    return "afterx" in have and bool(have & {"trip", "disconnect", "cutout"})


def _without_comma(sentence: str) -> list[str]:
    """The condition, the fewest words that name a trip and its direction, and what is said then."""
    words = sentence.split()
    for n in range(2, len(words) - 1):
        first = " ".join(words[:n])
        if _after_a_trip(first) and direction(first):
            return [first, " ".join(words[n:])]
    return []


def restart_told(look: Look) -> list[Said]:
    """How it comes back: "it is started again by hand after a deep discharge"."""
    found = []
    for sentence, seen in _told(look).items():
        have = ideas(sentence)
        if "restart" not in have or not have & {"undervoltage", "trip"} or "overcurrent" in have | _led_by(seen):
            continue
        ways = [word for idea, word in _WAYS.items() if idea in have]
        found += [seen.said(word) for word in ways] if not negated(sentence) else []
    return found


def _led_by(seen: Seen) -> frozenset[str]:
    """Ideas of the whole of it between full stops: a semicolon ends no thought."""
    wholes = re.split(r"(?<=[^\W\d_])\.\s+", seen.row.label)
    return ideas(next((w for w in wholes if seen.text.strip(" .") in w), seen.row.label))


_WAYS = {"bycharger": "by charger", "hand": "by hand", "selfmade": "by itself"}
