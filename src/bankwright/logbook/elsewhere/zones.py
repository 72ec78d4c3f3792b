"""Local time to UTC: fixed offsets, named zones, the hour that comes twice and the hour that never is.

Gives: Zone, zone_named(), Night, to_utc(). In the hour that comes twice the order of the rows decides which of the two
it is; where only one pass through that hour is in the file, its rows are marked as unsure. A time in the hour that
never is proves that the logger does not follow the clock change.
Limits: rows are never reordered. Sources: the IANA time zone database, by the standard library.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np

__all__ = ["Night", "Zone", "to_utc", "zone_named"]

HOUR = 3_600_000  # ms
_BIN = 900_000  # ms; clocks change at quarters of an hour
_FIXED = re.compile(r"(?:UTC|GMT)?\s*([+-−])\s*(\d{1,2})(?::?(\d{2}))?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Zone:
    """A zone by its name; `follows`: the logger's clock was changed with the season."""

    name: str
    follows: bool = True


@dataclass(slots=True)
class Night:
    """What is carried from one piece of the file to the next, and what the hours that come twice held."""

    before: int | None = None  # local time of the last row, ms
    step: float = 60_000.0  # usual step of the rows, ms
    in_second: bool = False
    window: int | None = None  # the hour that comes twice that is being read
    rows: dict[int, int] = field(default_factory=dict)  # window -> rows in it
    twice: set[int] = field(default_factory=set)  # windows that were passed through twice
    known_once: frozenset[int] = frozenset()  # windows known, from an earlier reading, to have been passed once
    never: int = 0  # rows in hours that never are


def zone_named(name: str) -> tzinfo | None:
    """A zone; None when there is none of this name."""
    if name.strip().upper() in ("UTC", "Z", "GMT"):
        return UTC
    fixed = _FIXED.fullmatch(name.strip())
    if fixed is not None:
        minutes = 60 * int(fixed[2]) + int(fixed[3] or 0)
        if minutes > 14 * 60:
            return None
        return timezone(timedelta(minutes=minutes if fixed[1] == "+" else -minutes))
    try:
        return ZoneInfo(name.strip())
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return None


def to_utc(local: np.ndarray, zone: Zone, night: Night) -> tuple[np.ndarray, np.ndarray]:
    """UTC in ms, int64, same shape, and which rows may be an hour off, bool. `night` is carried on."""
    place = zone_named(zone.name)
    if place is None:
        raise ValueError(f"no zone of the name {zone.name!r}")
    bins, where = np.unique(local // _BIN, return_inverse=True)
    first, second = _offsets(bins * _BIN, place, zone.follows)
    early, late = first[where], second[where]
    unsure = np.zeros(len(local), bool)
    offset = early.copy()
    twice, never = early > late, early < late
    night.never += int(never.sum())
    if twice.any():
        offset, unsure = _of_twice(local, early, late, twice, night)
    else:
        night.window = None
    if len(local):
        night.before = int(local[-1])
    return local - offset, unsure


def _offsets(starts: np.ndarray, place: tzinfo, follows: bool) -> tuple[np.ndarray, np.ndarray]:
    """Offset at the first and at the second passing of each quarter of an hour, ms."""
    first, second = np.empty(len(starts), np.int64), np.empty(len(starts), np.int64)
    for k, start in enumerate(starts.tolist()):
        moment = (datetime(1970, 1, 1) + timedelta(milliseconds=start)).replace(tzinfo=place)
        if follows:
            first[k], second[k] = _ms(moment), _ms(moment.replace(fold=1))
        else:
            winter, summer = (_ms(moment.replace(month=month, day=1, hour=12)) for month in (1, 7))
            first[k] = second[k] = min(winter, summer)
    return first, second


def _ms(moment: datetime) -> int:
    offset = moment.utcoffset()
    return 0 if offset is None else round(offset.total_seconds() * 1000)


def _of_twice(
    local: np.ndarray, early: np.ndarray, late: np.ndarray, twice: np.ndarray, night: Night
) -> tuple[np.ndarray, np.ndarray]:
    """Offsets of rows in hours that come twice, by the order of the rows."""
    offset, unsure = early.copy(), np.zeros(len(local), bool)
    before, last = night.before, -2
    for row in np.flatnonzero(twice).tolist():
        now = int(local[row])
        window = now // (6 * HOUR)
        if window != night.window:
            night.window, night.in_second = window, False
        if row > 0:
            before = int(local[row - 1])
        if before is not None and not night.in_second and (row != 0 or last != -2 or night.rows.get(window)):
            lost = int(early[row] - late[row])
            step = now - before
            if step <= 0 and abs(step + lost - night.step) < abs(step - night.step):
                night.in_second = True
                night.twice.add(window)
        night.rows[window] = night.rows.get(window, 0) + 1
        if night.in_second:
            offset[row] = late[row]
        unsure[row] = window in night.known_once
        last = row
    return offset, unsure
