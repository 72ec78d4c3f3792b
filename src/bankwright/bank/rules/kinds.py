"""Rules inside one kind: values of a data sheet that cannot hold together.

Gives: RULES. Nominal values are compared; a tolerance may overlap.
Limits: what is merely unwise is a finding of plan. Resistances: the metal of a module is in all three, so metal <=
ohmic <= surge <= dc (stated law: a step response of resistors and capacitors only rises).
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from bankwright.bank.file.spans import Path
from bankwright.bank.written.kinds import ChargerW
from bankwright.bank.written.module import ModuleW, ResistanceW
from bankwright.bank.written.parts import DeviceParts
from bankwright.bank.written.told import Told
from bankwright.forms.faults import Fault
from bankwright.forms.toleranced import Toleranced

__all__ = ["RULES"]

LEAST_CELL, MOST_CELL = 2.5, 3.7  # V a cell, empty and full, the widest that an open circuit shows; our choice
AGREE = 4 / 3  # a stated short and a stated resistance are of different days and makers' benches; our choice


def _mohm(value: Toleranced | float) -> str:
    number = value.nominal if isinstance(value, Toleranced) else value
    return f"{number * 1e3:.4g} mohm"


def resistances_can_be(told: Told) -> Iterator[Fault]:
    """Metal <= ohmic <= surge <= dc, and the cells' part within dc."""
    for name, kind in told.kinds.module.items():
        yield from _resistances(told, ("kinds", "module", name, "resistance"), kind.resistance)


def stated_shorts_can_be(told: Told) -> Iterator[Fault]:
    """A stated short-circuit current needs its voltage, one its cells can have, and agrees with the resistances."""
    for name, kind in told.kinds.module.items():
        path, r = ("kinds", "module", name, "resistance"), kind.resistance
        if (r.short_circuit is None) != (r.open_circuit is None):
            key = "open_circuit" if r.open_circuit is None else "short_circuit"
            yield told.where.fault(path, "key-missing", f"{key} is missing", "They belong together", f"Write {key}")
        if r.short_circuit is None or r.open_circuit is None:
            continue
        if not LEAST_CELL * kind.cells <= r.open_circuit <= MOST_CELL * kind.cells:
            found = f"found {r.open_circuit:g} V for {kind.cells} cells"
            right = f"{LEAST_CELL * kind.cells:g} V to {MOST_CELL * kind.cells:g} V"
            yield told.where.fault((*path, "open_circuit"), "out-of-range", found, right)
        yield from _against_resistances(told, path, r, r.open_circuit / r.short_circuit)


def _against_resistances(told: Told, path: Path, r: ResistanceW, stated: float) -> Iterator[Fault]:
    """Voc / Isc is the ohmic resistance within a third, and no larger than the later ones."""
    found = f"open_circuit / short_circuit is {_mohm(stated)}"
    if r.ohmic is not None and not r.ohmic.low / AGREE <= stated <= r.ohmic.high * AGREE:
        right = f"About the ohmic {_mohm(r.ohmic)}"
        yield told.where.fault((*path, "short_circuit"), "resistance-contradicts", found, right, also=(*path, "ohmic"))
    metal = 0.0 if r.dc is None or r.cells is None else r.dc.nominal - r.cells.nominal
    if r.ohmic is None and stated < metal:
        right = f"No less than the metal, dc less cells: {_mohm(metal)}"
        yield told.where.fault((*path, "short_circuit"), "resistance-order", found, right, also=(*path, "cells"))
    for key, later in (("surge", r.surge), ("dc", r.dc)):
        if r.ohmic is None and later is not None and stated > later.high:
            right = f"No more than {key}, {_mohm(later)}: the longer after a step, the larger the resistance"
            yield told.where.fault((*path, "short_circuit"), "resistance-order", found, right, also=(*path, key))


def _resistances(told: Told, path: Path, r: ResistanceW) -> Iterator[Fault]:
    if r.dc is not None and r.cells is not None:
        metal = r.dc.nominal - r.cells.nominal
        if metal < 0:
            found = f"found {_mohm(r.cells)}, more than the whole of {_mohm(r.dc)}"
            yield told.where.fault(
                (*path, "cells"), "resistance-order", found, "cells is a part of dc", also=(*path, "dc")
            )
        elif r.ohmic is not None and metal > r.ohmic.nominal * (1 + 1e-9):
            found = f"dc less cells leaves {_mohm(metal)} of metal, more than the ohmic {_mohm(r.ohmic)}"
            yield told.where.fault(
                (*path, "ohmic"),
                "resistance-order",
                found,
                "The metal is in all three, so it cannot exceed ohmic",
                also=(*path, "cells"),
            )
    order = [("ohmic", r.ohmic, 0.0), ("surge", r.surge, r.surge_after), ("dc", r.dc, r.after)]
    given = [(key, value, at) for key, value, at in order if value is not None]
    for (low_key, low, low_at), (high_key, high, high_at) in pairwise(given):
        if low_at is not None and high_at is not None and low_at <= high_at and low.nominal > high.nominal:
            found = f"found {_mohm(low)}, above {high_key} of {_mohm(high)}"
            yield told.where.fault(
                (*path, low_key),
                "resistance-order",
                found,
                "The longer after a step, the larger the resistance",
                also=(*path, high_key),
            )
    if r.surge is not None and r.surge_after is None:
        yield told.where.fault(
            (*path, "surge"),
            "key-missing",
            "surge_after is missing",
            "The time that surge holds for",
            'Write surge_after = "10 s"',
        )


