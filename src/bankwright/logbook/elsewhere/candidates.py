"""Columns (or items) that may be taken: what their headings mean, and which module, cell or probe they belong to.

Gives: Candidate, candidates(), placed(), refuse_unknown(), UNKNOWN_PLACE. Numbers in headings count from 0 or from
1: a series that has a 0 counts from 0.
Limits: units, scales and signs are scale.py.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from bankwright.forms.faults import Fault
from bankwright.forms.nearest import did_you_mean
from bankwright.forms.quantities import QUANTITIES
from bankwright.logbook.elsewhere.asked import Asked
from bankwright.logbook.elsewhere.facts import PLAUSIBLE_CELL, Facts
from bankwright.logbook.elsewhere.headings import Meaning
from bankwright.logbook.elsewhere.told import NotUnderstood, Told
from bankwright.logbook.elsewhere.units import Written, written_unit

__all__ = ["UNKNOWN_PLACE", "Candidate", "candidates", "placed", "refuse_unknown"]

UNKNOWN_PLACE = "?"  # of a column whose module is still to be told
TAKEN = ("voltage", "cell_voltage", "cell_spread", "current", "power", "energy_kwh", "soc", "temperature_degc",
         "capacity_ah", "resistance")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Candidate:
    """One column that may be taken."""

    heading: str
    meaning: Meaning
    values: np.ndarray  # (row,) counts of the sample, NaN where there is none
    quantity: str
    at: str = ""
    unit: Written | None = None
    is_tap: bool = False
    is_told: bool = False  # by --take

    @property
    def middle(self) -> float:
        """Median of what there is; 0 where there is nothing."""
        good = self.values[~np.isnan(self.values)]
        return float(np.median(good)) if len(good) else 0.0


def candidates(
    columns: Mapping[str, tuple[Meaning, np.ndarray]], asked: Asked, facts: Facts, told: Told
) -> list[Candidate]:
    """What may be taken of headings with their meanings and values; the rest is named with its reason."""
    found = []
    has_cells = any(meaning.quantity == "cell_voltage" for meaning, _ in columns.values())
    for heading, (meaning, values) in columns.items():
        if heading in asked.takes:
            one = _told(heading, meaning, values, asked.takes[heading], facts)
            found += [one] if one is not None else []
            if one is None:
                told.leave(heading, "as told")
            continue
        if meaning.stretch == "spread" and not meaning.quantity and has_cells:
            meaning = replace(meaning, quantity="cell_spread")
        why = _why_not(meaning, values)
        if why:
            told.leave(heading, why)
            continue
        unit = meaning.unit
        if heading in asked.units:
            unit = _unit(heading, asked.units[heading])
        found.append(Candidate(heading, meaning, values, meaning.quantity, unit=unit))
    return _by_size_alone(found, columns, facts, told) if not found else _cells_by_letter(found, told)


def refuse_unknown(asked: Asked, headings: Sequence[str]) -> None:
    """Answers must be about headings that the file has; NotUnderstood names the nearest."""
    for option, names in (("--take", asked.takes), ("--unit", asked.units)):
        for name in names:
            if name not in headings:
                hint = did_you_mean(name, headings, f"Headings: {', '.join(headings[:8])}")
                raise NotUnderstood(Fault(option, "wrong-option", f"{name!r} is no heading of this file", hint=hint))


def _unit(heading: str, text: str) -> Written:
    unit = written_unit(text)
    if unit is None:
        words = f"{heading}: {text!r} is no unit"
        raise NotUnderstood(
            Fault("--unit", "wrong-option", words, hint="V, mV, A, mA, 0.1 A, degC, degF, %, W, kWh, Ah")
        )
    return unit


def _told(heading: str, meaning: Meaning, values: np.ndarray, text: str, facts: Facts) -> Candidate | None:
    """`voltage at M1 in mV`, `cell_voltage at M1.c3`, `nothing`."""
    if text.strip() in ("nothing", "no", "-"):
        return None
    rest, _, unit_text = text.partition(" in ")
    quantity, _, at = rest.partition(" at ")
    quantity, at = quantity.strip().replace(" ", "_"), at.strip()
    quantity = {"temperature": "temperature_degc", "energy": "energy_kwh", "capacity": "capacity_ah"}.get(
        quantity, quantity
    )
    example = 'Write --take "HEADING=voltage at M1 in mV", or "HEADING=nothing"'
    if quantity not in QUANTITIES:
        hint = did_you_mean(quantity, TAKEN, ", ".join(TAKEN))
        raise NotUnderstood(
            Fault("--take", "wrong-option", f"{heading}: {quantity!r} is no quantity. {hint}", hint=example)
        )
    owner = at.split(".", 1)[0]
    if owner not in (*facts.modules, "bank"):
        hint = did_you_mean(owner, (*facts.modules, "bank"), f"Modules: {', '.join(facts.modules)}; or bank")
        raise NotUnderstood(Fault("--take", "wrong-option", f"{heading}: {at!r} is no place. {hint}", hint=example))
    unit = _unit(heading, unit_text) if unit_text else meaning.unit
    return Candidate(heading, meaning, values, quantity, at, unit, is_told=True)


def _why_not(meaning: Meaning, values: np.ndarray) -> str:
    """Why a column is not taken; "" where it is."""
    good = values[~np.isnan(values)]
    if not meaning.text:
        return "it has no heading"
    if meaning.other:
        return f'it speaks of something else ("{meaning.other}")'
    if meaning.time and not meaning.quantity:
        return "another way to tell the time"
    if meaning.quantity == "soh":
        return "a state of health is somebody's estimate, no reading"
    if meaning.quantity not in TAKEN:
        return "its heading names no quantity of the trade"
    if not len(good):
        return "it holds no number"
    if meaning.quantity == "temperature_degc" and len(good) >= 4 and not good.any():
        return "always 0: not connected, no temperature of 0 degrees"
    return ""


def _by_size_alone(
    found: list[Candidate], columns: Mapping[str, tuple[Meaning, np.ndarray]], facts: Facts, told: Told
) -> list[Candidate]:
    """Headings like `Min`, `Max` alone: volts, where every value fits cells in series."""
    for heading, (meaning, values) in columns.items():
        good = values[~np.isnan(values)]
        if not meaning.stretch or meaning.quantity or len(good) < 3 or meaning.time:
            continue
        for cells in (facts.cells, 1, 4, 8, 15, 16, 12, 24):
            if 2.5 * cells <= good.min() and good.max() <= 3.75 * cells and good.max() - good.min() > 0:
                why = f"{good.min():g} to {good.max():g} fits {cells} cells in series; the heading names no quantity"
                told.settle(heading, "voltage in V, by size alone", why)
                quantity = "voltage" if cells > 1 else "cell_voltage"
                found.append(Candidate(heading, meaning, values, quantity, unit=Written("V")))
                break
    told.left[:] = [each for each in told.left if each.what not in {one.heading for one in found}]
    return found


def _cells_by_letter(found: list[Candidate], told: Told) -> list[Candidate]:
    """`V1` to `V8`: cells (or taps), where there are enough of them and their sizes fit."""
    series = [c for c in found if c.quantity == "voltage" and c.meaning.number is not None and not c.is_told]
    series = [c for c in series if c.meaning.module is None or c.meaning.part == "tap"]
    if len(series) < 3:
        return found
    numbers = sorted(c.meaning.number or 0 for c in series)
    if numbers != list(range(numbers[0], numbers[0] + len(numbers))):
        return found
    sizes = [c.middle for c in sorted(series, key=lambda c: c.meaning.number or 0)]
    names = f"{series[0].heading} to {series[-1].heading}"
    if _are_taps(sizes):
        shown = ", ".join(f"{size:g}" for size in sizes[:4])
        told.settle(names, "cells, each less the tap below it", f"they rise evenly from tap to tap: {shown}")
    elif _are_cells(sizes):
        told.settle(names, "cells", f"{len(sizes)} numbered voltages of like size, {min(sizes):g} to {max(sizes):g}")
    else:
        return found
    taps = _are_taps(sizes)
    changed = {
        c.heading: replace(
            c, quantity="cell_voltage", is_tap=taps, meaning=replace(c.meaning, cell=c.meaning.number, part="cell")
        )
        for c in series
    }
    return [changed.get(c.heading, c) for c in found]


def _are_cells(sizes: Sequence[float]) -> bool:
    least, most = min(sizes), max(sizes)
    scales = (1.0, 1e-3, 1e-4, 1e-2)
    return least > 0 and any(PLAUSIBLE_CELL[0] <= least * s and most * s <= PLAUSIBLE_CELL[1] + 0.3 for s in scales)


def _are_taps(sizes: Sequence[float]) -> bool:
    steps = np.diff([0.0, *sizes])
    return len(sizes) >= 3 and _are_cells(list(steps)) and sizes[-1] > 2.5 * sizes[0]


def placed(found: Sequence[Candidate], asked: Asked, facts: Facts, told: Told) -> list[Candidate]:
    """Give each its place in the bank; what has none yet stands at UNKNOWN_PLACE, and is asked."""
    if asked.module is not None and asked.module not in (*facts.modules, "bank", UNKNOWN_PLACE):
        hint = did_you_mean(asked.module, (*facts.modules, "bank"), f"Modules: {', '.join(facts.modules)}; or bank")
        raise NotUnderstood(Fault("--module", "wrong-option", f"{asked.module!r} is no module of this bank", hint=hint))
    modules = _modules(found, asked, facts, told)
    cells_less = _less(
        [c.meaning.cell for c in found if c.quantity == "cell_voltage" and c.meaning.cell is not None],
        asked,
        "cells",
        told,
    )
    probes_less = _less(
        [c.meaning.number for c in found if c.quantity == "temperature_degc" and c.meaning.number is not None],
        asked,
        "probes",
        told,
    )
    out, taken = [], set()
    places = [one.at or _place(one, modules, cells_less, probes_less) for one in found]
    plain = {(one.quantity, at) for one, at in zip(found, places, strict=True)}
    for one, place in zip(found, places, strict=True):
        owner = place.removesuffix(".mean")
        at = owner if (one.quantity, owner) not in plain else place  # a mean is the value, where there is no other
        way = one.meaning.way if one.quantity in ("current", "power") else ""
        key = (one.quantity, at, way)
        if key in taken:
            told.leave(one.heading, f"{one.quantity} at {at} is there already; --take gives it another place")
            continue
        taken.add(key)
        out.append(replace(one, at=at))
    return out


def _less(numbers: Sequence[int], asked: Asked, what: str, told: Told) -> int:
    """What is taken off so that numbers count from 1: 0 or -1."""
    if not numbers:
        return 0
    if asked.count_from is not None:
        return asked.count_from - 1
    if min(numbers) == 0:
        told.settle(f"numbers of {what}", "count from 0", f"there is a 0 and no {max(numbers) + 1}")
        return -1
    if what == "cells" and min(numbers) > 1:
        told.settle(f"numbers of {what}", "count from 1", f"the lowest is {min(numbers)}; --count-from says otherwise")
    return 0


def _modules(found: Sequence[Candidate], asked: Asked, facts: Facts, told: Told) -> dict[int | None, str]:
    """Name of each module that headings number, and of what they do not number."""
    numbers = sorted({_module_number(c) for c in found if _module_number(c) is not None and not c.is_told})  # type: ignore[type-var]
    less = _less([n for n in numbers if n is not None], asked, "modules", told)
    names: dict[int | None, str] = {}
    for number in numbers:
        name = facts.module_named((number or 0) - less)
        if name is None:
            words = f"headings name module {number}; the bank has {len(facts.modules)}: {', '.join(facts.modules)}"
            told.ask("modules", words, '--take "HEADING=voltage at M1", or --count-from 0')
        names[number] = name or UNKNOWN_PLACE
    if numbers:
        shown = ", ".join(f"{number} is {names[number]}" for number in numbers[:4])
        told.settle("modules", shown, "by the numbers in the headings")
    names[None] = _unnumbered(found, bool(numbers), asked, facts, told)
    return names


def _module_number(one: Candidate) -> int | None:
    """Number of the module; that of a numbered voltage, current or state of charge is one."""
    if one.meaning.module is not None:
        return one.meaning.module
    numbered = one.quantity in ("voltage", "current", "power", "soc", "capacity_ah", "energy_kwh")
    return one.meaning.number if numbered else None


def _unnumbered(found: Sequence[Candidate], has_numbers: bool, asked: Asked, facts: Facts, told: Told) -> str:
    rest = [c for c in found if _module_number(c) is None and not c.is_told]
    if asked.module is not None:
        if asked.module != UNKNOWN_PLACE and not told.says("module of each row"):
            told.settle("columns without a number", asked.module, "as told")
        return asked.module
    if len(facts.modules) == 1:
        return facts.modules[0]
    if not rest:
        return "bank"
    names = ", ".join(c.heading for c in rest[:3])
    if has_numbers and not any(c.quantity == "cell_voltage" and c.meaning.cell is not None for c in rest):
        told.settle("columns without a number", "bank", f"others name their module: {names}")
        return "bank"
    if rest and all(c.meaning.part == "bank" for c in rest):
        told.settle("columns without a number", "bank", f"the headings say so: {names}")
        return "bank"
    told.ask(
        "module",
        f"which module do these belong to: {names}? The headings do not say",
        f"--module {facts.modules[0]} (or bank)",
    )
    return UNKNOWN_PLACE


def _place(one: Candidate, modules: Mapping[int | None, str], cells_less: int, probes_less: int) -> str:
    """`M1`, `M1.c3`, `M1.t2`, `M1.mos`, `bank.min`."""
    owner = modules[_module_number(one)]
    meaning = one.meaning
    if one.quantity == "cell_voltage" and meaning.cell is not None and not meaning.stretch:
        return f"{owner}.c{meaning.cell - cells_less}"
    if one.quantity == "temperature_degc":
        if meaning.probe:
            return f"{owner}.{meaning.probe}" + (str(meaning.number) if meaning.number is not None else "")
        if meaning.number is not None:
            return f"{owner}.t{meaning.number - probes_less}"
        if meaning.cell is not None:
            return f"{owner}.t{meaning.cell}"
    if meaning.stretch and not (meaning.stretch == "mean" or one.quantity == "cell_spread"):
        return f"{owner}.{meaning.stretch}"
    if meaning.stretch == "mean" and one.quantity != "cell_spread":
        return f"{owner}.mean"
    if one.quantity in ("energy_kwh", "capacity_ah") and meaning.way:
        return f"{owner}.{'in' if meaning.way == 'charge' else 'out'}"
    return owner
