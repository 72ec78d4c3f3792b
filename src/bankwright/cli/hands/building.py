"""What was asked of `bankwright build`, option by option.

Gives: Asked.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

__all__ = ["Asked"]


@dataclass(frozen=True)
class Asked:
    """The words of the command line; what was not said is None, empty or False."""

    bank_file: Path
    step_id: str | None
    ticks: tuple[str, ...]
    unticks: tuple[str, ...]
    readings: tuple[str, ...]
    meter: str | None
    who: str
    view: str | None
    apart: str | None
    anew: str | None
    when: str | None
    go: bool
    hand_over: bool
    drops: tuple[str, ...]
    current: str | None
    sets: tuple[str, ...]
    answers: tuple[str, ...]
    explain: str | None
    as_json: bool
    html_file: Path | None
    booklet_file: Path | None
    know: bool
    strict: bool

    @property
    def enters(self) -> bool:
        """Whether a step gets a tick, a reading, or loses a tick."""
        return bool(self.ticks or self.unticks or self.readings)

    @property
    def writes(self) -> bool:
        """Whether the logbook is written to."""
        return self.enters or self.go or self.hand_over
