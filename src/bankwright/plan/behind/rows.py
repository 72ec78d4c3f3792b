"""The numbers of one solved case: what lies between two places, its ohms and its amperes.

Gives: Part, Row, Draw, Behind. All in SI, temperatures in degC.
The currents can be redone from them alone: at every place they add to zero (sources, conductors, draws), and around
every loop the voltages of the sources equal the sum of ohms times amperes (Kirchhoff's laws [stated law]).
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Behind", "Draw", "Part", "Row"]


@dataclass(frozen=True, slots=True)
class Part:
    """One thing in the way: `base_ohm` as given (metal at 20 degC, a module at 25 degC) times `factor` is `ohm`."""

    name: str
    kind: str
    base_ohm: float
    factor: float
    ohm: float
    degc: float
    note: str  # size, length and ohm a metre of a cable; where a device sits; what is assumed


@dataclass(frozen=True, slots=True)
class Row:
    """What lies from one place to another, in series: `emf` is 0 but for modules; the current runs from `start`."""

    name: str
    kind: str
    start: str
    end: str
    emf: float  # V
    ohm: float
    ampere: float
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class Draw:
    """What takes current out of one place and gives it back at another; negative: a charger."""

    name: str
    start: str
    end: str
    ampere: float
    volt: float | None  # None during a short
    law: str  # how the current follows: "5000 W / 0.93 / 46 V"


@dataclass(frozen=True, slots=True)
class Behind:
    """One solved case whole: which end of what is possible, the cells' temperature, rows and draws."""

    case: str
    words: str  # which end of the range
    cells_degc: float
    rows: tuple[Row, ...]
    draws: tuple[Draw, ...]
