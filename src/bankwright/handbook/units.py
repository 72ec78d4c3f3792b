"""Units that tables print in, and their factor to the unit inside.

Gives: FACTORS, factor_of(). A closed table: a column in a unit that is not here is refused when the table is loaded.
Limits: columns of words or labels carry the units "words" and "label" and are never converted.
Sources: forms/constants for what is not a power of ten.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from bankwright.forms.constants import CALORIE, CIRCULAR_MIL, FOOT, GRAVITY, INCH, POUND

__all__ = ["FACTORS", "TEXT", "UnknownUnit", "factor_of"]

POUND_FORCE = POUND * GRAVITY

TEXT = frozenset({"label", "words", "flag"})

FACTORS: Mapping[str, float] = MappingProxyType(
    {
        "-": 1.0,
        "percent": 0.01,
        "%": 0.01,
        "percent/K": 0.01,
        "1/K": 1.0,
        "K": 1.0,
        "degC": 1.0,
        "V": 1.0,
        "mV": 1e-3,
        "A": 1.0,
        "mA": 1e-3,
        "kA": 1e3,
        "A2s": 1.0,
        "1000 A2s": 1e3,
        "ohm": 1.0,
        "mohm": 1e-3,
        "uohm": 1e-6,
        "Mohm": 1e6,
        "ohm/V": 1.0,
        "mohm Ah": 1e-3,
        "ohm m": 1.0,
        "ohm/km": 1e-3,
        "ohm/kft": 1e-3 / FOOT,
        "ohm/ft": 1 / FOOT,
        "A/mm2": 1e6,
        "A/in2": 1 / INCH**2,
        "A s0.5/mm2": 1e6,
        "m": 1.0,
        "mm": 1e-3,
        "cm": 1e-2,
        "in": INCH,
        "ft": FOOT,
        "mm2": 1e-6,
        "cmil": CIRCULAR_MIL,
        "kcmil": 1000 * CIRCULAR_MIL,
        "s": 1.0,
        "ms": 1e-3,
        "min": 60.0,
        "h": 3600.0,
        "d": 86400.0,
        "kWh": 1.0,
        "Ah": 1.0,
        "W": 1.0,
        "J": 1.0,
        "kJ": 1e3,
        "F": 1.0,
        "mF": 1e-3,
        "H": 1.0,
        "uH": 1e-6,
        "kg": 1.0,
        "lb": POUND,
        "N": 1.0,
        "kN": 1e3,
        "lbf": POUND_FORCE,
        "N m": 1.0,
        "lbf in": POUND_FORCE * INCH,
        "Pa": 1.0,
        "kPa": 1e3,
        "psf": POUND_FORCE / FOOT**2,
        "g": 1.0,
        "deg": 1.0,
        "cal/cm2": CALORIE * 1e4,
        "W/(m2 K)": 1.0,
        "mV/K": 1e-3,
        "1/min": 1.0,
        "U": 1.0,
    }
)


class UnknownUnit(ValueError):
    """A table prints a column in a unit that the closed list does not hold."""

    def __init__(self, table: str, column: str, unit: str) -> None:
        """Keep the parts; the message names them."""
        super().__init__(f'{table}, column "{column}": unit "{unit}" is not in handbook/units')
        self.table, self.column, self.unit = table, column, unit


def factor_of(table: str, column: str, unit: str) -> float | None:
    """Factor from the printed unit to the one inside; None for words and labels."""
    if unit in TEXT:
        return None
    if unit not in FACTORS:
        raise UnknownUnit(table, column, unit)
    return FACTORS[unit]
