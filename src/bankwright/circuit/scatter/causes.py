"""What varies in a scatter: one column of the sample a cause.

Gives: Cause, own_causes(), gradient(), common(), spread_of_voltage(), default_causes(). A cause turns its column u in
[0, 1) into factors on the resistance of elements, or into volts on the emf of modules. Elements vary each on its own
between their limits, flat; what several have in common is one cause of its own.
Limits: tolerances are limits, not sigmas (forms/toleranced).
Sources: rack gradient 0 to 5 K from bottom to top [common practice, no source]; f(T) see circuit/of_bank/cell_part.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from bankwright.bank.model import Bank
from bankwright.circuit.network import Array, Network
from bankwright.circuit.of_bank.cell_part import REFERENCE_DEGC, Question, cell_share, temperature_factor

__all__ = ["Cause", "common", "default_causes", "gradient", "own_causes", "spread_of_voltage"]

RACK_GRADIENT = 5.0  # K


@dataclass(frozen=True, eq=False, slots=True)
class Cause:
    """A column: what it touches ("ohms" of elements or "volts" of modules), and how u (variants,) becomes values."""

    name: str
    touches: tuple[str, ...]
    kind: str
    values: Callable[[Array], Array]  # (variants,) -> (variants, touches): factors for ohms, volts to add for volts
    ends: tuple[float, float] | None = None  # of a factor that is flat between them


@lru_cache(maxsize=32)
def own_causes(network: Network) -> tuple[Cause, ...]:
    """One cause for every element with a tolerance, modules first."""
    found = []
    for element in sorted(network.elements, key=lambda e: e.kind != "module"):
        given = element.resistance
        if given is not None and not given.is_exact and given.nominal > 0.0:
            low, high = given.low / given.nominal, given.high / given.nominal
            found.append(Cause(element.name, (element.name,), "ohms", _flat(low, high), (low, high)))
    return tuple(found)


def _flat(low: float, high: float) -> Callable[[Array], Array]:
    return lambda u: (low + (high - low) * u)[:, None]


def common(name: str, elements: Iterable[str], low: float, high: float) -> Cause:
    """One factor, flat between low and high, on all the elements together: one batch, one meter."""
    touched = tuple(elements)
    return Cause(name, touched, "ohms", lambda u: np.repeat((low + (high - low) * u)[:, None], len(touched), axis=1))


def gradient(bank: Bank, question: Question = "dc", kelvin: float = RACK_GRADIENT) -> Cause | None:
    """Warmer at the top: 0 to `kelvin` between the lowest and the highest slot; None when no slots are known."""
    slots = [module.slot for module in bank.modules]
    known = [slot for slot in slots if slot is not None]
    if len(known) < len(slots) or len(set(known)) < 2:
        return None
    height = (np.array(known, dtype=np.float64) - min(known)) / (max(known) - min(known))
    share = np.array([cell_share(module.kind, question) for module in bank.modules])

    def values(u: Array) -> Array:
        warmer = REFERENCE_DEGC + kelvin * u[:, None] * height
        return np.asarray(1.0 - share + share * temperature_factor(warmer))

    return Cause("rack gradient", tuple(module.name for module in bank.modules), "ohms", values)


def spread_of_voltage(bank: Bank, half_width: float) -> tuple[Cause, ...]:
    """Open-circuit voltages that differ, each module flat within +- half_width. [V]"""
    return tuple(
        Cause(f"{module.name} voltage", (module.name,), "volts", lambda u: (half_width * (2.0 * u - 1.0))[:, None])
        for module in bank.modules
    )


def default_causes(bank: Bank, network: Network, question: Question = "dc") -> tuple[Cause, ...]:
    """Every tolerance of the bank, and the gradient of its rack."""
    rack = gradient(bank, question)
    return (*own_causes(network), *(() if rack is None else (rack,)))
