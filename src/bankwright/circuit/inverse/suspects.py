"""What lies outside its tolerance: elements whose growth alone would explain what the readings show.

Gives: Suspect, suspects(), settled_fit(), Outcome. Each element in turn is asked: by how much must it have grown, and
how many standard deviations is that from nothing, when everything else stays inside its tolerance? The strongest one
is released, with all that change the readings alike, and the fit is made again, until nothing stands out.
Limits: one element at a time; two that fail together are found one after the other. A single reading that is wrong
looks like growth of what it was read on: read again before anything is concluded.
Steps NOTED and EVEN: common practice, no source.
Source: generalised likelihood ratio of a shift along a known column [stated law].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from bankwright.circuit.inverse.elements import PARALLEL
from bankwright.circuit.inverse.fit import Estimate, fit
from bankwright.circuit.inverse.looks import Observation
from bankwright.circuit.inverse.prior import Prior
from bankwright.circuit.network import Array

__all__ = ["EVEN", "NOTED", "Outcome", "Suspect", "settled_fit", "suspects"]

NOTED = 4.5  # standard deviations from which an element is released; common practice, no source
EVEN = 2.0  # standard deviations within which two explain the readings equally well; common practice, no source
SHRUNK = 0.05  # standard deviations that growth goes before shrinking, where both explain the same
LIKELY = ("joint", "device", "bar", "conductor", "module")  # of those that explain alike, which is named first
MOST = 8  # elements released in one fit


@dataclass(frozen=True, slots=True)
class Suspect:
    """An element, the growth that would explain the readings [ohm], how sure that is [standard deviations].

    `alike` are elements that change the readings as it does; these readings never part them. `rivals` change them
    otherwise and explain them as well.
    """

    name: str
    growth: float
    sure: float
    alike: tuple[str, ...] = ()
    rivals: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Outcome:
    """The last estimate, and what had to be released on the way to it."""

    estimate: Estimate
    released: tuple[Suspect, ...] = ()

    @property
    def outside(self) -> tuple[str, ...]:
        """Elements, and those that cannot be told from them, that lie outside their tolerance."""
        return tuple(dict.fromkeys(name for each in self.released for name in (each.name, *each.alike)))


def _columns(estimate: Estimate) -> tuple[Array, Array]:
    """Sensitivity to the elements, and what the readings leave unexplained, both in standard deviations."""
    root = np.linalg.cholesky(estimate.spread + 1e-12 * np.diag(np.diag(estimate.spread)))
    read = np.array([observation.value for observation in estimate.observations])
    left = read - estimate.shown + estimate.rows @ (estimate.values - estimate.prior.middle)
    count = estimate.prior.unknowns.emf_start
    white = np.linalg.solve(root, np.column_stack([estimate.rows[:, :count], left]))
    return white[:, :count], white[:, count]


def suspects(estimate: Estimate, among: Sequence[str] | None = None) -> tuple[Suspect, ...]:
    """Elements whose growth would explain the readings, the surest first; `among` None: all elements.

    Only growth is looked for: joints, links and devices do not heal. Modules may lie below their tolerance too.
    """
    columns, left = _columns(estimate)
    sizes = np.linalg.norm(columns, axis=0)
    elements = estimate.prior.unknowns.network.elements
    with np.errstate(divide="ignore", invalid="ignore"):
        growth = np.where(sizes > 0.0, columns.T @ left / sizes**2, 0.0)
    sure = growth * sizes
    asked = [
        place
        for place, element in enumerate(elements)
        if sizes[place] > 0.0 and (among is None or element.name in among)
    ]
    signed = {place: abs(sure[place]) if elements[place].kind == "module" else sure[place] for place in asked}
    rank = {k: round(signed[k] - (SHRUNK if growth[k] < 0.0 else 0.0), 2) for k in asked}
    order = sorted(asked, key=lambda k: (-rank[k], LIKELY.index(elements[k].kind)))
    found = []
    for place in order:
        if signed[place] <= 0.0:
            continue
        cosine = columns.T @ columns[:, place] / np.where(sizes > 0.0, sizes, 1.0) / sizes[place]
        may = {k for k in order if growth[place] > 0.0 or elements[k].kind == "module"}  # joints do not shrink
        alike = tuple(elements[k].name for k in order if k != place and k in may and cosine[k] > PARALLEL)
        rivals = tuple(
            elements[k].name
            for k in order
            if k != place and cosine[k] <= PARALLEL and _as_good(signed[k], signed[place])
        )
        found.append(Suspect(elements[place].name, float(growth[place]), float(signed[place]), alike, rivals))
    return tuple(found)


def _as_good(sure: float, best: float) -> bool:
    """Would this one explain the readings within EVEN standard deviations as well as the best does?"""
    return sure > 0.0 and best**2 - sure**2 <= EVEN**2


def settled_fit(prior: Prior, observations: Sequence[Observation]) -> Outcome:
    """Fit, and release one element after the other as long as the readings ask for growth outside its tolerance."""
    estimate = fit(prior, observations)
    released: list[Suspect] = []
    for _ in range(MOST):
        taken = {name for each in released for name in (each.name, *each.alike)}
        found = [each for each in suspects(estimate) if each.name not in taken]
        if not found or found[0].sure < NOTED:
            break
        released.append(found[0])
        prior = prior.released([found[0].name])
        estimate = fit(prior, observations)
    return Outcome(estimate, tuple(replace(each, growth=_grown(estimate, each.name)) for each in released))


def _grown(estimate: Estimate, name: str) -> float:
    """Resistance over the middle of the tolerance, once the element is free to be what the readings ask for."""
    given = estimate.prior.unknowns.network.elements[estimate.prior.unknowns.place[name]].resistance
    return estimate.value(name) - (0.0 if given is None else (given.low + given.high) / 2)
