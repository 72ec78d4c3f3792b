"""A check, without magic: a function of one subject that yields findings.

Gives: Check, check(), NeedsValue, BeyondTable, findings(), beyond(), lacking(). Serves every stage: the subject may be
a Plan, a Match, a sheet.
Limits: no registry; each stage lists its checks in one explicit tuple. A crashing check costs its own finding, which
says so; the others stand.
"""

from __future__ import annotations

import traceback
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar

from bankwright.forms.finding import Finding, Missing
from bankwright.forms.origin import Source
from bankwright.forms.wording import say

__all__ = ["ALL", "BeyondTable", "Check", "NeedsValue", "beyond", "check", "findings", "lacking"]

ALL: tuple[str, ...] = ("nec-2023", "iec-60364")
CheckFunction = Callable[[Any], Iterable[Finding]]
T = TypeVar("T")


class NeedsValue(Exception):
    """Something that a computation needs was not given; `missing` names the key and how to get it."""

    def __init__(self, *missing: Missing) -> None:
        """Keep what is missing."""
        self.missing = missing
        super().__init__("; ".join(f"{item.lacks or f'{item.key} is not given'}. {item.how}" for item in missing))


class BeyondTable(LookupError):
    """A published table holds no value for what was asked: the check is `unknown` there, never a guess."""


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


def findings(checks: tuple[Check, ...], subject: Any, book: str | None = None) -> Iterator[Finding]:
    """Run all checks that belong to the rule book (all, when none is named) and yield what they find."""
    for item in checks:
        if book is not None and book not in item.books:
            continue
        try:
            yield from item.function(subject)
        except BeyondTable as error:
            yield beyond(item.code, item.title, error)
        except NeedsValue as error:  # it says at no place of its own what it lacks: of the whole check then
            yield _lacking(item, error.missing)
        except Exception as error:
            yield _crash(item, error)


def lacking(missing: tuple[Missing, ...]) -> str:
    """What is lacking, as a clause: keys that are not given, then what is given but not enough."""
    keys = [item.key for item in missing if not item.lacks]
    parts = [f"{', '.join(keys)} {'is' if len(keys) == 1 else 'are'} not given"] if keys else []
    return "; ".join(dict.fromkeys((*parts, *(item.lacks for item in missing if item.lacks))))


def beyond(code: str, title: str, error: BeyondTable, at: tuple[str, ...] = ()) -> Finding:
    """The finding of a check that a table has no answer for."""
    text = say("This could not be checked, it lies beyond the table: {table}", table=str(error))
    do = say("Take a size or a value that the table holds, or have it worked out by an engineer.")
    source = Source(str(error), how_known="read")
    return Finding(code, title, at, None, (None, None), source, do, forced="unknown", text=text)


def _lacking(item: Check, missing: tuple[Missing, ...]) -> Finding:
    """The finding of a check that lacks a value before it comes to any place."""
    text = say("This could not be checked: {lacking}", lacking=lacking(missing))
    do = say("{how}", how=" ".join(dict.fromkeys(each.how or each.question for each in missing)))
    source = Source("no source: the check did not come to its places", how_known="derived")
    return Finding(item.code, item.title, (), None, (None, None), source, do, missing=missing, text=text)


def _crash(item: Check, error: Exception) -> Finding:
    """The finding of a check that stopped: nothing is concluded from it, and the program ends with 3."""
    said = f"{type(error).__name__}: {error}"
    frames = traceback.extract_tb(error.__traceback__)[-3:]
    where = ", ".join(f"{Path(frame.filename).name}:{frame.lineno}" for frame in frames)
    text = say("This check crashed ({said}): a fault of Bankwright, not of your bank", said=said)
    do = say("Nothing was concluded here; the other findings stand. Please report the bank file and these words.")
    source = Source("no source: the check did not end", how_known="derived")
    crashed = f"{said} ({where})"
    finding = Finding(item.code, item.title, (), None, (None, None), source, do, forced="unknown", text=text)
    return replace(finding, crashed=crashed)
