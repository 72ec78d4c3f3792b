"""Labels that are no quantities: wire sizes and studs, as the handbook's tables name them.

Gives: wire_label(), wire_area(), wire_sizes(), stud_label(), stud_diameter(), stud_sizes(). "AWG 4/0", "0000 AWG" and
"4/0 AWG" are one label.
Limits: only the spelling is here; sizes, sections and diameters are the handbook's (handbook/wires, table
iso-273/holes), read when the first label is. Area of a metric size is its name in mm2; what it carries and resists is
not that of the bare section.
Sources: those of the tables.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from bankwright.bank.file.quantity_text import QuantityFault
from bankwright.forms.nearest import nearest
from bankwright.handbook.tables import load, look_up
from bankwright.handbook.wires import AWG, labels, wire

__all__ = ["stud_diameter", "stud_label", "stud_sizes", "wire_area", "wire_label", "wire_sizes"]

_ZEROS = {"0": "1/0", "00": "2/0", "000": "3/0", "0000": "4/0"}
_STUDS = "iso-273/holes"


@cache
def wire_sizes() -> Mapping[str, float]:
    """All labels with their section of metal, in m2: AWG, kcmil, metric, each from small to large."""
    return MappingProxyType({label: wire(label).area for label in (*labels("awg"), *labels("mm2"))})


@cache
def stud_sizes() -> tuple[str, ...]:
    """All labels of studs, metric first."""
    return tuple(str(key) for key in load(_STUDS).row_keys())


_AWG_FORM = re.compile(r"(?:AWG\s*)?(\d+(?:/0)?)\s*(?:AWG)?", re.I)


def wire_label(text: str) -> str:
    """Return the one label of a wire size; QuantityFault with the nearest sizes for anything else."""
    cleaned = " ".join(text.split()).replace("²", "2").replace("^2", "2").replace("MCM", "kcmil")
    number, _, unit = cleaned.partition(" ")
    tight = re.fullmatch(r"(\d+(?:\.\d+)?)(mm2|kcmil)", cleaned)
    if tight:
        number, unit = tight[1], tight[2]
    label = f"{number} {unit}"
    awg = _AWG_FORM.fullmatch(cleaned) if "awg" in cleaned.lower() else None
    if awg:
        label = f"{_ZEROS.get(awg[1], awg[1])} AWG"
    if label in wire_sizes():
        return label
    raise QuantityFault("unknown-size", f'found "{text}", no wire size of the tables', _near(cleaned, label))


def _near(cleaned: str, label: str) -> str:
    unit = "mm2" if "mm2" in cleaned else "kcmil" if "kcmil" in cleaned else "AWG"
    number = re.match(r"\d+(?:\.\d+)?", cleaned)
    if cleaned in AWG or cleaned in _ZEROS:
        return f'Write "{_ZEROS.get(cleaned, cleaned)} AWG"'
    if number and re.fullmatch(r"\d+(?:\.\d+)?", cleaned):
        return (
            f'The unit is missing. Write "{_nearest_metric(float(number[0]))}"'
            if float(number[0]) > 4
            else 'Write "2 AWG" or "35 mm2"'
        )
    if number and unit == "mm2":
        return f'The nearest size is "{_nearest_metric(float(number[0]))}"'
    same_unit = [size for size in wire_sizes() if size.endswith(unit)]
    close = nearest(label, same_unit)
    if close and unit != "AWG":
        return f'The nearest size is "{close}"'
    return "Write one of: " + ", ".join(same_unit)


def _nearest_metric(area: float) -> str:
    return min(labels("mm2"), key=lambda size: abs(wire_area(size) * 1e6 - area))


def wire_area(label: str) -> float:
    """Section of metal of a label, in m2."""
    return wire_sizes()[label]


def stud_label(text: str) -> str:
    """Return the one label of a stud; QuantityFault for anything else."""
    cleaned = " ".join(text.split())
    cleaned = re.sub(r'\s*(?:"|″|inch)$', " in", cleaned)
    cleaned = re.sub(r"^m\s*(\d+)$", r"M\1", cleaned, flags=re.I)
    if cleaned in stud_sizes():
        return cleaned
    raise QuantityFault(
        "unknown-size", f'found "{text}", no stud size of the tables', "Write one of: " + ", ".join(stud_sizes())
    )


def stud_diameter(label: str) -> float:
    """Diameter of a stud, in m."""
    return look_up(_STUDS, label, "diameter").value
