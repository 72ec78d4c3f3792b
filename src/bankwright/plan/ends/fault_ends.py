"""Shorts of a bank with their band: at least and at most, where the ohmic resistance of a kind is not given.

Gives: FaultEnds: most(), prospective(), own(), inside(), at(). Each answers with a Traced current,
places of the short in its case.
Limits: the settled current. "At least" from the 30 s value, "at most" from the cells alone, when only that is known.
Sources: circuit/shorts; plan/ends/stand_in.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from bankwright.bank.model import Bank
from bankwright.forms.finding import Input
from bankwright.forms.trace import Traced
from bankwright.forms.wording import Figure
from bankwright.plan.ends.stand_in import StoodIn

if TYPE_CHECKING:
    from bankwright.circuit.shorts import Shorts, Through

__all__ = ["FaultEnds"]


@dataclass(frozen=True, eq=False)
class FaultEnds:
    """Shorts at the highest and the lowest end."""

    bank: Bank
    stood: StoodIn
    _made: dict[str, tuple[Shorts, ...]] = field(default_factory=dict, repr=False)
    _found: dict[tuple[str, str], Through] = field(default_factory=dict, repr=False)

    def ends(self, end: str) -> tuple[Shorts, ...]:
        """Shorts at one end, once a resistance end: first the low resistances, then the high ones."""
        from bankwright.circuit.shorts import shorts

        if end not in self._made:
            banks = [row[0] for row in self.stood.banks]
            self._made[end] = tuple(shorts(each, end) for each in banks)  # type: ignore[arg-type]
        return self._made[end]

    def assumed(self, end: str) -> tuple[Input, ...]:
        """What stands in for the resistances of this end."""
        question = "ohmic" if end == "highest" else self._low_question()
        return self.stood.resistances[question]

    def _low_question(self) -> str:
        return "surge"

    def banded(self, end: str, figure: Callable[[Shorts], tuple[float, str]]) -> Traced:
        """A current at one end, with its band where a range stands in; NeedsValue where nothing can."""
        found = [figure(each) for each in self.ends(end)]
        assumed = self.assumed(end)
        values = [value for value, _ in found]
        pick = values.index(max(values) if end == "highest" else min(values))
        value, case = found[pick]
        if not assumed or max(values) - min(values) <= 1e-3 * max(values):
            return Traced(Figure(value, "current"), (), (), case)
        return Traced(Figure(value, "current", min(values), max(values)), assumed, (), case)

    def most(self, name: str, way: str = "largest") -> Traced:
        """Largest current through an edge or element over all shorts: "forward", "backward" along it, or
        "largest"."""
        return self.banded("highest", lambda shorts: self._through(shorts, name, way))

    def _through(self, shorts: Shorts, name: str, way: str) -> tuple[float, str]:
        key = (str(id(shorts)), name)
        if key not in self._found:
            self._found[key] = shorts.through(name)
        return _said(self._found[key], way)

    def prospective(self, device: str) -> Traced:
        """Largest current that a short can make available at a device: its own resistance does not count."""
        return self.banded("highest", lambda shorts: _said(shorts.prospective(device), "largest"))

    def inside(self, module: str) -> Traced:
        """What the other modules drive into a short inside a module, through its own device."""
        return self.banded("highest", lambda shorts: (abs(shorts.inside(module).current), f"short inside {module}"))

    def own(self, module: str) -> Traced:
        """What one module drives into a short at its own posts, with nothing else on the bus."""

        def one(shorts: Shorts) -> tuple[float, str]:
            edge = shorts.feeding.network.edge_index[module]
            return float(shorts.feeding.emf[edge] / shorts.feeding.resistance[edge]), f"short at the posts of {module}"

        return self.banded("highest", one)

    def at(self, place: str, end: str = "highest", opposite: str | None = None) -> Traced:
        """Current of a short from a place to the opposite pole, or to one place of it: the largest, or at the lowest
        end the least."""

        def one(shorts: Shorts) -> tuple[float, str]:
            short = shorts.at(place, opposite)
            return abs(short.current), f"short {short.place} to {short.opposite}"

        return self.banded(end, one)


def _said(through: Through, way: str) -> tuple[float, str]:
    """The current one way, or the larger one, and where the short lies."""
    forward = way == "forward" or (way == "largest" and through.forward >= through.backward)
    places = through.forward_at if forward else through.backward_at
    return (through.forward if forward else through.backward), f"short {places[0]} to {places[1]}"
