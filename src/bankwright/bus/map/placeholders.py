"""Numbers inside names: {n} for one of several alike, {module} for the module; {n:02} writes 01, 02.

Gives: filled(), holders(), unknown_holders(). Limits: no other braces; what a name means is the map's matter.
"""

from __future__ import annotations

import re

__all__ = ["HOLDER", "filled", "holders", "unknown_holders"]

HOLDER = re.compile(r"\{(n|module)(?::0([1-9]))?\}")
_BRACES = re.compile(r"\{[^{}]*\}|[{}]")


def holders(text: str) -> frozenset[str]:
    """Which of the two stand in a text."""
    return frozenset(found[1] for found in HOLDER.finditer(text))


def unknown_holders(text: str) -> tuple[str, ...]:
    """Braces that are none of the two."""
    return tuple(found[0] for found in _BRACES.finditer(text) if not HOLDER.fullmatch(found[0]))


def filled(text: str, n: int | None = None, module: str | int | None = None) -> str:
    """Put numbers or names in; what is None stays as it is written."""

    def put(found: re.Match[str]) -> str:
        value = n if found[1] == "n" else module
        return found[0] if value is None else str(value).zfill(int(found[2] or 0))

    return HOLDER.sub(put, text)
