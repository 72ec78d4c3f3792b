"""A starter bank file: commented, without faults, from a few answers.

Gives: Start (the answers, with defaults), starter() (the text), first_document().
Limits: only what was answered stands as a value; what only the maker's sheet or a meter can tell stands as a comment
with the key to fill in. Cable sizes and lengths are a start, marked as such; plan says whether they carry.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Literal

from bankwright.bank.document import Document
from bankwright.bank.new_text import BARS, HEAD, INVERTER_KIND, MODULE_KIND, PARTS_KINDS, WIRING
from bankwright.bank.toml_text import value_text

__all__ = ["Start", "first_document", "starter"]


@dataclass(frozen=True, slots=True)
class Start:
    """Answers that a starter file is made from; quantities as texts with their units, as a file holds them."""

    title: str = "My bank"
    modules: int = 4
    capacity: str = "100 Ah"
    cells: int = 16
    discharge: str = "100 A"  # continuous, a module
    charge: str = "50 A"
    mass: str | None = None
    inverters: int = 1
    power: str = "5 kW"
    efficiency: str = "92 %"
    lowest_voltage: str = "48 V"
    pattern: Literal["chain", "busbar"] = "busbar"
    feed: Literal["same end", "opposite ends", "both ends"] = "opposite ends"
    rules: Literal["nec-2023", "iec-60364"] = "nec-2023"
    units: Literal["metric", "us"] = "metric"
    place: str | None = None
    ambient: str | None = None


_SIZES = {  # link, main, branch: sizes and lengths to start from, no recommendation
    "nec-2023": ("2 AWG", "4/0 AWG", "2/0 AWG"),
    "iec-60364": ("35 mm2", "120 mm2", "70 mm2"),
}
_LENGTHS = {"metric": ("600 mm", "1.5 m", "1 m", "300 mm"), "us": ("24 in", "5 ft", "3 ft", "12 in")}


def _line(key: str, value: str | None, sample: str, comment: str) -> str:
    """A key with its value, or the same key as a comment to fill in."""
    if value is not None:
        return f"{key} = {value_text(value)}"
    return f'# {key} = "{sample}"   # {comment}'


def starter(start: Start) -> str:
    """The text of a starter file."""
    lead, main, branch, link = _LENGTHS[start.units]
    sizes = _SIZES[start.rules]
    parts = [_head(start), _module_kind(start), PARTS_KINDS]
    if start.inverters:
        parts.append(INVERTER_KIND.format(power=start.power, efficiency=start.efficiency, lowest=start.lowest_voltage))
    parts += [_modules(start), _wiring(start, sizes, (link if start.pattern == "chain" else lead, main, branch))]
    if start.pattern == "busbar":
        parts.append(BARS)
    parts += [_devices(start), _inverters(start)]
    return "\n".join(part.strip("\n") + "\n" for part in parts if part)


def first_document(start: Start, path: FilePath) -> Document:
    """The starter file as a document to save; saving refuses to overwrite a file."""
    return Document(starter(start), path)


def _head(start: Start) -> str:
    return HEAD.format(
        title=value_text(start.title),
        rules=start.rules,
        units=start.units,
        place=_line("place", start.place, "detached garage", "decides which storage limits hold"),
        ambient=_line("ambient", start.ambient, "5 degC to 35 degC", "lowest and highest of the room over the year"),
    )


def _module_kind(start: Start) -> str:
    return MODULE_KIND.format(
        cells=start.cells,
        capacity=start.capacity,
        discharge=start.discharge,
        charge=start.charge,
        mass=_line("mass", start.mass, "46 kg", "decides how it is lifted"),
    )


def _modules(start: Start) -> str:
    blocks = [f'[[modules]]\nname = "M{k}"\nkind = "module"\nslot = {k}\n' for k in range(1, start.modules + 1)]
    return "# ---- what stands there: slot 1 is the lowest\n" + "\n".join(blocks)


def _wiring(start: Start, sizes: tuple[str, str, str], lengths: tuple[str, str, str]) -> str:
    feed = f'feed = "{start.feed}"' if start.pattern == "busbar" or start.modules > 1 else ""
    rows = zip(("link", "main", "branch"), sizes, lengths, strict=True)
    size = {name: f'{{ cable = "{cable}", length = "{length}" }}' for name, cable, length in rows}
    link = size["link"] if start.pattern == "busbar" or start.modules > 1 else "{}"
    return WIRING.format(pattern=start.pattern, feed=feed, link=link, main=size["main"], branch=size["branch"])


def _devices(start: Start) -> str:
    blocks = ["# ---- protection: sizes are decided with the plan"]
    if start.pattern == "busbar":
        blocks.append('[[devices]]\nname = "FB"\nkind = "branch-fuse"\non = "each module +"\nat = "module end"\n')
    blocks.append('[[devices]]\nname = "F1"\nkind = "main-fuse"\non = "main+"\nat = "bank end"\n')
    blocks.append(
        '[[devices]]\nname = "X1"\nkind = "main-switch"\non = ["main+", "main-"]\nreach = "beside the rack"\n'
    )
    return "\n".join(blocks)


def _inverters(start: Start) -> str:
    return "\n".join(f'[[inverters]]\nname = "I{k}"\nkind = "inverter"\n' for k in range(1, start.inverters + 1))