def module_limits_can_be(told: Told) -> Iterator[Fault]:
    """Lowest under highest, trips above what they guard, cells empty below full."""
    for name, kind in told.kinds.module.items():
        path: Path = ("kinds", "module", name)
        yield from _sides(told, path, kind)
        if kind.posts.inner is not None and kind.posts.pairs == 1:
            yield told.where.fault(
                (*path, "posts", "inner"),
                "not-here",
                "an inner bar joins two posts of a pole",
                "",
                "Write pairs = 2, or leave inner out",
            )
        a = kind.address
        if a.first is not None and a.most is not None and a.first > a.most:
            yield told.where.fault(
                (*path, "address", "first"),
                "out-of-order",
                f"found {a.first}, above most = {a.most}",
                also=(*path, "address", "most"),
            )


def _sides(told: Told, path: Path, kind: ModuleW) -> Iterator[Fault]:
    for side, w in (("discharge", kind.discharge), ("charge", kind.charge)):
        here = (*path, side)
        if w.lowest is not None and w.highest is not None and w.lowest >= w.highest:
            found = f"found {w.lowest:g} degC, not below highest = {w.highest:g} degC"
            yield told.where.fault((*here, "lowest"), "out-of-order", found, also=(*here, "highest"))
        if w.trip is not None and w.continuous is not None and w.trip[0].high < w.continuous:
            found = f"found {w.trip[0].nominal:g} A, below the continuous {w.continuous:g} A"
            yield told.where.fault(
                (*here, "trip"),
                "out-of-order",
                found,
                "A trip lies above the current it allows",
                also=(*here, "continuous"),
            )
    low, high = kind.discharge.cell_trip, kind.charge.cell_trip
    if low is not None and high is not None and low.nominal >= high.nominal:
        found = f"found {low.nominal:g} V, not below the charge side's {high.nominal:g} V"
        yield told.where.fault(
            (*path, "discharge", "cell_trip"), "out-of-order", found, also=(*path, "charge", "cell_trip")
        )
    empty = kind.discharge.cell_empty
    if empty is not None and low is not None and empty < low.low:
        found = f"found {empty:g} V, below the trip of {low.nominal:g} V"
        yield told.where.fault(
            (*path, "discharge", "cell_empty"), "out-of-order", found, also=(*path, "discharge", "cell_trip")
        )
    full = kind.charge.cell_full
    if full is not None and high is not None and full > high.high:
        found = f"found {full:g} V, above the trip of {high.nominal:g} V"
        yield told.where.fault(
            (*path, "charge", "cell_full"), "out-of-order", found, also=(*path, "charge", "cell_trip")
        )


def devices_can_be(told: Told) -> Iterator[Fault]:
    """Resistance once, and a drop with its current."""
    parts: list[tuple[Path, DeviceParts]] = [(("kinds", "device", n), d) for n, d in told.kinds.device.items()]
    parts += [
        (("kinds", "module", n, "breaker"), m.breaker) for n, m in told.kinds.module.items() if m.breaker is not None
    ]
    for path, w in parts:
        if w.resistance is not None and w.drop is not None:
            yield told.where.fault(
                (*path, "drop"),
                "given-twice",
                "resistance is given too",
                "Give one of the two",
                also=(*path, "resistance"),
            )
        if w.drop is not None and w.drop[1] is None:
            yield told.where.fault(
                (*path, "drop"), "key-missing", "the current of the drop is missing", "", 'Write "75 mV at 300 A"'
            )
        if w.instant is not None and w.rating is not None and w.instant.high < w.rating:
            found = f"found {w.instant.nominal:g} A, below the rating of {w.rating:g} A"
            yield told.where.fault(
                (*path, "instant"),
                "out-of-order",
                found,
                "A magnetic trip lies above the rating",
                also=(*path, "rating"),
            )


def converters_can_be(told: Told) -> Iterator[Fault]:
    """Voltages of inverters and chargers in their order, surge above continuous power."""
    for name, w in told.kinds.inverter.items():
        path: Path = ("kinds", "inverter", name)
        pairs = (
            ("cut_out", "lowest_voltage", "V"),
            ("lowest_voltage", "highest_input", "V"),
            ("power", "surge_power", "W"),
        )
        for low_key, high_key, unit in pairs:
            low, high = getattr(w, low_key), getattr(w, high_key)
            if low is not None and high is not None and low > high:
                found = f"found {low:g} {unit}, above {high_key} = {high:g} {unit}"
                yield told.where.fault((*path, low_key), "out-of-order", found, also=(*path, high_key))
    chargers: list[tuple[Path, ChargerW]] = [(("kinds", "charger", n), c) for n, c in told.kinds.charger.items()]
    chargers += [(("kinds", "inverter", n, "charger"), i.charger) for n, i in told.kinds.inverter.items() if i.charger]
    for where, c in chargers:
        if c.setting is not None and c.voltage is not None and not c.voltage[0] <= c.setting <= c.voltage[1]:
            found = f"found {c.setting:g} V, outside the range {c.voltage[0]:g} V to {c.voltage[1]:g} V"
            yield told.where.fault((*where, "setting"), "out-of-order", found, also=(*where, "voltage"))


RULES = (resistances_can_be, stated_shorts_can_be, module_limits_can_be, devices_can_be, converters_can_be)
