"""What was heard on a CAN bus, counted: frames by identifier, damage, remote frames, what could not be read.

Gives: Tally, ERROR_CLASSES, error_words(). Memory is bounded: at most MOST identifiers and numbers are kept.
Sources: classes of error frames: linux/can/error.h, from memory.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TypeVar

from bankwright.bus.can.decode import CanFrame, Kind, Said

__all__ = ["ERROR_CLASSES", "Tally", "error_words"]

T = TypeVar("T")
MOST = 1000
ERROR_CLASSES = {
    0x004: "the controller reports a problem (full buffers, warning or passive state)",
    0x008: "frames broken against the protocol (bits, stuffing, form)",
    0x010: "the transceiver reports a problem",
    0x020: "nobody acknowledged",
    0x040: "the controller is off the bus",
    0x080: "bus errors",
    0x100: "the controller was restarted",
}


def error_words(classes: int) -> tuple[str, ...]:
    """What the classes of an error frame mean."""
    return tuple(words for bit, words in ERROR_CLASSES.items() if classes & bit)


@dataclass
class Tally:
    """Counts since they were begun."""

    frames: int = 0  # with data
    remote: int = 0
    errors: int = 0
    classes: int = 0  # of error frames, all together
    decoded: int = 0
    ids: Counter[tuple[int, bool]] = field(default_factory=Counter)
    foreign: Counter[tuple[int, bool]] = field(default_factory=Counter)  # not in the map
    short: Counter[tuple[int, bool]] = field(default_factory=Counter)
    undecoded: Counter[tuple[int, bool]] = field(default_factory=Counter)
    told: Counter[tuple[str, str]] = field(default_factory=Counter)  # message and module
    strangers: Counter[int] = field(default_factory=Counter)  # numbers of modules that nobody has

    def count(self, frame: CanFrame) -> None:
        """Count a frame, whatever it is."""
        if frame.kind is Kind.ERROR:
            self.errors += 1
            self.classes |= frame.id
        elif frame.kind is Kind.REMOTE:
            self.remote += 1
        else:
            self.frames += 1
            _add(self.ids, (frame.id, frame.extended))

    def judge(self, frame: CanFrame, said: Said) -> None:
        """Count what became of a frame with data."""
        self.decoded += said.outcome == "values"
        where = {"not in the map": self.foreign, "short": self.short, "not decoded": self.undecoded}.get(said.outcome)
        if where is not None:
            _add(where, (frame.id, frame.extended))
        for module in {module for module, _, _ in said.values}:
            _add(self.told, (said.message, module))
        for number in said.numbers:
            _add(self.strangers, number)

    def words(self) -> str:
        """What is to be told of a cycle beside who was heard."""
        parts = [f", {self.frames} frames"]
        parts += [f", {count} {what}" for count, what in self._odd() if count]
        return "".join(parts)

    def _odd(self) -> tuple[tuple[int, str], ...]:
        return (
            (self.errors, "error frames"),
            (sum(self.short.values()), "too short"),
            (sum(self.undecoded.values()), "not decoded"),
            (sum(self.strangers.values()), "of modules that the bank does not have"),
        )


def _add(counter: Counter[T], key: T) -> None:
    if key in counter or len(counter) < MOST:
        counter[key] += 1
