"""What the reader proposes for one key: a value that the sheet says, or a question with the values it might be.

Gives: Answer, Ask, Said, Spot, settle().
Takes: nothing.
Limits: nothing here enters a bank file; a person confirms each.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["Answer", "Ask", "Said", "Spot", "Value", "settle"]

Value = str | bool | list[str] | list[list[str]]


@dataclass(frozen=True, slots=True)
class Spot:
    """Where it is printed."""

    line: str
    page: int | None = None
    line_no: int | None = None


@dataclass(frozen=True, slots=True)
class Said:
    """One value in the writing of the bank file, and where it is printed."""

    value: Value
    spot: Spot


@dataclass(frozen=True, slots=True)
class Ask:
    """A question: why it cannot be said, and the values that are printed."""

    why: str
    choices: tuple[Said, ...]


Answer = Said | Ask


def settle(found: Sequence[Said], why: str) -> Answer | None:
    """One value, said once or several times, is an answer; several are a question; none is nothing."""
    different: list[Said] = []
    for said in found:
        if all(said.value != other.value for other in different):
            different.append(said)
    if not different:
        return None
    return different[0] if len(different) == 1 else Ask(why, tuple(different))
