"""Which of day and month comes first in dates that do not say it.

Gives: order_of(), Ordered. Proofs, in this order: the year has four digits and comes first; the month is a name; a
number above 12 stands where a month would; dates parted by points (day first: common practice, no source); under one
reading the rows go on from one to the next, under the other they jump by months.
Limits: where nothing proves it, it is asked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.logbook.elsewhere.moments import DAY, moments, shape_of

__all__ = ["Ordered", "order_of"]

_WORDS = {"dmy": "day first", "mdy": "month first", "ymd": "year first"}
_JUMP = 27 * DAY


@dataclass(frozen=True, slots=True)
class Ordered:
    """The order of a date's numbers ("" where it is open), and why."""

    order: str
    words: str
    why: str


def order_of(texts: Sequence[tuple[str, int]]) -> Ordered:
    """Decide from texts of a column, each with its line."""
    shapes = [(text, line, shape_of(text)) for text, line in texts]
    dated = [(text, line, shape) for text, line, shape in shapes if shape is not None and shape.date]
    if not dated:
        return Ordered("ymd", "no date", "the times have no date")
    numeric = [(text, line, shape) for text, line, shape in dated if shape.month is None and not shape.is_year_first]
    if not numeric:
        named = any(shape.month is not None for _, _, shape in dated)
        why = "the month is a name" if named else f"the year has four digits: {dated[0][0].strip()}"
        return Ordered("ymd", "month by name" if named else "year first", why)
    return _of_numbers([(text, line) for text, line, _ in numeric], {shape.separator for _, _, shape in numeric})


def _of_numbers(texts: list[tuple[str, int]], separators: set[str]) -> Ordered:
    short = all(behind - first <= 2 for first, behind in _last_span(texts[0][0]))
    tries = ("dmy", "mdy", "ymd") if short else ("dmy", "mdy")
    read = {order: moments([text for text, _ in texts], order) for order in tries}
    bad = {order: int(found.bad.sum()) for order, found in read.items()}
    least = min(bad.values())
    left = [order for order in tries if bad[order] == least]
    if len(left) == 1:
        other = next(order for order in ("mdy", "dmy", "ymd") if order in tries and order != left[0])
        row = int(np.flatnonzero(read[other].bad & ~read[left[0]].bad)[0])
        text, line = texts[row]
        return Ordered(left[0], _WORDS[left[0]], f"{text.strip()}{_at(line)} is no date {_WORDS[other]}")
    if separators == {"."} and "dmy" in left:
        return Ordered("dmy", "day first", "dates parted by points are day first (common practice, no source)")
    follow = np.array([line > 0 for _, line in texts])  # those of the beginning follow each other in the file
    kept = [text for text, is_kept in zip(texts, follow & ~read[left[0]].bad, strict=True) if is_kept]
    if not kept:
        return _either(texts, left)
    return _by_steps(kept, {order: read[order].local[follow & ~read[left[0]].bad] for order in left})


def _last_span(text: str) -> list[tuple[int, int]]:
    shape = shape_of(text)
    return [shape.date[2]] if shape is not None and len(shape.date) == 3 else []


def _at(line: int) -> str:
    return f" (line {line})" if line else ""


def _by_steps(texts: list[tuple[str, int]], local: dict[str, np.ndarray]) -> Ordered:
    """Rows of one log go on from one to the next; a reading that jumps by months where another does not is wrong."""
    jumps, usual = {}, {}
    for order, times in local.items():
        step = np.diff(times)
        jumps[order] = int(((np.abs(step) > _JUMP) | (step < -DAY)).sum())
        usual[order] = float(np.median(np.abs(step))) if len(step) else 0.0
    even = [order for order in local if not jumps[order]]
    if len(even) == 1 and 0 < usual[even[0]] < DAY / 2:
        other = next(order for order in local if order != even[0])
        step = np.diff(local[other])
        row = int(np.flatnonzero((np.abs(step) > _JUMP) | (step < -DAY))[0]) + 1
        text, line = texts[min(row, len(texts) - 1)]
        days = f"{abs(step[row - 1]) / DAY:.0f} days"
        why = f"read {_WORDS[other]}, the rows would jump by {days} at {text.strip()}{_at(line)}"
        return Ordered(even[0], _WORDS[even[0]], why)
    return _either(texts, list(local))


def _either(texts: list[tuple[str, int]], orders: Sequence[str]) -> Ordered:
    """Nothing proves it."""
    readings = " or ".join(_shown(texts[0][0], order) for order in orders)
    return Ordered("", " or ".join(_WORDS[order] for order in orders), f"{texts[0][0].strip()} is {readings}")


def _shown(text: str, order: str) -> str:
    read = moments([text], order)
    return str(read.local.astype("M8[ms]").astype("M8[D]")[0])
