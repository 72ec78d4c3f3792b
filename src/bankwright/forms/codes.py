"""Codes of findings and their places on the sheet: one list for all stages, in codes.toml beside this file.

Gives: Place, places(), place_text(), code_of(), near_codes(), in_places(). A code ("P-CABLE-1") is for machines and
never changes; a place ("Plan 3.1": stage, chapter, number) is for people. Neither is ever given twice.
Limits: says nothing of what a check tests; that stands on its card.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from bankwright.forms.nearest import nearest

__all__ = ["Place", "code_of", "in_places", "near_codes", "place_text", "places"]

NEAR = 0.7  # codes are short and alike: nearer than for other words; our choice
_CODE = re.compile(r"\b[A-Z]+(?:-[A-Z]+)+(?:-[0-9]+)?\b|\b[A-Z]+-[0-9]+\b")
_PLACE = re.compile(r"([a-z]*)[ :-]*([0-9]+)\.([0-9]+)")


@dataclass(frozen=True, slots=True)
class Place:
    """Where a code stands on the sheet."""

    stage: str
    chapter: int
    number: int
    title: str  # of the chapter
    retired: bool

    def __str__(self) -> str:
        """As people read it."""
        return f"{self.stage} {self.chapter}.{self.number}"


@cache
def places() -> Mapping[str, Place]:
    """Give every code with its place, in the order of the sheet, retired ones too."""
    data = tomllib.loads(files("bankwright.forms").joinpath("codes.toml").read_text("utf-8"))
    found = {
        code: Place(stage, int(chapter), number, body["title"], code in data["retired"])
        for stage in data["prefix"].values()
        for chapter, body in data.get(stage, {}).items()
        for code, number in body["codes"].items()
    }
    return MappingProxyType(found)


def place_text(code: str) -> str:
    """Print the place of a code; the code itself where it has none."""
    place = places().get(code)
    return code if place is None else str(place)


def code_of(text: str, stage: str = "") -> str | None:
    """Find the code that is meant by a code or a place, in capitals or not; None where there is none.

    "P-CABLE-1", "plan 3.1" and "Plan-3.1" mean the same; so does "3.1" where `stage` is "Plan".
    """
    plain = text.strip()
    if plain.upper() in places():
        return plain.upper()
    found = _PLACE.fullmatch(plain.lower())
    if found is None:
        return None
    meant = (found[1] or stage.lower(), int(found[2]), int(found[3]))
    return next((c for c, p in places().items() if (p.stage.lower(), p.chapter, p.number) == meant), None)


def near_codes(text: str, stage: str = "") -> str:
    """Say what may have been meant: one code that is written nearly so, or how the codes and places of a stage run."""
    near = nearest(text.upper(), places(), NEAR)
    if near:
        return f"Did you mean {near} ({place_text(near)})?"
    here = [(c, p) for c, p in places().items() if not stage or p.stage == stage]
    (first, at), (last, end) = here[0], here[-1]
    return f"Places run from {at} ({first}) to {end} ({last}); a finding prints its own."


def in_places(text: str) -> str:
    """Put the place for each code that stands in a sentence."""
    return _CODE.sub(lambda found: place_text(found[0]), text)
