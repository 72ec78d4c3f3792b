"""One setting of one device: what to set, its window, why, and what stands beside it.

Gives: Setting, Held, Entered, WHATS. Quantities in SI; `set_to` None: unknown, `missing` says what would settle it.
Limits: nothing is ever written to a device; a person sets it and says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from bankwright.forms.finding import Input, Missing
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, Say

__all__ = ["WHATS", "Entered", "Held", "Setting"]

WHATS = (
    "charge voltage",
    "charge ceiling",
    "float",
    "charge current",
    "discharge current",
    "low stop",
    "restart",
    "without the message",
    "chemistry",
    "message",
)


@dataclass(frozen=True, slots=True)
class Held:
    """What all devices of one side may carry together: with all modules, and with one away. [A]"""

    total: float | None = None  # at their largest
    with_all: float | None = None
    one_away: float | None = None
    module: str = ""  # that holds least
    case: str = ""
    missing: tuple[Missing, ...] = ()


@dataclass(frozen=True, slots=True)
class Entered:
    """What a person set at a device: a value in SI or words, as typed, when and by whom."""

    id: str
    value: float | None
    typed: str
    when: str
    who: str = ""
    seq: int = 0


@dataclass(frozen=True, slots=True)
class Setting:
    """One row of the card."""

    id: str  # "I1 low stop"
    device: str
    what: str  # one of WHATS
    quantity: str  # "words" for what is no number
    set_to: Figure | str | None
    window: tuple[float | None, float | None]  # what it must lie between
    why: Say
    source: Source
    soft: tuple[float | None, float | None] = (None, None)  # beyond these it is a caution
    beside: Say | None = None  # the figure that is not the one to set
    inputs: tuple[Input, ...] = ()
    missing: tuple[Missing, ...] = ()

    @property
    def margin(self) -> float | None:
        """Least ratio between what is to be set and an end of its window; None where there is none."""
        if not isinstance(self.set_to, Figure):
            return None
        low, high, value = *self.window, self.set_to.value
        ratios = [] if low is None or low <= 0.0 else [value / low]
        ratios += [] if high is None or value <= 0.0 else [high / value]
        return min(ratios, default=None)

    SHOWN: ClassVar[tuple[str, ...]] = ("margin",)  # what forms/as_json writes beside the fields
