"""Labels that are no quantities: wire sizes and studs.

Gives: wire_label(), wire_area(), WIRE_SIZES, stud_label(), stud_diameter(). "AWG 4/0", "0000 AWG" and "4/0 AWG" are
one label.
Limits: sizes of the tables the handbook holds; what a size carries is there. Area of a metric size is its name in
mm2.
Sources: ASTM B258-02, diameter 0.005 in x 92^((36-n)/39) (formula read); circular mil by definition; metric sizes of
IEC 60228:2004 and studs M5 to M12, 1/4 in to 1/2 in (from memory).
"""

from __future__ import annotations

import math
import re
from difflib import get_close_matches

from bankwright.bank.quantity_text import QuantityFault

__all__ = ["STUDS", "WIRE_SIZES", "stud_diameter", "stud_label", "wire_area", "wire_label"]

INCH = 0.0254
_AWG = {
    "14": 14,
    "12": 12,
    "10": 10,
    "8": 8,
    "6": 6,
    "4": 4,
    "3": 3,
    "2": 2,
    "1": 1,
    "1/0": 0,
    "2/0": -1,
    "3/0": -2,
    "4/0": -3,
}
_KCMIL = ("250", "300", "350", "400", "500", "600", "750")
_METRIC = ("1.5", "2.5", "4", "6", "10", "16", "25", "35", "50", "70", "95", "120", "150", "185", "240", "300")
_ZEROS = {"0": "1/0", "00": "2/0", "000": "3/0", "0000": "4/0"}


def _awg_area(n: int) -> float:
    diameter: float = 0.005 * INCH * 92.0 ** ((36 - n) / 39)
    return math.pi / 4 * diameter * diameter


WIRE_SIZES: dict[str, float] = {f"{size} AWG": _awg_area(n) for size, n in _AWG.items()}
WIRE_SIZES |= {f"{size} kcmil": int(size) * 1000 * math.pi / 4 * (INCH / 1000) ** 2 for size in _KCMIL}
WIRE_SIZES |= {f"{size} mm2": float(size) * 1e-6 for size in _METRIC}

STUDS: dict[str, float] = {f"M{d}": d * 1e-3 for d in (4, 5, 6, 8, 10, 12, 16)}
STUDS |= {"1/4 in": INCH / 4, "5/16 in": INCH * 5 / 16, "3/8 in": INCH * 3 / 8, "1/2 in": INCH / 2}

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
    if label in WIRE_SIZES:
        return label
    raise QuantityFault("unknown-size", f'found "{text}", no wire size of the tables', _near(cleaned, label))


def _near(cleaned: str, label: str) -> str:
    unit = "mm2" if "mm2" in cleaned else "kcmil" if "kcmil" in cleaned else "AWG"
    number = re.match(r"\d+(?:\.\d+)?", cleaned)
    if cleaned in _AWG or cleaned in _ZEROS:
        return f'Write "{_ZEROS.get(cleaned, cleaned)} AWG"'
    if number and re.fullmatch(r"\d+(?:\.\d+)?", cleaned):
        return (
            f'The unit is missing. Write "{_nearest_metric(float(number[0]))}"'
            if float(number[0]) > 4
            else 'Write "2 AWG" or "35 mm2"'
        )
    if number and unit == "mm2":
        return f'The nearest size is "{_nearest_metric(float(number[0]))}"'
    same_unit = [size for size in WIRE_SIZES if size.endswith(unit)]
    close = get_close_matches(label, same_unit, 1, 0.6)
    if close and unit != "AWG":
        return f'The nearest size is "{close[0]}"'
    return "Write one of: " + ", ".join(same_unit)


def _nearest_metric(area: float) -> str:
    return min(
        (size for size in WIRE_SIZES if size.endswith("mm2")), key=lambda size: abs(WIRE_SIZES[size] * 1e6 - area)
    )


def wire_area(label: str) -> float:
    """Section of metal of a label, in m2."""
    return WIRE_SIZES[label]


def stud_label(text: str) -> str:
    """Return the one label of a stud; QuantityFault for anything else."""
    cleaned = " ".join(text.split())
    cleaned = re.sub(r'\s*(?:"|″|inch)$', " in", cleaned)
    cleaned = re.sub(r"^m\s*(\d+)$", r"M\1", cleaned, flags=re.I)
    if cleaned in STUDS:
        return cleaned
    raise QuantityFault(
        "unknown-size", f'found "{text}", no stud size of the tables', "Write one of: " + ", ".join(STUDS)
    )


def stud_diameter(label: str) -> float:
    """Diameter of a stud, in m."""
    return STUDS[label]
