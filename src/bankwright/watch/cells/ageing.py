"""Section: capacity. What each module holds by its own count between full and empty, and whether it falls.

Gives: section(), FALLS, pairs_of(), sizes_of().
Limits: both ends must be visited within two days of each other, fifteen times; a bank that never is has no trend, and
the note names the test that stands in for it. The kept days are read, nothing is counted anew.
Sources: capacity.py; anchors of the state of charge (watch/charge/estimator.py).
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from bankwright.forms.card import Card
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, Say, say
from bankwright.watch.cells.capacity import ALARM, Pair, Sizes, Trend, trend, years_left
from bankwright.watch.charge.daily import kept_estimator
from bankwright.watch.charge.estimator import LOW_SD, LOW_SOC, TOP_SD, TOP_SOC, Anchor, Estimator
from bankwright.watch.charge.facts import facts_of
from bankwright.watch.section import Asked, Row, Section

__all__ = ["FALLS", "pairs_of", "section", "sizes_of"]

TITLE = "Capacity"
NEEDED, LONGEST = 15, 48.0  # pairs; h between two anchors of a pair
COUNT_SD = 0.005  # of the capacity: steps and noise of the count between two anchors; own choice
FALLS = Card(
    "W-CAPACITY-1", "The capacity does not fall", f"fall <= {ALARM:g} standard deviations",
    Source("own trials, docs/cells.md", how_known="derived"), ends_at="caution",
    why="The module with the least capacity ends the discharge of all. A sensor whose gain drifts looks the same.",
)  # fmt: skip


def section(asked: Asked) -> Section:
    """Each module, from the anchors that were kept."""
    facts, _ = facts_of(asked.bank)
    found = None if facts is None else kept_estimator(facts, asked.telemetry)
    if found is None:
        return Section("capacity", TITLE, notes=(_waits(0),))
    findings: list[Finding] = []
    rows: list[Row] = []
    for m, name in enumerate(found.facts.names):
        pairs = tuple(pairs_of(found, m))
        seen = trend(pairs, sizes_of(found, m, pairs))
        if seen is None:
            return Section("capacity", TITLE, notes=(_waits(len(pairs)),))
        findings.append(_told(name, seen))
        rows.append(_row(name, seen))
    return Section("capacity", TITLE, tuple(findings), tuple(rows))


def pairs_of(found: Estimator, module: int) -> Iterator[Pair]:
    """Each full charge and the empty end beside it, with what was counted between, the sensor's offset taken off."""
    for one, other in pairwise(found.anchors):
        hours = other.hours - one.hours
        if one.is_top == other.is_top or not 0 < hours <= LONGEST or _has_gap(one, other):
            continue
        offset = (one.offset[module] + other.offset[module]) / 2
        counted = other.counted[module] - one.counted[module] - offset * hours
        yield Pair(other.time, TOP_SOC - LOW_SOC, counted if one.is_top else -counted, hours)


def _has_gap(one: Anchor, other: Anchor) -> bool:
    """Whether time passed between two anchors in which nothing was counted."""
    return (other.time - one.time) / 3600 - (other.hours - one.hours) > 0.2


def sizes_of(found: Estimator, module: int, pairs: tuple[Pair, ...]) -> Sizes:
    """Errors of a pair of one module: of the two anchors, and of what was counted between them."""
    hours = float(np.mean([pair.hours for pair in pairs])) if pairs else 0.0
    doubt = float(found.whole_offsets()[1][module]) * hours
    return Sizes(float(np.hypot(TOP_SD, LOW_SD)), float(np.hypot(doubt, COUNT_SD * found.facts.capacity_ah[module])))


def _waits(count: int) -> Say:
    words = (
        "No trend of the capacity: {count} times full and empty within two days so far, {needed} are needed. A capacity"
        " test stands in for it: full, down to the end at a fifth of the capacity an hour, and back."
    )
    return say(words, count=str(count), needed=str(NEEDED))


def _told(name: str, seen: Trend) -> Finding:
    do = say("Check the current sensor against a clamp meter first; then a capacity test there and back.")
    fall = Figure(seen.fall, "share", seen.fall - 1.96 * seen.fall_sd, seen.fall + 1.96 * seen.fall_sd)
    gaps: dict[str, Figure | str] = {"module": name, "fall": fall}
    if not seen.falls:
        return FALLS.found(name, fall, (None, None), say("{module}: a fall of {fall} is within luck", **gaps), do)
    words = "{module} counts {fall} less between full and empty than at first: gain or capacity"
    left = years_left(seen)
    if left is not None:
        words += "; in a straight line 80 % are reached in {low} to {high} years"
        gaps |= {"low": f"{left.low:.1f}", "high": f"{left.high:.1f}"}
    return FALLS.found(name, fall, (None, None), say(words, **gaps), do, forced="caution")


def _row(name: str, seen: Trend) -> Row:
    half = 1.96 * seen.now_sd
    figure = Figure(seen.now, "capacity_ah", seen.now - half, seen.now + half)
    return Row(name, figure, None, say("by count between full and empty, {pairs} pairs", pairs=str(seen.pairs)))
