"""The only encoder: frozen objects to plain JSON values.

Gives: plain(), dumps(). Figures become {"value", "unit", "low", "high"} in SI; null, never NaN; keys in fixed
order. A class names in SHOWN what is written of it beside its fields.
Limits: no schema here; the top level is made by the stage that prints it: {"format": "bankwright.<what>/<n>", ...}.
"""

from __future__ import annotations

import dataclasses
import json
import math
from collections.abc import Mapping
from enum import Enum
from pathlib import Path
from typing import Any

from bankwright.forms.finding import Finding
from bankwright.forms.origin import Cited, Computed, FileKey, Place, ReadingRef, Source
from bankwright.forms.quantities import quantity
from bankwright.forms.wording import Figure, Say

__all__ = ["dumps", "plain"]


def _number(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def _figure(figure: Figure) -> dict[str, Any]:
    low = None if figure.low is None else _number(figure.low)
    high = None if figure.high is None else _number(figure.high)
    unit = quantity(figure.quantity).unit
    return {
        "value": _number(figure.value),
        "unit": unit,
        "quantity": figure.quantity,
        "low": low,
        "high": high,
    }


def _finding(finding: Finding) -> dict[str, Any]:
    margin = finding.margin
    body: dict[str, Any] = {"code": finding.code, "place": finding.place, "verdict": finding.verdict}
    body["margin"] = None if margin is None else _number(margin)
    body["assumed"] = finding.assumed
    for field in dataclasses.fields(finding):
        if field.name != "code":
            body[field.name] = plain(getattr(finding, field.name))
    return body


def _origin(origin: Source | FileKey | ReadingRef | Computed) -> dict[str, Any]:
    body = {field.name: plain(getattr(origin, field.name)) for field in dataclasses.fields(origin)}
    return {"kind": type(origin).__name__, **body}


def plain(value: Any) -> Any:
    """Turn a value into what JSON can carry; TypeError for a kind that has no written form."""
    if value is None or isinstance(value, (bool, str, int)):
        return value
    if isinstance(value, float):
        return _number(value)
    if isinstance(value, Figure):
        return _figure(value)
    if isinstance(value, Say):
        return {
            "text": value.text(),
            "words": value.words,
            "figures": {k: plain(v) for k, v in value.figures.items()},
        }
    if isinstance(value, Finding):
        return _finding(value)
    if isinstance(value, (Source, FileKey, ReadingRef, Computed)):
        return _origin(value)
    if isinstance(value, (Place, Cited)) or (dataclasses.is_dataclass(value) and not isinstance(value, type)):
        names = (*(field.name for field in dataclasses.fields(value)), *getattr(value, "SHOWN", ()))
        return {name: plain(getattr(value, name)) for name in names}
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, Enum):
        return plain(value.value)
    if isinstance(value, Path):
        return value.name
    if isinstance(value, (set, frozenset)):
        return sorted(plain(item) for item in value)
    if hasattr(value, "tolist"):  # arrays, without importing numpy
        return plain(value.tolist())
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    raise TypeError(f"no written form for {type(value).__name__}")


def dumps(value: Any, indent: int | None = 2) -> str:
    """Write a value as JSON text, in ASCII: no locale changes it. NaN never leaves."""
    return json.dumps(plain(value), indent=indent, ensure_ascii=True, allow_nan=False)
