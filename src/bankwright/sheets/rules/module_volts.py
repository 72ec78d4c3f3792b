"""Rules of a module's sheet on voltages: cells at the end and at a trip, the highest at its terminals.

Gives: cell_end(), cell_trip(), highest_voltage().
Takes: a Look.
Limits: a cut-off of which end or protection is not said is asked; recommended voltages are no limits.
"""

from __future__ import annotations

from collections.abc import Callable

from bankwright.sheets.answer import Answer, Ask, settle
from bankwright.sheets.concepts import ideas
from bankwright.sheets.rules.common import best, between, cell_volts, different, volts_of
from bankwright.sheets.rules.sentences import cell_opens_at
from bankwright.sheets.view import Hit, Look

__all__ = ["cell_end", "cell_trip", "highest_voltage"]


def cell_trip(way: str, idea: str) -> Callable[[Look], Answer | None]:
    """Voltage of a cell at which its protection opens."""

    def rule(look: Look) -> Answer | None:
        hits = [h for h in look.hits("voltage", idea, none=("recommended", "spread", "restart")) if cell_volts(h)]
        hits += [
            h
            for h in look.hits(
                "voltage", "protection", "voltage|cell", none=("recommended", "spread", "restart", "end"), way=way
            )
            if cell_volts(h) and not h.seen.own & {"overvoltage", "undervoltage"}
        ]
        hits = [h for h in hits if h.seen.direction in (way, "") and not _releases(h)]
        sure = [h for h in hits if h.seen.own & {"guard", "undervoltage", "overvoltage"}]
        low = "low" if way == "discharge" else "high"
        ends = [h for h in look.hits("voltage", "protection", "cell") if cell_volts(h) and not h.seen.direction]
        sure = sure or [h for h in ends if {"protection", low} <= h.seen.label]  # "lower cut-off" under "cells"
        sure = sure or cell_opens_at(look, way)
        if not sure and hits:
            return Ask("end of it or protection is not said", different(hits))
        named = [h for h in sure if "guard" in h.seen.own]
        return between(named or sure) or best((named, sure), "several are printed")

    return rule


def _releases(hit: Hit) -> bool:
    return "restart" in ideas(hit.before[-30:])


def cell_end(way: str) -> Callable[[Look], Answer | None]:
    """Voltage of a cell at the end of charge or discharge; not the protection's."""

    def rule(look: Look) -> Answer | None:
        none = ("recommended", "overvoltage", "undervoltage", "spread", "overcurrent", "restart")
        hits = [h for h in look.hits("voltage", way=way, none=none) if cell_volts(h) and not h.measure.ranges]
        ends = [h for h in hits if h.seen.label & {"end", "empty"}]
        ends += _empty_in_prose(look, none) if way == "discharge" else []
        cut = [h for h in hits if "cutout" in h.seen.label or "protection" in h.seen.label]
        if ends:
            return settle([h.said for h in ends], "several are printed")
        return Ask("end of it or protection is not said", different(cut)) if cut else None

    return rule


def _empty_in_prose(look: Look, none: tuple[str, ...]) -> list[Hit]:
    """Running text: "the pack is empty at 2.75 V per cell"."""
    hits = [h for h in look.hits("voltage", "empty", none=none) if not h.seen.row.values and not h.measure.ranges]
    return [h for h in hits if "cell" in h.seen.value and "empty" in ideas(h.before) and cell_volts(h)]


def highest_voltage(look: Look) -> Answer | None:
    """The stated maximum at its terminals."""
    none = (
        "recommended",
        "protection",
        "discharge",
        "cell",
        "breaker",
        "solar",
        "ac",
        "overvoltage",
        "spread",
        "joining",
        "fuse",
    )
    hits = [h for h in look.hits("voltage", "most", none=none) if 10 <= volts_of(h.measure) <= 70]
    hits = [h for h in hits if h.seen.every & {"charge", "terminal", "voltage"} and not h.measure.ranges]
    return best(([h for h in hits if h.seen.direction == "charge"], hits), "several are printed")
