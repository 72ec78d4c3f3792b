"""What the reader of foreign files says: what it decided and why, what it must be told, what it refuses.

Gives: Decided, Open, NotUnderstood, Told.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from bankwright.forms.faults import Fault, QuestionError

__all__ = ["Decided", "NotUnderstood", "Open", "Told"]


@dataclass(frozen=True, slots=True)
class Decided:
    """One thing that was settled, with its reason."""

    what: str  # "delimiter", "date", "current of M1"
    value: str
    why: str


@dataclass(frozen=True, slots=True)
class Open:
    """One thing that a person must settle, and the option that settles it."""

    what: str
    words: str  # what was seen, and what it could mean
    option: str  # how to settle it: `--zone Europe/Berlin`
    stops: bool = False  # nothing can be converted before it is settled


class NotUnderstood(QuestionError):
    """The file, or an answer to it, cannot be taken: faults say where and what would be right. Nothing was stored."""

    def __init__(self, *faults: Fault) -> None:
        """Keep the faults."""
        super().__init__(faults)
        self.args = ("\n".join([*map(str, faults), "Nothing was stored."]),)


@dataclass(slots=True)
class Told:
    """Decisions and open questions as they are found."""

    decided: list[Decided] = field(default_factory=list)
    open: list[Open] = field(default_factory=list)
    checks: list[Decided] = field(default_factory=list)  # by physics, and what they came to
    left: list[Decided] = field(default_factory=list)  # columns that are not taken, and why

    def settle(self, what: str, value: str, why: str) -> None:
        """Add a decision."""
        self.decided.append(Decided(what, value, why))

    def says(self, what: str) -> bool:
        """Whether there is a decision on this."""
        return any(each.what == what for each in self.decided)

    def check(self, what: str, value: str, why: str) -> None:
        """Add a cross-check."""
        self.checks.append(Decided(what, value, why))

    def leave(self, heading: str, why: str) -> None:
        """Add a column that is not taken."""
        self.left.append(Decided(heading, "not taken", why))

    def ask(self, what: str, words: str, option: str, stops: bool = False) -> None:
        """Add an open question, once."""
        question = Open(what, words, option, stops)
        if question not in self.open:
            self.open.append(question)

    @property
    def stopped(self) -> tuple[Open, ...]:
        """Questions before which nothing can be converted."""
        return tuple(each for each in self.open if each.stops)
