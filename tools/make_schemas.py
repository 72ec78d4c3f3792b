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

from pydantic import BaseModel

from bankwright.bank.data_line import LinePlan
from bankwright.bank.pieces.piece import Piece
from bankwright.build.emergency import Emergency
from bankwright.build.labels import Label
from bankwright.build.occasions import Occasion
from bankwright.build.progress import StepState
from bankwright.build.rack.clearances import Clearance
from bankwright.build.rack.lifts import Lift
from bankwright.build.upkeep import Upkeep
from bankwright.buy.cutting import Cutting
from bankwright.buy.lines import PartLine
from bankwright.circuit.inverse.next_reading import Choice
from bankwright.circuit.inverse.suspects import Suspect
from bankwright.forms.assumed import Assumed
from bankwright.forms.finding import VERDICTS, Finding, Missing, Verdict
from bankwright.forms.origin import Computed, FileKey, ReadingRef, Source
from bankwright.forms.sheets import Sheet, Step
from bankwright.forms.wording import Figure, Say
from bankwright.job.bringing import (
    ColumnTaken,
    Decided,
    Open,
    RowShown,
    RowsRejected,
    SegmentTold,
    TimeGap,
    ValuesMarked,
)
from bankwright.job.bus_documents import AddressTold, PollTold, Told
from bankwright.logbook.baseline import Measured
from bankwright.logbook.entries import Entry, Kind
from bankwright.match.charge_range import ChargeRange
from bankwright.plan.behind.rows import Behind
from bankwright.plan.lists.compare import ChangedKey, Difference
from bankwright.plan.lists.gaps import Gap
from bankwright.plan.suggest.move import Edit
from bankwright.prove.capacity.judged import CapacityTold
from bankwright.prove.millivolt_test import Wanted
from bankwright.prove.settings.setting import Entered, Setting
from bankwright.prove.share_plan import ShareDue
from bankwright.prove.share_test import Part
from bankwright.prove.sheet.sheet import StepNow
from bankwright.watch.listening import Life
from bankwright.watch.say.due import Due
from bankwright.watch.say.standing import Standing
from bankwright.watch.section import Section
from bankwright.web.api.shapes import BankOut, EditOut, EntriesOut

DRAFT = "https://json-schema.org/draft/2020-12/schema"
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
            first = {"code": str, "place": str, "verdict": Verdict, "margin": float | None, "assumed": bool}
        shown = {name: get_type_hints(getattr(kind, name).fget)["return"] for name in getattr(kind, "SHOWN", ())}
        return self.of({**first, **own, **shown})


def table(properties: dict[str, Schema]) -> Schema:
    """An object with these keys, all of them always there."""
    return {"type": "object", "properties": properties, "required": list(properties)}


PLACE = {"file": str, "line": int, "column": int}
HEAD = {"bank": str, "bank_digest": str}
COUNT = dict.fromkeys(VERDICTS, int)
TAKEN_APART = {"at": str | None, "places": [str], "solved": [Behind]}
STEP = get_type_hints(Step)
STATE = {key: get_type_hints(StepState)[key] for key in ("state", "ticked", "why", "waits_for", "outside")}
CUTTING = get_type_hints(Cutting)
CUT_PLAN = CUTTING.pop("plan").__args__[0]
READING = {"module": str, "voltage": float, "rested": float | None, "temperature_degc": float | None}
ENDS = {"low": float | None, "high": float | None}
CURRENT = {"at": str, "by": str, "value": float, "age": float | None, "typed": str}
ROUND = {"load": float, "on": [str], "off": [str], "round": int, "currents": [CURRENT], "volts": Mapping[str, float]}
DROP = {"at": str, "load": float, "off": [str], "millivolts": float, "zero": float | None, "age": float | None}
DROP |= {"current": float, "current_read": bool, "ohms": float, "low": float, "high": float, "settles": bool}
DROP |= {"typed": str}
PROVED = {**HEAD, "count": COUNT, "findings": [Finding], "next": Say | None, "suspect": Suspect | None}
PROVED |= {"next_reading": Choice | None, "parts": [Part], "plan_fails": [Finding]}
LOGGED = (
    {"number": int, "id": str, "kind": Kind, "at": str | None, "step": str | None, "time": str}
    | {"stored": str | None, "clock_known": bool | None, "quantity": str | None, "value": float | None}
    | dict.fromkeys(("unit", "as_typed", "instrument", "who", "origin", "note"), str | None)
    | dict.fromkeys(("low", "high"), float | None)
    | {"corrects": int | None, "corrected_by": int | None, "body": Mapping[str, Any] | None}
)
ANSWERS: dict[str, type[BaseModel]] = {"bank/1": BankOut, "edit/2": EditOut, "taken/1": EntriesOut}  # of the page alone
BAND = dict.fromkeys(("low", "middle", "high"), list[list[float]])


