"""Rules of a module's sheet on its trips: what stays possible, how it comes back, when it closes again.

Gives: after_trip(), recloses(), restart().
Takes: a Look.
Limits: several ways are a question.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from bankwright.sheets.answer import Answer, Ask, Said, settle
from bankwright.sheets.concepts import ideas, phrase, plain
from bankwright.sheets.rules.sentences import after_trip_told, restart_told
from bankwright.sheets.view import Look, Seen

__all__ = ["after_trip", "recloses", "restart"]


def after_trip(way: str) -> Callable[[Look], Answer | None]:
    """What stays possible after a trip of one direction."""
    other = "discharge" if way == "charge" else "charge"
    stays = "still discharges" if way == "charge" else "still charges"

    def rule(look: Look) -> Answer | None:
        found = []
        for seen in look.where("afterx", "trip|overcurrent|overvoltage|undervoltage|protection"):
            if way not in seen.label and direction_of(seen) != way:
                continue
            if "possible" in seen.value and other in seen.value:
                found.append(
                    seen.said("opens" if re.search(r"\bnot\b|nicht|\bpas\b|\bno\b|non|niet", seen.text) else stays)
                )
            elif re.search(
                r"opens|disconnect|both|öffnet|trennt|ouvre|abre|apre|opent|off\b", seen.text, re.IGNORECASE
            ):
                found.append(seen.said("opens"))
        return settle(found or after_trip_told(look, way), "several are printed")

    return rule


def direction_of(seen: Seen) -> str:
    """The direction that a trip's label names."""
    if "overvoltage" in seen.label:
        return "charge"
    return "discharge" if "undervoltage" in seen.label else ""


def restart(look: Look) -> Answer | None:
    """How it comes back after a trip or a deep discharge."""
    found = []
    for seen in look.where("restart|undervoltage", none=("overcurrent", "shortcircuit")):
        if not seen.row.values or not ("restart" in seen.every or phrase("starts").search(_whole(seen))):
            continue
        if "overcurrent" in ideas(seen.row.line) and "undervoltage" not in ideas(seen.row.line):
            continue  # a sentence on over-current says nothing of a deep discharge
        have = seen.value
        if "bycharger" in have or (
            "charger" in have and re.search(r"\bby\b|durch|par\b|por\b|da\b|door", plain(seen.text))
        ):
            found.append(seen.said("by charger"))
        if "hand" in have:
            found.append(seen.said("by hand"))
        if "selfmade" in have and "bycharger" not in have:
            found.append(seen.said("by itself"))
    return settle(found or restart_told(look), "several ways are printed")


def _whole(seen: Seen) -> str:
    return f"{seen.row.label} {seen.text}"


def recloses(look: Look) -> Answer | None:
    """Whether and when it closes again by itself after an over-current trip."""
    found, bounded = [], False
    for seen in look.where(
        "recloses|restart", "overcurrent|shortcircuit|trip", none=("overvoltage", "undervoltage", "breaker")
    ):
        text = f"{seen.row.label}: {seen.text}" if seen.row.values else seen.text
        times = [m for m in seen.of("time") if not m.ranges]
        if not ideas(text) & {"recloses", "restart"}:
            continue
        if phrase("never").search(text if not seen.row.values else seen.text) or ("hand" in seen.value and not times):
            found.append(seen.said("never"))
        elif "afterx" in ideas(text) and len(times) == 1:
            found.append(seen.said(f"after {times[0].text()}"))
            bounded = bounded or "hand" in ideas(text) or bool(phrase("tries").search(text))
    answer = settle(found, "several are printed")
    return Ask("so many times, then it stays open", (answer,)) if bounded and isinstance(answer, Said) else answer
