"""Solar modules and arrays as written: what a string's open volts and short current follow from.

Gives: SolarW, ArrayEntry. Pydantic, strict.
Limits: planes, shade and cables of the sun are not in this file.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from bankwright.bank.written.parts import Ampere, Volt
from bankwright.bank.written.values import Count, Strict, Text, drift

__all__ = ["ArrayEntry", "SolarW"]


class SolarW(Strict):
    """Solar module, at 1000 W/m2 and 25 degC of its cells."""

    open_voltage: Volt | None = Field(None, description="Open-circuit voltage of its plate.")
    short_current: Ampere | None = Field(None, description="Short-circuit current of its plate.")
    voltage_drift: Annotated[float, drift("-0.26 %/K")] | None = Field(
        None, description="Change of the open voltage by the temperature of its cells; below zero."
    )
    current_drift: Annotated[float, drift("0.05 %/K")] | None = Field(
        None, description="Change of the short current by the temperature of its cells."
    )
    cells: Count | None = Field(None, description="Cells in series; 144 half cells count as 72.")


class ArrayEntry(Strict):
    """Strings of solar modules that are alike and see the same sun."""

    name: Text = Field(description="Its name; its strings are NAME.s1, NAME.s2 and so on.")
    kind: Text = Field(description="A kind of kinds.solar.")
    in_series: Count = Field(description="Solar modules in series in one string.")
    strings: Count = Field(1, description="Strings of it.")
    input: Text | None = Field(None, description="The inverter or charger that it feeds.")
