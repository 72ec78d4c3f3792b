"""Rules on where modules stand: one module a slot, no two in the same height, all of one cell count.

Gives: RULES. A rack unit is 44.45 mm (EIA/ECA-310-E, read).
Limits: heights are compared only where the file gives `unit` and the kind its height.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from bankwright.bank.file.spans import Path
from bankwright.bank.written.bank_file import ModuleEntry
from bankwright.bank.written.told import Told
from bankwright.forms.constants import RACK_UNIT
from bankwright.forms.faults import Fault

__all__ = ["RULES"]


def one_module_a_slot(told: Told) -> Iterator[Fault]:
    """Two modules do not fit one slot; free ones are named."""
    seen: dict[tuple[str | None, int], tuple[str, Path]] = {}
    for path, module in told.entries("modules"):
        if module.slot is None:
            continue
        place = (module.rack, module.slot)
        if place in seen:
            name, other = seen[place]
            line = told.where.line((*other, "slot"))
            found = f"found {module.slot}; slot {module.slot} already holds {name} (line {line})"
            free = ", ".join(map(str, _free_slots(told, module)))
            yield told.where.fault(
                (*path, "slot"),
                "slot-taken",
                found,
                "",
                f"Free slots: {free}" if free else "No slot is free",
                also=(*other, "slot"),
            )
        seen.setdefault(place, (module.name, path))


def _free_slots(told: Told, module: ModuleEntry) -> list[int]:
    """The gaps, then the next above; no more than the rack has room for, where that is known."""
    taken = {m.slot for m in told.written.modules if m.rack == module.rack and m.slot is not None}
    count = max(*taken, len(told.written.modules), 1)
    room = _rack_slots(told, module)
    top = count + 2 if room is None else room
    return [slot for slot in range(1, top + 1) if slot not in taken][:6]


def _rack_slots(told: Told, module: ModuleEntry) -> int | None:
    rack = next((r for r in told.written.racks if r.name == module.rack), None)
    kind = told.kinds.rack.get(rack.kind) if rack else None
    what = told.kinds.module.get(module.kind)
    if kind is None or kind.units is None or what is None or what.height is None:
        return None
    return kind.units // _units(what.height)


def _units(height: float) -> int:
    return max(1, math.ceil(height / RACK_UNIT - 0.02))  # a panel is a little lower than its units


def heights_do_not_overlap(told: Told) -> Iterator[Fault]:
    """Modules with a rack unit of their own keep clear of each other and inside the rack."""
    rows: dict[str | None, list[tuple[int, int, str, Path]]] = {}
    for path, module in told.entries("modules"):
        kind = told.kinds.module.get(module.kind)
        if module.unit is None or kind is None or kind.height is None:
            continue
        top = module.unit + _units(kind.height) - 1
        for low, high, name, other in rows.get(module.rack, []):
            if module.unit <= high and low <= top:
                line = told.where.line((*other, "unit"))
                found = f"{module.name} takes units {module.unit} to {top}; {name} takes {low} to {high} (line {line})"
                yield told.where.fault(
                    (*path, "unit"),
                    "units-overlap",
                    found,
                    "",
                    f"The next free unit above is {high + 1}",
                    also=(*other, "unit"),
                )
                break
        rows.setdefault(module.rack, []).append((module.unit, top, module.name, path))
        yield from _inside(told, module, top, path)


def _inside(told: Told, module: ModuleEntry, top: int, path: Path) -> Iterator[Fault]:
    rack = next((r for r in told.written.racks if r.name == module.rack), None)
    kind = told.kinds.rack.get(rack.kind) if rack else None
    if kind is not None and kind.units is not None and top > kind.units:
        found = f"{module.name} takes units {module.unit} to {top}; {module.rack} has {kind.units}"
        yield told.where.fault((*path, "unit"), "above-rack", found)


def slots_and_units_agree(told: Told) -> Iterator[Fault]:
    """A higher slot stands higher."""
    rows: dict[str | None, list[tuple[int, int, str, Path]]] = {}
    for path, module in told.entries("modules"):
        if module.slot is not None and module.unit is not None:
            rows.setdefault(module.rack, []).append((module.slot, module.unit, module.name, path))
    for row in rows.values():
        row.sort(key=lambda entry: entry[0])
        for (low_slot, low_unit, low, _), (slot, unit, name, path) in pairwise(row):
            if slot > low_slot and unit < low_unit:
                found = (
                    f"{name} has slot {slot} above {low} in slot {low_slot}, but unit {unit} below its unit {low_unit}"
                )
                yield told.where.fault((*path, "unit"), "out-of-order", found, "Slot 1 is the lowest")


def cells_are_alike(told: Told) -> Iterator[Fault]:
    """Modules of unlike cell counts cannot be in parallel."""
    first: tuple[int, str, Path] | None = None
    for path, module in told.entries("modules"):
        kind = told.kinds.module.get(module.kind)
        if kind is None:
            continue
        if first is None:
            first = (kind.cells, module.name, path)
        elif kind.cells != first[0]:
            line = told.where.line(first[2])
            found = f"{module.name} has {kind.cells} cells in series; {first[1]} has {first[0]} (line {line})"
            yield told.where.fault(
                (*path, "kind"),
                "unlike-cells",
                found,
                "Modules in parallel have equal cell counts",
                also=(*first[2], "kind"),
            )


RULES = (one_module_a_slot, heights_do_not_overlap, slots_and_units_agree, cells_are_alike)
