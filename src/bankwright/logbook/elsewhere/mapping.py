"""What a file was found to mean, as a whole: enough to convert it, kept as TOML and used again.

Gives: Take, Long, By, Mapping, EACH, as_toml(), mapping_of(), mapping_in(), steps_of().
Limits: finding it is propose.py, converting by it is convert.py.
"""

from __future__ import annotations

import dataclasses
import json
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bankwright.forms.faults import Fault
from bankwright.forms.quantities import QUANTITIES
from bankwright.logbook.elsewhere.clock import KINDS, TimeOf
from bankwright.logbook.elsewhere.layout import Layout
from bankwright.logbook.elsewhere.numbers import NumberForm
from bankwright.logbook.elsewhere.told import NotUnderstood

__all__ = ["EACH", "By", "Long", "Mapping", "Take", "as_toml", "mapping_in", "mapping_of", "steps_of"]

EACH = "@"


@dataclass(frozen=True, slots=True)
class Take:
    """One column (or item) that is taken: value inside = count * factor + offset."""

    heading: str
    quantity: str
    at: str
    factor: float = 1.0
    offset: float = 0.0
    missing: tuple[float, ...] = ()  # counts that stand for "no value"
    signed: int = 0  # bits of a count whose upper half is negative; 0: none
    less: str = ""  # heading of the tap below: a cell is the difference
    written: str = ""  # unit as it was taken
    step: float = 0.0  # finest step of its texts, in the unit inside, where finer than the store's own; 0: not


@dataclass(frozen=True, slots=True)
class Long:
    """One quantity a row: which columns say what it is, and how much."""

    item: str
    value: str


@dataclass(frozen=True, slots=True)
class By:
    """A column that says which module each row is of: each text with the module's name."""

    column: str
    modules: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Mapping:
    """All that is needed to convert a file."""

    encoding: str
    layout: Layout
    time: TimeOf
    takes: tuple[Take, ...]
    long: Long | None = None
    middle: tuple[str, str, str] | None = None  # places of lowest and highest, and of the middle made of them
    step: float = 0.0  # usual time from row to row, s
    by: By | None = None  # then places begin with EACH, which stands for the row's module

    def column(self, heading: str) -> int:
        """Number of a column."""
        return self.layout.names.index(heading)


def as_toml(mapping: Mapping) -> str:
    """Write it for a person to read, keep and change."""
    lines = [
        "# How a log of another program is read. Made by `bankwright import`; used again with --map.",
        "format = 1",
        "",
        "[file]",
        *_keys(_file_keys(mapping)),
        "",
        "[time]",
        *_keys(_time_keys(mapping)),
    ]
    if mapping.long is not None:
        lines += ["", "[long]", *_keys({"item": mapping.long.item, "value": mapping.long.value})]
    if mapping.by is not None:
        texts, modules = zip(*mapping.by.modules, strict=True)
        lines += ["", "[by]", *_keys({"column": mapping.by.column, "texts": list(texts), "modules": list(modules)})]
    if mapping.middle is not None:
        lines += ["", "[middle]", *_keys(dict(zip(("lowest", "highest", "at"), mapping.middle, strict=True)))]
    for take in mapping.takes:
        lines += ["", "[[take]]", *_keys({f.name: _plain(getattr(take, f.name)) for f in dataclasses.fields(take)})]
    return "\n".join(lines) + "\n"


def _file_keys(mapping: Mapping) -> dict[str, Any]:
    layout = mapping.layout
    return {
        "encoding": mapping.encoding,
        "delimiter": layout.delimiter,
        "headings": list(layout.names),
        "header": layout.header,
        "first": layout.first,
        "quoted": layout.quoted,
        "comment": layout.comment,
        "wrapped": layout.wrapped,
        "decimal": layout.numbers.decimal,
        "thousands": layout.numbers.thousands,
        "rejoin": list(layout.rejoin),
    }


def _time_keys(mapping: Mapping) -> dict[str, Any]:
    time = mapping.time
    return {
        "columns": [mapping.layout.names[k] for k in time.columns],
        "kind": time.kind,
        "order": time.order,
        "unit": time.unit,
        "zone": time.zone,
        "follows_clock_changes": time.follows,
        "start": list(time.start),
        "wraps": time.wraps,
        "step": mapping.step,
    }


