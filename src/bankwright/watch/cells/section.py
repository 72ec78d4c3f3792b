"""Section: cells. Which reading is none, what a spread means, which cell is weak, which one loses charge.

Gives: section(), READS, SPREAD, WEAK, LOSES.
Limits: only modules whose cells are read. Judged on the last two days; self-discharge on the days that are shown.
Sources: the rooms beside; limits are our choice where they say so.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from bankwright.bank.asks import asking
from bankwright.bank.model import Module
from bankwright.circuit.run.bank import ModuleParts, parts_of
from bankwright.circuit.run.curves import curves_of
from bankwright.forms.card import Card
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, Say, say
from bankwright.physics.middle import middle
from bankwright.watch.cells.kinds import deviation, kind_of
from bankwright.watch.cells.leak import leak
from bankwright.watch.cells.minutes import minutes_of, tops_of
from bankwright.watch.cells.senses import Doubtful, Minutes, doubtful
from bankwright.watch.cells.spread import NARROW, Meaning, meaning
from bankwright.watch.section import Asked, Row, Section

__all__ = ["LOSES", "READS", "SPREAD", "WEAK", "section"]

TITLE = "Cells"
STRETCH = 2 * 86400.0  # s that are looked at
CURVES = Source("published curves of four kinds, docs/cells.md", how_known="derived")
CHOICE = Source("our choice", how_known="common practice, no source")
READS = Card(
    "W-CELL-1", "Readings of cells can be true", "neighbour, sum, movement, 1.5 to 4.5 V", CHOICE, ends_at="caution",
    why="Whatever is concluded from a reading that is none is wrong; protection that rests on it does not protect.",
)  # fmt: skip
SPREAD = Card(
    "W-CELL-2", "Cells of a module hold the same charge", "z(highest) - z(lowest) over all curves <= 3 points", CURVES,
    ends_at="caution",
    why="The fullest cell ends the charge, the emptiest one the discharge. The same millivolts mean little at the top"
    " and cannot be charge on the flat.",
)  # fmt: skip
WEAK = Card(
    "W-CELL-3", "No cell is weaker than the others", "deviation near full, near empty, with the current", CHOICE,
    ends_at="caution",
    why="The cell with the least capacity rules the string: it is full first and empty first.",
)  # fmt: skip
LOSES = Card(
    "W-CELL-4", "No cell loses charge by itself", "fall at full charges over the slope there <= 1 % of the capacity a"
    " week", CHOICE, ends_at="caution",
    why="A cell that empties itself faster than the balancer feeds it drags its module along; growing self-discharge is"
    " a sign of damage inside.",
)  # fmt: skip
WEEK = 168.0  # h


def section(asked: Asked) -> Section:
    """Each module whose cells are read."""
    findings: list[Finding] = []
    rows: list[Row] = []
    silent: list[str] = []
    for module in asked.bank.modules:
        found = minutes_of(asked.telemetry, module.name, asked.until - STRETCH, asked.until + 60)
        if found is None or not np.isfinite(found.mean).any():
            silent.append(module.name)
            continue
        told, row = _module(asked, module, found)
        findings += told
        rows.append(row)
    notes: tuple[Say, ...] = ()
    if silent:
        words = (
            "Cells of {modules} are not read: nothing is said of them; a meter at the cells stands in where it reaches."
        )
        notes = (say(words, modules=", ".join(silent)),)
    return Section("cells", TITLE, tuple(findings), tuple(rows), notes=notes)


def _module(asked: Asked, module: Module, minutes: Minutes) -> tuple[list[Finding], Row]:
    wrong = doubtful(minutes)
    findings = [_reads(module, minutes, wrong)]
    bad = {cell - 1 for one in wrong for cell in one.cells}
    keep = [cell for cell in range(minutes.mean.shape[1]) if cell not in bad]
    row = _row(module, minutes, keep)
    if any(one.why == "count" for one in wrong) or len(keep) < 3:
        return findings, row
    findings.append(_spread(module, minutes, keep))
    findings += _weak(module, minutes, keep)
    findings += _loses(asked, module, keep)
    return findings, row


def _row(module: Module, minutes: Minutes, keep: list[int]) -> Row:
    last = minutes.mean[-1][keep] if keep else np.array([np.nan])
    if not np.isfinite(last).any():
        return Row(module.name, None, None, say("no reading of a cell can be believed"))
    words = say(
        "cells from {low} to {high}, lowest {cell}", low=Figure(float(np.nanmin(last)), "cell_voltage"),
        high=Figure(float(np.nanmax(last)), "cell_voltage"), cell=f"c{keep[int(np.nanargmin(last))] + 1}",
    )  # fmt: skip
    return Row(module.name, Figure(float(np.nanmax(last) - np.nanmin(last)), "cell_spread"), None, words)


def _reads(module: Module, minutes: Minutes, wrong: tuple[Doubtful, ...]) -> Finding:
    do = say("Look at the sense wires and their plug with the module isolated, and read the cells with a meter.")
    count = len(minutes.mean[0])
    other = "" if count == module.kind.cells else f"{count} cells are read, the file says {module.kind.cells}"
    if not wrong and not other:
        text = say("Every cell of {module} moves with the others and adds up", module=module.name)
        return READS.found(module.name, None, (None, None), text, do)
    words = [_doubt_text(one) for one in wrong] + ([other] if other else [])
    text = say("{module}: {all}", module=module.name, all="; ".join(words))
    return READS.found(module.name, None, (None, None), text, do, forced="caution")


def _doubt_text(one: Doubtful) -> str:
    cells = " and ".join(f"c{cell}" for cell in one.cells)
    at_times = "" if one.share > 0.9 else f" at times ({max(one.share, 0.001):.1%})"
    match one.why:
        case "mark":
            said = "says no value" if np.isnan(one.value) else f"reads {one.value:.3f} V, which no cell in service has"
            return f"{cells} {said}{at_times}: a mark for no value, or a wire off"
        case "sense wire":
            return (
                f"{cells} are off by {one.value:.2f} V each to opposite sides and right together: the sense wire"
                f" between them makes no contact{at_times}"
            )
        case "count":
            more = "more" if one.value > 0 else "fewer"
            return f"the module's voltage holds {abs(one.value):.0f} {more} cells than are read"
        case "still":
            return f"{cells} has not moved by a step while the others moved by {one.value * 1000:.0f} mV: a stale value"
        case "all still":
            return f"all cells stood still while the module's voltage moved by {one.value * 1000:.0f} mV a cell: stale"
        case "voltage still":
            return f"the module's voltage stands at {one.value:.2f} V while its cells move: a stale value"
        case "current still":
            return f"the current stands at {one.value:.2f} A while the cells go up and down: a stale value"


def _spread(module: Module, minutes: Minutes, keep: list[int]) -> Finding:
    """The minute at rest that tells most: of those with a narrow band the widest apart, else the narrowest band."""
    parts = parts_of(module)
    capacity = parts.capacity_ah
    do = say("Charge to the top and hold there for some hours, so that the balancer works; look again after a week.")
    if capacity is None:
        key = asking(f"{module.kind.path}.capacity", "It makes a rate out of a current.")
        return SPREAD.unknown(module.name, (key,))
    ohm = _ohm(parts)
    best: tuple[Meaning, float, float] | None = None
    for k in _rested(minutes, capacity):
        cells = minutes.mean[k][keep]
        high, low = float(np.nanmax(cells)), float(np.nanmin(cells))
        amps = abs(float(minutes.current[k]))
        found = meaning(high, low, curves_of(module.kind), rate=amps / capacity, current=amps, ohm=ohm)
        if found.apart is not None and (best is None or _rank(found) < _rank(best[0])):
            best = found, high, low
    if best is None:
        return SPREAD.unknown(module.name, (_rest(module.name),))
    return _spread_told(module, best, do)


def _ohm(parts: ModuleParts) -> float:
    """Of one cell, all of it."""
    return (parts.ohmic.nominal + parts.quick + parts.slow) / parts.cells


def _rested(minutes: Minutes, capacity: float) -> Iterator[int]:
    """A few dozen minutes of little current, spread over the stretch, the highest and the lowest among them."""
    told = np.isfinite(minutes.current) & np.isfinite(minutes.mean).any(axis=1)
    rest = np.flatnonzero(told & (np.abs(minutes.current) <= 0.05 * capacity))
    if len(rest):
        centre = middle(minutes.mean[rest])
        places = np.unique(np.linspace(0, len(rest) - 1, 24).astype(int))
        yield from np.unique(np.concatenate([rest[places], rest[[centre.argmax(), centre.argmin()]]]))


def _rank(found: Meaning) -> tuple[bool, float]:
    assert found.apart is not None
    width = found.apart.high - found.apart.low
    return (False, -found.apart.low) if width <= NARROW else (True, width)


def _rest(name: str) -> Missing:
    how = "Let the bank rest, or charge it to the top, with the listener running: ten minutes at under 0.05 C."
    return replace(asking(f"telemetry.{name}.cell_voltage", how), ask="measure", lacks=f"{name}: no rest was heard")


def _spread_told(module: Module, best: tuple[Meaning, float, float], do: Say) -> Finding:
    found, high, low = best
    apart = found.apart
    assert apart is not None
    figure = Figure(apart.middle, "soc", apart.low, apart.high)
    gaps: dict[str, Figure | str] = {
        "module": module.name, "spread": Figure(high - low, "cell_spread"), "high": Figure(high, "cell_voltage"),
        "from": Figure(apart.low, "soc"), "to": Figure(apart.high, "soc"),
    }  # fmt: skip
    words = "{module}: {spread} at {high} are {from} to {to} of charge between its cells"
    match found.kind:
        case "even":
            return SPREAD.found(module.name, figure, (None, None), say(words, **gaps), do)
        case "not charge":
            words = (
                "{module}: {spread} at {high} would be {from} to {to} of charge: more likely resistance, wire or joint"
            )
            look = say(
                "Read the cells with a meter under load and at rest; look at sense wires and joints of the lowest one."
            )
            return SPREAD.found(module.name, figure, (None, 0.03), say(words, **gaps), look, forced="caution")
        case "charge":
            return SPREAD.found(module.name, figure, (None, 0.03), say(words, **gaps), do, forced="caution")
        case _:
            return SPREAD.found(
                module.name, Figure(apart.middle, "soc"), (None, None), say(words, **gaps), do,
                missing=(_top(module.name),),
            )  # fmt: skip


def _top(name: str) -> Missing:
    how = (
        "Charge until every cell stands at 3.45 V or more, with the listener running: there a spread tells the charge."
    )
    return replace(asking(f"telemetry.{name}.cell_voltage", how), ask="measure", lacks=f"{name}: the flat of the curve")


def _weak(module: Module, minutes: Minutes, keep: list[int]) -> Iterator[Finding]:
    do = {
        "capacity": say("It rules what the module gives; a capacity test shows by how much. Ask the maker."),
        "charge": say("Hold the bank at the top for some hours; if it comes back, it loses charge by itself."),
        "resistance": say("Look at its sense wire and joints with the module isolated, then test the cell."),
    }
    words = {
        "capacity": "{cell} of {module} is full before the others and empty before them: less capacity",
        "charge": "{cell} of {module} lies {way} than the others to one side: another charge, not less capacity",
        "resistance": "{cell} of {module} has {ohm} more than the others: resistance, or its wire",
    }
    parts, curves = parts_of(module), curves_of(module.kind)
    for place, one in enumerate(deviation(minutes.mean[:, keep], minutes.current, curves, _ohm(parts))):
        kind = kind_of(one)
        if kind not in ("capacity", "charge", "resistance"):
            continue
        cell = f"c{keep[place] + 1}"
        gaps: dict[str, Figure | str] = {"cell": cell, "module": module.name}
        if kind == "charge":
            gaps["way"] = "lower" if one.full is not None and one.full.middle < 0 else "higher"
        if kind == "resistance":
            gaps["ohm"] = Figure(one.ohm, "resistance")
        text = say(words[kind], **gaps)
        yield WEAK.found(f"{module.name}.{cell}", None, (None, None), text, do[kind], forced="caution")


def _loses(asked: Asked, module: Module, keep: list[int]) -> Iterator[Finding]:
    capacity = parts_of(module).capacity_ah
    if capacity is None:
        return
    tops = list(tops_of(asked.telemetry, module.name, capacity, asked.since, asked.until + 60))
    if not tops:
        return
    time = np.array([t for t, _ in tops])
    cells = np.array([v for _, v in tops])[:, keep]
    centre = middle(cells)
    limit = 0.01 * capacity / WEEK
    for place in range(cells.shape[1]):
        found = leak(time, cells[:, place] - centre, centre, capacity, curves_of(module.kind), balanced=None)
        if found is None or found.low <= limit:
            continue
        name = f"{module.name}.c{keep[place] + 1}"
        text = say(
            "{cell} has lost between {low} and {high} more than the others, if no balancer fed or drained it",
            cell=name, low=Figure(found.low, "current"), high=Figure(found.high, "current"),
        )  # fmt: skip
        how = "Read how long the balancer worked on each cell, and its current: its charge belongs to this sum."
        missing = replace(asking(f"telemetry.{name}.balancer", how), ask="measure", lacks="what the balancer took")
        yield LOSES.found(name, None, (None, None), text, say("{how}", how=how), missing=(missing,))
