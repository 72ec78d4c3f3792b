"""Dates and clock times as texts, a whole column at once.

Gives: Moments, moments(), shape_of(), Shape, ORDERS. Texts whose digits stand at the same places share one shape; a
shape is understood once, its numbers are taken from the letters of all its texts together.
Limits: which of day and month comes first is given (date_order.py); zones are zones.py; what is no date is bad, never
bent into one.
Sources: ISO 8601 for the order year, month, day; the calendar is numpy's proleptic Gregorian one.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

__all__ = ["ORDERS", "Moments", "Shape", "moments", "shape_of"]

ORDERS = {"day-first": "dmy", "month-first": "mdy", "year-first": "ymd"}
DAY = 86_400_000  # ms
_MONTHS = {
    name: number
    for number, names in enumerate(
        ("jan ene", "feb fev", "mar maa mrz mae", "apr avr abr", "may mai mei", "jun juin", "jul juil", "aug aou ago",
         "sep set", "oct okt out", "nov", "dec dez dic"), 1)
    for name in names.split()
}  # fmt: skip
_ZONES = {"z": 0, "utc": 0, "gmt": 0, "cet": 60, "mez": 60, "cest": 120, "mesz": 120, "wet": 0, "west": 60, "eet": 120,
          "eest": 180, "bst": 60, "est": -300, "edt": -240, "cdt": -300, "mst": -420, "mdt": -360, "pst": -480,
          "pdt": -420}  # fmt: skip
_DATE = r"(?P<a>\d{1,4})(?P<s>[-/.]|\. ?|年)(?P<b>\d{1,2}|[^\W\d_]{3,9}\.?)(?:(?P=s)|月|\. ?)(?P<c>\d{1,4})日?"
_NAMED = (
    r"(?:(?P<d1>\d{1,2})\.?[ -]*(?P<m1>[^\W\d_]{3,9})\.?,?[ -]*(?P<y1>\d{4})"
    r"|(?P<m2>[^\W\d_]{3,9})\.? (?P<d2>\d{1,2}),? (?P<y2>\d{4}))"
)
_PACKED = r"(?P<packed>(?:19|20)\d{6})"
_CLOCK = (
    r"(?P<h>\d{1,3})[:hH点时](?P<min>\d{2})(?:[:'分m](?P<sec>\d{2})(?:[.,:](?P<frac>\d{1,9}))?s?秒?)?"
    r"\s*(?P<ap>[ap]\.?\s?m\.?)?(?:\s*Uhr)?"
)
_PACKED_CLOCK = r"(?P<hms>\d{4}(?:\d{2})?)"
_ZONE = r"\s*(?:\(?(?P<zone>Z|[A-Za-z]{3,4})\)?|(?:UTC|GMT)?(?P<off>[+-−]\d{1,2}:?(?:\d{2})?))?"
_DAYS = r"(?:[^\W\d_]{2,9}\.?,?\s+)?"
_WHOLE = tuple(
    re.compile(rf"\s*{_DAYS}{pattern}{_ZONE}\s*", re.IGNORECASE)
    for pattern in (
        rf"(?:{_DATE}|{_NAMED})(?:[T,;\s_]+(?:um\s|at\s)?{_CLOCK})?",
        rf"{_PACKED}(?:[T\s_-]?{_PACKED_CLOCK}|[T\s_-]+{_CLOCK})?",
        rf"(?P<six>\d{{6}})[T\s_-]+{_PACKED_CLOCK}",
        _CLOCK,
        rf"{_CLOCK}\s+(?:{_DATE}|{_NAMED})",
    )
)
_WIDEST = 48


@dataclass(frozen=True, slots=True)
class Shape:
    """Where the parts of a moment stand in texts of one shape; a part is (first, behind) or a number."""

    date: tuple[tuple[int, int], ...]  # three spans in the order written; () without a date
    month: int | None  # by name: then `date` is day, year
    is_year_first: bool
    separator: str
    clock: tuple[tuple[int, int], ...]  # hour, minute, second
    fraction: tuple[int, int] | None
    afternoon: int | None  # 0: am, 12: pm, None: 24 hours
    zone: int | None  # min
    unknown_zone: str = ""


@dataclass(frozen=True, slots=True)
class Moments:
    """What texts say; `bad` where they say nothing that can be."""

    local: np.ndarray  # (n,) int64 ms, as if the clock were UTC
    offset: np.ndarray  # (n,) float64 min east of UTC, NaN where the text has no zone
    bad: np.ndarray  # (n,) bool
    has_date: bool


@lru_cache(4096)
def shape_of(text: str) -> Shape | None:
    """Understand one text; None when it is no moment."""
    if len(text) > _WIDEST:
        return None
    for pattern in _WHOLE:
        found = pattern.fullmatch(text)
        if found is not None:
            return _shape(found)
    return None


def _shape(found: re.Match[str]) -> Shape | None:
    parts = found.groupdict()
    date, month, year_first = _date_spans(found, parts)
    if month == 0:
        return None
    clock: tuple[tuple[int, int], ...] = ()
    if parts.get("h"):
        clock = tuple(found.span(name) for name in ("h", "min", "sec") if parts[name])
    elif parts.get("hms"):
        first, behind = found.span("hms")
        clock = tuple((at, at + 2) for at in range(first, behind, 2))
    zone, unknown = _zone(parts)
    afternoon = None if not parts.get("ap") else 12 if parts["ap"][0] in "pP" else 0
    fraction = found.span("frac") if parts.get("frac") else None
    separator = (parts.get("s") or "").strip()
    return Shape(date, month, year_first, separator, clock, fraction, afternoon, zone, unknown)


def _date_spans(
    found: re.Match[str], parts: dict[str, str | None]
) -> tuple[tuple[tuple[int, int], ...], int | None, bool]:
    """Spans, month by name (0: no month of that name), whether the year comes first."""
    if parts.get("packed"):
        at = found.start("packed")
        return ((at, at + 4), (at + 4, at + 6), (at + 6, at + 8)), None, True
    if parts.get("six"):
        at = found.start("six")
        return ((at, at + 2), (at + 2, at + 4), (at + 4, at + 6)), None, False
    for number in "12":
        if parts.get(f"m{number}"):
            spans = (found.span(f"d{number}"), found.span(f"y{number}"))
            return spans, _month(parts[f"m{number}"] or ""), False
    if not parts.get("a"):
        return (), None, False
    year_first = found.end("a") - found.start("a") == 4
    if not (parts["b"] or "").isdigit():
        order = ("c", "a") if year_first else ("a", "c")
        return (found.span(order[0]), found.span(order[1])), _month(parts["b"] or ""), False
    return (found.span("a"), found.span("b"), found.span("c")), None, year_first


def _month(name: str) -> int:
    plain = name.lower().replace("é", "e").replace("û", "u").replace("ä", "ae").strip(".")
    return next((number for begin, number in _MONTHS.items() if plain.startswith(begin)), 0)


def _zone(parts: dict[str, str | None]) -> tuple[int | None, str]:
    if parts.get("off"):
        text = (parts["off"] or "").replace("−", "-").replace(":", "")
        sign, digits = (-1 if text[0] == "-" else 1), text[1:]
        hours, minutes = (digits[:-2], digits[-2:]) if len(digits) > 2 else (digits, "0")
        return sign * (60 * int(hours) + int(minutes)), ""
    name = (parts.get("zone") or "").lower()
    return (None, "") if not name else (_ZONES.get(name), "" if name in _ZONES else name)


def moments(texts: Sequence[str], order: str) -> Moments:
    """Read a column; `order` ("dmy", "mdy", "ymd") says how three numbers of a date stand where that is open."""
    count = len(texts)
    local, bad = np.zeros(count, np.int64), np.ones(count, bool)
    offset = np.full(count, np.nan)
    has_date = False
    if not count:
        return Moments(local, offset, bad, True)
    letters = np.array(texts, dtype=f"<U{min(max(map(len, texts)), _WIDEST + 1) or 1}")
    codes = letters.view(np.uint32).reshape(count, -1)
    for rows in _alike(codes):
        shape = shape_of(str(letters[rows[0]]))
        if shape is None:
            continue
        digits = codes[rows].astype(np.int64) - 48
        local[rows], fine = _local(digits, shape, order)
        bad[rows] = ~fine
        offset[rows] = np.nan if shape.zone is None else shape.zone
        has_date = has_date or bool(shape.date)
    return Moments(local, offset, bad, has_date)


def _alike(codes: np.ndarray) -> list[np.ndarray]:
    """Rows by where their digits stand and what the other letters are."""
    shapes = np.where((codes >= 48) & (codes <= 57), 48, codes).astype(np.uint64)
    weights = np.random.default_rng(7).integers(1, 1 << 62, codes.shape[1], np.uint64) | np.uint64(1)
    _, group = np.unique((shapes * weights).sum(axis=1, dtype=np.uint64), return_inverse=True)
    order = np.argsort(group, kind="stable")
    return np.split(order, np.flatnonzero(np.diff(group[order])) + 1)


def _number(digits: np.ndarray, span: tuple[int, int]) -> np.ndarray:
    value = np.zeros(len(digits), np.int64)
    for at in range(*span):
        value = value * 10 + digits[:, at]
    return value


def _local(digits: np.ndarray, shape: Shape, order: str) -> tuple[np.ndarray, np.ndarray]:
    """Ms of one shape, and where they can be."""
    fine = np.ones(len(digits), bool)
    ms = np.zeros(len(digits), np.int64)
    if shape.date:
        days, fine = _days(digits, shape, order)
        ms = days * DAY
    parts = [_number(digits, span) for span in shape.clock]
    parts += [np.zeros(len(digits), np.int64)] * (3 - len(parts))
    hour, minute, second = parts
    if shape.afternoon is not None:
        fine &= (hour >= 1) & (hour <= 12)
        hour = hour % 12 + shape.afternoon
    fine &= (minute < 60) & (second < 61)
    if shape.date:
        fine &= (hour < 24) | ((hour == 24) & (minute == 0) & (second == 0))
    ms += hour * 3_600_000 + minute * 60_000 + second * 1000
    if shape.fraction is not None:
        width = shape.fraction[1] - shape.fraction[0]
        ms += np.round(_number(digits, shape.fraction) * 1000.0 / 10**width).astype(np.int64)
    return ms, fine


def _days(digits: np.ndarray, shape: Shape, order: str) -> tuple[np.ndarray, np.ndarray]:
    """Days since 1970, and where there is such a day."""
    numbers = [_number(digits, span) for span in shape.date]
    widths = [behind - first for first, behind in shape.date]
    if shape.month is not None:
        (day, year), month = numbers, np.full(len(digits), shape.month)
        short = widths[1] <= 2
    else:
        how = "ymd" if shape.is_year_first else order
        place = [how.index(letter) for letter in "dmy"]
        day, month, year = (numbers[k] for k in place)
        short = widths[place[2]] <= 2
    year = year + 2000 * short
    fine = (month >= 1) & (month <= 12) & (day >= 1) & (year >= 1970) & (year < 2200)
    months = np.where(fine, (year - 1970) * 12 + month - 1, 0)
    first = months.astype("M8[M]").astype("M8[D]").astype(np.int64)
    length = (months + 1).astype("M8[M]").astype("M8[D]").astype(np.int64) - first
    return first + day - 1, fine & (day <= length)
