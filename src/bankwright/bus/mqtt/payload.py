"""What a payload holds: a number, a text, or JSON; whatever else it is has a name.

Gives: Unreadable, parsed_json(), plain_text(), number_of(), moment_of(), MOST_PAYLOAD.
Limits: numbers have a decimal point, never a comma; NaN and infinities are no numbers; times without an offset tell
nothing.
"""

from __future__ import annotations

import json
import math
import re
from datetime import datetime
from typing import Any

__all__ = ["MOST_PAYLOAD", "Unreadable", "moment_of", "number_of", "parsed_json", "plain_text"]

MOST_PAYLOAD = 65536  # bytes
_NUMBER = re.compile(r"[+-]?[0-9]{1,40}(\.[0-9]{0,40})?([eE][+-]?[0-9]{1,3})?")
_MILLISECONDS = 1e11  # a larger number counts ms since 1970: as s it would be the year 5138


class Unreadable(Exception):
    """A payload that is not what the map says; the words are one of a few."""


def plain_text(payload: bytes) -> str:
    """The payload as text; Unreadable."""
    if len(payload) > MOST_PAYLOAD:
        raise Unreadable("too large")
    try:
        return payload.decode("utf-8").strip()
    except UnicodeDecodeError:
        raise Unreadable("not text in UTF-8") from None


def _no_constant(word: str) -> None:
    raise ValueError(word)


def parsed_json(text: str) -> Any:
    """The payload as JSON; Unreadable when it is none, too deep, or holds NaN."""
    try:
        return json.loads(text, parse_constant=_no_constant)
    except (ValueError, RecursionError):
        raise Unreadable("not JSON") from None


def number_of(value: Any) -> float | None:
    """A finite number, also one that is written as text; None for everything else."""
    if isinstance(value, bool):
        return None
    if isinstance(value, (int, float)):
        try:
            number = float(value)
        except OverflowError:
            return None
        return number if math.isfinite(number) else None
    if isinstance(value, str) and _NUMBER.fullmatch(value.strip()):
        number = float(value)
        return number if math.isfinite(number) else None
    return None


def moment_of(value: Any) -> float | None:
    """A time in s since 1970; None where it tells none."""
    number = number_of(value)
    if number is not None:
        return number / 1000 if abs(number) > _MILLISECONDS else number
    if not isinstance(value, str) or len(value) > 40:
        return None
    try:
        moment = datetime.fromisoformat(value.strip())
    except ValueError:
        return None
    return None if moment.tzinfo is None else moment.timestamp()
