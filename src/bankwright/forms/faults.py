"""What is wrong with a question: a fault in a file, an option or an entry, with its place and what would be right.

Gives: Fault, QuestionError. One shape for the command line, the page and JSON.
Limits: a fault is about the question; a bad design is a Finding.
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.forms.origin import Place

__all__ = ["Fault", "QuestionError"]


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault: where, what was found, what would be right, what to do."""

    path: str  # `modules[4].slot`; empty for a whole file
    code: str  # short and stable: "unit-missing"
    found: str
    expected: str = ""
    hint: str = ""
    place: Place | None = None
    also: Place | None = None  # the other place, where two disagree

    def __str__(self) -> str:
        """One line: `orchard.toml:41  modules[4].slot  slot 2 already holds M2 (line 35). Free slots: 5, 6.`."""
        where = "  ".join(part for part in (str(self.place) if self.place else "", self.path) if part)
        parts = [_sentence(text) for text in (self.found, self.expected, self.hint)]
        return "  ".join(part for part in (where, " ".join(p for p in parts if p)) if part)


def _sentence(text: str) -> str:
    return text if not text or text[-1] in ".?!" else text + "."


class QuestionError(Exception):
    """The question was wrong: faults in a file, an option or an entry. Nothing was computed, nothing stored."""

    def __init__(self, faults: tuple[Fault, ...], about: str = "") -> None:
        """Keep the faults; `about` names the file or the option."""
        self.faults, self.about = faults, about
        count = f"{len(faults)} fault{'' if len(faults) == 1 else 's'}"
        closing = f"{count} in {about}. Nothing was computed." if about else f"{count}. Nothing was computed."
        super().__init__("\n".join([*map(str, faults), closing]))
