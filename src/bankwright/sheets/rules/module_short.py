"""Rules of a module's sheet: the current of a bolted short at its posts and the open voltage it is printed with.

Gives: RULES.
Takes: a Look.
Limits: what a breaker stands or a protection opens at is another current; several open voltages are a question.
"""

from __future__ import annotations

from collections.abc import Callable

from bankwright.sheets.answer import Answer, Ask, Said, Spot, settle
from bankwright.sheets.concepts import ideas
from bankwright.sheets.measures import Measure, measures
from bankwright.sheets.rules.common import volts_of
from bankwright.sheets.view import Hit, Look

__all__ = ["RULES"]

LEAST = 0.5  # kA: a smaller current is none of a bolted short
LOWEST = 10.0  # V: open voltage of a module of four cells
_OTHERS = ("protection", "overcurrent", "trip", "breaker", "interrupt", "withstand", "fuse", "solar", "ac", "delay")


def _hits(look: Look) -> list[Hit]:
    hits = look.hits("current", "shortcircuit", none=_OTHERS)
    return [h for h in hits if "shortcircuit" in h.seen.own and h.measure.number() * _KILO[h.measure.unit] >= LEAST]


_KILO = {"kA": 1.0, "A": 1e-3, "mA": 1e-6}


def short_circuit(look: Look) -> Answer | None:
    """Current of a bolted short."""
    return settle([h.said for h in _hits(look)], "several are printed")


def open_circuit(look: Look) -> Answer | None:
    """Open voltage that this current is printed with: in its row, or in the footnote of it."""
    found: list[Said] = []
    for hit in _hits(look):
        texts = [hit.seen.row.label, hit.seen.text] if hit.seen.row.values else [hit.seen.text]
        found += [hit.seen.said(m.text()) for text in texts for m in _volts(text, look)]
    if found:
        return settle(found, "several are printed")
    notes = {
        note: h.seen.row.page for h in _hits(look) for note in h.seen.row.notes if ideas(note) & {"noload", "opens"}
    }
    noted = [Said(m.text(), Spot(note, page)) for note, page in notes.items() for m in _volts(note, look)]
    answer = settle(noted, "several are printed")
    return answer if answer is None or len(noted) > 1 else Ask("a footnote says it", (noted[0],))


def _volts(text: str, look: Look) -> list[Measure]:
    found = measures(text, look.marks)
    return [m for m in found if m.dimension == "voltage" and not m.ranges and volts_of(m) >= LOWEST]


RULES: dict[str, Callable[[Look], Answer | None]] = {
    "resistance.short_circuit": short_circuit,
    "resistance.open_circuit": open_circuit,
}
