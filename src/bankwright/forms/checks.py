"""A check, without magic: a function of one subject that yields findings.

Gives: Check, check(), need(), NeedsValue, findings(). Serves every stage: the subject may be a Plan, a Match, a sheet.
Limits: no registry; each stage lists its checks in one explicit tuple. A crashing check ends the run, with its code.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Literal, TypeVar

from bankwright.forms.finding import Finding, Missing

__all__ = ["ALL", "Check", "CheckCrashed", "NeedsValue", "check", "findings", "need"]

ALL: tuple[str, ...] = ("nec-2023", "iec-60364")
CheckFunction = Callable[[Any], Iterable[Finding]]
T = TypeVar("T")


class NeedsValue(Exception):
    """Something that a computation needs was not given; `missing` names the key and how to get it."""

    def __init__(self, *missing: Missing) -> None:
        """Keep what is missing."""
        self.missing = missing
        super().__init__("; ".join(f"{item.key}: {item.how}" for item in missing))


class CheckCrashed(RuntimeError):
    """A check raised something unexpected: the run ends and names the check."""


@dataclass(frozen=True, slots=True)
class Check:
    """A check: stable code, title, the rule books it belongs to, and the function."""

    code: str
    title: str
    books: tuple[str, ...]
    function: CheckFunction

    @property
    def why(self) -> str:
        """The docstring: what it tests, why, what it does not see, source."""
        return self.function.__doc__ or ""


def check(code: str, title: str, books: tuple[str, ...] = ALL) -> Callable[[Callable[[Any], Iterable[Finding]]], Check]:
    """Make a Check of a function; nothing is registered anywhere."""

    def made(function: CheckFunction) -> Check:
        return Check(code, title, books, function)

    return made


def need(
    value: T | None,
    key: str,
    how: str,
    ask: Literal["maker", "measure", "decide"] = "maker",
    question: str = "",
) -> T:
    """Return the value, or raise NeedsValue that names its file key and how to obtain it."""
    if value is None:
        raise NeedsValue(Missing(key, how, ask, question))
    return value


def findings(checks: tuple[Check, ...], subject: Any, book: str | None = None) -> Iterator[Finding]:
    """Run all checks that belong to the rule book (all, when none is named) and yield what they find."""
    for item in checks:
        if book is not None and book not in item.books:
            continue
        try:
            yield from item.function(subject)
        except Exception as error:
            raise CheckCrashed(f"{item.code} ({item.title}) stopped with {type(error).__name__}: {error}") from error
