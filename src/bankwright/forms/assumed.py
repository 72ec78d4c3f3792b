"""A value that the file does not give, and what was taken in its place: it goes wherever its figure goes.

Gives: Assumed. The range is published, the value taken is one end of it, or its usual value; a device whose resistance
is not given is left out.
Limits: ranges are looked up by those who fill one in (plan/ends/stand_in, circuit/of_bank/network).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from bankwright.forms.finding import Missing
from bankwright.forms.origin import Origin
from bankwright.forms.wording import Figure, Say, say

__all__ = ["Assumed"]

WORDS = {"low": "low end of {low} to {high}", "high": "high end of {low} to {high}", "usual": "of {low} to {high}"}


@dataclass(frozen=True, slots=True)
class Assumed:
    """One assumption of a solved case; `figure` is the value taken, with the ends of its range. [SI]"""

    name: str  # "resistance of M100, 30 s into a step"
    figure: Figure
    end: Literal["low", "high", "usual", "left out"]
    origin: Origin
    places: tuple[str, ...]  # names of the bank: modules, links, pieces of bars, joints, devices, inverters
    key: str = ""  # key of the file that would take its place, where one key would
    settle: Missing | None = None

    SHOWN: ClassVar[tuple[str, ...]] = ("text",)  # what forms/as_json writes beside the fields

    @property
    def text(self) -> Say:
        """In words: "assumed: resistance of M100, 30 s into a step, 8.00 mΩ, low end of 8.00 mΩ to 21.0 mΩ"."""
        figure, kind = self.figure, self.figure.quantity
        if self.end == "left out" or figure.low is None or figure.high is None:
            return say("assumed: {name}, {taken}", name=self.name, taken=Figure(figure.value, kind))
        ends = {"low": Figure(figure.low, kind), "high": Figure(figure.high, kind)}
        words = "assumed: {name}, {taken}, " + WORDS[self.end]
        return say(words, name=self.name, taken=Figure(figure.value, kind), **ends)
