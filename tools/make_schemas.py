"""Writes docs/schema/*.json: the shape of every JSON document that Bankwright prints, made from its dataclasses.

The rules are those of forms/as_json: a Figure becomes value, unit, quantity and limits; a Say its text, words and figures;
a Finding gets verdict, margin and assumed; an origin says its kind; NaN becomes null. A document may gain fields within its number, so
the schemas forbid none; tests/house/test_json_schemas.py, which compares what stands there with what would be written, does.
"""

from __future__ import annotations

import dataclasses
import json
import types
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from bankwright.bank.piece import Piece
from bankwright.build.clearances import Clearance
from bankwright.build.emergency import Emergency
from bankwright.build.labels import Label
from bankwright.build.lifts import Lift
from bankwright.build.progress import StepState
from bankwright.build.upkeep import Upkeep
from bankwright.buy.cutting import Cutting
from bankwright.buy.parts import PartLine
from bankwright.forms.finding import VERDICTS, Finding, Verdict
from bankwright.forms.origin import Computed, FileKey, ReadingRef, Source
from bankwright.forms.sheets import Sheet, Step
from bankwright.forms.wording import Figure, Say
from bankwright.match.charge_range import ChargeRange
from bankwright.plan.compare import ChangedKey, Difference
from bankwright.plan.gaps import Gap
from bankwright.plan.moves import Edit

DOCS = Path(__file__).parents[1] / "docs" / "schema"
ORIGINS = (Source, FileKey, ReadingRef, Computed)
PLAIN: dict[Any, Any] = {
    float: {"type": ["number", "null"]},  # null where it is not finite
    int: {"type": "integer"},
    str: {"type": "string"},
    bool: {"type": "boolean"},
    type(None): {"type": "null"},
    Any: {},
}
Schema = dict[str, Any]


class Shapes:
    """Schemas of types; dataclasses are written once, under their name."""

    def __init__(self) -> None:
        self.defs: dict[str, Schema] = {}

    def of(self, kind: Any) -> Schema:
        """The schema of a type, or of a table {key: type}."""
        if isinstance(kind, dict):
            return table({key: self.of(inner) for key, inner in kind.items()})
        if kind in PLAIN:
            return dict(PLAIN[kind])
        if isinstance(kind, list):
            return {"type": "array", "items": self.of(kind[0])}
        if dataclasses.is_dataclass(kind):
            return self.named(kind)
        return self.compound(kind, get_origin(kind), get_args(kind))

    def compound(self, kind: Any, origin: Any, args: tuple[Any, ...]) -> Schema:
        """Unions, literals, tuples, mappings."""
        if origin in (Union, types.UnionType):
            return {"anyOf": [self.of(part) for part in args]}
        if origin is Literal:
            return {"enum": list(args)}
        if origin is tuple and args[-1] is not Ellipsis:
            parts = [self.of(part) for part in args]
            return {"type": "array", "prefixItems": parts, "minItems": len(parts), "maxItems": len(parts)}
        if origin in (tuple, list, Sequence):
            return {"type": "array", "items": self.of(args[0])}
        if origin in (dict, Mapping):
            return {"type": "object", "additionalProperties": self.of(args[1])}
        raise TypeError(f"no schema for {kind!r}")

    def named(self, kind: type) -> Schema:
        """A reference to a dataclass, written when it is first met."""
        name = kind.__name__
        if name not in self.defs:
            self.defs[name] = {}  # it may hold itself
            self.defs[name] = self.dataclass(kind)
        return {"$ref": f"#/$defs/{name}"}

    def dataclass(self, kind: type) -> Schema:
        """Fields as forms/as_json writes them."""
        if kind is Figure:
            return self.of({"value": float, "unit": str, "quantity": str, "low": float | None, "high": float | None})
        if kind is Say:
            return self.of({"text": str, "words": str, "figures": Mapping[str, Figure | str]})
        hints = get_type_hints(kind)
        own = {field.name: hints[field.name] for field in dataclasses.fields(kind)}
        first: dict[str, Any] = {}
        if kind in ORIGINS:
            first = {"kind": Literal[kind.__name__]}
        if kind is Finding:
            first = {"code": str, "verdict": Verdict, "margin": float | None, "assumed": bool}
        return self.of({**first, **own})


