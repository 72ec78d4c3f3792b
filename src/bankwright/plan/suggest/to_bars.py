"""From a chain to bars with a fuse in each module's lead, as one change of the file.

Gives: to_bars(). Links become leads of the same cable, a start of 600 mm or 24 in long where they were shorter; a
copper bar a pole, the smallest of a short list whose section less a hole carries 1.25 times the largest current at
1.55 A/mm2; a fuse of the file in each lead.
Limits: nothing where a device, a bar or a name of the file hangs on a link of the chain; what the change does is found
by checking the changed bank. Lengths are a start, to be measured at the rack.
Sources: 1.55 A/mm2: NEC 366.23, 1000 A per square inch [read]; sizes of flat bar [from memory]; length of a start:
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from bankwright.bank.file.document import Document
from bankwright.bank.model import Bank
from bankwright.bank.model_kinds import DeviceKind
from bankwright.forms.finding import Finding
from bankwright.plan.suggest.move import Edit, Move

__all__ = ["to_bars"]

DENSITY = 1.55  # A/mm2
HEATING = 1.25  # more than k_r of a single-phase inverter, at most sqrt(1.5)
HOLES = {"M6": 7.0, "M8": 9.0, "M10": 11.0, "M12": 13.5}  # mm, medium fit after ISO 273 [from memory]
INCH = 25.4  # mm
BARS: dict[str, tuple[tuple[str, str, float], ...]] = {  # width, thickness, section of a mm of width in mm2
    "metric": (
        *((f"{w} mm", "5 mm", 5.0) for w in (20, 30, 40)),
        *((f"{w} mm", "10 mm", 10.0) for w in (40, 60, 80, 100)),
    ),
    "us": tuple((f"{w} in", "0.25 in", 0.25 * INCH) for w in (1, 1.5, 2, 3, 4)),
}
LEADS = {"metric": (0.6, "600 mm"), "us": (24 * INCH / 1000, "24 in")}
SPACING = {"metric": "50 mm", "us": "2 in"}


def to_bars(bank: Bank, document: Document, findings: Iterable[Finding]) -> Iterator[Move]:
    """One change a fuse of the file, in the plus leads, and one in both."""
    if bank.pattern != "chain" or len(bank.modules) < 2 or not _free(bank, document):
        return
    current = max((_carried(each) for each in findings if each.code == "P-CABLE-2"), default=0.0)
    bars = _bars(bank, current)
    if not bars:
        return
    stem = _stem(document)
    for kind in _fuses(bank):
        rated = "" if kind.rating is not None else " (its rating is not given)"
        for poles, where in ((("+",), "the positive lead"), (("+", "-"), "both leads")):
            fuses = tuple(
                Edit("devices", {"name": f"{stem}{'' if pole == '+' else 'n'}", "kind": kind.name,
                                 "on": f"each module {pole}", "at": "module end"}, True)
                for pole in poles
            )  # fmt: skip
            words = (
                f"bars instead of a chain: a lead of each module to a copper bar a pole, a {kind.name}{rated} "
                f"in {where} of every module; lengths and bars are a start, measure them at the rack"
            )
            yield Move(words, (Edit("wiring.pattern", "busbar"), *_leads(bank), *bars, *fuses), "to bars")


def _carried(finding: Finding) -> float:
    return 0.0 if finding.figure is None else finding.figure.high or finding.figure.value


def _free(bank: Bank, document: Document) -> bool:
    """No device, bar, joint or listed link of the file names a link of the chain, and no bar is there."""
    links = {link.name for link in bank.links if link.role == "link"}
    held = any({device.on, *device.also_on} & links for device in bank.devices)
    return not held and not document.data.get("links") and not document.data.get("bars")


def _fuses(bank: Bank) -> list[DeviceKind]:
    """Fuse kinds of the file; those whose rating is not given only where none is given."""
    fuses = [kind for kind in bank.device_kinds.values() if kind.type == "fuse"]
    return [kind for kind in fuses if kind.rating is not None] or fuses


def _units(bank: Bank) -> str:
    return "us" if bank.units == "us" else "metric"


def _leads(bank: Bank) -> tuple[Edit, ...]:
    metres, text = LEADS[_units(bank)]
    lengths = [link.length for link in bank.links if link.role == "link" and link.length is not None]
    return (Edit("wiring.link.length", text),) if not lengths or max(lengths) < metres else ()


def _bars(bank: Bank, current: float) -> tuple[Edit, ...]:
    """A bar a pole; empty where no size of the list carries the current."""
    studs = {module.kind.posts.stud for module in bank.modules} - {None}
    stud = next(iter(studs)) if len(studs) == 1 else None
    hole = HOLES.get(stud or "M8", 13.5)
    need = HEATING * current / DENSITY
    size = next((bar for bar in BARS[_units(bank)] if (_wide(bar[0]) - hole) * bar[2] >= need), None)
    if size is None:
        return ()
    block: dict[str, Any] = {"width": size[0], "thickness": size[1], "hole": f"{hole:g} mm"}
    block |= {"spacing": SPACING[_units(bank)], "lugs_per_stud": 1} | ({} if stud is None else {"stud": stud})
    return tuple(Edit("bars", {"name": f"bar{pole}", "pole": pole, **block}, True) for pole in "+-")


def _wide(width: str) -> float:
    """Width of a bar of the list. [mm]"""
    return float(width.split()[0]) * (INCH if width.endswith("in") else 1.0)


def _stem(document: Document) -> str:
    names = {str(entry.get("name")) for entry in document.data.get("devices", [])}
    return next(f"B{n}" for n in range(1, len(names) + 2) if f"B{n}" not in names and f"B{n}n" not in names)
