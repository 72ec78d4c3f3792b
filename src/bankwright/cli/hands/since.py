"""A moment typed by hand: a date, a time, or how long ago.

Gives: seconds_of(). A time without a zone is UTC.
"""

from __future__ import annotations

import time
from datetime import UTC, datetime

from bankwright.cli.hands.entry import wrong

__all__ = ["seconds_of"]

_SPANS = {"d": 86400.0, "h": 3600.0, "min": 60.0}


def seconds_of(option: str, text: str) -> float:
    """Give s since 1970 of `2026-03-01`, `2026-03-01T14:00+01:00`, `30d`, `12h`; QuestionError for anything else."""
    plain = text.strip()
    for unit, span in _SPANS.items():
        number = plain.removesuffix(unit).strip()
        if number != plain and number.isascii() and number.isdigit() and len(number) < 7:
            return time.time() - int(number) * span
    try:
        moment = datetime.fromisoformat(plain)
    except ValueError as error:
        raise wrong(option, f"found {text!r}", "Write 2026-03-01, 2026-03-01T14:00+01:00, or 30d, 12h") from error
    return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()
