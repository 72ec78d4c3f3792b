"""May this entry stand? Places that the bank does not have, quantities that a place cannot have,
values that cannot be.

Gives: faults_of(), ac_place(), cell_place(), place_faults(), pole_place(), thing_at(). Only what is impossible is
refused; what is merely bad is a finding of a later stage. A negative voltage is kept (leads swapped, or a module
reversed: both must be seen), one beyond what its cells can hold is not. Cells are places too: `M1.c3` is the third
cell of M1, counted from its negative post. A pole against the frame has a quantity of its own, `frame_voltage`, at a
bar or a post. A place of the AC side names two conductors at a device: `I1.L-N`.
Limits: without a bank only the quantity and the number are looked at.
Sources: the limits stand beside their numbers.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

from bankwright.bank.model import Bank, Bar, Joint, Link, Module, Pole, Post, Thing
from bankwright.bank.model_house import SunString
from bankwright.forms.faults import Fault
from bankwright.forms.nearest import did_you_mean
from bankwright.forms.quantities import QUANTITIES
from bankwright.forms.wording import amount_text
from bankwright.logbook.entries import KINDS, Entry

__all__ = ["ac_place", "cell_place", "faults_of", "place_faults", "pole_place", "thing_at"]

MOST_PER_CELL = 5.0  # V; above what any cell that can be bought holds; common practice, no source
LEAST_DEGC, MOST_DEGC = -60.0, 400.0  # of anything a hand thermometer is held to; common practice, no source
MOST_OF_TORQUE = 5.0  # times the torque of the joint: the stud is gone long before; common practice, no source
MOST_OF_CONTINUOUS = (
    20.0  # times the continuous current of the module: beyond its own short circuit; common practice, no source
)
MOST_AC, MOST_SUN = 1000.0, 2000.0  # V of low voltage (IEC 60038, from memory); W/m2, with clouds beside the sun
_NOT_NEGATIVE = frozenset(
    {
        "ac_voltage",
        "ac_current",
        "irradiance",
        "time",
        "resistance",
        "torque",
        "cell_spread",
        "mass",
        "length",
        "capacity_ah",
        "count",
        "frequency",
    }
)
_HOUSE = frozenset({"panel", "socket", "utility", "generator", "RCD"})
_AC = re.compile(r"(.+)\.(L[123]?|N|PE|L[123]?-N|L[123]?-PE|N-PE|L[123]-L[123]|1x|5x|6mA|30mA|264mA)")
_CELL = re.compile(r"(.+)\.c(\d{1,3})")


def cell_place(bank: Bank, at: str) -> tuple[Module, int] | None:
    """Read `M1.c3` as module and cell; None when it names no cell of this bank."""
    match = _CELL.fullmatch(at)
    if match is None or match[1] not in bank:
        return None
    module, cell = bank[match[1]], int(match[2])
    if not isinstance(module, Module) or not 1 <= cell <= module.kind.cells:
        return None
    return module, cell


def ac_place(bank: Bank, at: str) -> bool:
    """Is it a place of the AC side of a bank with an inverter: `I1.L-N`, `panel.N-PE`, `utility.L-N`, `RCD.1x`."""
    match = _AC.fullmatch(at)
    return match is not None and bool(bank.inverters) and (match[1] in _HOUSE or match[1] in _names(bank))


def _names(bank: Bank) -> set[str]:
    return {inverter.name for inverter in bank.inverters}


def faults_of(entry: Entry, bank: Bank | None) -> Iterator[Fault]:
    """All that keeps an entry from standing."""
    if entry.kind not in KINDS:
        yield Fault("kind", "kind-unknown", f"{entry.kind!r} is no kind of entry", hint=f"Kinds: {', '.join(KINDS)}")
    if not entry.id:
        yield Fault("id", "id-missing", "the entry has no id")
    if entry.kind == "tick" and not entry.step:
        yield Fault("step", "step-missing", "a tick belongs to a step")
    if entry.kind == "note" and not entry.note.strip():
        yield Fault("note", "note-empty", "the note is empty")
    if entry.at is not None and bank is not None:
        yield from place_faults(entry.at, bank)
    if entry.kind == "reading":
        yield from _reading(entry, bank)


def pole_place(bank: Bank, at: str) -> Pole | None:
    """The pole that a place belongs to: a bar, a post, a cable or its joint; None for anything else."""
    thing = thing_at(at, bank)
    if isinstance(thing, Joint):
        thing = thing_at(thing.link, bank)
    if isinstance(thing, Post):
        return _pole_of_post(bank, thing)
    return thing.pole if isinstance(thing, Bar | Link) else None


def _pole_of_post(bank: Bank, post: Post) -> Pole | None:
    bar = thing_at(post.owner, bank)
    if isinstance(bar, Bar):
        return bar.pole
    on = next((bank.link(joint.link).pole for joint in bank.joints if joint.post == post.name), None)
    return on or ("+" if "+" in post.name else "-" if "-" in post.name else None)


def place_faults(at: str, bank: Bank) -> Iterator[Fault]:
    """Say that a place is none of this bank, with the nearest right names."""
    if at in bank or cell_place(bank, at) or ac_place(bank, at):
        return
    match = _CELL.fullmatch(at)
    if match and match[1] in bank:
        thing = bank[match[1]]
        told = f"{match[1]} has {thing.kind.cells} cells" if isinstance(thing, Module) else f"{match[1]} is no module"
        yield Fault("at", "place-unknown", f"{at} is no place in this bank; {told}")
        return
    hint = did_you_mean(at, bank.names(), f"Modules: {', '.join(m.name for m in bank.modules)}", 3)
    yield Fault("at", "place-unknown", f"{at} is no place in this bank", hint=hint)


def _reading(entry: Entry, bank: Bank | None) -> Iterator[Fault]:
    value, name = entry.value, entry.quantity
    if name is None or name not in QUANTITIES:
        hint = did_you_mean(name or "", QUANTITIES)
        yield Fault("quantity", "quantity-unknown", f"{name!r} is no quantity", hint=hint)
        return
    if name == "frame_voltage" and bank is not None and not pole_place(bank, entry.at or ""):
        hint = "Name a bar (bar+), or a post of a module, bar or inverter (M1-)"
        yield Fault("at", "no-pole", f"{entry.at} is no place of one pole", hint=hint)
    if entry.at is None:
        yield Fault("at", "place-missing", "a reading belongs to a place", hint="Name a module, post, joint or link")
    if value is None or not math.isfinite(value):
        yield Fault("value", "value-missing", "a reading needs a finite number")
        return
    low, high, why = _bounds(name, entry.at, bank)
    if not low <= value <= high:
        yield Fault(
            f"{name} at {entry.at}",
            "value-impossible",
            f"found {entry.as_typed or amount_text(value, name)}; it must be {_said(low, high, name)}{why}",
            hint="Look at the unit and the point, then enter it again",
        )


def _said(low: float, high: float, name: str) -> str:
    if math.isinf(high):
        return f"{amount_text(low, name)} or more"
    return f"from {amount_text(low, name)} to {amount_text(high, name)}"


def _bounds(name: str, at: str | None, bank: Bank | None) -> tuple[float, float, str]:
    """What a value at a place can be at all, and why."""
    if name == "temperature_degc":
        return LEAST_DEGC, MOST_DEGC, ""
    if name in ("soc", "share"):
        return 0.0, 1.1, ""
    if name == "cell_voltage":
        return -MOST_PER_CELL, MOST_PER_CELL, ""
    low = 0.0 if name in _NOT_NEGATIVE else -math.inf
    if bank is None or at is None:
        return low, math.inf, ""
    if name == "torque":
        return low, _most_torque(at, bank), ", or the stud is gone"
    module = _module_at(at, bank)
    if name in ("ac_voltage", "irradiance"):
        return low, MOST_AC if name == "ac_voltage" else MOST_SUN, ""
    if isinstance(thing_at(at, bank), SunString):
        return low, math.inf, ""
    if name in ("voltage", "frame_voltage"):
        cells = _most_cells(module, bank)
        most = MOST_PER_CELL * cells
        return -most, most, f", with {cells:g} cells in series"
    if name == "current" and module is not None and module.kind.discharge.continuous is not None:
        most = MOST_OF_CONTINUOUS * module.kind.discharge.continuous
        return -most, most, f", {MOST_OF_CONTINUOUS:g} times what {module.name} gives for long"
    return low, math.inf, ""


def _most_torque(at: str, bank: Bank) -> float:
    thing = thing_at(at, bank)
    torque = thing.torque if isinstance(thing, Joint) else thing.spec.torque if isinstance(thing, Post) else None
    return math.inf if torque is None else MOST_OF_TORQUE * torque


def thing_at(at: str, bank: Bank) -> Thing | None:
    """Find a thing by name; None when the bank has none of that name."""
    try:
        return bank[at]
    except KeyError:
        return None


def _module_at(at: str, bank: Bank) -> Module | None:
    """The module that a place is, or that it is a post or cell of."""
    thing = thing_at(at, bank)
    if isinstance(thing, Post):
        thing = thing_at(thing.owner, bank)
    if isinstance(thing, Module):
        return thing
    cell = cell_place(bank, at)
    return cell[0] if cell else None


def _most_cells(module: Module | None, bank: Bank) -> float:
    """Cells in series: of this module, else the most of any module; no module, no limit."""
    return max((m.kind.cells for m in ((module,) if module else bank.modules)), default=math.inf)
