"""The bank file as forms: its tables as sections, every key of the manual as a field with what stands there now.

Gives: Section, Field, sections(), section_of(), fields_of(), typed_value(), fresh_like().
Limits: which keys there are, what may stand in them and what they mean comes from the written models (bank/written).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from bankwright.job.file import Document, Path, path_of, path_text, value_text
from bankwright.job.form import Written, example, form_of, keys, model_at, names_alike, table_of
from bankwright.web.desk import toml_value

__all__ = ["Field", "Fieldset", "Section", "fields_of", "fresh_like", "section_of", "sections", "typed_value"]

_GROUPS = {
    "modules": "Modules", "racks": "Racks", "bars": "Bars", "links": "Links listed one by one", "devices": "Devices",
    "inverters": "Inverters", "chargers": "Chargers", "loads": "Loads", "arrays": "Arrays",
    "instruments": "Instruments",
}  # fmt: skip
_TABLES = ("site", "wiring")


@dataclass(frozen=True, slots=True)
class Section:
    """A table of the file that is edited at once: the top, the site, a kind, a module."""

    path: str
    group: str
    title: str
    note: str
    removable: bool = False


@dataclass(frozen=True, slots=True)
class Field:
    """One key: where, what it means, what stands there, how it is typed."""

    path: str
    label: str
    help: str
    value: str
    given: bool
    how: str  # "text", "select", "area"
    choices: tuple[str, ...]
    sample: str
    required: bool


@dataclass(frozen=True, slots=True)
class Fieldset:
    """Fields of one table, and what the table is."""

    title: str
    help: str
    fields: tuple[Field, ...]


def sections(document: Document) -> tuple[Section, ...]:
    """Every section of a file, in the order of the job."""
    data = document.data
    found = [Section("", "The bank", "Title, rule book, units", str(data.get("title", "")))]
    found.append(Section("site", "The bank", "The room and what rules it", ""))
    found.append(Section("wiring", "The bank", "How the modules are joined", _wired(data.get("wiring"))))
    for key in _GROUPS:
        found += _blocks(data.get(key), key)
    found += _kinds(data.get("kinds"))
    return tuple(found)


def _wired(wiring: Any) -> str:
    return ", ".join(str(wiring[k]) for k in ("pattern", "feed") if k in wiring) if isinstance(wiring, dict) else ""


def _blocks(rows: Any, key: str) -> Iterator[Section]:
    for number, row in enumerate(rows if isinstance(rows, list) else ()):
        if isinstance(row, dict):
            title = str(row.get("name", f"{key} {number + 1}"))
            yield Section(path_text((key, number)), _GROUPS[key], title, str(row.get("kind", "")), True)


def _kinds(kinds: Any) -> Iterator[Section]:
    for family, rows in (kinds if isinstance(kinds, dict) else {}).items():
        for name in rows if isinstance(rows, dict) else ():
            yield Section(path_text(("kinds", family, name)), f"Kinds of {family}", str(name), "", True)


def section_of(document: Document, path: str) -> Section | None:
    """The section in which a key is edited: the longest that holds it."""
    try:
        wanted = path_of(path)
    except ValueError:
        return None
    best: Section | None = None
    for section in sections(document):
        own = path_of(section.path) if section.path else ()
        if wanted[: len(own)] == own and (best is None or len(own) > len(path_of(best.path) if best.path else ())):
            best = section
    return best


def fields_of(document: Document, section: Section) -> tuple[Fieldset, ...]:
    """The fields of a section: those of its own table, then one set for each table inside it."""
    path = path_of(section.path) if section.path else ()
    model = model_at(Written, path)
    return () if model is None else tuple(_sets(document, model, path, section.title, "", deep=bool(path)))


def _sets(
    document: Document, model: type[BaseModel], path: Path, title: str, help_: str, *, deep: bool
) -> Iterator[Fieldset]:
    known = keys(model)
    plain = tuple(
        _field(document, (*path, key), field, example(model, key))
        for key, field in known.items()
        if table_of(field) is None and key != "format"
    )
    if plain:
        yield Fieldset(title, help_, plain)
    for key, field in known.items():
        table = table_of(field)
        if deep and table is not None and table[1] == "table":
            yield from _sets(document, table[0], (*path, key), _label(key), field.description or "", deep=True)


def _label(key: str) -> str:
    text = key.replace("_", " ")
    return text[:1].upper() + text[1:]


def _field(document: Document, path: Path, field: Any, own: str | None = None) -> Field:
    form = form_of(field)
    try:
        value: Any = document.value(path)
    except KeyError:
        value = None
    choices: tuple[str, ...] = ()
    if form.words == "one of":
        choices = tuple(part.strip().strip('"') for part in form.sample.split("|"))
    elif form.words == "true or false":
        choices = ("true", "false")
    typed = "" if value is None else value if isinstance(value, str) else value_text(value)
    area = form.words.startswith("points") or (isinstance(value, list) and len(typed) > 40)
    sample = re.sub(r'^"(.*)"$', r"\1", own or form.sample)
    how = "select" if choices else "area" if area else "text"
    return Field(
        path_text(path), _label(str(path[-1])), field.description or "", typed, value is not None, how, choices,
        "" if sample == "..." else sample, field.is_required(),
    )  # fmt: skip


def typed_value(path: str, text: str) -> Any:
    """What was typed into a field, as the file holds it: None for nothing, else text, number, yes or no, list."""
    words, typed = _form_words(path), text.strip()
    if not typed:
        return None
    if words == "true or false" or words.startswith(("whole number", "1")):
        read = toml_value(typed)
        return read if isinstance(read, (bool, int)) else typed
    if words.startswith(("list", "points", "name, or list", "what sits")) and typed.startswith("["):
        return toml_value(typed)
    if words.startswith("list"):
        return [part.strip() for part in typed.split(",") if part.strip()]
    return typed


def _form_words(path: str) -> str:
    parts = path_of(path)
    model = model_at(Written, parts[:-1])
    field = keys(model).get(str(parts[-1])) if model else None
    return form_of(field).words if field is not None and table_of(field) is None else ""


def fresh_like(document: Document, path: str) -> tuple[str, dict[str, Any]]:
    """A block like the one at `path`, under the next free name and slot: (list it belongs to, values)."""
    parts = path_of(path)
    values = document.value(parts)
    key = str(parts[0])
    rows = document.value((key,))
    names = {
        name for row in rows if isinstance(row, dict) for name in names_alike(str(row.get("name", "")), _count(row))
    }
    values["name"] = _next(str(values.get("name", "X1")), names)
    if key == "modules":
        slots = (row["slot"] + _count(row) - 1 for row in rows if isinstance(row.get("slot"), int))
        values["slot"] = 1 + max(slots, default=0)
        for own in ("count", "unit", "address", "capacity", "resistance_factor"):
            values.pop(own, None)
    return key, values


def _count(row: dict[str, Any]) -> int:
    """How many alike an entry stands for, 1 where that cannot be."""
    count = row.get("count", 1)
    return count if isinstance(count, int) and 1 <= count <= 64 else 1


def _next(name: str, names: set[str]) -> str:
    stem = name.rstrip("0123456789") or name
    number = 1
    while f"{stem}{number}" in names:
        number += 1
    return f"{stem}{number}"
