"""Numbers as foreign files write them: decimal comma, thousands marks, units behind them, and every way of saying none.

Gives: NumberForm, numbers_in(), number_of(), evidence(), Evidence, is_missing(), MISSING_WORDS.
A text that is neither a number nor one of the ways of saying none is bad, never nought.
Limits: which mark is the decimal one is decided by table.py from the evidence of all columns.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.logbook.elsewhere.units import written_unit

__all__ = ["MISSING_WORDS", "Evidence", "NumberForm", "evidence", "is_missing", "number_of", "numbers_in"]

# ways of saying that there is no value; common use, no source
MISSING_WORDS = frozenset(
    ("", "-", "--", "---", "----", "n/a", "na", "#n/a", "n.a.", "nan", "null", "none", "nil", "unavailable", "unknown",
     "not available", "no data", "nodata", "missing", "void", "invalid", "offline", "timeout", "time out", "#value!",
     "#ref!", "#div/0!", "#num!", "inf", "-inf", "+inf", "infinity", "-infinity", "?", "??", "*", "***", "ol", "o.l",
     "o.l.", "o l", "overload", "over", "overflow", "err", "error", "fault", "fehler", "k.a.", "k.w.", "n.v.",
     "n.v.t.", "nv", "s/o", "s.o.", "n.d.", "nd", "nb", "无", "\\n", ".", "x", "off", "disconnected", "nc", "--.-",
     "--.--", "-.-", "indisponible", "nicht verfügbar", "no disponible", "niet beschikbaar")
)  # fmt: skip
_GAPS = "\u00a0\u202f\u2009 "
_CLEAN = str.maketrans({"−": "-", "–": "-", "\u00a0": "", "\u202f": "", "\u2009": "", "'": "", "’": "", " ": ""})
_WITH_UNIT = re.compile(r"([+-]?[\d.,'’ \u00a0\u202f]*\d(?:[eE][+-]?\d+)?)\s*([^\d\s.,'’+\-].*)")
_PLAIN = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_MOST_KEPT = 50_000


@dataclass(frozen=True, slots=True)
class NumberForm:
    """How numbers are written in a file."""

    decimal: str = "."
    thousands: str = ""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What texts say about marks: one that proves each reading, and one that has two readings."""

    point: str = ""  # proves that the point is the decimal mark
    comma: str = ""
    both: str = ""  # could be either


def is_missing(text: str) -> bool:
    """Whether a text says that there is no value."""
    plain = text.strip().lower()
    return plain in MISSING_WORDS or not plain.strip("-.* ")


def evidence(texts: Iterable[str]) -> Evidence:
    """Look at the marks inside numbers."""
    point = comma = both = ""
    for text in texts:
        plain = text.strip().strip("+-").translate(_CLEAN)
        found = re.match(r"[\d.,]+", plain)
        if found is None or not ("." in found[0] or "," in found[0]):
            continue
        says = _says(found[0].rstrip(".,"))
        point = point or (text.strip() if says == "." else "")
        comma = comma or (text.strip() if says == "," else "")
        both = both or (text.strip() if says == "?" else "")
    return Evidence(point, comma, both)


def _says(number: str) -> str:
    """Which mark must be the decimal one; "?" where both could be."""
    points, commas = number.count("."), number.count(",")
    if points and commas:
        return "." if number.rfind(".") > number.rfind(",") else ","
    mark = "." if points else ","
    if points + commas > 1:
        return "," if points else "."  # 1.299.000: grouped, so the other one is the decimal mark
    whole, _, rest = number.partition(mark)
    if not mark or not rest:
        return ""
    grouped = len(rest) == 3 and 1 <= len(whole) <= 3 and not whole.startswith("0")
    return "?" if grouped else mark


def number_of(text: str, form: NumberForm) -> float | None:
    """One number, NaN where the text says there is none, None where it is neither."""
    if is_missing(text):
        return math.nan
    plain = text.strip()
    found = _WITH_UNIT.fullmatch(plain)
    if found is not None and not plain[:2].lower().startswith("0x"):
        if written_unit(found[2]) is None:
            return None
        plain = found[1]
    plain = plain.translate(_CLEAN)
    if plain[:2].lower() == "0x":
        return _hex(plain)
    if form.decimal == ",":
        plain = plain.replace(".", "" if form.thousands == "." else "x").replace(",", ".")
    elif form.thousands == ",":
        plain = plain.replace(",", "")
    if plain.endswith("-") and len(plain) > 1:
        plain = "-" + plain[:-1]
    return float(plain) if _PLAIN.fullmatch(plain) else None


def _hex(text: str) -> float | None:
    try:
        return float(int(text, 16))
    except ValueError:
        return None


def numbers_in(texts: Sequence[str] | np.ndarray, form: NumberForm) -> tuple[np.ndarray, np.ndarray]:
    """A column of texts: values (n,) float64 with NaN where there is none, and which are bad (n,) bool."""
    if isinstance(texts, np.ndarray):  # numbers already
        return texts, np.zeros(len(texts), bool)
    quick = _quick(texts, form)
    if quick is not None:
        return quick, np.zeros(len(texts), bool)
    known: dict[str, float | None] = {}
    value, bad = np.full(len(texts), math.nan), np.zeros(len(texts), bool)
    for row, text in enumerate(texts):
        if text in known:
            found = known[text]
        else:
            found = number_of(text, form)
            if len(known) < _MOST_KEPT:
                known[text] = found
        if found is None:
            bad[row] = True
        else:
            value[row] = found
    return value, bad


def _quick(texts: Sequence[str], form: NumberForm) -> np.ndarray | None:
    """All at once where every text is a plain number; None where one is not."""
    try:
        if form.decimal == ",":
            joined = "\n".join(texts)
            if "." in joined or "_" in joined:
                return None
            texts = joined.replace(",", ".").split("\n")
        value = np.fromiter(map(float, texts), np.float64, len(texts))
    except ValueError:
        return None
    return None if np.isinf(value).any() or any("_" in text for text in texts[:100]) else value
