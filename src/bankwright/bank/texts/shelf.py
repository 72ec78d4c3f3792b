"""Kinds in a file of one's own beside a bank to come: which there are, and which first questions each answers.

Gives: Shelved, ANSWERS, shelf_of().
Limits: files that give kinds and no modules of a bank; one that is no TOML, or larger than a bank file may be, is left
out. What a kind does not give is asked in the Plan of the bank, as of any kind.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

from bankwright.bank.file.document import MAX_BYTES

__all__ = ["ANSWERS", "Shelved", "shelf_of"]

MOST_FILES = 40  # of a folder that are looked at; our choice
ANSWERS: Mapping[str, Mapping[str, tuple[str, ...]]] = MappingProxyType({  # question, and the key of the kind
    "module": MappingProxyType({
        "capacity": ("capacity",), "cells": ("cells",), "discharge": ("discharge", "continuous"),
        "charge": ("charge", "continuous"), "mass": ("mass",), "height": ("height",), "stud": ("posts", "stud"),
        "pairs": ("posts", "pairs"), "breaker": ("breaker", "rating"), "interrupts": ("breaker", "interrupts"),
    }),
    "inverter": MappingProxyType({"power": ("power",), "lowest_voltage": ("lowest_voltage",)}),
})  # fmt: skip


@dataclass(frozen=True, slots=True)
class Shelved:
    """One kind of a file of kinds: its family, name and file name, the answers it gives, all names taken there."""

    family: str
    name: str
    file: str
    answers: tuple[tuple[str, str], ...]
    taken: tuple[str, ...]  # "device main-fuse"

    @property
    def words(self) -> str:
        """What it is, in one line."""
        said = ", ".join(f"{key.replace('_', ' ')} {text}" for key, text in self.answers[:5])
        return f"{self.name}: {said}" if said else self.name


def shelf_of(folder: Path) -> tuple[Shelved, ...]:
    """The modules and inverters that files of kinds in a folder give, in the order of their names."""
    try:
        files = sorted(path for path in folder.glob("*.toml") if path.is_file())[:MOST_FILES]
    except OSError:
        return ()
    return tuple(kind for path in files for kind in _kinds(path))


def _kinds(path: Path) -> tuple[Shelved, ...]:
    data = _read(path)
    kinds = data.get("kinds")
    if not isinstance(kinds, dict) or not data.keys() <= {"format", "kinds"}:
        return ()
    tables = [(family, rows) for family, rows in kinds.items() if isinstance(rows, dict)]
    taken = tuple(f"{family} {name}" for family, rows in tables for name in rows)
    return tuple(
        Shelved(family, name, path.name, _answers(family, kind), taken)
        for family, rows in tables
        if family in ANSWERS
        for name, kind in rows.items()
        if isinstance(kind, dict)
    )


def _read(path: Path) -> dict[str, Any]:
    try:
        if path.stat().st_size > MAX_BYTES:
            return {}
        return tomllib.loads(path.read_text("utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return {}


def _answers(family: str, kind: dict[str, Any]) -> tuple[tuple[str, str], ...]:
    given = ((question, _at(kind, path)) for question, path in ANSWERS[family].items())
    return tuple((question, str(value)) for question, value in given if isinstance(value, str | int))


def _at(kind: Any, path: tuple[str, ...]) -> Any:
    for part in path:
        kind = kind.get(part) if isinstance(kind, dict) else None
    return kind
