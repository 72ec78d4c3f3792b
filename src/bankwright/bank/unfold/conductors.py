"""Conductors as written, laid over each other: what one link says, then its pattern,
each key with the path that gave it.

Gives: Layers: value(), path(), made_of(), strap(), cable(), lugs(); wire_resistance(), metal_resistivity().
Limits: direct current at 20 degC; the temperature of a cable is the circuit's matter.
Sources: the handbook's tables: wire sizes (handbook/wires: NEC chapter 9 table 8, IEC 60228; never copper over bare
section, which would be 1 to 3.5 % low), metals (metals/resistivity;
a bar of brass counts as cartridge brass, tinned copper as copper).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from bankwright.bank.file.spans import Path, path_text
from bankwright.bank.model_kinds import CableKind, StrapKind
from bankwright.bank.sizes import wire_area
from bankwright.bank.written.wiring import ConductorW
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


def _of_strap(strap: StrapKind, insulation_degc: float | None, spacing: float | None) -> CableKind:
    """A strap as what lies in a cable's place; its label is no size of any table."""
    area = strap.width * strap.thickness
    each = strap.thickness / strap.layers
    count = f"{strap.layers} x " if strap.layers > 1 else ""
    return CableKind(
        size=f"{count}strap {strap.width * 1e3:.4g} x {each * 1e3:.4g} mm, {strap.material}",
        area=area,
        ohm_per_m=metal_resistivity(strap.material) / area,
        size_path=strap.path,
        insulation_degc=insulation_degc,
        spacing=spacing,
        strap=strap,
    )


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

    def made_of(self) -> str:
        """What the most particular layer says that it is: "cable", "strap" or "straight"; "cable" where none does."""
        for w, _ in self.layers:
            if w.straight:
                return "straight"
            if w.strap is not None:
                return "strap"
            if w.cable is not None or w.straight is False:
                return "cable"
        return "cable"

    def strap(self) -> StrapKind | None:
        """The flat strap; None for a cable."""
        w = self.value("strap")
        if w is None or self.made_of() != "strap":
            return None
        return StrapKind(
            path=path_text(self.path("strap")),
            width=w.width,
            thickness=w.thickness * w.layers,
            material=w.material,
            layers=w.layers,
            hole=w.hole,
            rating=w.rating,
            rated_ambient_degc=w.rated_ambient,
        )

    def cable(self) -> CableKind | None:
        """The cable, or the strap in its place; None when no layer names a size."""
        strap, size = self.strap(), self.value("cable")
        if strap is not None:
            return _of_strap(strap, self.value("insulation"), self.value("spacing"))
        if size is None or self.made_of() == "straight":
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
            conduit=self.value("conduit"),
        )

    def lugs(self) -> tuple[tuple[str | None, Path], tuple[str | None, Path]]:
        """Names of the lug kinds at both ends, each with the path that gives it."""
        first = "lug_from" if self.value("lug_from") is not None else "lug"
        second = "lug_to" if self.value("lug_to") is not None else "lug"
        return (self.value(first), self.path(first)), (self.value(second), self.path(second))
