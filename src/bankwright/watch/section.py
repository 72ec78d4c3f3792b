"""The shape in which every part of Watch answers: a section.

Gives: Asked, Section, StandIn, Row, Lane, Mark. A room of Watch (joints, alarms, ...) gives one function
`section(asked)`, and its findings carry codes of Watch; watch/report.py lists these functions in the order of the
report.
Limits: no wording of the whole, no drawing; a lane is what a page or a chart draws: a line with band, wall and flags.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeVar

from bankwright.bank.model import Bank
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, Say
from bankwright.logbook.telemetry.store import Telemetry

__all__ = ["Asked", "Lane", "Mark", "Row", "Section", "StandIn"]

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked: a bank, its telemetry, and a stretch of time in s since 1970."""

    bank: Bank
    telemetry: Telemetry
    since: float  # what is shown begins here; estimators take what they need from before
    until: float  # the end of what was heard
    now: float  # the present moment
    shared: dict[str, object] = field(default_factory=dict, compare=False, repr=False)  # what several sections need

    def once(self, kind: type[T], make: Callable[[], T]) -> T:
        """What is made of this question once, whoever asks first."""
        found = self.shared.get(kind.__name__)
        if not isinstance(found, kind):
            found = make()
            self.shared[kind.__name__] = found
        return found


@dataclass(frozen=True, slots=True)
class Row:
    """One thing and its figure; `limit` is the wall beside it, None where there is none."""

    name: str
    figure: Figure | None
    limit: Figure | None
    words: Say


@dataclass(frozen=True, slots=True)
class Mark:
    """A numbered flag on a lane: something happened."""

    time: float  # s since 1970
    words: str


@dataclass(frozen=True, slots=True)
class Lane:
    """A figure over time with its band; NaN is a gap."""

    name: str
    quantity: str
    time: tuple[float, ...]  # s since 1970
    value: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    wall: float | None = None
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True, slots=True)
class StandIn:
    """What this bank's readings can never tell, why, and the reading by hand that stands in for it.

    `codes` names the findings that stay unknown for that reason; `act` a whole sentence of what to do.
    """

    what: str  # "joints"
    why: str  # "one module alone"
    reading: str  # "millivolts"
    act: str
    every: float  # s from one such reading to the next
    source: Source  # of `every`
    done_by: str  # what counts as this reading, a key of watch/say/done.py
    codes: tuple[str, ...] = ()
    last: float | None = None  # s since 1970, where the readings themselves tell that it was done


@dataclass(frozen=True, slots=True)
class Section:
    """One part of the report: `title` says what it looks at, `notes` what cannot be told and why.

    `stand_ins`: what can never be told here; `rests_on`: quantities of the modules' sensors that it rests on, None:
    all.
    """

    name: str
    title: str
    findings: tuple[Finding, ...] = ()
    rows: tuple[Row, ...] = ()
    lanes: tuple[Lane, ...] = ()
    notes: tuple[Say, ...] = ()
    stand_ins: tuple[StandIn, ...] = ()
    rests_on: tuple[str, ...] | None = None
