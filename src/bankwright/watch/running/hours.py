"""Hours and minutes of a bank out of the sums that are kept: lowest, mean, highest of each module.

Gives: Hours, hours_of(), largest_current(), minutes_at(), minutes_of_hours(), part_of(), sensors_of(), probes_of(),
room_of(), LONGEST. All modules stand on one grid of time; what was not heard is NaN, and so is what no module in
service can have said.
Limits: at most a year back: older sums are there, but are not looked at here. A value beyond belief inside an hour
spoils its mean, so that hour of that module is left out as a whole.
Sources: what is believed of a cell, a current, a temperature: own choice, as in watch/charge/daily.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.bank.model import Bank, Module
from bankwright.circuit.network import Array
from bankwright.logbook.telemetry.store import Telemetry
from bankwright.watch.running.tables import HOUR, MINUTE, Table, hourly, minutely
from bankwright.watch.section import Asked

__all__ = [
    "DEGC",
    "LONGEST",
    "Hours",
    "hours_of",
    "largest_current",
    "minutes_at",
    "minutes_of_hours",
    "part_of",
    "probes_of",
    "room_of",
    "sensors_of",
]

LONGEST = 366 * 86400.0  # s looked back
CELL, DEGC = (1.5, 4.5), (-40.0, 100.0)  # V a cell, degC
RATE, TRIPS, LEAST_RATE = 10.0, 1.5, 2.0  # C without a trip; times the trip, and C at the least with one
USUAL_AH = 100.0  # where no capacity is given, for what is beyond belief only


@dataclass(frozen=True, eq=False, slots=True)
class Hours:
    """Voltage and current of the modules over slots of equal length, (slot, module)."""

    names: tuple[str, ...]
    time: Array
    step: float  # s
    volts: Table
    amps: Table  # positive leaves the module

    @property
    def told(self) -> Array:
        """Where both are known, 1 or 0. (slot, module)"""
        return np.asarray((np.isfinite(self.volts.mean) & np.isfinite(self.amps.mean)).astype(float))


def largest_current(module: Module) -> float:
    """Beyond it a reading is none: half as much again as its trip, where both trips are given. [A]"""
    size = module.capacity_ah or module.kind.capacity_ah or USUAL_AH
    trips = [side.trip.high for side in (module.kind.discharge, module.kind.charge) if side.trip is not None]
    return max(TRIPS * max(trips), LEAST_RATE * size) if len(trips) == 2 else RATE * size


def hours_of(asked: Asked) -> Hours:
    """Hours that are shown, the last year of them at most; read once for all sections."""
    return asked.once(Hours, lambda: _hours(asked))


def _hours(asked: Asked) -> Hours:
    since = max(asked.since, asked.until - LONGEST)
    first, last = int(since // HOUR), int(asked.until // HOUR)
    return _filled(asked, np.arange(first, last + 1, dtype=float) * HOUR, HOUR)


class _Read(dict[float, "Hours"]):
    """Minutes that were read, by the beginning of their hour."""


def minutes_at(asked: Asked, hours: Iterable[float]) -> Hours:
    """Every minute of some hours, given by their beginnings; each is read once for all sections."""
    wanted, read = sorted(hours), asked.once(_Read, _Read)
    new = [hour for hour in wanted if hour not in read]
    if new or not wanted:
        fresh = _filled(asked, minutes_of_hours(np.array(new)), MINUTE)
        read.update((hour, part_of(fresh, slice(60 * k, 60 * k + 60))) for k, hour in enumerate(new))
        if len(new) == len(wanted):
            return fresh
    return _joined([read[hour] for hour in wanted])


def part_of(hours: Hours, which: slice | np.ndarray) -> Hours:
    """Some of the slots."""
    both = (hours.volts, hours.amps)
    volts, amps = (Table(*(getattr(each, name)[which] for name in Table.__slots__)) for each in both)
    return Hours(hours.names, hours.time[which], hours.step, volts, amps)


def _joined(parts: Sequence[Hours]) -> Hours:
    """One after the other."""
    volts, amps = (
        Table(*(np.concatenate([getattr(each, name) for each in tables]) for name in Table.__slots__))
        for tables in ([part.volts for part in parts], [part.amps for part in parts])
    )
    return Hours(parts[0].names, volts.time, parts[0].step, volts, amps)


def minutes_of_hours(hours: Array) -> Array:
    """Beginnings of all their minutes. (minute,) s since 1970"""
    return np.asarray((hours[:, None] + np.arange(60) * MINUTE).ravel())


def _filled(asked: Asked, time: Array, step: float) -> Hours:
    bank, names = asked.bank, tuple(module.name for module in asked.bank.modules)
    cells = np.array([module.kind.cells for module in bank.modules], dtype=float)
    most = np.array([largest_current(module) for module in bank.modules])
    believed = {"voltage": (cells * CELL[0], cells * CELL[1]), "current": (-most, most)}
    told = hourly if step == HOUR else minutely
    volts, amps = told(asked, believed, names, time)
    return Hours(names, time, step, volts, amps)


def _places(telemetry: Telemetry, shape: str) -> tuple[str, ...]:
    pattern = re.compile(shape)
    found = {s.at for s in telemetry.signals() if s.quantity == "temperature_degc" and pattern.fullmatch(s.at)}
    return tuple(sorted(found, key=lambda at: [int(p) if p.isdigit() else p for p in re.split(r"(\d+)", at)]))


def sensors_of(telemetry: Telemetry, module: str) -> tuple[str, ...]:
    """Places where the cells of a module are read for their temperature: M1, M1.t1, M1.t2, .."""
    return _places(telemetry, re.escape(module) + r"(\.t\d+)?")


def probes_of(telemetry: Telemetry, module: str) -> tuple[str, ...]:
    """Other places of a module that are read: its switches, board, terminals."""
    return _places(telemetry, re.escape(module) + r"\.(mos|board|terminal)\d*")


def room_of(bank: Bank, telemetry: Telemetry) -> tuple[str, ...]:
    """Places where the air is read: bank.room, M1.room."""
    own = "|".join(re.escape(name) for name in ("bank", *(module.name for module in bank.modules)))
    return _places(telemetry, rf"({own})\.(room|ambient)\d*|room|ambient")
