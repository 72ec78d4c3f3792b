"""Rule books as data: which table for which purpose, which factor, which clause.

Gives: RuleBook and its parts, book(), known_books(), NoSuchBook. A book is one TOML file in books/; nothing of it is in
code. A part that a book has no rule for is None, and its clause is missing: the check then says so.
Limits: the tables themselves are read by tables.py, put to use in ampacity.py;
places and energy limits are another set of rules (storage.py).
Sources: stand in each book, by purpose, under [clause].
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Literal

from bankwright.forms.origin import Source

__all__ = [
    "Bond",
    "Column",
    "Factors",
    "Grouping",
    "Label",
    "NoSuchBook",
    "Overload",
    "Ratings",
    "RuleBook",
    "Space",
    "Switching",
    "book",
    "known_books",
]


class NoSuchBook(KeyError):
    """No rule book carries this id."""

    def __init__(self, name: str) -> None:
        """Keep the id and the ids there are."""
        super().__init__(name)
        self.name, self.known = name, known_books()

    def __str__(self) -> str:
        """Name the id and those there are."""
        return f'no rule book "{self.name}"; there are: {", ".join(self.known)}'


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table that holds for conductors rated `rating` degC, laid in one of `methods` (empty: any)."""

    rating: float
    table: str
    column: str
    methods: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Grouping:
    """Factor for conductors that lie together; a book counts conductors or circuits."""

    table: str
    column: str
    counts: Literal["conductors", "circuits"]


@dataclass(frozen=True, slots=True)
class Ratings:
    """Standard ratings of devices; to `next_size_up_to` the next size above the ampacity is allowed (None: never)."""

    table: str
    fuses: str
    next_size_up_to: float | None = None


@dataclass(frozen=True, slots=True)
class Factors:
    """What a continuous current is multiplied by, and the terminals' rating where none is marked."""

    continuous_device: float
    continuous_conductor: float
    termination_small_up_to: float | None = None
    termination_small_degc: float | None = None
    termination_large_degc: float | None = None


@dataclass(frozen=True, slots=True)
class Overload:
    """Tripping current of a device over its rating, against `conductor` times the ampacity."""

    conductor: float
    breaker: float
    breaker_industrial: float
    fuse_from_16: float
    fuse_below_16: float


@dataclass(frozen=True, slots=True)
class Bond:
    """Table of the frame's bond, entered with the device's rating or the line conductor's section."""

    table: str
    by: Literal["device", "line"]


@dataclass(frozen=True, slots=True)
class Space:
    """Working space in front, m."""

    depth: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Switching:
    """Switching off: how far the means may be, m, and what is asked outside a dwelling."""

    within: float | None = None
    outside: str = ""


@dataclass(frozen=True, slots=True)
class Label:
    """Text of a label with its fields; `clause` is the purpose under which its source stands."""

    text: str
    fields: tuple[str, ...]
    clause: str


@dataclass(frozen=True, slots=True)
class RuleBook:
    """One rule book: tables by purpose, factors, limits, label texts, clauses."""

    id: str
    title: str
    sizes: Literal["awg", "mm2"]
    defers_to: str
    ampacity: tuple[Column, ...]
    ambient: tuple[Column, ...]
    termination: tuple[Column, ...]  # empty: the book has no rule of its own for terminals
    grouping: Grouping
    ratings: Ratings
    factors: Factors
    overload: Overload | None
    bond: Bond
    shock_table: str
    shock_rows: tuple[str, ...]
    space: Space | None
    switching: Switching
    labels: Mapping[str, Label]
    clause: Mapping[str, Source]

    def source(self, purpose: str) -> Source:
        """Clause for a purpose; a book without one says so."""
        found = self.clause.get(purpose)
        return found or Source(self.title, "", f"no clause read for {purpose.replace('_', ' ')}", "from memory")

    def methods(self) -> tuple[str, ...]:
        """Ways of laying that the book has a table for."""
        return tuple(dict.fromkeys(method for column in self.ampacity for method in column.methods))


def known_books() -> tuple[str, ...]:
    """Ids of the rule books."""
    folder = files("bankwright.handbook").joinpath("books")
    return tuple(sorted(path.name.removesuffix(".toml") for path in folder.iterdir() if path.name.endswith(".toml")))


def _columns(raw: Any) -> tuple[Column, ...]:
    return tuple(Column(row["rating"], row["table"], row["column"], tuple(row.get("methods", ()))) for row in raw)


@cache
def book(name: str) -> RuleBook:
    """Read a rule book, once; NoSuchBook for an id that none carries."""
    if name not in known_books():
        raise NoSuchBook(name)
    path = files("bankwright.handbook").joinpath("books", f"{name}.toml")
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    labels = {key: Label(row["text"], tuple(row["fields"]), row["clause"]) for key, row in raw["labels"].items()}
    return RuleBook(
        raw["id"],
        raw["title"],
        raw["sizes"],
        raw["defers_to"],
        _columns(raw["ampacity"]),
        _columns(raw["ambient"]),
        _columns(raw.get("termination", ())),
        Grouping(**raw["grouping"]),
        Ratings(**raw["standard_ratings"]),
        Factors(**raw["factors"]),
        Overload(**raw["overload"]) if "overload" in raw else None,
        Bond(**raw["bond"]),
        raw["shock"]["table"],
        tuple(raw["shock"]["rows"]),
        Space(**raw["space"]) if "space" in raw else None,
        Switching(**raw.get("switching", {})),
        MappingProxyType(labels),
        MappingProxyType({purpose: Source(**row) for purpose, row in raw["clause"].items()}),
    )
