"""Modules that must neither be joined nor charged before somebody has looked: reversed, far low, sagging, odd.

Gives: stops(). A module with a stop is left out of everything else that Match computes.
Limits: cells as far as the logbook holds them (match/cells); alarms of the module's own BMS are not known here.
Sources: cell discharge cut-off 2.5 V, data sheets of large prismatic LFP cells [published range]; bounds of sag and of
the odd module: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from statistics import median

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, Module
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Computed, FileKey, Source
from bankwright.forms.wording import Figure, say
from bankwright.match import cards
from bankwright.match.cells import cell_stops, cells_known, too_high
from bankwright.match.entry import ModuleReading
from bankwright.match.sources import REST_FOR_CHARGE

__all__ = ["stops"]

CUT_OFF = 2.5  # V a cell, where the kind gives no cell trip
CUT_OFF_SOURCE = Source("data sheets of large prismatic LFP cells", "", "discharge cut-off", "published range")
EMPTY = 3.0  # V a cell at rest; below it cells part by hundreds of millivolts; common practice, no source
FAR = 0.1  # V a cell below the others: not the same state at all; common practice, no source
GENTLE = 0.05  # C; common practice, no source
SAG = 0.1  # V of a module between two rested readings; common practice, no source
NEAR_COUNT = 0.006  # of the voltage: how near a reading must lie to that of another count of cells


def stops(bank: Bank, readings: Sequence[ModuleReading]) -> Iterator[Finding]:
    """Findings that stop a module, and one that asks about an odd one."""
    for reading in readings:
        module = bank.module(reading.module)
        if reading.voltage < 0:
            yield _reversed(reading)
            yield from cell_stops(module, reading)
            continue
        rest = [r.voltage / bank.module(r.module).kind.cells for r in readings if r is not reading and r.voltage > 0]
        yield from _far_low(module, reading, median(rest) if rest else None)
        yield from cell_stops(module, reading)
        yield from too_high(module, reading)
        yield from _sagging(reading)
    yield from _odd(bank, [reading for reading in readings if reading.voltage > 0])


def _reversed(reading: ModuleReading) -> Finding:
    volts = Figure(reading.voltage, "voltage")
    do = (
        "Do not join it. Measure again with the red lead on {post}: if it then reads above zero, the leads were "
        "swapped; "
        "if not, the module is wired the wrong way round and only its maker opens it."
    )
    return cards.POLARITY.found(
        reading.module,
        volts,
        (0.0, None),
        say("{module} reads {volts}: leads swapped, or the module reversed", module=reading.module, volts=volts),
        say(do, post=f"{reading.module}+"),
        inputs=(Input("V", f"reading at {reading.module}", volts, Computed(f"typed {reading.as_typed}")),),
        forced="fail",
    )


def _far_low(module: Module, reading: ModuleReading, others: float | None) -> Iterator[Finding]:
    trip = module.kind.discharge.cell_trip
    least = (trip.nominal if trip else CUT_OFF) * module.kind.cells
    origin = FileKey(f"{module.kind.path}.discharge.cell_trip") if trip else CUT_OFF_SOURCE
    if reading.low >= least:
        yield from _nearly_empty(module, reading, least, others)
        return
    limit, volts = Figure(least, "voltage"), Figure(reading.voltage, "voltage", reading.low, reading.high)
    do = (
        "Stop: neither join nor charge {module}. Cells that lay below their cut-off may have dissolved copper and can "
        "short inside when charged. No recovery programme. Have its cells measured one by one by somebody who knows "
        "them, "
        "or return it."
    )
    yield cards.LOWEST.found(
        module.name,
        volts,
        (least, None),
        say("{module} rests at {volts}; its discharge ends at {least}", module=module.name, volts=volts, least=limit),
        say(do, module=module.name),
        inputs=(Input("V_min", "cut-off, cells times discharge cut-off", limit, origin),),
    )


def _nearly_empty(module: Module, reading: ModuleReading, least: float, others: float | None) -> Iterator[Finding]:
    """Above its cut-off as a whole, yet so low that one cell may lie below it: the cells are read first."""
    if reading.low >= EMPTY * module.kind.cells:
        return
    cells, volts = module.kind.cells, Figure(reading.voltage, "voltage", reading.low, reading.high)
    do = (
        "Read every cell of {module} on its display. One below its cut-off: neither charge nor join it. All above: "
        "charge it alone with {gentle} at most, stay with it, stop at {empty}; rest it, read it and ask again."
    )
    how = (
        "The display or the maker's programme shows each cell; without it a meter at the cells, by somebody who knows."
    )
    capacity = module.capacity_ah or module.kind.capacity_ah or 100.0
    known, far = cells_known(module, reading), others is not None and others - reading.high / cells > FAR
    yield cards.CELLS_KNOWN.found(
        module.name,
        None,
        (None, None),
        say(
            "{module} rests at {volts}, {mean} a cell: nearly empty, and one cell may lie below its cut-off unseen",
            module=module.name,
            volts=volts,
            mean=Figure(reading.voltage / cells, "cell_voltage"),
        ),
        say(
            do,
            module=module.name,
            gentle=Figure(GENTLE * capacity, "current"),
            empty=Figure(EMPTY * cells, "voltage"),
        ),
        inputs=(Input("V_min", "cut-off of the module", Figure(least, "voltage"), CUT_OFF_SOURCE),),
        missing=() if known else (asking(f"readings.{module.name}.cells", how),),
        forced="fail" if far else "caution" if known else None,
    )


def _sagging(reading: ModuleReading) -> Iterator[Finding]:
    """Two readings, both well rested, and the later one lower by more than the meter can explain."""
    if reading.rested is None:
        return
    old = [(ago, volts) for ago, volts in reading.earlier if reading.rested - ago >= REST_FOR_CHARGE]
    if not old:
        return
    ago, before = old[0]
    fall = before - reading.voltage
    allowed = max(SAG, 2 * reading.digit)
    if fall <= allowed:
        return
    moved = Figure(fall, "voltage_drop", max(fall - 2 * reading.digit, 0.0), fall + 2 * reading.digit)
    do = (
        "Stop: do not join {module}. It loses charge while nothing is connected: a leaking cell or a standing draw "
        "inside. "
        "Leave it alone, away from anything that burns, read it again in a day, ask its maker."
    )
    words = "{module} fell by {fall} in {time} of rest"
    yield cards.SAGGING.found(
        reading.module,
        moved,
        (None, allowed),
        say(words, module=reading.module, fall=moved, time=Figure(ago, "time")),
        say(do, module=reading.module),
        forced="fail",
    )


def _odd(bank: Bank, readings: Sequence[ModuleReading]) -> Iterator[Finding]:
    """A reading that fits the others with one cell less or more."""
    if len(readings) < 3:
        return
    for reading in readings:
        cells = bank.module(reading.module).kind.cells
        others = [r.voltage / bank.module(r.module).kind.cells for r in readings if r is not reading]
        usual = median(others)
        if max(others) - min(others) > 0.02:
            continue
        for count in (cells - 1, cells + 1):
            if abs(reading.voltage / (usual * count) - 1) < NEAR_COUNT:
                yield _odd_finding(reading, cells, count, usual * count)


def _odd_finding(reading: ModuleReading, cells: int, count: int, fitting: float) -> Finding:
    key = f"modules.{reading.module}.cells"
    how = f"Read the label of {reading.module}, or count the cell voltages its own display shows."
    volts = Figure(reading.voltage, "voltage")
    words = "{module} reads {volts}, as {count} cells would at the others' voltage of a cell; the file says {cells}"
    do = "Settle how many cells {module} has before it is joined: with one cell less or more it must never be."
    return cards.ODD.found(
        reading.module,
        None,
        (None, None),
        say(words, module=reading.module, volts=volts, count=str(count), cells=str(cells)),
        say(do, module=reading.module),
        inputs=(Input("V", f"voltage of {count} cells", Figure(fitting, "voltage"), Computed("others' volts a cell")),),
        missing=(asking(key, how),),
    )
