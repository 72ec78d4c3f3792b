"""The models that are known, from the public definitions: points with their places, types, scale factors, words.

Gives: Point, Repeat, Model, model(), KNOWN.
Limits: one level of repetition, as these models have it. Writable points are read like the others, and never written.
Sources: SunSpec model definitions, github.com/sunspec/models, json/model_*.json, Apache-2.0 (data/README.md), read.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

__all__ = ["HEADER", "KNOWN", "Model", "Point", "Repeat", "model"]

KNOWN = (1, 701, 702, 713, 714, 802, 803, 804, 805)
HEADER = 2  # registers of a model's number and length


@dataclass(frozen=True, slots=True)
class Point:
    """One value of a model."""

    name: str
    type: str
    at: int  # registers from the model's number, or from the beginning of its element
    size: int
    scale: str  # name of the point that holds its scale factor; "" where it has none
    unit: str
    words: Mapping[int, str]  # of an enumeration: value -> name; of bits: bit -> name


@dataclass(frozen=True, slots=True)
class Repeat:
    """What a model repeats behind its fixed part: strings, modules, cells, ports."""

    name: str
    count: str  # the point that says how many; "": as many as the length allows
    points: tuple[Point, ...]
    size: int  # registers of one


@dataclass(frozen=True, slots=True)
class Model:
    """A model as its definition has it."""

    number: int
    label: str
    points: tuple[Point, ...]
    size: int  # registers of the fixed part, number and length included
    repeat: Repeat | None

    def point(self, name: str, *, repeated: bool = False) -> Point:
        """A point of the fixed part, or of what repeats; KeyError for any other."""
        for each in self.repeat.points if repeated and self.repeat else self.points:
            if each.name == name:
                return each
        raise KeyError(name)


def _points(told: Iterable[dict[str, Any]]) -> tuple[tuple[Point, ...], int]:
    found, at = [], 0
    for each in told:
        words = {int(word["value"]): str(word["name"]) for word in each.get("symbols", [])}
        scale, unit = str(each.get("sf", "")), str(each.get("units") or "")
        found.append(Point(each["name"], each["type"], at, int(each["size"]), scale, unit, MappingProxyType(words)))
        at += int(each["size"])
    return tuple(found), at


@cache
def model(number: int) -> Model | None:
    """The definition of a model; None for one that is not known here."""
    if number not in KNOWN:
        return None
    text = (files("bankwright.bus.sunspec") / "data" / f"model_{number}.json").read_text("utf-8")
    group = json.loads(text)["group"]
    points, size = _points(group["points"])
    repeat = None
    for inner in group.get("groups", [])[:1]:
        inner_points, inner_size = _points(inner["points"])
        repeat = Repeat(inner["name"], str(inner.get("count") or ""), inner_points, inner_size)
    return Model(number, str(group.get("label", "")), points, size, repeat)
