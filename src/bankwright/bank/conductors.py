"""Conductors as written, laid over each other: what one link says, then its pattern, each key with the path that gave
it.

Gives: Layers: value(), path(), cable(), lugs(); wire_resistance(), metal_resistivity().
Limits: direct current at 20 degC; the temperature of a cable is the circuit's matter.
Sources: the handbook's tables: wire sizes (handbook/wires: NEC chapter 9 table 8, IEC 60228; never copper over bare
section, which would be 1 to 3.5 % low), metals (metals/resistivity; a bar of brass counts as cartridge brass, tinned
copper as copper).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from bankwright.bank.model_kinds import CableKind
from bankwright.bank.sizes import wire_area
from bankwright.bank.spans import Path, path_text
from bankwright.bank.written_wiring import ConductorW
from bankwright.handbook.tables import look_up
from bankwright.handbook.wires import ohm_per_m

__all__ = ["Layers", "metal_resistivity", "wire_resistance"]

_METALS = {"copper": "copper", "tinned copper": "copper", "brass": "brass C260", "aluminium": "aluminium"}


@cache
def wire_resistance(label: str, strands: str | None = None) -> float:
    """Resistance of a metre of copper cable at 20 degC, in ohm; strands not given: the flexible class."""
    return ohm_per_m(label, strands).value


def metal_resistivity(material: str) -> float:
    """Resistivity of a bar's metal at 20 degC, in ohm m."""
    return look_up("metals/resistivity", _METALS[material], "resistivity").value


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
            ohm_per_m=wire_resistance(size, self.value("strands")),
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