def _plain(value: Any) -> Any:
    return list(value) if isinstance(value, tuple) else value


def _keys(table: dict[str, Any]) -> list[str]:
    """Keys in TOML; texts as JSON strings, which TOML reads alike."""
    return [f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in table.items()]


def steps_of(mapping: Mapping) -> dict[str, float]:
    """Storage step of each quantity whose texts are finer than the store's own."""
    found: dict[str, float] = {}
    for take in mapping.takes:
        if take.step:
            found[take.quantity] = min(take.step, found.get(take.quantity, take.step))
    return found


def mapping_of(path: Path) -> Mapping:
    """Read a kept mapping; NotUnderstood says what is wrong with it."""
    try:
        text = path.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise _wrong(path.name, str(error)) from error
    return mapping_in(text, path.name)


def mapping_in(text: str, name: str) -> Mapping:
    """Read a mapping's text; `name` says where it stands."""
    try:
        return _mapping(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise _wrong(name, str(error)) from error
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise _wrong(name, f"{type(error).__name__}: {error}") from error


def _wrong(name: str, words: str) -> NotUnderstood:
    hint = "It is the file that --keep-map wrote; write a new one, and change that"
    return NotUnderstood(Fault(name, "wrong-map", f"this is no mapping ({words})", hint=hint))


def _mapping(data: dict[str, Any]) -> Mapping:
    if data.get("format") != 1:
        raise ValueError("format = 1 is missing")
    file, time = data["file"], data["time"]
    names = tuple(str(name) for name in file["headings"])
    numbers = NumberForm(str(file["decimal"]), str(file["thousands"]))
    layout = Layout(str(file["delimiter"]), names, int(file["header"]), int(file["first"]), bool(file["quoted"]),
                    str(file["comment"]), numbers, bool(file.get("wrapped", False)),
                    tuple(int(k) for k in file["rejoin"]))  # fmt: skip
    if time["kind"] not in KINDS:
        raise ValueError(f"time.kind is one of {', '.join(KINDS)}")
    columns = tuple(names.index(str(name)) for name in time["columns"])
    how = TimeOf(
        columns,
        time["kind"],
        str(time["order"]),
        float(time["unit"]),
        str(time["zone"]),
        bool(time["follows_clock_changes"]),
        tuple(str(s) for s in time["start"]),
        float(time["wraps"]),
    )
    long = Long(str(data["long"]["item"]), str(data["long"]["value"])) if "long" in data else None
    middle = data.get("middle")
    places = None if middle is None else (str(middle["lowest"]), str(middle["highest"]), str(middle["at"]))
    by = data.get("by")
    pairs: tuple[tuple[str, str], ...] = ()
    if by is not None:
        pairs = tuple(zip(map(str, by["texts"]), map(str, by["modules"]), strict=True))
    each = None if by is None else By(str(by["column"]), pairs)
    takes = _takes(data.get("take", []), names, long)
    return Mapping(str(file["encoding"]), layout, how, takes, long, places, float(time["step"]), each)


def _takes(tables: Sequence[dict[str, Any]], names: Sequence[str], long: Long | None) -> tuple[Take, ...]:
    known = {field.name for field in dataclasses.fields(Take)}
    takes = []
    for table in tables:
        if not set(table) <= known:
            raise ValueError(f"unknown keys {sorted(set(table) - known)}")
        if table["quantity"] not in QUANTITIES:
            raise ValueError(f"{table['quantity']!r} is no quantity")
        if long is None and table["heading"] not in names:
            raise ValueError(f"{table['heading']!r} is none of the headings")
        numbers: dict[str, Any] = {key: float(table[key]) for key in ("factor", "offset", "step") if key in table}
        whole: dict[str, Any] = {**table, **numbers, "missing": tuple(float(m) for m in table.get("missing", ()))}
        takes.append(Take(**whole))
    if not takes:
        raise ValueError("no [[take]]: nothing would be brought")
    return tuple(takes)
