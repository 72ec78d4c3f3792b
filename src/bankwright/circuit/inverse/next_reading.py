"""The one next reading: where a hand should put its meter so that two explanations come apart.

Gives: Choice, hypotheses(), next_reading(), PARTS. Each explanation is a whole bank: the readings so far, and one
element released to explain them. For two explanations a, b and a look y, D = |y_a - y_b| / limits of y; the look that
parts most pairs is the next one, at equal count the one with the largest D.
Limits: D below PARTS means that this meter cannot part them [common practice, no source].
Source: comparison of two predictions with the limits of the reading [derived].
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from bankwright.circuit.inverse.fit import fit
from bankwright.circuit.inverse.looks import Look, Observation
from bankwright.circuit.inverse.point import Unknowns, predicted
from bankwright.circuit.inverse.prior import Prior
from bankwright.circuit.network import Array

__all__ = ["PARTS", "Choice", "hypotheses", "next_reading"]

PARTS = 2.0  # limits by which two predictions must differ; common practice, no source


@dataclass(frozen=True, slots=True)
class Choice:
    """A look, what it would show under each explanation, its limits there, and how far the two ends lie apart."""

    look: Look
    shown: Mapping[str, float]
    half: float
    apart: float  # D of the two that lie farthest apart

    @property
    def parts(self) -> bool:
        """True when the meter can part them."""
        return self.apart >= PARTS


def hypotheses(prior: Prior, observations: Sequence[Observation], names: Sequence[str]) -> dict[str, Array]:
    """For each element: the unknowns as they would be if it, and nothing else, lay outside its tolerance."""
    return {name: fit(prior.released([name]), observations).values for name in names}


def next_reading(
    unknowns: Unknowns,
    explanations: Mapping[str, Array],
    looks: Sequence[Look],
    half_of: Callable[[Look, float], float],
) -> Choice | None:
    """The look that parts most; None without two explanations or without a look.

    explanations: unknowns (unknowns,) by name; half_of gives the limits of a look at a value, in its unit.
    """
    if len(explanations) < 2 or not looks:
        return None
    names = tuple(explanations)
    shown = np.stack([predicted(unknowns, looks, values)[0] for values in explanations.values()])
    choices = [_choice(look, names, shown[:, place], half_of) for place, look in enumerate(looks)]
    return max(choices, key=lambda pair: (pair[0], round(pair[1].apart, -int(pair[1].apart >= 10))))[1]


def _choice(
    look: Look, names: tuple[str, ...], values: Array, half_of: Callable[[Look, float], float]
) -> tuple[int, Choice]:
    """How many pairs a look parts, and the look as a choice."""
    half = max(half_of(look, float(value)) for value in values)
    D = [abs(float(values[a] - values[b])) / half for a, b in combinations(range(len(names)), 2)]
    shown = {name: float(value) for name, value in zip(names, values, strict=True)}
    return sum(each >= PARTS for each in D), Choice(look, shown, half, max(D))
