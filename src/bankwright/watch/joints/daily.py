"""Days of joints out of the telemetry and into the logbook: each is reduced once, when it is over.

Gives: daily(), rebuilt(), waiting(), kept_numbers(), days_of(), base_numbers(), keep_open_day(), open_day(), day_of(),
day_name(). A day is one of UTC; it is reduced with an hour each side, so it can be once the hour after it is over.
Reduced again from the raw telemetry it is the same, bit for bit.
Limits: a clock that becomes known later moves times already used; `rebuilt` makes the days anew. Days in which the bank
had other modules are not used.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from bankwright.bank.model import Bank
from bankwright.circuit.network import Array
from bankwright.logbook.telemetry.store import Telemetry
from bankwright.watch.joints.cycles import Cycles, Series, cycles_of
from bankwright.watch.joints.growth import base_days
from bankwright.watch.joints.hours import DAY, FORM, HOUR, Day, packed, reduced, unpacked
from bankwright.watch.joints.sensors import sensor_noise, too_coarse

__all__ = [
    "base_numbers",
    "daily",
    "day_name",
    "day_of",
    "days_of",
    "keep_open_day",
    "kept_numbers",
    "open_day",
    "rebuilt",
    "waiting",
]

_NAME = f"joints/{FORM}/"  # days of another form stand under another name, and are taken again
_OPEN, _MOMENT = "joints-open", struct.Struct("<d")  # the day that is not over: how far it was heard, then the day
_AGAIN = "joints-again"  # the day with which an interrupted rebuilding goes on
FINE_STEP = 0.0021  # V: cells told in steps up to 2 mV serve in the place of a coarse module voltage
OPEN_LASTS = 3900.0  # s: a listener looks once an hour, and five minutes for the look; own choice
SAME_SCAN = 0.5  # s within which current and voltage count as read together


def daily(bank: Bank, telemetry: Telemetry, until: float) -> Iterator[tuple[int, int]]:
    """Reduce days that are over and not kept yet, the oldest first; gives how many are done, and of how many.

    Each is on the disk when it is given: whoever stops here goes on there.
    """
    left = _left(telemetry, until)
    for count, day in enumerate(left, 1):
        telemetry.put_state(day_name(day), FORM, packed(day_of(bank, telemetry, day)))
        yield count, len(left)


def waiting(telemetry: Telemetry, until: float) -> int:
    """How many days are over and not kept yet."""
    return len(_left(telemetry, until))


def _left(telemetry: Telemetry, until: float) -> list[int]:
    done = set(kept_numbers(telemetry))
    return [day for day in _days(telemetry, until) if day not in done]


def rebuilt(bank: Bank, telemetry: Telemetry, until: float) -> Iterator[tuple[int, int]]:
    """Reduce every day anew from the raw telemetry: how many are done, and of how many, each when it is on the disk.

    Whoever stops here goes on there, even in another process; when all are done the next begins with the first again.
    A day of which no reading is there any more stays as it was kept. What a listener kept of the day that is not over
    is forgotten with the first.
    """
    if telemetry.state(_OPEN) is not None:
        telemetry.put_state(_OPEN, FORM, b"")
    days = list(_days(telemetry, until))
    state = telemetry.state(_AGAIN)
    first = int(state.blob) if state is not None and state.blob.isdigit() else 0
    for done, day in enumerate(days, 1):
        if day >= first:
            found = day_of(bank, telemetry, day)
            if len(found) or _kept(telemetry, day) is None:
                telemetry.put_state(day_name(day), FORM, packed(found))
            telemetry.put_state(_AGAIN, 1, b"" if done == len(days) else str(day + 1).encode())
            yield done, len(days)


def day_name(number: int) -> str:
    """The name under which a day is kept."""
    return f"{_NAME}{number}"


def _days(telemetry: Telemetry, until: float) -> Iterator[int]:
    """Days that are over, from the first that anything was heard on."""
    starts = [boot.start for boot in telemetry.boots()]
    if starts:
        yield from range(int(min(starts) // DAY), int((until - HOUR) // DAY))


def kept_numbers(telemetry: Telemetry) -> tuple[int, ...]:
    """Numbers since 1970 of the days that are kept, in order."""
    return tuple(sorted(int(n.removeprefix(_NAME)) for n in telemetry.states() if n.startswith(_NAME)))


def days_of(bank: Bank, telemetry: Telemetry, numbers: Iterable[int]) -> tuple[Day, ...]:
    """Kept days of these modules; one that cannot be read, or is of other modules, is left out."""
    names = tuple(module.name for module in bank.modules)
    return tuple(day for n in numbers if (day := _kept(telemetry, n)) is not None and day.modules == names and len(day))


def base_numbers(bank: Bank, telemetry: Telemetry, numbers: Sequence[int], count: int) -> tuple[int, ...]:
    """The first days that may be of a baseline, at most so many."""
    found: list[int] = []
    for number in numbers:
        if len(found) == count:
            break
        if base_days(days_of(bank, telemetry, (number,))):
            found.append(number)
    return tuple(found)


def _kept(telemetry: Telemetry, number: int) -> Day | None:
    state = telemetry.state(day_name(number))
    try:
        return None if state is None or state.version != FORM else unpacked(state.blob)
    except ValueError:
        return None


def keep_open_day(bank: Bank, telemetry: Telemetry, until: float) -> None:
    """Keep the day that is not over, as far as it is heard, for whoever looks within the hour."""
    day = day_of(bank, telemetry, int(until // DAY))
    telemetry.put_state(_OPEN, FORM, _MOMENT.pack(until) + packed(day))


def open_day(bank: Bank, telemetry: Telemetry, until: float) -> Day | None:
    """The day that is not over, as far as it is heard; None where nothing was.

    What a listener kept of it within the last hour stands for it: reducing it again costs most of a look.
    """
    kept = _kept_open(bank, telemetry, until)
    found = day_of(bank, telemetry, int(until // DAY)) if kept is None else kept
    return found if len(found) else None


def _kept_open(bank: Bank, telemetry: Telemetry, until: float) -> Day | None:
    state = telemetry.state(_OPEN)
    if state is None or state.version != FORM or len(state.blob) < _MOMENT.size:
        return None
    (kept_until,) = _MOMENT.unpack_from(state.blob)
    if not (0 <= until - kept_until <= OPEN_LASTS and kept_until // DAY == until // DAY):
        return None
    try:
        day = unpacked(state.blob[_MOMENT.size :])
    except ValueError:
        return None
    return day if day.modules == tuple(module.name for module in bank.modules) else None


def day_of(bank: Bank, telemetry: Telemetry, day: int) -> Day:
    """Reduce one day from the raw telemetry."""
    names = tuple(module.name for module in bank.modules)
    begin, end = float(day * DAY - HOUR), float((day + 1) * DAY + HOUR)
    cells = bank.modules[0].kind.cells or 16
    series = [_series(telemetry, name, begin, end) for name in names]
    cycles = cycles_of(series, cells)
    if len(cycles.time) and too_coarse(sensor_noise(cycles)).any():
        cycles = _finer(telemetry, bank, series, cycles, (begin, end))
    return reduced(names, cycles, _warmth(telemetry, names, day), day)


def _series(telemetry: Telemetry, name: str, begin: float, end: float) -> Series:
    """Current and voltage of one module that were read together."""
    volts, amps = telemetry.reads(("voltage", "current"), (name,), begin, end)
    time, voltage = _good(volts.time, volts.value[:, 0], volts.quality[:, 0])
    when, current = _good(amps.time, amps.value[:, 0], amps.quality[:, 0])
    if len(time) == len(when) and np.array_equal(time, when):
        return Series(time, current, voltage)
    return Series(time, _beside(time, when, current), voltage)


def _good(time: Array, value: Array, quality: np.ndarray) -> tuple[Array, Array]:
    """Values that were stored as good, in the order of time, each moment once."""
    good = (quality == 0) & np.isfinite(value)
    time, value = time[good], value[good]
    if len(time) > 1 and not (np.diff(time) > 0).all():
        time, first = np.unique(time, return_index=True)
        value = value[first]
    return time, value


def _beside(time: Array, when: Array, value: Array) -> Array:
    """Values at other moments laid beside times, the nearest within SAME_SCAN; NaN elsewhere."""
    if not len(when):
        return np.full(len(time), np.nan)
    right = np.clip(np.searchsorted(when, time), 0, len(when) - 1)
    left = np.maximum(right - 1, 0)
    near = np.where(np.abs(when[left] - time) <= np.abs(when[right] - time), left, right)
    return np.asarray(np.where(np.abs(when[near] - time) <= SAME_SCAN, value[near], np.nan))


def _finer(
    telemetry: Telemetry, bank: Bank, series: Sequence[Series], coarse: Cycles, span: tuple[float, float]
) -> Cycles:
    """The same with the sum of the cells in the place of the modules' voltages, where all cells come in fine steps."""
    told = {signal.at for signal in telemetry.signals() if signal.quantity == "cell_voltage"}
    summed = []
    for module, one in zip(bank.modules, series, strict=True):
        cells = module.kind.cells or 16
        places = tuple(f"{module.name}.c{k}" for k in range(1, cells + 1))
        if not told.issuperset(places) or not len(one.time):
            return coarse
        found = telemetry.read("cell_voltage", places, *span)
        whole = np.where((found.quality == 0).all(axis=1), found.value.sum(axis=1), np.nan)
        time, total = _good(found.time, whole, np.zeros(len(whole), np.uint8))
        summed.append(Series(one.time, one.current, _beside(one.time, time, total)))
    cycles = cycles_of(summed, bank.modules[0].kind.cells or 16)
    fine = len(cycles.time) >= len(coarse.time) / 2 and float(np.nanmax(cycles.step)) <= FINE_STEP
    return cycles if fine else coarse


def _warmth(telemetry: Telemetry, names: tuple[str, ...], day: int) -> Array:
    """Mean temperature of each module in each hour of a day (24, module); NaN where none was heard."""
    found = np.full((24, len(names)), np.nan)
    places = [s.at for s in telemetry.signals() if s.quantity == "temperature_degc"]
    for k, name in enumerate(names):
        own = tuple(at for at in places if at == name or at.startswith(f"{name}.t"))
        if own:
            hours = telemetry.rollup("temperature_degc", own, float(day * DAY), float((day + 1) * DAY)).mean
            row = (np.round(hours.time / HOUR) - day * 24).astype(int)
            good = np.isfinite(hours.value).any(axis=1) & (row >= 0) & (row < 24)
            found[row[good], k] = np.nanmean(hours.value[good], axis=1)
    return found
