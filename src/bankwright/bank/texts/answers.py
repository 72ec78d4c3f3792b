"""Answers that a starter file is made from.

Gives: Start, with defaults.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bankwright.bank.texts.shelf import Shelved

__all__ = ["Start"]


@dataclass(frozen=True, slots=True)
class Start:
    """Answers that a starter file is made from; quantities as texts with their units, as a file holds them."""

    title: str = "My bank"
    modules: int = 4
    capacity: str | None = "100 Ah"  # None here and below: not known, stands as a comment with its key
    cells: int = 16
    discharge: str | None = "100 A"  # continuous, a module
    charge: str | None = "50 A"
    mass: str | None = None
    stud: str | None = None  # of the module's posts
    pairs: int | None = None  # posts a pole
    breaker: str | None = None  # rated current of the breaker inside a module
    interrupts: str | None = None  # what it interrupts
    height: str | None = None
    inverters: int = 1
    power: str | None = "5 kW"
    efficiency: str | None = "92 %"
    lowest_voltage: str | None = "48 V"
    pattern: Literal["chain", "busbar"] = "busbar"
    feed: Literal["same end", "opposite ends", "both ends"] = "opposite ends"
    rules: Literal["nec-2023", "iec-60364"] = "nec-2023"
    units: Literal["metric", "us"] = "metric"
    place: str | None = None
    ambient: str | None = None
    kinds: tuple[Shelved, ...] = ()  # of files of kinds, which are included; what they give stands there alone
