"""A pretend year in the logbook of a bank that has none: what a listener would have kept of it.

Gives: Grows, pretend_year(), RAW, STEP. The last days stand as raw readings; of those before
them only the sums that a listener keeps of a day for the joints are there. The same bank, seed and clock give the same.
Limits: no state of charge and no capacity is kept of the days before the raw ones; nothing of it was measured. Sensors:
gain 1 % and offset 0.3 A of a current, gain 0.3 % and offset 30 mV of a voltage, noise 30 mA and 3 mV, steps 10 mA and
10 mV: assumptions, those of the bench of joints.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from bankwright.bank.model import Bank
from bankwright.circuit.network import Array
from bankwright.forms.readings import Columns
from bankwright.logbook.telemetry.store import Telemetry
from bankwright.watch.joints.cycles import checked
from bankwright.watch.joints.daily import day_name
from bankwright.watch.joints.hours import DAY, FORM, packed, reduced
from bankwright.watch.year.bank import MEAN_DEGC, SEASON_KELVIN, Truth, lived, true_bank
from bankwright.watch.year.house import power_of_days

__all__ = ["RAW", "STEP", "Grows", "pretend_year"]

RAW = 2  # days that are kept raw beside the one that is not over
STEP = 20.0  # s from reading to reading
SLOW = 300.0  # s from one reading of cells and temperature to the next
BEGINS = 0.5  # of the days, when the joint begins to grow
HOUSE = 25.0  # kWh of a bank that the house suits
SENSOR = {"gain_i": 0.01, "zero_i": 0.3, "gain_v": 0.003, "zero_v": 0.03}
NOISE_I, NOISE_V, STEP_I, STEP_V = 0.03, 0.003, 0.01, 0.01
CHUNK = 122  # days at once


@dataclass(frozen=True, slots=True)
class Grows:
    """A joint, cable or device that grows in a straight line from the middle of the days to this at their end. [ohm]"""

    element: str
    ohms: float

    def on(self, day: int, days: int) -> dict[str, float]:
        """What it has grown by on one of so many days."""
        part = (day / days - BEGINS) / (1 - BEGINS)
        return {self.element: self.ohms * part} if part > 0 else {}


@dataclass(frozen=True, eq=False)
class _Sensors:
    gain_i: Array
    zero_i: Array
    gain_v: Array
    zero_v: Array


def pretend_year(
    bank: Bank,
    telemetry: Telemetry,
    clock: Callable[[], float],
    grows: Grows | None = None,
    *,
    days: int = 365,
    seed: int = 1,
) -> Iterator[int]:
    """Write so many days until the present moment of a clock, s since 1970; gives the one that is done."""
    draw = np.random.default_rng(seed)
    truth = true_bank(bank, draw)
    count = len(truth.names)
    sensors = _Sensors(*(size * draw.uniform(-1, 1, count) for size in SENSOR.values()))
    last = int(clock() // DAY)
    scale = sum(truth.capacity) * truth.cells * 3.2e-3 / HOUSE
    for numbers in np.array_split(np.arange(days + 1), max(days // CHUNK, 1)):
        power = power_of_days(len(numbers), STEP, scale, draw)
        loops = np.array([truth.loops(grows.on(int(n), days) if grows else {}) for n in numbers])
        degc = MEAN_DEGC - SEASON_KELVIN * np.cos(2 * np.pi * (numbers + last % 365) / 365)
        current, voltage = lived(truth, power, STEP, loops, degc)
        _sensed(current, voltage, sensors, draw)
        for k, number in enumerate(numbers):
            keep = _raw if number >= days - RAW else _kept  # both until the moment at which they are kept
            keep(
                telemetry,
                truth,
                current[k],
                voltage[k],
                degc=float(degc[k]),
                day=last - days + int(number),
                end=clock(),
            )
            yield int(number) + 1


def _sensed(current: Array, voltage: Array, sensors: _Sensors, draw: np.random.Generator) -> None:
    """What the modules say of it, in place."""
    for value, gain, zero, noise, step in (
        (current, sensors.gain_i, sensors.zero_i, NOISE_I, STEP_I),
        (voltage, sensors.gain_v, sensors.zero_v, NOISE_V, STEP_V),
    ):
        value *= 1 + gain
        value += zero
        value += noise * draw.standard_normal(value.shape, dtype=np.float32)
        np.round(value / step, out=value)
        value *= step


def _kept(
    telemetry: Telemetry, truth: Truth, current: Array, voltage: Array, *, degc: float, day: int, end: float
) -> None:
    """The sums of one day, as a listener keeps them when it is over."""
    time = _moments(day, len(current), end)
    cycles = checked(time, np.array(current[: len(time)]), np.array(voltage[: len(time)]), truth.cells, STEP)
    warm = np.full((24, len(truth.names)), np.round(degc))
    telemetry.put_state(day_name(day), FORM, packed(reduced(truth.names, cycles, warm, day)))


def _raw(
    telemetry: Telemetry, truth: Truth, current: Array, voltage: Array, *, degc: float, day: int, end: float
) -> None:
    """One day as readings, until the end; cells and temperature more slowly."""
    time = _moments(day, len(current), end)
    current, voltage = current[: len(time)], voltage[: len(time)]
    seldom = slice(None, None, int(SLOW / STEP))
    cells = voltage[seldom, :, None] / truth.cells + 1e-3 * np.sin(np.arange(truth.cells))
    places = tuple(f"{name}.c{k}" for name in truth.names for k in range(1, truth.cells + 1))
    given = {
        "current": (truth.names, time, current), "voltage": (truth.names, time, voltage),
        "cell_voltage": (places, time[seldom], np.round(cells.reshape(len(cells), -1), 3)),
        "temperature_degc": (truth.names, time[seldom], np.full((len(cells), len(truth.names)), np.round(degc))),
    }  # fmt: skip
    columns = [Columns(q, at, when, v, np.zeros(v.shape, np.uint8)) for q, (at, when, v) in given.items() if len(when)]
    if columns:
        telemetry.append_dated(*columns, source="pretend")


def _moments(day: int, count: int, end: float) -> Array:
    """When the readings of a day were taken, as far as it is over."""
    time = day * float(DAY) + STEP * np.arange(count)
    return np.asarray(time[time < end], dtype=float)
