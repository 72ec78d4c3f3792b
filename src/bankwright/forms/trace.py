"""A figure with its trace: what went in, from where, and what is still missing for it.

Gives: Traced, given(), cited(), computed(), words(), joined(), amperes(), volts(), ohms(), lasting(), PRACTICE.
Checks of every stage hand figures on in this shape, so that every number on a page can be followed back to a line of
the file, a table or a solved case.
Limits: no verdicts (forms/finding), no look-ups (handbook).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Input, Missing
from bankwright.forms.origin import Cited, Computed, Origin, Source
from bankwright.forms.toleranced import Toleranced
from bankwright.forms.wording import Figure

__all__ = ["PRACTICE", "Traced", "amperes", "cited", "computed", "given", "joined", "lasting", "ohms", "volts", "words"]

PRACTICE = Source("common practice", how_known="common practice, no source")


@dataclass(frozen=True, slots=True)
class Traced:
    """A figure (its band where there is one), the inputs behind it, what would settle it, and the case it holds in."""

    figure: Figure
    inputs: tuple[Input, ...] = ()
    missing: tuple[Missing, ...] = ()
    case: str | None = None

    @property
    def value(self) -> float:
        """The value without its band."""
        return self.figure.value

    @property
    def low(self) -> float:
        """Lower end of the band, or the value."""
        return self.figure.value if self.figure.low is None else self.figure.low

    @property
    def high(self) -> float:
        """Upper end of the band, or the value."""
        return self.figure.value if self.figure.high is None else self.figure.high

    def scaled(self, factor: float, *inputs: Input) -> Traced:
        """The same times a factor, with the inputs that explain the factor."""
        low = None if self.figure.low is None else self.figure.low * factor
        high = None if self.figure.high is None else self.figure.high * factor
        figure = Figure(self.figure.value * factor, self.figure.quantity, low, high)
        return replace(self, figure=figure, inputs=(*self.inputs, *inputs))

    def known(self) -> Traced:
        """Itself, or NeedsValue where something is missing."""
        if self.missing:
            raise NeedsValue(*self.missing)
        return self


def given(symbol: str, name: str, value: float | Toleranced, quantity: str, origin: Origin) -> Input:
    """An input out of the file, with its tolerance where it has one."""
    if isinstance(value, Toleranced):
        return Input(symbol, name, Figure(value.nominal, quantity, value.low, value.high), origin)
    return Input(symbol, name, Figure(value, quantity), origin)


def cited(symbol: str, name: str, found: Cited, quantity: str) -> Input:
    """An input out of a published table."""
    return Input(symbol, name, Figure(found.value, quantity, found.low, found.high), found.origin)


def computed(symbol: str, name: str, traced: Traced, how: str = "solved network") -> Input:
    """An input that was computed; the case is named."""
    where = how if traced.case is None else f"{how}, {traced.case}"
    return Input(symbol, name, traced.figure, Computed(where))


def words(symbol: str, name: str, text: str, origin: Origin) -> Input:
    """An input that is no number."""
    return Input(symbol, name, text, origin)


def joined(*parts: tuple[Input, ...]) -> tuple[Input, ...]:
    """Inputs of several figures, each once."""
    return tuple(dict.fromkeys(item for part in parts for item in part))


def amperes(value: float) -> Figure:
    """A current."""
    return Figure(value, "current")


def volts(value: float) -> Figure:
    """A voltage."""
    return Figure(value, "voltage")


def ohms(value: float) -> Figure:
    """A resistance."""
    return Figure(value, "resistance")


def lasting(value: float) -> Figure:
    """A time."""
    return Figure(value, "time")
