"""Strings of solar modules: each array unfolded to its strings, named `roof.s1`, `roof.s2` and so on.

Gives: sun_strings().
Limits: they touch neither posts nor links.
"""

from __future__ import annotations

from bankwright.bank.file.spans import path_text
from bankwright.bank.model_house import SolarKind, SunString
from bankwright.bank.written.sun import SolarW
from bankwright.bank.written.told import Told

__all__ = ["sun_strings"]


def _kind(name: str, w: SolarW) -> SolarKind:
    path = path_text(("kinds", "solar", name))
    return SolarKind(name, path, w.open_voltage, w.short_current, w.voltage_drift, w.current_drift, w.cells)


def sun_strings(told: Told) -> tuple[SunString, ...]:
    """Every string of every array, in the order of the file."""
    kinds = {name: _kind(name, w) for name, w in told.kinds.solar.items()}
    return tuple(
        SunString(f"{w.name}.s{k}", w.name, kinds[w.kind], w.in_series, w.input, told.where.key(path))
        for path, w in told.entries("arrays")
        for k in range(1, w.strings + 1)
    )