def documents() -> dict[str, dict[str, Any]]:
    """Top level of each document by its name and number."""
    return {
        "findings/2": {**HEAD, "rules": str | None, "count": COUNT, "findings": [Finding], "questions": [Gap]}
        | {"measurements": [Gap], "decisions": [Gap], "not_checked": [str]},
        "faults/1": {
            "faults": [
                {"file": str | None, "line": int | None, "column": int | None, "path": str, "code": str}
                | {"found": str, "expected": str, "hint": str, "also": (PLACE, None)}
            ]
        },
        "case/1": {**HEAD, "case": str, "edges": [{"name": str, "current": float, "drop": float, "loss": float}]}
        | {"assumed": [Assumed]},
        "differences/2": {**HEAD, "keys": [ChangedKey], "differences": [Difference]},
        "data-sheet/1": {"kind": str, "title": str, "refused": str, "proposals": Mapping[str, Any]}
        | {"models": Mapping[str, Mapping[str, Any]]},
        "suggestion/2": {**HEAD, "cures_all": bool, "interrupted": bool}
        | {"changes": [{"words": str, "edits": [Edit], "did": [Difference]}]}
        | {"heading": str, "all_tried": bool, "still_fails": [Finding], "look_for": [Say], "text": str},
        "parts/2": {**HEAD, "title": str, "lines": [PartLine]}
        | {"cut_plans": [{**CUTTING, "plan": ({**get_type_hints(CUT_PLAN), "gap": float}, None)}]}
        | {"findings": [Finding], "cost": float | None, "unpriced_lines": int, "currency": str, "pieces": [Piece]}
        | {"plan_fails": [Finding]},
        "build/2": {
            **HEAD,
            "sheet": {"title": str, "notes": [Say], "steps": [{**STEP, **STATE}]},
            "findings": [Finding],
        }
        | {"lifts": [Lift], "clearances": [Clearance], "labels": [Label], "upkeep": [Upkeep], "joint_rule": str}
        | {"emergency": Emergency, "not_solved": [str], "plan_fails": [Finding], "occasions": [Occasion]}
        | {"not_earthed": str},
        "settings/1": {
            **HEAD,
            "rows": [Setting],
            "entered": Mapping[str, Entered],
            "verdicts": Mapping[str, Verdict],
            "notes": [Say],
            "count": COUNT,
            "findings": [Finding],
        },
        "prove-sheet/1": {
            **HEAD,
            "title": str,
            "steps": [StepNow],
            "here": str | None,
            "back": [str],
            "absent": [str],
            "not_earthed": str,
            "count": COUNT,
            "findings": [Finding],
            "plan_fails": [Finding],
        },
        "prove-shares/2": {**PROVED, "rounds": [ROUND]},
        "prove-share-plan/1": {**HEAD, "how": [str], "loads": [ShareDue], "missing": [Missing]}
        | {"plan_fails": [Finding]},
        "prove-millivolts/2": {
            **PROVED,
            "wanted": [Wanted],
            "not_read": [str],
            "missing": [Missing],
            "readings": [DROP],
        },
        "watch-due/1": {**HEAD, "standing": Standing, "due": [Due]},
        "watch-week/1": {
            **HEAD,
            "begin": float,
            "end": float,
            "standing": Standing,
            "facts": [{"name": str, "words": str, "figures": dict[str, Figure]}],
            "due": [Due],
            "short": str,
        },
        "watch/1": {
            **HEAD,
            "standing": Standing,
            "since": float,
            "until": float,
            "listener": Life,
            "due": [Due],
            "count": COUNT,
            "findings": [Finding],
        }
        | {"sections": [{key: kind for key, kind in get_type_hints(Section).items() if key != "findings"}]},
        "prove-capacity/1": {
            **HEAD,
            "count": COUNT,
            "findings": [Finding],
            "told": [CapacityTold],
            "offset": float | None,
            "band": float,
            "shift": float,
            "whole": bool,
            "plan_fails": [Finding],
        },
        "baseline/1": {
            **HEAD,
            "sealed": str,
            "values": [Measured],
            "anew": Mapping[str, str],
            "not_sealed": [Measured],
            "open": [str],
        },
        "match/2": {**HEAD, "may_join": Verdict, "equally_charged": Verdict | None, "order": [str]}
        | {"largest_difference": Figure | None, "not_read": [str], "count": COUNT, "joining": [Finding]}
        | {"charge": [Finding], "unlike": [Finding], "ranges": [ChargeRange], "readings": [READING]}
        | {
            "settling": (
                {"modules": [str], "time": [float], "current": BAND, "hours_to_level": ENDS, "variants": int},
                None,
            )
        }
        | {"plans": [Sheet], "notes": [str], "plan_fails": [Finding], "not_earthed": str},
        "explained/2": {
            **HEAD,
            "code": str,
            "place": str,
            "title": str,
            "why": str,
            **TAKEN_APART,
            "findings": [Finding],
        },
        "cases/1": {**HEAD, "cases": [str]},
        "sheet/2": {**HEAD, "title": str, "steps": [{**STEP, **STATE}]},
        "emergency/1": {**HEAD, "emergency": Emergency},
        "import/1": {**HEAD, "file": str, "bytes": int, "ready": bool, "decided": [Decided], "columns": [ColumnTaken]}
        | {"not_taken": [Decided], "checks": [Decided], "open": [Open], "samples": [RowShown], "rows": int}
        | {"kept": int, "rejected": [RowsRejected], "marked": [ValuesMarked], "first": str | None, "last": str | None}
        | {"step": float, "backwards": int, "repeated": int, "gap_count": int, "gaps": [TimeGap]}
        | {"segments": [SegmentTold], "before": int, "overlaps": [str], "stored": int | None, "source": str | None},
        "survey/1": {**HEAD, "framing": str | None, "planned": [str], "heard": [{"address": int, "module": str | None}]}
        | {"requests": int, "held_back": bool, "told": [Told]},
        "address/1": {**HEAD, "addresses": [AddressTold], "line": LinePlan, "poll": PollTold | None},
        "logbook/1": {"entries": [LOGGED]},
        "log/1": {"entries": [Entry]},
    }


def schema(name: str, body: dict[str, Any]) -> Schema:
    """One whole schema."""
    shapes = Shapes()
    whole = table(
        {"format": {"const": f"bankwright.{name}"}, **{key: _inner(shapes, kind) for key, kind in body.items()}}
    )
    head = {"$schema": DRAFT, "title": f"bankwright.{name}"}
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
    whole = {name: schema(name, body) for name, body in documents().items()}
    whole |= {name: {"$schema": DRAFT, **_all_there(model)} for name, model in ANSWERS.items()}
    return {f"{name.replace('/', '-')}.json": json.dumps(body, indent=1) + "\n" for name, body in whole.items()}


def _all_there(model: type[BaseModel]) -> Schema:
    """The schema of an answer, as it is written: with every key."""
    return model.model_json_schema(mode="serialization")


def main() -> None:
    """Write them."""
    DOCS.mkdir(parents=True, exist_ok=True)
    for name, text in pages().items():
        (DOCS / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
