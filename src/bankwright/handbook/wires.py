"""Wire sizes as the tables name them: section, diameter, resistance, order, and what one counts as elsewhere.

Gives: Wire, wire(), labels(), ohm_per_m(), counts_as(), nearest_label(), UnknownSize. A size is a label, no quantity.
Limits: copper; sizes 14 AWG to 750 kcmil and 1.5 to 300 mm2. The nominal mm2 is a name: resistance comes from the
tables, never from the section. Boards and lugs care for the name, current and heat for the resistance.
Sources: ASTM B258-02 (diameter 0.005 in x 92^((36-n)/39)), circular mil [definition]; NEC Chapter 9 Table 8 (stranded,
uncoated) and IEC 60228 tables 2 and 3, in handbook/data.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Literal

from bankwright.forms.constants import CIRCULAR_MIL, INCH
from bankwright.forms.origin import Cited, Source
from bankwright.handbook.tables import load, look_up

__all__ = ["System", "UnknownSize", "Wire", "counts_as", "labels", "nearest_label", "ohm_per_m", "wire"]

System = Literal["awg", "mm2"]

AWG = {"14": 14, "12": 12, "10": 10, "8": 8, "6": 6, "4": 4, "3": 3, "2": 2, "1": 1, "1/0": 0, "2/0": -1, "3/0": -2}
AWG |= {"4/0": -3}
CLASS_2 = frozenset({"class 2", "class b", "class c"})


class UnknownSize(LookupError):
    """No table names this size; `nearest` is the label to try."""

    def __init__(self, text: str) -> None:
        """Keep the text and the nearest right label."""
        self.text, self.nearest = text, nearest_label(text)
        super().__init__(f'no wire size "{text}" in the tables; the nearest is "{self.nearest}"')


@dataclass(frozen=True, slots=True)
class Wire:
    """One size: label, system, section of metal (by its name where metric), diameter of that section as one round."""

    label: str
    system: System
    area: float
    diameter: float
    source: Source


def _awg_diameter(n: int) -> float:
    return float(0.005 * INCH * 92 ** ((36 - n) / 39))


@cache
def _wires() -> dict[str, Wire]:
    astm = Source("ASTM B258", "02", "nominal diameters", "read")
    mil = Source("circular mil", "", "area of a circle 0.001 in wide", "stated law")
    iec = Source("IEC 60228", "2004", "nominal sections", "read")
    found: dict[str, Wire] = {}
    for size, n in AWG.items():
        diameter = _awg_diameter(n)
        found[f"{size} AWG"] = Wire(f"{size} AWG", "awg", math.pi / 4 * diameter**2, diameter, astm)
    for key in load("nec-2023/ch9-t8").row_keys():
        label = str(key)
        if label.endswith("kcmil"):
            area = float(label.split()[0]) * 1000 * CIRCULAR_MIL
            found[label] = Wire(label, "awg", area, math.sqrt(4 * area / math.pi), mil)
    for key in load("iec-60228/copper").row_keys():
        label = str(key)
        area = float(label.split()[0]) * 1e-6
        found[label] = Wire(label, "mm2", area, math.sqrt(4 * area / math.pi), iec)
    return found


def wire(label: str) -> Wire:
    """The size with this label; UnknownSize with the nearest right one."""
    found = _wires().get(label)
    if found is None:
        raise UnknownSize(label)
    return found


def labels(system: System) -> tuple[str, ...]:
    """All labels of one system, small to large."""
    return tuple(sorted((w.label for w in _wires().values() if w.system == system), key=lambda label: wire(label).area))


def ohm_per_m(label: str, strands: str | None = None) -> Cited:
    """Resistance of one metre at 20 degC; strands not given: the flexible class, which is the higher. [ohm/m]

    AWG and kcmil: Table 8 holds at 75 degC and is brought to 20 degC by its own note, R2 = R1 (1 + 0.00323 (T2 - 75)).
    """
    size = wire(label)
    if size.system == "mm2":
        return look_up("iec-60228/copper", label, "class2" if (strands or "").lower() in CLASS_2 else "class5")
    cited = look_up("nec-2023/ch9-t8", label, "ohm_per_kft")
    per_k = load("nec-2023/ch9-t8").conditions["alpha_75_per_k"]
    factor = 1 + float(per_k) * (20.0 - 75.0)
    at = {**cited.at, "conductor_degc": 20.0, "printed_at_degc": 75.0}
    return Cited(cited.value * factor, cited.origin, None, None, MappingProxyType(at))


@cache
def counts_as(label: str, system: System, strands: str | None = None) -> str | None:
    """The largest size of a system that has no less resistance than this one; itself in its own system; None if none.

    So a cable of the other system never gets more current than its metal carries. Derived: equal heat at equal current.
    """
    if wire(label).system == system:
        return label
    own = ohm_per_m(label, strands).value
    best: str | None = None
    for other in labels(system):
        if ohm_per_m(other).value >= own:
            best = other
    return best


def nearest_label(text: str) -> str:
    """The label nearest to what was written: same number in another spelling first, then the nearest section."""
    cleaned = " ".join(text.replace("²", "2").replace("^2", "2").split())
    lower = cleaned.lower()
    number = re.search(r"\d+(?:\.\d+)?(?:/0)?", cleaned)
    if number is None:
        return "2 AWG"
    digits = number[0]
    system = "mm2" if "mm" in lower or (not re.search(r"awg|mcm|kcmil|/0", lower) and float(digits) > 16) else "awg"
    if "mcm" in lower or "kcmil" in lower:
        return _nearest_area(float(digits) * 0.5067075e-6, "awg")
    if system == "mm2":
        return _nearest_area(float(digits) * 1e-6, "mm2")
    spelled = f"{len(digits)}/0" if set(digits) == {"0"} else digits
    if spelled in AWG:
        return f"{spelled} AWG"
    return min(AWG, key=lambda size: abs(AWG[size] - _gauge(spelled))) + " AWG"


def _gauge(spelled: str) -> float:
    return 1.0 - float(spelled.split("/")[0]) if spelled.endswith("/0") else float(spelled)


def _nearest_area(area: float, system: System) -> str:
    return min(labels(system), key=lambda label: abs(wire(label).area - area))
