"""From parsed TOML to the written form, with all faults at once.

Gives: validated(): the written form of what is right, and faults for the rest. Entries with faults are lifted out,
the others are validated again; their names stay as holes, so that no reference to them is blamed.
Limits: shapes and single values; rules that join fields are in bank/rules.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from bankwright.bank.file.spans import Path
from bankwright.bank.file.whereabouts import Whereabouts
from bankwright.bank.written.keys import RETIRED, form_of, keys, model_at, nearest_key
from bankwright.bank.written.values import shown
from bankwright.forms.faults import Fault
from bankwright.forms.nearest import did_you_mean

__all__ = ["NOBODY", "Holes", "validated"]

M = TypeVar("M", bound=BaseModel)

NOBODY = "\u2014"  # stands in where every entry of a required list was lifted out
ROUNDS = 6
MOST = 1000  # faults of one round that are listed
_PLACEHOLDERS: dict[str, Any] = {"format": 1, "wiring": {"pattern": "listed"}}
_WRONG_TYPES = {
    "string_type": "a text in quotes", "int_type": "a whole number", "bool_type": "true or false",
    "float_type": "a number",
    "list_type": "a list", "dict_type": "a table", "model_type": "a table", "model_attributes_type": "a table",
}  # fmt: skip
_BOUNDS = {
    "greater_than_equal": "at least {ge}",
    "less_than_equal": "at most {le}",
    "greater_than": "above {gt}",
    "less_than": "below {lt}",
}


@dataclass
class Holes:
    """What was lifted out: paths of entries, and the names they carried."""

    paths: set[Path] = field(default_factory=set)
    names: set[str] = field(default_factory=set)
    nameless: bool = False  # an entry whose own name could not be read
    kept: dict[str, list[int]] = field(default_factory=dict)  # list -> original numbers of the entries that stayed

    def index(self, key: str, number: int) -> int:
        """Number in the file of an entry of the validated list."""
        kept = self.kept.get(key, [])
        return kept[number] if number < len(kept) else number

    def has(self, *path: str | int) -> bool:
        """True when this entry, or one inside it, was lifted out."""
        return any(hole[: len(path)] == path for hole in self.paths)

    def excuses(self, name: str) -> bool:
        """True when an unknown name may belong to an entry that was lifted out."""
        return self.nameless or any(
            name == hole or name.rstrip("+-b0123456789") == hole or name.startswith(hole) for hole in self.names
        )


def validated(model: type[M], data: dict[str, Any], where: Whereabouts) -> tuple[M, Holes, list[Fault]]:
    """Validate a file; what is wrong is lifted out and told."""
    holes, faults = Holes(), []
    left = copy.deepcopy(data)
    made: M | None = None
    for _ in range(ROUNDS):  # the second round may find what the first hid, such as a list that became empty
        try:
            made = model.model_validate(left)
            break
        except ValidationError as error:
            told = error.errors(include_url=False)
            numbers = {key: _numbers(key, value, holes) for key, value in left.items() if isinstance(value, list)}
            listed = [_fault(model, item, where, numbers) for item in told[:MOST]]
            faults += _without_misspelt(listed)
            if len(told) > MOST:
                found = f"{len(told) - MOST} faults more are not listed"
                faults.append(where.fault((), "too-many", found, "", "Mend those above first"))
            left = _lifted(model, left, [tuple(item["loc"]) for item in told], holes)
    if made is None:  # nothing of it can be kept
        made = model.model_validate(_lifted(model, {}, [], holes))
        holes.nameless = True
    _count_kept(data, holes)
    unique = {(fault.path, fault.code): fault for fault in faults}
    return made, holes, list(unique.values())


def _without_misspelt(faults: list[Fault]) -> list[Fault]:
    """Do not call a key missing that stands there misspelt."""
    meant = {(fault.path.rpartition(".")[0], fault.hint) for fault in faults if fault.code == "unknown-key"}

    def is_misspelt(fault: Fault) -> bool:
        table, _, key = fault.path.rpartition(".")
        return fault.code == "key-missing" and (table, f'Did you mean "{key}"?') in meant

    return [fault for fault in faults if not is_misspelt(fault)]


def _count_kept(data: dict[str, Any], holes: Holes) -> None:
    for key, value in data.items():
        if isinstance(value, list):
            holes.kept[key] = [i for i in range(len(value)) if (key, i) not in holes.paths]


def _entry(path: Path) -> Path:
    """The entry that a faulty path belongs to: one kind, one block of a list, or a top-level key."""
    if path[0] == "kinds":
        return path[:3]
    if path[0] in ("wiring", "site", "bus") and len(path) > 1 and path[1] not in ("pattern", "wire"):
        return path[:2]
    return path[:2] if len(path) > 1 and isinstance(path[1], int) else path[:1]


def _lifted(model: type[BaseModel], data: dict[str, Any], paths: list[Path], holes: Holes) -> dict[str, Any]:
    """Take the faulty entries out; required ones get a stand-in that no rule looks at."""
    numbers = {key: _numbers(key, value, holes) for key, value in data.items() if isinstance(value, list)}
    entries = {_entry(path) for path in paths if path}
    for entry in sorted(entries, key=str, reverse=True):
        head = entry[0]
        original = (head, numbers[str(head)][entry[1]]) if len(entry) == 2 and isinstance(entry[1], int) else entry
        holes.paths.add(original)
        holes.names |= set(_names(_value(data, entry), entry, holes))
    for entry in sorted(
        entries, key=lambda e: (str(e[0]), e[1] if len(e) > 1 and isinstance(e[1], int) else 0), reverse=True
    ):
        _remove(data, entry)
    for key, field_info in keys(model).items():
        if field_info.is_required() and not data.get(key):
            data[key] = _PLACEHOLDERS.get(key) or [{"name": NOBODY, "kind": NOBODY}]
            holes.paths.add((key,))
            holes.names.add(NOBODY)
    return data


def _numbers(key: str, value: list[Any], holes: Holes) -> list[int]:
    gone = {path[1] for path in holes.paths if len(path) == 2 and path[0] == key}
    numbers: list[int] = []
    number = 0
    while len(numbers) < len(value):
        if number not in gone:
            numbers.append(number)
        number += 1
    return numbers


def _value(data: Any, path: Path) -> Any:
    for part in path:
        try:
            data = data[part]
        except (KeyError, IndexError, TypeError):
            return None
    return data


def _remove(data: Any, path: Path) -> None:
    holder = _value(data, path[:-1])
    if isinstance(holder, dict):
        holder.pop(path[-1], None)
    elif isinstance(holder, list) and isinstance(path[-1], int):
        del holder[path[-1]]


def _names(value: Any, entry: Path, holes: Holes) -> Iterator[str]:
    if entry[0] == "kinds" and len(entry) > 2:
        yield str(entry[2])
    elif len(entry) == 2 and isinstance(entry[1], int):  # a block of a list; tables such as wiring.main name nothing
        name = value.get("name") if isinstance(value, dict) else None
        if isinstance(name, str) and name:
            yield name
        else:
            holes.nameless = True
    elif isinstance(value, list) or entry[0] == "kinds":
        holes.nameless = True


def _fault(model: type[BaseModel], item: ErrorDetails, where: Whereabouts, numbers: dict[str, list[int]]) -> Fault:
    """Turn one of pydantic's errors into a fault at its place."""
    path = _path(item, numbers)
    kind, found, context = item["type"], item.get("input"), item.get("ctx", {})
    if kind == "bank":
        return where.fault(path, context["code"], context["found"], "", context["hint"])
    if kind == "missing":
        return _missing(model, path, where)
    if kind == "extra_forbidden":
        return _unknown(model, path, where)
    if kind == "literal_error":
        return _choice(path, found, str(context["expected"]), where)
    if kind in _WRONG_TYPES:
        return where.fault(
            path, "wrong-type", f"found {shown(found)}", f"Write {_WRONG_TYPES[kind]}{_sample(model, path)}"
        )
    if kind in _BOUNDS:
        return where.fault(
            path, "out-of-range", f"found {shown(found)}", f"It must be {_BOUNDS[kind].format(**context)}"
        )
    if kind in ("too_short", "string_too_short"):
        return where.fault(
            path,
            "empty",
            f"found {shown(found)}",
            "It may not be empty",
            _sample(model, path).removeprefix(", such as "),
        )
    return where.fault(path, "not-allowed", f"found {shown(found)}", _capital(str(item["msg"])))


