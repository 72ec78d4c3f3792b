"""Beyond the DC bus, as Prove reads it at first power-up: bonds of the AC side, strings of solar modules.

Gives: Bonds, SolarKind, SunString. A string is what hangs in series on one input; strings of an array are alike, named
`roof.s1`, `roof.s2` and so on.
Limits: neither planes nor shade nor cables of the sun; a string is no part of the DC network of the bank.
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.forms.origin import FileKey

__all__ = ["Bonds", "SolarKind", "SunString"]


@dataclass(frozen=True, slots=True)
class Bonds:
    """Where neutral and protective conductor are joined, by state; sizes of both between panel and source."""

    utility: str | None = None
    island: str | None = None
    generator: str | None = None
    neutral: str | None = None  # size label
    protective: str | None = None


@dataclass(frozen=True, slots=True)
class SolarKind:
    """A kind of solar module, at 1000 W/m2 and 25 degC."""

    name: str
    path: str
    open_voltage: float | None = None
    short_current: float | None = None
    voltage_drift: float | None = None  # 1/K, of the open voltage: negative
    current_drift: float | None = None  # 1/K, of the short current
    cells: int | None = None  # in series


@dataclass(frozen=True, slots=True)
class SunString:
    """One string: so many solar modules in series."""

    name: str  # "roof.s1"
    array: str  # name of the array: strings of one array are like each other
    kind: SolarKind
    in_series: int
    input: str | None  # the inverter or charger that it feeds
    origin: FileKey
