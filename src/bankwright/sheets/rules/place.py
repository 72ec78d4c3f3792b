"""Rules that all kinds share on where a thing may stand: enclosure and height above sea level.

Gives: altitude(), enclosure(), longest(), metres().
Takes: a Look.
Limits: several codes or heights are a question; a code of a socket, a display or an accessory is not the thing's.
Sources: IP codes of IEC 60529 and enclosure types of NEMA 250 by their spelling alone.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from bankwright.forms.constants import FOOT, INCH, RACK_UNIT
from bankwright.sheets.answer import Answer, Ask, Said, settle
from bankwright.sheets.concepts import ideas
from bankwright.sheets.measures import Measure
from bankwright.sheets.view import Hit, Look, Seen

__all__ = ["altitude", "enclosure", "longest", "metres"]

_IP = re.compile(r"(?<![A-Za-z])IP[ -]?([0-6X][0-9X]K?)(?![0-9])", re.IGNORECASE)
_NEMA = re.compile(r"\bNEMA[ -]*(?:Type[ -]*)?\d{1,2}[RXSPK]?\b", re.IGNORECASE)
_TYPE = re.compile(r"\btype[ ]*(\d{1,2}[RXSPK]?)\b", re.IGNORECASE)
_PART = ("breaker", "holder", "fuse", "message")
_ACCESSORY = re.compile(
    r"display|socket|plug|connector|stecker|buchse|accessor|option|zubeh|fiche|conector|connettor", re.I
)
LOWEST = 300.0  # m: a distance below it is a step of derating or a place in a room


def enclosure(look: Look) -> Answer | None:
    """Code of the enclosure: "IP65", "NEMA Type 1"."""
    found: list[Said] = []
    for seen in look.rows:
        text = f"{seen.row.label} {seen.text}" if seen.row.values else seen.text
        if seen.around & {"holder", "message"} or seen.label & set(_PART) or _ACCESSORY.search(text):
            continue
        found += [seen.said(code) for code in _codes(text, "ingress" in (seen.label or seen.value))]
    answer = settle(found, "several enclosures are printed")
    return Ask("its own is printed; it may sit in another", (answer,)) if isinstance(answer, Said) else answer


def _codes(text: str, named: bool) -> list[str]:
    codes = [f"IP{m[1].upper()}" for m in _IP.finditer(text)]
    codes += [" ".join(m[0].split()) for m in _NEMA.finditer(text)]
    if not codes and named:
        codes = [f"type {m[1].upper()}" for m in _TYPE.finditer(text)]
    return codes


def metres(measure: Measure) -> float:
    """A length in m, its upper end."""
    by = {"mm": 1e-3, "cm": 1e-2, "in": INCH, "ft": FOOT, "U": RACK_UNIT}
    return measure.number() * by.get(measure.unit, 1.0)


def altitude(look: Look) -> Answer | None:
    """Height above sea level up to which its ratings hold."""
    found: list[Said] = []
    for seen in _high_rows(look):
        heights = [m for m in seen.of("length") if m.unit in ("m", "ft") and metres(m) >= LOWEST]
        metric = [m for m in heights if m.unit == "m"] or heights
        found += [seen.said(f"{m.high} {m.unit}") for m in metric]
    return settle(found, "several heights are printed")


def _high_rows(look: Look) -> list[Seen]:
    named = [s for s in look.where("altitude") if "altitude" in s.own and not s.every & {"storage"}]
    named = [s for s in named if "breaker" not in (s.own if look.kind == "device" else s.every)]
    return named or [s for s in look.where("height|high") if any(metres(m) >= LOWEST for m in s.of("length"))]


def longest(hits: Sequence[Hit], why: str) -> Answer | None:
    """A time that the thing keeps; a question where it is not said that it is the longest."""
    ends = [
        hit.seen.said(f"{end} {hit.measure.unit}")
        for hit in hits
        for end in dict.fromkeys((hit.measure.low, hit.measure.high))
    ]
    firm = [
        h
        for h in hits
        if h.measure.bound == "most"
        or {"most", "within"} & (h.seen.label | ideas(h.after[:16]) | ideas(h.before[-30:]))
    ]
    typical = any("typical" in h.seen.label | ideas(h.before[-20:]) | ideas(h.after[:20]) for h in hits)
    if ends and (typical or len(firm) < len(hits)):
        return Ask("that it takes no longer is not said", tuple(ends))
    return settle(ends, why)


def _bounds(hit: Hit) -> frozenset[str]:
    """What is said right beside a time, and in its label."""
    return hit.seen.label | ideas(hit.after[:16]) | ideas(hit.before[-30:])
