"""Conductors as written, laid over each other: what one link says, then its pattern, each key with the path that gave
it.

Gives: Layers: value(), path(), cable(), lugs(); wire_resistance(), metal_resistivity().
Limits: direct current at 20 degC; the temperature of a cable is the circuit's matter.
Sources: annealed copper 1/58 ohm mm2/m (IEC 60028:1925, read); metric sizes take the largest resistance of IEC
60228:2004, class 5 plain copper, which is above what the name of the size gives (read); other metals: their share of
annealed copper's conductivity, brass C260 28 %, aluminium conductor 61 % (read).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from bankwright.bank.model_kinds import CableKind
from bankwright.bank.sizes import wire_area
from bankwright.bank.spans import Path, path_text
from bankwright.bank.written_wiring import ConductorW

__all__ = ["Layers", "metal_resistivity", "wire_resistance"]

RHO_COPPER = 1.7241e-8  # ohm m at 20 degC, IEC 60028:1925
_RHO = {
    "copper": RHO_COPPER,
    "tinned copper": RHO_COPPER,
    "brass": 6.157e-8,
    "aluminium": 2.8264e-8,
}  # ohm m at 20 degC
_CLASS_5 = {  # mm2 -> ohm/km at 20 degC
    "1.5": 13.3, "2.5": 7.98, "4": 4.95, "6": 3.30, "10": 1.91, "16": 1.21, "25": 0.780, "35": 0.554, "50": 0.386,
    "70": 0.272, "95": 0.206, "120": 0.161, "150": 0.129, "185": 0.106, "240": 0.0801, "300": 0.0641,
}  # fmt: skip


def wire_resistance(label: str) -> float:
    """Resistance of a metre of copper cable at 20 degC, in ohm."""
    number, _, unit = label.partition(" ")
    if unit == "mm2" and number in _CLASS_5:
        return _CLASS_5[number] * 1e-3
    return RHO_COPPER / wire_area(label)


def metal_resistivity(material: str) -> float:
    """Resistivity of a bar's metal at 20 degC, in ohm m."""
    return _RHO[material]


@dataclass(frozen=True, slots=True)
class Layers:
    """Written conductors, the most particular first, each with its path."""

    layers: tuple[tuple[ConductorW, Path], ...]

    def value(self, key: str) -> Any:
        """The first value given for a key; None when no layer gives it."""
        return next((getattr(w, key) for w, _ in self.layers if getattr(w, key) is not None), None)

    def path(self, key: str) -> Path:
        """The path that gives a key; where it would stand when none does."""
        given = next((path for w, path in self.layers if getattr(w, key) is not None), self.layers[-1][1])
        return (*given, key)

    def over(self, w: ConductorW | None, path: Path) -> Layers:
        """Lay a more particular conductor on top."""
        return self if w is None else Layers(((w, path), *self.layers))

    def cable(self) -> CableKind | None:
        """The cable; None when no layer names a size."""
        size = self.value("cable")
        if size is None:
            return None
        return CableKind(
            size=size,
            area=wire_area(size),
            ohm_per_m=wire_resistance(size),
            size_path=path_text(self.path("cable")),
            strands=self.value("strands"),
            insulation_degc=self.value("insulation"),
            method=self.value("method"),
            spacing=self.value("spacing"),
            bundled=self.value("bundled"),
            outer_diameter=self.value("outer_diameter"),
            bend_radius=self.value("bend_radius"),
        )

    def lugs(self) -> tuple[tuple[str | None, Path], tuple[str | None, Path]]:
        """Names of the lug kinds at both ends, each with the path that gives it."""
        first = "lug_from" if self.value("lug_from") is not None else "lug"
        second = "lug_to" if self.value("lug_to") is not None else "lug"
        return (self.value(first), self.path(first)), (self.value(second), self.path(second))
