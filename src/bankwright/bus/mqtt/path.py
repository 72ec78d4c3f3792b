"""Paths in a JSON payload: `pack.volts`, `cells[3].v`, `["odd key"].x`, with or without `$.` before.

Gives: parsed_path(), looked_up(), PathFault, NOTHING, Step. A small part of JSON Path: names and places only.
Limits: no wildcards, filters or slices: a path leads to one value.
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from typing import Any, Final

__all__ = ["NOTHING", "PathFault", "Step", "looked_up", "parsed_path"]

Step = str | int
MOST_STEPS = 32
_STEP = re.compile(r"""\.?([^.\[\]"'*\s]+)|\[([0-9]+)\]|\[("(?:[^"\\]|\\.)*")\]""")


class _Nothing:
    """Stands for a path that leads nowhere; null is a value."""


NOTHING: Final = _Nothing()


class PathFault(ValueError):
    """A path that cannot be read; the words say from where on."""


def parsed_path(text: str) -> tuple[Step, ...]:
    """Steps of a path; PathFault."""
    left = text.removeprefix("$")
    found: list[Step] = []
    at = 0
    while at < len(left):
        match = _STEP.match(left, at)
        if match is None or (not found and left[0] == "." and not text.startswith("$")):
            raise PathFault(f'found "{left[at:][:40]}"; write names and places: pack.volts, cells[0].v, ["odd key"]')
        if at and match[1] is not None and left[at] != ".":
            raise PathFault(f'found "{left[at:][:40]}"; a point is missing before it')
        found.append(int(match[2]) if match[2] else _key(match[3]) if match[3] else match[1])
        at = match.end()
    if not found or len(found) > MOST_STEPS:
        raise PathFault("a path has 1 to 32 steps")
    return tuple(found)


def _key(quoted: str) -> str:
    try:
        return str(json.loads(quoted))
    except ValueError:
        raise PathFault(f"found {quoted}; no name in quotes") from None


def looked_up(value: Any, path: Sequence[Step]) -> Any:
    """What stands at a path; NOTHING where it leads nowhere."""
    for step in path:
        if isinstance(step, int) and isinstance(value, list) and step < len(value):
            value = value[step]
        elif isinstance(value, dict) and str(step) in value:
            value = value[str(step)]
        else:
            return NOTHING
    return value
