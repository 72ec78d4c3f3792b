"""Every source that the handbook rests on, for the list in the documentation.

Gives: Entry, all_sources(). Reads every table, book and edition: slow, never on the road of a plan.
Limits: sources of formulas stand in the docstrings of physics, those of tests beside the checks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bankwright.forms.origin import Source
from bankwright.handbook.books import book, known_books
from bankwright.handbook.storage import known_storage_rules, storage_rules
from bankwright.handbook.tables import known_ids, load, source_of

__all__ = ["Entry", "all_sources"]


@dataclass(frozen=True, slots=True)
class Entry:
    """A source and what rests on it: a table's id, or a rule book's purpose."""

    source: Source
    used_for: str
    seen: str


def all_sources() -> tuple[Entry, ...]:
    """All sources, by document, each pair of source and use once."""
    found = {(entry.source, entry.used_for): entry for entry in (*_of_tables(), *_of_books(), *_of_storage())}
    return tuple(sorted(found.values(), key=lambda entry: (entry.source.document, entry.source.place, entry.used_for)))


def _of_tables() -> Iterator[Entry]:
    for name in known_ids():
        table = load(name)
        yield Entry(table.source, name, table.seen)
        for row in table.rows:
            if {"document", "place", "how_known"} & set(row):
                yield Entry(source_of(table, row), name, str(row.get("seen", "")))


def _of_books() -> Iterator[Entry]:
    for name in known_books():
        for purpose, source in book(name).clause.items():
            yield Entry(source, f"{name}: {purpose.replace('_', ' ')}", "")


def _of_storage() -> Iterator[Entry]:
    for name in known_storage_rules():
        rules = storage_rules(name)
        for ground in rules.places:
            yield Entry(ground.source, f"{name}: {ground.names[0]}", "")
        for what, cited in (("unit", rules.unit), ("spacing", rules.spacing), ("door", rules.door)):
            if cited is not None and isinstance(cited.origin, Source):
                yield Entry(cited.origin, f"{name}: {what}", "")
