"""Rules of a device's sheet on the circuit it may stand in: L/R, short circuits it withstands, current limiting.

Gives: current_limiting(), time_constant(), withstands().
Takes: a Look.
Limits: several are a question; a value said for AC is not taken.
"""

from __future__ import annotations

from bankwright.sheets.answer import Answer, Ask, Said, settle
from bankwright.sheets.concepts import negated, phrase
from bankwright.sheets.rules.common import says_ac, says_dc
from bankwright.sheets.view import Hit, Look

__all__ = ["current_limiting", "time_constant", "withstands"]


def _of_dc(hit: Hit) -> bool:
    text = f"{hit.seen.row.label} {hit.seen.text} {hit.seen.row.section} {hit.seen.side}"
    return not says_ac(text) or says_dc(text)


def time_constant(look: Look) -> Answer | None:
    """Largest L/R that the breaking capacity on DC holds for."""
    hits = [h for h in look.hits("time", "timeconstant") if "timeconstant" in h.seen.own]
    hits = [
        h for h in hits if not h.seen.row.values or "timeconstant" in h.seen.label or h.seen.of("time")[0] is h.measure
    ]
    return settle([h.seen.said(f"{h.measure.high} {h.measure.unit}") for h in hits], "several are printed")


def withstands(look: Look) -> Answer | None:
    """Short-circuit current that it withstands closed and may be closed onto."""
    none = ("interrupt", "melting", "clearing", "drop")
    hits = [h for h in look.hits("current", "withstand", none=none) if "withstand" in h.seen.own and _of_dc(h)]
    answer = settle([h.said for h in hits], "several are printed")
    onto = all(phrase("closed_onto").search(f"{h.seen.row.label} {h.seen.text}") for h in hits)
    return (
        answer if onto or not isinstance(answer, Said) else Ask("that it may be closed onto it is not said", (answer,))
    )


def current_limiting(look: Look) -> Answer | None:
    """Marked current-limiting."""
    for seen in look.rows:
        text = f"{seen.row.label} {seen.text}" if seen.row.values else seen.text
        if phrase("current_limiting").search(text):
            return seen.said(not negated(text))
    return None