def _path(item: ErrorDetails, numbers: dict[str, list[int]]) -> Path:
    """The path in the file: numbers of a reduced list are turned back into those of the whole one."""
    path = tuple(item["loc"])
    if len(path) > 1 and isinstance(path[1], int):
        return (path[0], numbers[str(path[0])][path[1]], *path[2:])
    return path


def _sample(model: type[BaseModel], path: Path) -> str:
    table = model_at(model, path[:-1])
    field_info = keys(table).get(str(path[-1])) if table else None
    try:
        return f", such as {form_of(field_info).sample}" if field_info else ""
    except TypeError:
        return ""


def _missing(model: type[BaseModel], path: Path, where: Whereabouts) -> Fault:
    table = model_at(model, path[:-1])
    field_info = keys(table)[str(path[-1])] if table else None
    meaning = field_info.description.rstrip(".") if field_info and field_info.description else ""
    if path == ("modules",):
        meaning, hint = "", "Write a [[modules]] block for each module"
    elif path == ("wiring",):
        meaning, hint = "", 'Write [wiring] with pattern = "chain" or "busbar"'
    else:
        hint = f"Write {path[-1]} = {_sample(model, path).removeprefix(', such as ') or '...'}"
    return where.fault(path, "key-missing", f'the key "{path[-1]}" is missing', meaning, hint)


def _unknown(model: type[BaseModel], path: Path, where: Whereabouts) -> Fault:
    table, word = model_at(model, path[:-1]) or model, str(path[-1])
    if word in RETIRED:
        return where.fault(path, "unknown-key", "this key is no longer used", "", RETIRED[word])
    near = nearest_key(table, word)
    hint = f'Did you mean "{near}"?' if near else "Known here: " + ", ".join(keys(table))
    return where.fault(path, "unknown-key", "unknown key", "", hint)


def _choice(path: Path, found: Any, expected: str, where: Whereabouts) -> Fault:
    allowed = [word.strip().strip("'") for word in expected.replace(" or ", ", ").split(", ")]
    hint = did_you_mean(found, allowed) if isinstance(found, str) else ""
    listed = ", ".join(allowed if path == ("format",) else (f'"{word}"' for word in allowed))
    return where.fault(path, "not-allowed", f"found {shown(found)}", f"It must be one of: {listed}", hint)


def _capital(said: str) -> str:
    """What a reader of ours says, without the name of its error before it."""
    words = said.removeprefix("Value error, ")
    return words[:1].upper() + words[1:]
