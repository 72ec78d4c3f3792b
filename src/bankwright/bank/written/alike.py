"""Alike modules by count: one entry that stands for several, unfolded to one each.

Gives: each_alone(), names_alike(). `name = "M1"`, `count = 4`, `slot = 1` are M1 to M4 in slots 1 to 4; each is one of
that entry, and a fault of one is told at its line.
Limits: what a module has of its own (unit, address) cannot be given by count;
the rules say so where it would stand twice.
"""

from __future__ import annotations

from bankwright.bank.written.bank_file import ModuleEntry, Written
from bankwright.bank.written.validate import Holes

__all__ = ["each_alone", "names_alike"]


def names_alike(name: str, count: int) -> tuple[str, ...]:
    """Names of so many alike: the number at the end counts on, M gives M1, M2 and so on."""
    if count == 1:
        return (name,)
    stem = name.rstrip("0123456789")
    first = int(name[len(stem) :][-9:] or 1)
    return tuple(f"{stem}{first + k}" for k in range(count))


def _alone(entry: ModuleEntry) -> list[ModuleEntry]:
    return [
        entry.model_copy(update={"name": name, "count": 1, "slot": None if entry.slot is None else entry.slot + place})
        for place, name in enumerate(names_alike(entry.name, entry.count))
    ]


def each_alone(written: Written, holes: Holes) -> Written:
    """The written bank with one entry a module; `holes` keep which entry of the file each came from."""
    rows: list[ModuleEntry] = []
    kept: list[int] = []
    for number, entry in enumerate(written.modules):
        made = _alone(entry) if entry.count > 1 else [entry]
        rows += made
        kept += [holes.index("modules", number)] * len(made)
    if len(rows) == len(written.modules):
        return written
    holes.kept["modules"] = kept
    return written.model_copy(update={"modules": rows})
