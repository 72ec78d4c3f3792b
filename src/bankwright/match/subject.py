"""What the checks of joining look into.

Gives: Subject, Degc, digits_decide(). The modules that may be looked at, their readings, what flows at once and after.
Limits: holds, computes nothing but the list of inputs.
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.bank.model import Bank
from bankwright.forms.finding import Input
from bankwright.forms.origin import Computed
from bankwright.forms.wording import Figure
from bankwright.match.entry import ModuleReading
from bankwright.match.inrush import Inrush
from bankwright.match.settle import Settled

__all__ = ["Degc", "Subject", "digits_decide"]

Degc = dict[str, tuple[float, float] | None]


@dataclass(frozen=True, eq=False)
class Subject:
    """What the checks look into."""

    bank: Bank  # of the modules that may be looked at
    readings: tuple[ModuleReading, ...]
    inrush: Inrush
    settled: Settled | None
    degc: Degc  # temperature of each module, as read or as the file says of the room

    def resistances(self) -> tuple[Input, ...]:
        """Ohmic resistances that went in, one input a kind."""
        found: dict[str, Input] = {}
        for module, part in zip(self.bank.modules, self.inrush.parts, strict=True):
            figure = Figure(part.ohmic.nominal, "resistance", part.ohmic.low, part.ohmic.high)
            name = f"ohmic resistance of {module.kind.name}"
            found.setdefault(name, Input("R_0", name, figure, part.ohmic_origin, part.ohmic_assumed))
        return tuple(found.values())

    def volts(self) -> tuple[Input, ...]:
        """Readings that went in."""
        return tuple(
            Input("V", f"{r.module} as read", Figure(r.voltage, "voltage"), Computed(f"typed {r.as_typed}"))
            for r in self.readings
        )


def digits_decide(figure: Figure, limit: float | None) -> str:
    """Advice for a figure that the last digits of the meter alone push past its limit; else nothing."""
    if limit is None or figure.high is None or not abs(figure.value) <= limit < figure.high:
        return ""
    return "Read again with a finer meter, to a hundredth of a volt: the reading as such keeps within. Else: "
