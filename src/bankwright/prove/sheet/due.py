"""One reading of first power-up before it is taken: what it should be, and what it means where it is not.

Gives: Due, StepOf, Facts, SurveyTold, Kind, SEQUENCE. Three kinds: a limit that stops the sequence, an expectation
that cautions, a closure that makes unknown.
Limits: SI; what was taken is in Facts, and moves what later readings should be.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

from bankwright.bank.model import Bank
from bankwright.forms.finding import Missing
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure

__all__ = ["SEQUENCE", "Due", "Facts", "Kind", "StepOf", "SurveyTold"]

Kind = Literal["limit", "expectation", "closure"]
Ends = tuple[float | None, float | None]
SEQUENCE = Source("sequence of first power-up", how_known="common practice, no source")


@dataclass(frozen=True, slots=True)
class Due:
    """A reading that a step asks for."""

    code: str
    quantity: str
    at: str
    words: str
    kind: Kind
    window: Ends  # outside a limit stops, outside an expectation is a caution, outside a closure settles nothing
    expected: Figure | None = None
    means: tuple[str, ...] = ()  # of a deviation, likeliest first
    then: str = ""  # the reading that parts them
    missing: tuple[Missing, ...] = ()
    source: Source = SEQUENCE
    optional: bool = False
    band: Ends = (None, None)  # of a limit: outside it, yet inside the limit, is a caution


@dataclass(frozen=True, slots=True)
class StepOf:
    """A step of the sequence with its readings; `waits`: ids of steps, or words for what is no step of this sheet."""

    id: str  # "B3"
    title: str
    waits: tuple[str, ...]
    hands: Literal["one person", "two people", "electrician"]
    cautions: tuple[str, ...]
    acts: tuple[str, ...]
    dues: tuple[Due, ...] = ()
    boxes: tuple[tuple[str, str], ...] = (("done", "Done as written"),)


@dataclass(frozen=True, slots=True)
class SurveyTold:
    """One explanation of the survey: its code, verdict, modules, title and next test; and when it was made."""

    code: str
    verdict: str
    at: tuple[str, ...]
    title: str
    test: str
    when: str


@dataclass(frozen=True, slots=True)
class Facts:
    """The bank, the newest readings by (step, quantity, place), and what other stages hand on."""

    bank: Bank
    taken: Mapping[tuple[str, str, str], float] = field(default_factory=lambda: MappingProxyType({}))
    order: tuple[str, ...] = ()  # of closing, as Match said
    may_join: bool = False
    not_earthed: str = ""  # a sentence while a pole that is to be earthed is not
    results: frozenset[str] = frozenset()  # kinds of results that the logbook holds
    survey: tuple[SurveyTold, ...] = ()  # what the last survey of the data bus told
    in_service: str = ""  # day on which it was ticked as in service, "2026-11-25"

    def read(self, step: str, quantity: str, at: str) -> float | None:
        """What was read, or None."""
        return self.taken.get((step, quantity, at))
