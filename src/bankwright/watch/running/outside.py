"""Section: time outside limits. How long readings stood outside the maker's limits and the bank file's.

Gives: section(), INSIDE, COLD.
Limits: as in limits.py; hours whose highest and lowest reading stayed inside are not looked at more closely.
Sources: data sheets, as the bank file has them; two minutes before it is said: our choice.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from bankwright.bank.asks import asking
from bankwright.bank.model import Module
from bankwright.circuit.network import Array
from bankwright.forms.card import Card
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, Say, say
from bankwright.watch.cells.minutes import cell_places, minutes_of
from bankwright.watch.cells.senses import doubtful
from bankwright.watch.running.frame import frame_finding
from bankwright.watch.running.hours import (
    DEGC,
    LONGEST,
    largest_current,
    minutes_of_hours,
    sensors_of,
)
from bankwright.watch.running.limits import Outside, Wall, outside, touches, walls_of
from bankwright.watch.running.tables import HOUR, MINUTE, Table, hourly, minutely
from bankwright.watch.section import Asked, Row, Section

__all__ = ["COLD", "INSIDE", "section"]

TITLE = "Time outside limits"
INSIDE = Card(
    "W-LIMIT-1", "Nothing stood outside its limits", "minutes with every reading outside < 2 min",
    Source("data sheets, as the bank file has them", how_known="derived"), ends_at="caution",
    why="Time outside the maker's limits ages cells, and may end the maker's guarantee. An alarm tells of now, this of"
    " all the time that was heard.",
)  # fmt: skip
COLD = Card(
    "W-LIMIT-2", "Charge current stays below what the coldest sensor allows", "I <= charge.by_temperature(T_min)",
    Source("data sheets, as the bank file has them", how_known="derived"), ends_at="caution",
    why="Below freezing lithium is plated instead of stored; near it the maker allows less current. The coldest cell"
    " counts, and the coldest module rules the whole bank.",
)  # fmt: skip
STRETCH = 2 * 86400.0  # s in which readings of cells are held against each other
SAID = 2 * MINUTE  # s of every reading outside, before it is said
CELL = (1.5, 4.5)  # V, beyond which a reading is none
MOST_HOURS = 240  # of one limit and module that are looked at by the minute


@dataclass(frozen=True, eq=False, slots=True)
class _Told:
    """What is read of one module, by the hour: each quantity's table, and where it is read."""

    module: Module
    time: Array
    at: dict[str, tuple[str, ...]]
    hours: dict[str, Table]


def section(asked: Asked) -> Section:
    """Each module, every limit that is given."""
    findings: list[Finding] = []
    rows: list[Row] = []
    notes: dict[str, list[str]] = {}
    for module in asked.bank.modules:
        told = _told(asked, module)
        walls = walls_of(asked.bank, module)
        if not walls:
            key = asking(f"{module.kind.path}.charge.cell_trip", "Without limits nothing can stand outside them.")
            findings.append(INSIDE.unknown(module.name, (key,)))
        findings += [*_inside(asked, told, walls, rows, notes), *_cold(asked, told)]
    findings += frame_finding(asked)
    return Section("limits", TITLE, tuple(findings), tuple(rows), notes=tuple(_notes(notes)),
                   rests_on=("voltage", "current", "temperature_degc", "cell_voltage"))  # fmt: skip


