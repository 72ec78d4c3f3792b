"""Rules of where a bank may stand and how much energy may stand there, by edition.

Gives: StorageRules, Ground, storage_rules(), known_storage_rules(), NoSuchRules. One TOML file an edition in storage/.
Limits: the adopted code, its amendments and the inspector have the last word; a place word that the edition
does not list is None, and the finding stays unknown. Energy is nameplate, kWh.
Sources: stand beside each limit.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from bankwright.forms.origin import Cited, Source

__all__ = ["Ground", "NoSuchRules", "StorageRules", "known_storage_rules", "storage_rules"]


class NoSuchRules(KeyError):
    """No storage rules carry this id."""

    def __init__(self, name: str) -> None:
        """Keep the id and those there are."""
        super().__init__(name)
        self.name, self.known = name, known_storage_rules()

    def __str__(self) -> str:
        """Name the id and those there are."""
        return f'no storage rules "{self.name}"; there are: {", ".join(self.known)}'


@dataclass(frozen=True, slots=True)
class Ground:
    """One kind of place: the words for it, allowed or not, the sum allowed there, what else it asks."""

    names: tuple[str, ...]
    allowed: bool
    sum: Cited | None  # kWh nameplate
    needs: str
    outdoors: bool
    source: Source


@dataclass(frozen=True, slots=True)
class StorageRules:
    """One edition. A limit that the edition does not set is None."""

    id: str
    title: str
    note: str
    counts: str  # "place": sums run per place; "not said"
    beyond: str
    unit: Cited | None  # kWh of one unit
    scope_above: Cited | None  # kWh
    spacing: Cited | None  # m between units
    door: Cited | None  # m from doors and windows, outdoors
    listing: str
    listing_source: Source
    exemption: Source | None  # a listing for dwellings lifts the limits
    places: tuple[Ground, ...]

    def place(self, words: str) -> Ground | None:
        """The kind of place behind a word, or behind the only listed words in a text ("garden shed, north side"); None
        when the edition lists no such place, or the text speaks of two."""
        asked = " ".join(words.lower().split())
        for ground in self.places:
            if asked in ground.names:
                return ground
        said = [(name, ground) for ground in self.places for name in ground.names if _stands_in(name, asked)]
        whole = [g for name, g in said if not any(name != other and _stands_in(name, other) for other, _ in said)]
        return whole[0] if whole and all(ground is whole[0] for ground in whole) else None

    def place_words(self) -> tuple[str, ...]:
        """Every word for a place that the edition knows."""
        return tuple(name for ground in self.places for name in ground.names)


def _stands_in(name: str, text: str) -> bool:
    return re.search(rf"\b{re.escape(name)}\b", text) is not None


def known_storage_rules() -> tuple[str, ...]:
    """Ids of the editions."""
    folder = files("bankwright.handbook").joinpath("storage")
    return tuple(sorted(path.name.removesuffix(".toml") for path in folder.iterdir() if path.name.endswith(".toml")))


def _cited(raw: dict[str, Any] | None, **at: float | str) -> Cited | None:
    if raw is None:
        return None
    return Cited(float(raw["value"]), Source(**raw["source"]), at=MappingProxyType(at))


def _ground(raw: dict[str, Any]) -> Ground:
    source = Source(**raw["source"])
    total = Cited(raw["sum"], source, at=MappingProxyType({"place": raw["names"][0]})) if "sum" in raw else None
    return Ground(tuple(raw["names"]), raw["allowed"], total, raw.get("needs", ""), raw.get("outdoors", False), source)


@cache
def storage_rules(name: str) -> StorageRules:
    """Read one edition, once; NoSuchRules for an id that none carries."""
    if name not in known_storage_rules():
        raise NoSuchRules(name)
    path = files("bankwright.handbook").joinpath("storage", f"{name}.toml")
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    return StorageRules(
        raw["id"],
        raw["title"],
        raw["note"],
        raw["counts"],
        raw["beyond"],
        _cited(raw.get("unit")),
        _cited(raw.get("scope_above")),
        _cited(raw.get("spacing")),
        _cited(raw.get("door")),
        raw["listing"]["standard"],
        Source(**raw["listing"]["source"]),
        Source(**raw["exemption"]["source"]) if raw["exempt_when_listed"] else None,
        tuple(_ground(row) for row in raw["place"]),
    )
