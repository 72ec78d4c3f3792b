"""Where a number comes from, and a number that carries it.

Gives: Source, FileKey, ReadingRef, Computed (each an Origin that prints itself in one line), Cited, Place.
Limits: no look-up is done here (handbook/tables), no file is read (bank/file/document).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

__all__ = ["Cited", "Computed", "FileKey", "Origin", "Place", "ReadingRef", "Source"]

NEC_EDITION = "2023"  # of the rule book nec-2023
HOW_KNOWN = (
    "read",
    "copy",
    "from memory",
    "derived",
    "common practice, no source",
    "published range",
    "stated law",
)


@dataclass(frozen=True, slots=True)
class Source:
    """A document and the place in it; `how_known` is one of HOW_KNOWN, words may follow after a comma."""

    document: str
    edition: str = ""
    place: str = ""
    how_known: str = "from memory"

    @property
    def caveat(self) -> str:
        """What to know before relying on it: "from memory", "read in the 2014 edition"; empty where nothing is."""
        if self.how_known.startswith("from memory"):
            return "from memory"
        year = re.match(r"\d{4}", self.edition)
        other = year and self.document.startswith("NEC") and NEC_EDITION not in self.edition
        return f"read in the {year.group()} edition" if year and other and "later" not in self.edition else ""

    def __str__(self) -> str:
        """One line, as printed under a figure."""
        head = " ".join(part for part in (self.document, self.edition) if part)
        text = ", ".join(part for part in (head, self.place) if part)
        return f"{text} [{self.how_known}]"


@dataclass(frozen=True, slots=True)
class Place:
    """A place in a file, lines and columns counted from 1."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        """`orchard.toml:41`, as printed."""
        return f"{self.file}:{self.line}"


@dataclass(frozen=True, slots=True)
class FileKey:
    """A key of the bank file (or of an included kinds file): `kinds.module.M100.discharge.continuous`."""

    path: str
    place: Place | None = None

    def __str__(self) -> str:
        """Key and line."""
        return self.path if self.place is None else f"{self.path} ({self.place})"


@dataclass(frozen=True, slots=True)
class ReadingRef:
    """A reading in the logbook, by its id."""

    id: str
    words: str = ""

    def __str__(self) -> str:
        """As printed."""
        return f"reading {self.words or self.id}"


@dataclass(frozen=True, slots=True)
class Computed:
    """A figure of our own: how it was computed, in a few words (`solved network, full discharge`)."""

    how: str

    def __str__(self) -> str:
        """As printed."""
        return self.how


Origin = Source | FileKey | ReadingRef | Computed


@dataclass(frozen=True, slots=True)
class Cited:
    """What a look-up returns: a value in SI with its limits, the conditions it holds at, and its origin."""

    value: float
    origin: Origin
    low: float | None = None
    high: float | None = None
    at: Mapping[str, float | str] = field(default_factory=lambda: MappingProxyType({}))
