"""Rules of a breaker's rows: of the one inside a module, and of a breaker as a device.

Gives: INSIDE, poles(), polarised().
Takes: a Look.
Limits: a voltage or breaking capacity that is not said to hold on DC is asked.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

from bankwright.sheets.answer import Answer, settle
from bankwright.sheets.concepts import ideas, negated, phrase
from bankwright.sheets.rules.common import beside, best, dc_or_ask, number, says_ac, says_dc, volts_of, yes_or_no
from bankwright.sheets.view import Hit, Look, Seen

__all__ = ["INSIDE", "polarised", "poles"]

_LATIN = {"bipol": 2, "unipol": 1, "monopol": 1, "tripol": 3, "tetrapol": 4}


def inside(look: Look) -> list[Seen]:
    """Rows of the breaker inside a module."""
    rows = [s for s in look.rows if "breaker" in s.every and s.row.values]
    rows += [
        s
        for s in look.rows
        if not s.row.values and "breaker" in s.label | s.value and len(s.of("current", "voltage")) >= 1
    ]
    rows += [s for s in _goes_on(look) if s not in rows]
    rows += [s for s in _beside_it(look, rows) if s not in rows]
    if any("breaker" in ideas(s.row.near) for s in look.rows):
        rows += [s for s in look.rows if s.row.near and _of_breaker(s) and s not in rows]
    return rows


def _beside_it(look: Look, rows: Sequence[Seen]) -> list[Seen]:
    """Rows of the group or section of switches that names the breaker; of breaking capacity, which nothing else has."""
    places = {place for s in rows for place in (s.row.group, s.row.section) if "switches" in ideas(place)}
    near = [s for s in look.rows if s.row.values and ({s.row.group, s.row.section} - {""}) & places]
    told = [s for s in look.rows if not s.row.values and len(s.text) < 60 and "polarity" in s.value]
    near += [s for s in told if "breaker" in s.around]
    return near + [s for s in look.rows if rows and s.row.values and "interrupt" in s.label]


def _goes_on(look: Look) -> list[Seen]:
    """Sentences after one of the breaker in the same running text that go on with "it"."""
    found: list[Seen] = []
    for before, seen in pairwise(look.rows):
        ours = ("breaker" in before.value and bool(before.of("current", "voltage"))) or before in found
        if ours and not seen.row.values and seen.row is before.row and phrase("it").match(seen.text):
            found.append(seen)
    return found


def _of_breaker(seen: Seen) -> bool:
    """In a text whose headings are lost: a row close to the heading of the breaker, of poles or of breaking."""
    if "interrupt" in seen.label or ("polarity" in seen.label and "breaker" in ideas(seen.row.near)):
        return True
    return bool(phrase("poles").search(f"{seen.row.label} {seen.text}")) or (
        "poles" in seen.own and "rated" in seen.label
    )


def poles(rows: Sequence[Seen]) -> Answer | None:
    """Poles in series."""
    found = []
    for seen in rows:
        text = f"{seen.row.label} {seen.text}"
        found += [seen.said(str(n)) for m in phrase("poles").finditer(text) if (n := number(m[1]))]
        found += [seen.said(str(n)) for word, n in _LATIN.items() if word in text.lower() and word != "pol"]
        if "poles" in seen.label and not found:
            found += [seen.said(m.text()) for m in seen.of("count") if 1 <= m.number() <= 4][:1]
    return settle(found, "several numbers of poles are printed")


def polarised(rows: Sequence[Seen]) -> Answer | None:
    """Whether it breaks one way only."""
    found = []
    for seen in rows:
        text = f"{seen.row.label} {seen.text}"
        if "polarity" not in ideas(text):
            continue
        value = seen.text if seen.row.values else text
        word = yes_or_no(value) if seen.row.values else None
        if phrase("not_polarised").search(seen.row.label) and seen.row.values and word is not None:
            found.append(seen.said(not word))  # "Unpolarised: yes"
            continue
        no = phrase("not_polarised").search(value) or word is False
        yes = phrase("polarised").search(value)
        if not no and yes and negated(value) and not phrase("kept_polarity").search(value):
            continue  # a "no" that is not understood
        if no or (yes and (seen.row.values or "polarity" in seen.value)):
            found.append(seen.said(not no))
    return settle(found, "several are printed")


def _rating(look: Look) -> Answer | None:
    hits = [Hit(s, m) for s in inside(look) if "interrupt" not in s.label for m in s.of("current")]
    hits = [h for h in hits if h.measure.unit == "A" and "interrupt" not in ideas(h.before[-25:])]
    return best(([h for h in hits if "rated" in h.seen.label], hits), "several are printed")


def _volts(look: Look) -> Answer | None:
    hits = [Hit(s, m) for s in inside(look) for m in s.of("voltage") if "interrupt" not in s.label]
    hits = [h for h in hits if volts_of(h.measure) >= 20]
    return _on_dc(hits)


def _on_dc(hits: list[Hit]) -> Answer | None:
    dc = [h for h in hits if (beside(h) or ("dc" if says_dc(h.after[:12]) else "")) == "dc"]
    plain = [h for h in hits if beside(h) != "ac" and not says_ac(h.after[:12])]
    chosen = dc or plain or hits
    answers = [dc_or_ask(h) for h in chosen]
    if dc:
        return settle([h.said for h in dc], "several are printed")
    return answers[0] if answers else None


def _interrupts(look: Look) -> Answer | None:
    rows = inside(look)
    hits = [Hit(s, m) for s in rows if "interrupt" in s.label for m in s.of("current")]
    hits += [Hit(s, m) for s in rows if "interrupt" not in s.label for m in s.of("current") if m.unit == "kA"]
    return _on_dc(hits)


INSIDE: dict[str, Callable[[Look], Answer | None]] = {
    "breaker.rating": _rating,
    "breaker.poles": lambda look: poles(inside(look)),
    "breaker.volts": _volts,
    "breaker.interrupts": _interrupts,
    "breaker.polarised": lambda look: polarised(inside(look)),
}
