"""Values as TOML text, and equality that is as strict as a file is.

Gives: value_text(), key_text(), same(). Takes plain Python values.
Limits: one-line forms only (an inline table, an array); no dates are made, none stand in a bank file.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence

__all__ = ["Plain", "key_text", "same", "value_text"]

Plain = object  # str, int, float, bool, and lists and dicts of them

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_ESCAPES = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\r": "\\r", "\t": "\\t", "\b": "\\b", "\f": "\\f"}


def key_text(key: str) -> str:
    """Write a key, bare where it can be."""
    return key if _BARE.fullmatch(key) else _string(key)


def value_text(value: Plain) -> str:
    """Write a value on one line; TypeError for a kind that a bank file does not hold."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return _float(value)
    if isinstance(value, str):
        return _string(value)
    if isinstance(value, Mapping):
        inside = ", ".join(f"{key_text(str(key))} = {value_text(item)}" for key, item in value.items())
        return f"{{ {inside} }}" if inside else "{}"
    if isinstance(value, Sequence):
        return "[" + ", ".join(value_text(item) for item in value) + "]"
    raise TypeError(f"a bank file holds no {type(value).__name__}")


def _float(value: float) -> str:
    if not math.isfinite(value):
        raise TypeError("a bank file holds finite numbers only")
    text = repr(value)
    return text if any(mark in text for mark in ".e") else f"{text}.0"


def _string(text: str) -> str:
    made = "".join(_ESCAPES.get(c) or (f"\\u{ord(c):04x}" if ord(c) < 32 or ord(c) == 127 else c) for c in text)
    return f'"{made}"'


def same(one: Plain, other: Plain) -> bool:
    """True for equal values of equal kinds; 1, 1.0 and true differ, two nan are equal, the order of keys is free."""
    if type(one) is not type(other):
        return False
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(same(a, b) for a, b in zip(one, other, strict=True))
    if isinstance(one, float) and isinstance(other, float) and math.isnan(one):
        return math.isnan(other)
    return one == other