def table(properties: dict[str, Schema]) -> Schema:
    """An object with these keys, all of them always there."""
    return {"type": "object", "properties": properties, "required": list(properties)}


PLACE = {"file": str, "line": int, "column": int}
HEAD = {"bank": str, "bank_digest": str}
COUNT = dict.fromkeys(VERDICTS, int)
STEP = get_type_hints(Step)
STATE = {key: get_type_hints(StepState)[key] for key in ("state", "ticked", "why", "waits_for", "outside")}
CUTTING = get_type_hints(Cutting)
CUT_PLAN = CUTTING.pop("plan").__args__[0]
READING = {"module": str, "voltage": float, "rested": float | None, "temperature_degc": float | None}
ENDS = {"low": float | None, "high": float | None}
BAND = dict.fromkeys(("low", "middle", "high"), list[list[float]])


def documents() -> dict[str, dict[str, Any]]:
    """Top level of each document by its name and number."""
    return {
        "findings/1": {**HEAD, "rules": str | None, "count": COUNT, "findings": [Finding], "questions": [Gap]}
        | {"measurements": [Gap], "decisions": [Gap], "not_checked": [str]},
        "faults/1": {
            "faults": [
                {"file": str | None, "line": int | None, "column": int | None, "path": str, "code": str}
                | {"found": str, "expected": str, "hint": str, "also": (PLACE, None)}
            ]
        },
        "case/1": {**HEAD, "case": str, "edges": [{"name": str, "current": float, "drop": float, "loss": float}]},
        "differences/1": {**HEAD, "keys": [ChangedKey], "differences": [Difference]},
        "suggestion/1": {**HEAD, "cures_all": bool, "interrupted": bool}
        | {"changes": [{"words": str, "edits": [Edit], "did": [Difference]}]}
        | {"still_fails": [Finding], "look_for": [Say], "text": str},
        "parts/1": {"bank_digest": str, "title": str, "lines": [PartLine]}
        | {"cut_plans": [{**CUTTING, "plan": ({**get_type_hints(CUT_PLAN), "gap": float}, None)}]}
        | {"findings": [Finding], "cost": float | None, "unpriced_lines": int, "currency": str, "pieces": [Piece]},
        "build/1": {
            **HEAD,
            "sheet": {"title": str, "notes": [Say], "steps": [{**STEP, **STATE}]},
            "findings": [Finding],
        }
        | {"lifts": [Lift], "clearances": [Clearance], "labels": [Label], "upkeep": [Upkeep], "joint_rule": str}
        | {"emergency": Emergency, "not_solved": [str]},
        "match/1": {**HEAD, "may_join": Verdict, "equally_charged": Verdict | None, "order": [str]}
        | {"largest_difference": Figure | None, "not_read": [str], "count": COUNT, "joining": [Finding]}
        | {"charge": [Finding], "unlike": [Finding], "ranges": [ChargeRange], "readings": [READING]}
        | {
            "settling": (
                {"modules": [str], "time": [float], "current": BAND, "hours_to_level": ENDS, "variants": int},
                None,
            )
        }
        | {"plans": [Sheet], "notes": [str]},
    }


def schema(name: str, body: dict[str, Any]) -> Schema:
    """One whole schema."""
    shapes = Shapes()
    whole = table(
        {"format": {"const": f"bankwright.{name}"}, **{key: _inner(shapes, kind) for key, kind in body.items()}}
    )
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": f"bankwright.{name}"}
    return {**head, **whole, "$defs": dict(sorted(shapes.defs.items()))}


def _inner(shapes: Shapes, kind: Any) -> Schema:
    """A type, a table, a list of one, or a table that may be null."""
    if isinstance(kind, tuple):
        return {"anyOf": [_inner(shapes, kind[0]), {"type": "null"}]}
    if isinstance(kind, list):
        return {"type": "array", "items": _inner(shapes, kind[0])}
    if isinstance(kind, dict):
        return table({key: _inner(shapes, inner) for key, inner in kind.items()})
    return shapes.of(kind)


def pages() -> dict[str, str]:
    """Text of each file by its name."""
    return {
        f"{name.replace('/', '-')}.json": json.dumps(schema(name, body), indent=1) + "\n"
        for name, body in documents().items()
    }


def main() -> None:
    """Write them."""
    DOCS.mkdir(parents=True, exist_ok=True)
    for name, text in pages().items():
        (DOCS / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
