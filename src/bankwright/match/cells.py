"""Cells as they were read, and a module that rests above its highest voltage: what stops a module beside its volts.

Gives: cell_stops(), too_high(), cells_known(), cell_word(). A cell below its cut-off or reversed stops its module
however old the reading is: what that did to the cell does not heal; one that rests too high is asked about again once
its reading is old.
Limits: cells that nobody read stay unknown; a display may round. Telemetry is no reading by hand and is not read here.
Sources: cut-off and end of charge of a cell, handbook published/ranges, where the kind is silent; spread at rest 0.1 V:
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking
from bankwright.bank.model import Module
from bankwright.bank.model_kinds import ModuleKind
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Computed, FileKey, Origin
from bankwright.forms.wording import Figure, say
from bankwright.handbook.cells import cell_voltage
from bankwright.match import cards
from bankwright.match.entry import STALE, CellReading, ModuleReading

__all__ = ["cell_stops", "cell_word", "cells_known", "least_cell", "most_cell", "too_high"]

SPREAD = 0.1  # V between cells of one module at rest; common practice, no source


def least_cell(kind: ModuleKind) -> tuple[float, Origin]:
    """Lowest voltage that a cell may have, and where it stands."""
    trip = kind.discharge.cell_trip
    if trip is not None:
        return trip.nominal, FileKey(f"{kind.path}.discharge.cell_trip")
    published = cell_voltage("empty")
    return published.value, published.origin


def most_cell(kind: ModuleKind) -> tuple[float, Origin]:
    """Highest voltage at which a cell may rest: its end of charge, and never above its trip."""
    full, trip = kind.charge.cell_full, kind.charge.cell_trip
    published = cell_voltage("full")
    rows: list[tuple[float, Origin]] = [(published.value, published.origin)]
    if full is not None:
        rows = [(getattr(full, "nominal", full), FileKey(f"{kind.path}.charge.cell_full"))]
    if trip is not None:
        rows.append((trip.low, FileKey(f"{kind.path}.charge.cell_trip")))
    return min(rows, key=lambda row: row[0])


def cell_word(kind: ModuleKind, volts: float) -> str:
    """What is wrong with a cell at this voltage, in words; nothing where nothing is."""
    if volts < 0:
        return "below zero: leads swapped, or a reversed cell"
    if volts < least_cell(kind)[0]:
        return f"below its cut-off of {least_cell(kind)[0]:g} V"
    if volts > most_cell(kind)[0]:
        return f"above its end of charge of {most_cell(kind)[0]:g} V"
    return ""


def cells_known(module: Module, reading: ModuleReading) -> bool:
    """Was every cell of the module read today, and does none lie where it may not be."""
    fine = [cell for cell in reading.cells if cell.age <= STALE and not cell_word(module.kind, cell.voltage)]
    return len(fine) == module.kind.cells


def cell_stops(module: Module, reading: ModuleReading) -> Iterator[Finding]:
    """One finding for all cells of a module that are bad; else one where they lie far apart."""
    bad = [(cell, word) for cell in reading.cells if (word := cell_word(module.kind, cell.voltage))]
    low = [cell for cell, _ in bad if cell.voltage < least_cell(module.kind)[0]]
    fresh = [cell for cell, _ in bad if cell in low or cell.age <= STALE]
    if fresh:
        yield _bad_cells(module, [(cell, word) for cell, word in bad if cell in fresh])
    elif bad:
        yield _old_cells(module, [cell for cell, _ in bad])
    else:
        yield from _spread(module, reading)


def _bad_cells(module: Module, bad: list[tuple[CellReading, str]]) -> Finding:
    least, most = least_cell(module.kind), most_cell(module.kind)
    worst = max((cell for cell, _ in bad), key=lambda c: max(least[0] - c.voltage, c.voltage - most[0]))
    rows = "; ".join(f"cell {cell.number} {cell.voltage:.2f} V, {word}" for cell, word in bad[:6])
    do = (
        "Stop: neither join nor charge {module}. Read these cells again, at the cells, by somebody who knows them: a "
        "wrong reading is corrected in the logbook. If they are so, it goes back to its maker; a cell that lay below "
        "its cut-off may short inside when it is charged, one that rests too high is overcharged."
    )
    inputs = [
        Input(f"V_{cell.number}", f"cell {cell.number} of {module.name}", Figure(cell.voltage, "cell_voltage"),
              Computed("logbook, newest reading of this cell"))
        for cell, _ in bad
    ]  # fmt: skip
    return cards.CELLS_REST.found(
        module.name,
        Figure(worst.voltage, "cell_voltage"),
        (least[0], None) if worst.voltage < least[0] else (None, most[0]),
        say("{module}: {rows}", module=module.name, rows=rows),
        say(do, module=module.name),
        inputs=(
            *inputs,
            Input("V_min", "cut-off of a cell", Figure(least[0], "cell_voltage"), least[1]),
            Input("V_max", "end of charge of a cell", Figure(most[0], "cell_voltage"), most[1]),
        ),
        forced="fail",
    )


def _old_cells(module: Module, cells: list[CellReading]) -> Finding:
    """Cells that were too high on another day, perhaps while they were charged: asked for again."""
    names = ", ".join(str(cell.number) for cell in cells)
    how = f"Read cells {names} of {module.name} again, at rest."
    text = say("{module}: cells {cells} lay above their end of charge when read", module=module.name, cells=names)
    return cards.CELLS_REST.found(
        module.name,
        None,
        (None, None),
        text,
        say("Join nothing on it before they are read at rest."),
        missing=(asking(f"readings.{module.name}.cells", how),),
    )


def _spread(module: Module, reading: ModuleReading) -> Iterator[Finding]:
    volts = [cell.voltage for cell in reading.cells if cell.age <= STALE]
    if len(volts) < 2 or max(volts) - min(volts) <= SPREAD:
        return
    apart = Figure(max(volts) - min(volts), "cell_spread")
    words = "{module}: its cells that were read lie {apart} apart, from {low} to {high}"
    do = (
        "Charge {module} alone to full and let its cells level before it is joined; a cell that stays behind is weak "
        "or leaks."
    )
    yield cards.CELLS_REST.found(
        module.name,
        apart,
        (None, SPREAD),
        say(
            words, module=module.name, apart=apart, low=Figure(min(volts), "cell_voltage"),
            high=Figure(max(volts), "cell_voltage"),
        ),
        say(do, module=module.name),
        forced="caution",
    )  # fmt: skip


def too_high(module: Module, reading: ModuleReading) -> Iterator[Finding]:
    """A module that rests above the sum of its cells' end of charge."""
    cell, origin = most_cell(module.kind)
    most = cell * module.kind.cells
    if reading.high <= most:
        return
    volts = Figure(reading.voltage, "voltage", reading.low, reading.high)
    do = (
        "Stop: neither join nor charge {module}. Was it read under a charger? Then take that off, let it rest, read it "
        "again. At rest it is overcharged: leave it alone, away from anything that burns, and ask its maker."
    )
    words = "{module} rests at {volts}; its cells end at {most} together"
    yield cards.HIGHEST.found(
        module.name,
        volts,
        (None, most),
        say(words, module=module.name, volts=volts, most=Figure(most, "voltage")),
        say(do, module=module.name),
        inputs=(Input("V_max", "cells times end of charge", Figure(most, "voltage"), origin),),
    )
