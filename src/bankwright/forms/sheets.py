"""A sheet: an ordered list of steps to do by hand. Build, match, prove and watch all hand out sheets.

Gives: Sheet, Step, Caution, ReadingWanted, Tick, MATCH_RECORD.
Limits: ticks and readings live in the logbook; a sheet is computed anew from the bank and holds no state.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

from bankwright.forms.finding import Finding, Missing
from bankwright.forms.origin import Source
from bankwright.forms.wording import Say

__all__ = ["MATCH_RECORD", "Caution", "ReadingWanted", "Sheet", "Step", "Tick"]

MATCH_RECORD = "match record"  # a result in the logbook that a step may wait for, beside other steps


@dataclass(frozen=True, slots=True)
class Caution:
    """What can hurt here, shown before the act."""

    words: Say
    source: Source | None = None


@dataclass(frozen=True, slots=True)
class ReadingWanted:
    """A reading that this step asks for: quantity, place, and the limits it should lie between (SI)."""

    quantity: str
    at: str
    words: str
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Tick:
    """A box to tick: its id is stable while the thing it speaks of stays the same."""

    id: str
    words: str


@dataclass(frozen=True, slots=True)
class Step:
    """One step by hand."""

    id: str  # stable: "build.link.L3+"
    title: str
    acts: tuple[Say, ...]
    done: Say  # what "done" looks like
    at: tuple[str, ...] = ()  # names in the bank
    cautions: tuple[Caution, ...] = ()
    tools: tuple[str, ...] = ()
    pieces: tuple[str, ...] = ()  # ids of bank/pieces
    hands: Literal["one person", "two people", "a lift"] = "one person"
    readings: tuple[ReadingWanted, ...] = ()
    ticks: tuple[Tick, ...] = ()
    after: tuple[str, ...] = ()  # ids of the steps that must be done before, or MATCH_RECORD
    findings: tuple[Finding, ...] = ()  # what is wrong or unknown, at the step where it would hurt
    missing: tuple[Missing, ...] = ()
    source: Source | None = None
    duration: float | None = None  # s, where it was computed
    digest: str = ""  # changes when what this step rests on in the bank file changes
    rests: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))  # what that is, in words


@dataclass(frozen=True, slots=True)
class Sheet:
    """Steps in their order, for one stage and one bank."""

    stage: str
    title: str
    steps: tuple[Step, ...]
    notes: tuple[Say, ...] = ()