def _told(asked: Asked, module: Module) -> _Told:
    since = max(asked.since, asked.until - LONGEST)
    time = np.arange(int(since // HOUR), int(asked.until // HOUR) + 1, dtype=float) * HOUR
    at = {
        "voltage": (module.name,), "current": (module.name,),
        "temperature_degc": sensors_of(asked.telemetry, module.name),
        "cell_voltage": cell_places(asked.telemetry, module.name),
    }  # fmt: skip
    tables = {name: _table(asked, module, name, places, time, step=HOUR) for name, places in at.items()}
    return _Told(module, time, at, tables)


def _table(asked: Asked, module: Module, name: str, at: tuple[str, ...], time: Array, *, step: float) -> Table:
    cells = module.kind.cells
    most = largest_current(module)
    ends = {
        "voltage": (CELL[0] * cells, CELL[1] * cells), "current": (-most, most), "temperature_degc": DEGC,
        "cell_voltage": CELL,
    }[name]  # fmt: skip
    whole = np.full(len(at), ends[0]), np.full(len(at), ends[1])
    return (hourly if step == HOUR else minutely)(asked, {name: whole}, at, time)[0]


def _inside(
    asked: Asked, told: _Told, walls: tuple[Wall, ...], rows: list[Row], notes: dict[str, list[str]]
) -> Iterator[Finding]:
    passed = False
    for wall in walls:
        found = told.hours[wall.quantity]
        if not np.isfinite(found.mean).any():
            notes.setdefault(wall.quantity, []).append(told.module.name)
            continue
        hours = told.time[touches(wall, found)]
        if not len(hours):
            continue
        one = _by_minute(asked, told, wall, hours)
        if not one.at_most:
            continue
        words = _words(told.module, wall, one)
        rows.append(Row(told.module.name, Figure(one.by_mean, "time", one.surely, one.at_most), None, words))
        if one.surely >= SAID:
            passed = True
            yield _outside(told.module, wall, one, words)
    if walls and not passed and any(np.isfinite(t.mean).any() for t in told.hours.values()):
        text = say("{module} stood inside all its limits that are heard", module=told.module.name)
        yield INSIDE.found(told.module.name, None, (None, None), text, say("Nothing is to be done."))


def _believed(asked: Asked, told: _Told, wall: Wall) -> tuple[str, ...]:
    """Places of a quantity, without cells whose readings of the last two days cannot be true."""
    at = told.at[wall.quantity]
    if wall.quantity != "cell_voltage":
        return at
    minutes = minutes_of(asked.telemetry, told.module.name, asked.until - STRETCH, asked.until + 60)
    bad = set() if minutes is None else {cell for one in doubtful(minutes) for cell in one.cells}
    return tuple(place for k, place in enumerate(at, 1) if k not in bad)


def _by_minute(asked: Asked, told: _Told, wall: Wall, hours: Array) -> Outside:
    some = hours if len(hours) <= MOST_HOURS else hours[np.linspace(0, len(hours) - 1, MOST_HOURS).astype(int)]
    time = minutes_of_hours(some)
    found = _table(asked, told.module, wall.quantity, _believed(asked, told, wall), time, step=MINUTE)
    amps = _table(asked, told.module, "current", told.at["current"], time, step=MINUTE)
    one, scale = outside(wall, found, amps), len(hours) / len(some)
    return replace(one, surely=one.surely * scale, by_mean=one.by_mean * scale, at_most=one.at_most * scale)


def _words(module: Module, wall: Wall, one: Outside) -> Say:
    name = wall.quantity
    words = "{module} {what}: {low} surely, {high} at most; {worst} against {limit}"
    if one.is_alone and name == "temperature_degc":
        words += ", by one of its sensors alone; the others stood inside"
    return say(
        words, module=module.name, what=wall.words,
        low=Figure(one.surely, "time"), high=Figure(one.at_most, "time"), worst=Figure(one.furthest, name),
        limit=Figure(wall.value, name),
    )  # fmt: skip


def _outside(module: Module, wall: Wall, one: Outside, words: Say) -> Finding:
    do = say("Set the charger or the load so that it stays inside ({key}); `bankwright prove FILE` has the settings.",
             key=wall.key)  # fmt: skip
    figure = Figure(one.by_mean, "time", one.surely, one.at_most)
    return INSIDE.found(module.name, figure, (None, SAID), words, do, case=wall.words, forced="caution")


# --- charging in the cold


def allowed_at(module: Module, degc: Array) -> Array:
    """Charge current that the maker allows at temperatures; NaN where none is given there. [A]"""
    charge, answer = module.kind.charge, np.full(len(degc), np.nan)
    for start, amps in charge.by_temperature:
        with np.errstate(invalid="ignore"):
            answer[degc >= start] = amps
    if charge.by_temperature:
        with np.errstate(invalid="ignore"):
            answer[degc < charge.by_temperature[0][0]] = 0.0
    return answer


def _cold(asked: Asked, told: _Told) -> Iterator[Finding]:
    """Hours in which a module was charged with more than its coldest sensor allows, then by the minute."""
    degc, amps = told.hours["temperature_degc"], told.hours["current"]
    if not told.module.kind.charge.by_temperature or not np.isfinite(degc.mean).any():
        return
    told_degc = np.isfinite(degc.low).any(axis=1)
    coldest = np.full(len(degc.time), np.nan)
    coldest[told_degc] = np.nanmin(degc.low[told_degc], axis=1)
    with np.errstate(invalid="ignore"):
        over = -amps.low[:, 0] > np.maximum(allowed_at(told.module, coldest), 1.0)
    hours = told.time[over]
    name = told.module.name
    worst = float(np.nanmin(coldest))
    gaps: dict[str, Figure | str] = {"module": name, "cold": Figure(worst, "temperature_degc"),
            "amps": Figure(float(allowed_at(told.module, np.array([worst]))[0]), "current")}  # fmt: skip
    spent = _cold_minutes(asked, told, hours[:MOST_HOURS]) if len(hours) else (0.0, 0.0)
    if spent[0] >= SAID:
        figure = Figure(spent[0], "time", spent[0], spent[1])
        text = say("{module} was charged with more than its coldest sensor allows for {time}; at {cold} it is {amps}",
                   time=figure, **gaps)  # fmt: skip
        do = say("Let the charge wait for warmth, or set less current in the cold: the coldest module rules the bank.")
        yield COLD.found(name, figure, (None, SAID), text, do, forced="caution")
    else:
        text = say("{module} was charged as its coldest sensor, {cold} at the least, allows: {amps} there", **gaps)
        yield COLD.found(name, None, (None, None), text, say("Nothing is to be done."))


def _cold_minutes(asked: Asked, told: _Told, hours: Array) -> tuple[float, float]:
    """Seconds surely and at most."""
    time = minutes_of_hours(hours)
    degc = _table(asked, told.module, "temperature_degc", told.at["temperature_degc"], time, step=MINUTE)
    amps = _table(asked, told.module, "current", told.at["current"], time, step=MINUTE)
    heard = np.isfinite(degc.mean).any(axis=1)
    coldest = np.full(len(time), np.nan)
    coldest[heard] = np.nanmin(degc.mean[heard], axis=1)
    allowed = np.maximum(allowed_at(told.module, coldest), 1.0)
    with np.errstate(invalid="ignore"):
        return tuple(float((-part[:, 0] > allowed).sum()) * MINUTE for part in (amps.high, amps.low))  # type: ignore[return-value]


def _notes(silent: dict[str, list[str]]) -> Iterator[Say]:
    words = {"cell_voltage": "voltages of cells", "temperature_degc": "temperatures", "current": "currents",
             "voltage": "voltages"}  # fmt: skip
    for name, modules in silent.items():
        yield say(
            "Limits of {what} are given and not heard at {modules}: unknown there. Let bankwright listen to them.",
            what=words[name], modules=", ".join(dict.fromkeys(modules)),
        )  # fmt: skip
