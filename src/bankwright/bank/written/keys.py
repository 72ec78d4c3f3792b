"""The keys that a bank file knows, read from the written models.

Gives: keys(), model_at(), form_of(), nearest_key(), RETIRED (keys that were, with advice). Serves faults ("did you
mean"), the manual and the page's forms.
Limits: no values are read here.
"""

from __future__ import annotations

from functools import cache
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from bankwright.bank.file.spans import Path
from bankwright.bank.written.values import Form
from bankwright.forms.nearest import nearest

__all__ = ["RETIRED", "form_of", "keys", "model_at", "nearest_key", "table_of"]

RETIRED = {  # never given out again
    "peak_let_through": "Leave it out: nothing is computed from a peak current; let_through (A2s) is what counts",
}
_OTHER_WORDS = {
    "battery": "modules", "batteries": "modules", "module": "modules", "packs": "modules", "fuses": "devices",
    "breakers": "devices", "inverter": "inverters", "device": "devices", "size": "cable", "gauge": "cable",
    "wire": "cable", "amps": "rating", "current_rating": "rating", "weight": "mass", "voltage": "volts",
    "interrupting": "interrupts", "breaking_capacity": "interrupts",
    "bolt": "stud", "busbars": "bars", "meters": "instruments",
    "type": "kind", "internal_resistance": "resistance", "standby": "standby_current", "polarized": "polarised",
}  # fmt: skip


@cache
def keys(model: type[BaseModel]) -> dict[str, FieldInfo]:
    """Keys of a table as they are written, with their fields."""
    return {field.alias or name: field for name, field in model.model_fields.items()}


def _parts(annotation: Any) -> list[Any]:
    """Take an annotation apart: `X | None` gives X, Annotated gives what it wraps."""
    if get_origin(annotation) in (Union, UnionType):
        return [part for arg in get_args(annotation) if arg is not type(None) for part in _parts(arg)]
    if hasattr(annotation, "__metadata__"):
        return [*_parts(annotation.__origin__), *annotation.__metadata__]
    return [annotation]


def table_of(field: FieldInfo) -> tuple[type[BaseModel], str] | None:
    """The table that a field holds and how: "table", "blocks" or "named"; None for a value."""
    for part in _parts(field.annotation):
        if isinstance(part, type) and issubclass(part, BaseModel):
            return part, "table"
        args = get_args(part)
        if get_origin(part) is list and isinstance(args[0], type) and issubclass(args[0], BaseModel):
            return args[0], "blocks"
        if get_origin(part) is dict and isinstance(args[1], type) and issubclass(args[1], BaseModel):
            return args[1], "named"
    return None


def model_at(root: type[BaseModel], path: Path) -> type[BaseModel] | None:
    """The table that stands at a path; None when it is a value or no key."""
    model: type[BaseModel] | None = root
    waiting = False  # for the number of a block or the name of a kind
    for part in path:
        if waiting:
            waiting = False
            continue
        field = keys(model).get(str(part)) if model else None
        table = table_of(field) if field else None
        if table is None:
            return None
        model, waiting = table[0], table[1] != "table"
    return None if waiting else model


def form_of(field: FieldInfo) -> Form:
    """What may be written for a value."""
    parts = [*field.metadata, *_parts(field.annotation)]
    for part in parts:
        if isinstance(part, Form):
            return part
    for part in parts:
        if get_origin(part) is Literal:
            words = " | ".join(f'"{word}"' if isinstance(word, str) else str(word) for word in get_args(part))
            return Form("one of", words)
        if get_origin(part) is list:
            inner = form_of(FieldInfo.from_annotation(get_args(part)[0]))
            words = inner.sample if inner.words == "one of" else inner.words
            return Form(f"list: {words}", f"[{inner.sample.split(' or ')[0].split(' | ')[0]}]")
    raise TypeError(f"no form for {field.annotation!r}")


def nearest_key(model: type[BaseModel], word: str) -> str | None:
    """The key that was probably meant; None when nothing is near."""
    known = list(keys(model))
    other = _OTHER_WORDS.get(word.lower())
    if other in known:
        return other
    return nearest(word, known)
