"""Small words of Watch: days and months as people write them, the first clause of a sentence, a figure with its band.

Gives: day_text(), month_text(), clause(), first_sentence(), band_text(), several(), things().
Limits: UTC throughout, as everywhere in Watch.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from datetime import UTC, datetime

from bankwright.forms.wording import Figure, amount_text

__all__ = ["band_text", "clause", "day_text", "first_sentence", "month_text", "several", "things"]

_ADDED = re.compile(r" \((?:rule|limit) [^()]*\)$")
_SENTENCE = re.compile(r"\.\s+(?=[A-Z])")


def day_text(seconds: float) -> str:
    """3 November 2026."""
    day = datetime.fromtimestamp(seconds, UTC)
    return f"{day.day} {day:%B %Y}"


def month_text(seconds: float) -> str:
    """November 2026."""
    return f"{datetime.fromtimestamp(seconds, UTC):%B %Y}"


def clause(text: str) -> str:
    """The first clause of a sentence, so that it can stand inside another one."""
    head = _ADDED.sub("", text.strip().rstrip(".")).partition("; ")[0].rstrip(".")
    first = head.partition(" ")[0]
    return head[:1].lower() + head[1:] if first[1:].islower() or len(first) == 1 else head


def first_sentence(text: str) -> str:
    """The first sentence without its full stop."""
    return _SENTENCE.split(text.strip(), maxsplit=1)[0].rstrip(".")


def band_text(figure: Figure, units: str = "metric") -> str:
    """210 ± 40 µΩ; both ends where they do not lie alike or are in another unit; the bare figure without a band."""
    low, high = figure.low, figure.high
    value = amount_text(figure.value, figure.quantity, units)
    if low is None or high is None or low == high:
        return value
    ends = [_rounded(end, figure, units) for end in (low, high)]
    above, below = high - figure.value, figure.value - low
    if figure.quantity == "temperature_degc" or abs(above - below) > 0.02 * max(abs(above), abs(below), 1e-12):
        return f"{value} ({ends[0]} to {ends[1]})"
    half = _rounded((high - low) / 2, figure, units)
    middle = _fitting(figure.value, (high - low) / 2)
    value = _plain(middle, figure, units) if middle else f"0 {half.rpartition(' ')[2]}"
    if value.rpartition(" ")[2] != half.rpartition(" ")[2]:  # 1.33 mΩ and 64 µΩ: no one reads that at a glance
        return f"{value} ({_plain(_to(low, 3), figure, units)} to {_plain(_to(high, 3), figure, units)})"
    return f"{value.rpartition(' ')[0]} ± {half}"


def _to(value: float, digits: int) -> float:
    return float(f"{value:.{digits}g}")


def _fitting(value: float, half: float) -> float:
    """No finer than the second digit of half its band."""
    if not half > 0 or not math.isfinite(half):
        return value
    step = 10.0 ** (math.floor(math.log10(half)) - 1)
    return round(value / step) * step


def _rounded(value: float, figure: Figure, units: str) -> str:
    """To two digits, without noughts behind the point."""
    return _plain(float(f"{value:.2g}"), figure, units)


def _plain(value: float, figure: Figure, units: str) -> str:
    """Without noughts behind the point."""
    number, gap, unit = amount_text(value, figure.quantity, units).rpartition(" ")
    return (number.rstrip("0").rstrip(".") if "." in number else number) + gap + unit


def several(parts: Sequence[str], most: int = 3) -> str:
    """Join clauses; beyond so many the rest is counted."""
    rest = len(parts) - most
    return "; ".join(parts[:most]) + (f"; and {rest} more" if rest > 0 else "")


def things(count: int) -> str:
    """One thing, 2 things."""
    return "one thing" if count == 1 else f"{count} things"
