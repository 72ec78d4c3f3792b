"""What a hand can read on a bank, under which load, and how far the reading may be off.

Gives: State, Look, current_look(), voltage_look(), drop_look(), Observation. A state is one load with the modules that
are on; a look is one place to read in one state; an observation is a look with the value that was read.
Signs as in circuit/network: discharge positive, a drop positive where the current runs from the link's first post.
Limits: loads are given currents; what the error of an instrument is made of is told by the stage that knows it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

__all__ = ["Look", "Observation", "State", "current_look", "drop_look", "voltage_look"]

NOTHING: Mapping[str, float] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class State:
    """One load on the bank: current of each load [A], modules that are off, resistance over that of the network [-]."""

    name: str
    loads: Mapping[str, float] = field(default_factory=lambda: NOTHING)
    off: frozenset[str] = frozenset()
    factor: Mapping[str, float] = field(default_factory=lambda: NOTHING)  # by element: age of the step, temperature


@dataclass(frozen=True, slots=True)
class Look:
    """One thing to read: current of an edge [A], volts between two nodes [V], volts along elements in a row [V]."""

    kind: Literal["current", "voltage", "drop"]
    at: tuple[str, ...]
    state: str


def current_look(edge: str, state: str) -> Look:
    """The current of a module, a link or a load, signed as its edge runs."""
    return Look("current", (edge,), state)


def voltage_look(plus: str, minus: str, state: str) -> Look:
    """Volts of one node over another: `M1+` over `M1-`."""
    return Look("voltage", (plus, minus), state)


def drop_look(state: str, *names: str) -> Look:
    """Volts along elements, or whole edges, that lie in a row: a joint, a link, a device."""
    return Look("drop", names, state)


@dataclass(frozen=True, slots=True)
class Observation:
    """A look and its value; `half` is the limit of its own error, `shared` that of errors it has in common with others.

    Errors are flat between their limits. One name in `shared` is one error: the gain of a meter on one range.
    """

    look: Look
    value: float
    half: float
    shared: Mapping[str, float] = field(default_factory=lambda: NOTHING)

    def __post_init__(self) -> None:
        """Refuse what is no reading: a value that is no number, a reading without any error."""
        if not math.isfinite(self.value):
            raise ValueError(f"{self.look}: a reading is a finite number")
        if not (self.half > 0.0 and math.isfinite(self.half)):
            raise ValueError(f"{self.look}: a reading has limits; {self.half} is none")
