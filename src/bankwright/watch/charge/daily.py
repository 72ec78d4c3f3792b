"""Days of telemetry through the estimator: each day once, its end kept in the logbook.

Gives: taken(), daily(), rebuilt(), waiting(), present(), kept_estimator(), kept_track(), day_readings(), Present. A day
is one of UTC and is taken when the hour after it is over. Taken anew from the raw telemetry the kept bytes are the same
(a test). While many days are taken they are kept once a second of work, and when it stops.
Limits: a clock that becomes known later moves times already used. Where nothing is kept, present() looks back over the
last days only; the state of charge before them is then anywhere, and nothing learned of the curve.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from time import monotonic

import numpy as np

from bankwright.circuit.network import Array
from bankwright.forms.readings import Columns
from bankwright.logbook.telemetry.store import Telemetry
from bankwright.watch.charge.blocks import Blocks, blocks_of
from bankwright.watch.charge.estimator import Estimator
from bankwright.watch.charge.facts import Facts
from bankwright.watch.charge.kept import FORM, packed, unpacked

__all__ = [
    "Present",
    "daily",
    "day_readings",
    "kept_estimator",
    "kept_track",
    "present",
    "rebuilt",
    "taken",
    "waiting",
]

DAY, HOUR = 86400, 3600
LOOK_BACK = 5  # days, where nothing is kept
TRACK = 31 * 24  # hours of the past that are kept for a chart
TOGETHER = 30.0  # s within which a voltage and a current belong together
CELL_LOW, CELL_HIGH, MOST_RATE = 1.5, 4.5, 10.0  # V, C: beyond these a reading is no reading; design choice
KEEP_EVERY = 1.0  # s of work that are done again at most where a program is killed
_NAME = "charge"
_AGAIN = "charge-again"  # the same, while every day is taken anew; it takes the other's place when it is whole


@dataclass(frozen=True, eq=False, slots=True)
class Present:
    """The estimator at the end of what was heard, and hours of the past: time, bank's soc, low, high, each module's."""

    estimator: Estimator
    track: Array


def taken(facts: Facts, telemetry: Telemetry, until: float, *, name: str = _NAME) -> Iterator[tuple[int, int]]:
    """Take the days that are over and were not taken yet: how many are done, and of how many."""
    found = _kept(facts, telemetry, name)
    days = list(_days(telemetry, int((until - HOUR) // DAY), found))
    kept_at = monotonic()
    for done, day in enumerate(days, 1):
        estimator, track = (Estimator.begin(facts), _no_track(facts)) if found is None else found[:2]
        found = (estimator, _day(estimator, telemetry, day, track), day)
        is_kept = done == len(days) or monotonic() - kept_at >= KEEP_EVERY
        if is_kept:
            _keep(telemetry, name, found)
            kept_at = monotonic()
        try:
            yield done, len(days)
        except GeneratorExit:
            if not is_kept:
                _keep(telemetry, name, found)
            raise


def rebuilt(facts: Facts, telemetry: Telemetry, until: float) -> Iterator[tuple[int, int]]:
    """Take every day anew, from where such a run was stopped; what was kept stays until the new one is whole."""
    yield from taken(facts, telemetry, until, name=_AGAIN)
    found = _kept(facts, telemetry, _AGAIN)
    if found is not None:
        _keep(telemetry, _NAME, found)
        telemetry.put_state(_AGAIN, FORM, b"")


def waiting(facts: Facts, telemetry: Telemetry, until: float) -> int:
    """How many days are over and were not taken yet."""
    return sum(1 for _ in _days(telemetry, int((until - HOUR) // DAY), _kept(facts, telemetry)))


def daily(facts: Facts, telemetry: Telemetry, until: float, most: int | None = None) -> int:
    """Take such days, at most so many; how many were."""
    return sum(1 for _ in islice(taken(facts, telemetry, until), most))


def present(facts: Facts, telemetry: Telemetry, until: float) -> Present:
    """Where the bank stands at the end of what was heard; nothing is kept."""
    found = _kept(facts, telemetry)
    last = int(until // DAY) + 1
    days = list(_days(telemetry, last, found))
    if found is None or len(days) > LOOK_BACK:
        days = days[-LOOK_BACK:]
    estimator, track = (Estimator.begin(facts), _no_track(facts)) if found is None else found[:2]
    for day in days:
        track = _day(estimator, telemetry, day, track)
    return Present(estimator, track)


def kept_estimator(facts: Facts, telemetry: Telemetry) -> Estimator | None:
    """The estimator at the end of the last day that was taken; None where none was."""
    found = _kept(facts, telemetry)
    return None if found is None else found[0]


def kept_track(facts: Facts, telemetry: Telemetry) -> Array:
    """Hours of the past that are kept: time, bank's soc (NaN: unknown), low, high, each module's. (hour, 4 + module)"""
    found = _kept(facts, telemetry)
    return _no_track(facts) if found is None else found[1]


def _no_track(facts: Facts) -> Array:
    return np.empty((0, 4 + len(facts.names)))


def _keep(telemetry: Telemetry, name: str, found: tuple[Estimator, Array, int]) -> None:
    estimator, track, day = found
    telemetry.put_state(name, FORM, packed(estimator, {"track": track, "day": np.array([float(day)])}))


def _kept(facts: Facts, telemetry: Telemetry, name: str = _NAME) -> tuple[Estimator, Array, int] | None:
    state = telemetry.state(name)
    try:
        if state is None or state.version != FORM:
            return None
        estimator, extra = unpacked(state.blob, facts)
        return estimator, extra["track"].reshape(-1, 4 + len(facts.names)), int(extra["day"][0])
    except (ValueError, KeyError):
        return None


def _days(telemetry: Telemetry, last: int, found: tuple[Estimator, Array, int] | None) -> Iterator[int]:
    """Days in [first not taken, last) on which anything may have been heard."""
    spans = [(int(boot.start // DAY), int(boot.end // DAY)) for boot in telemetry.boots()]
    if spans:
        first = min(a for a, _ in spans) if found is None else found[2] + 1
        heard = {day for a, b in spans for day in range(max(a, first), min(b + 1, last))}
        yield from sorted(heard)


def _day(estimator: Estimator, telemetry: Telemetry, day: int, track: Array) -> Array:
    """Take one day; the track with its hours."""
    facts = estimator.facts
    begin, end = float(day * DAY), float((day + 1) * DAY)
    twice: list[list[tuple[float, float]]] = []
    time, current, volts = day_readings(facts, telemetry, begin, end, twice)
    blocks, estimator.relaxing = blocks_of(
        time, current, volts, facts.resistances, facts.capacity_ah, before=estimator.relaxing
    )
    if not len(blocks):
        return track
    warm = _warmth(facts, telemetry, begin, end)
    moved = np.abs(np.nan_to_num(blocks.charge)) / (blocks.end - blocks.start)[:, None] * HOUR / facts.capacity_ah
    rows, most = [], moved.max(axis=0)
    for hour in range(24):
        within = (blocks.start >= begin + hour * HOUR) & (blocks.start < begin + (hour + 1) * HOUR)
        if within.any():
            part = Blocks(*(getattr(blocks, key)[within] for key in Blocks.__slots__))
            estimator.contest(np.array([_within(spans, begin + hour * HOUR) for spans in twice]), most)
            estimator.take(part, np.broadcast_to(warm[hour], part.volts.shape))
            rows.append(_row(estimator))
    return np.concatenate([track, np.array(rows)])[-TRACK:] if rows else track


def _row(estimator: Estimator) -> list[float]:
    bank, modules = estimator.bank(), estimator.modules()
    own = [np.nan if one.soc is None else one.soc for one in modules]
    return [estimator.end, np.nan if bank.soc is None else bank.soc, bank.low, bank.high, *own]


def _within(spans: list[tuple[float, float]], begin: float) -> float:
    """How much of the hour that begins there lies in any of them. [h]"""
    covered, at = 0.0, begin
    for low, high in sorted(spans):
        low, high = max(low, at), min(high, begin + HOUR)
        covered, at = covered + max(high - low, 0.0), max(at, high)
    return covered / HOUR


def day_readings(
    facts: Facts, telemetry: Telemetry, begin: float, end: float, twice: list[list[tuple[float, float]]] | None = None
) -> tuple[list[Array], list[Array], list[Array]]:
    """Time, current and volts a cell of each module over [begin, end) s since 1970; good readings only.

    Into `twice` goes, of each module, what the clock of its log passed twice.
    """
    parts: tuple[list[Array], list[Array], list[Array]] = ([], [], [])
    for name, cells, capacity in zip(facts.names, facts.cells, facts.capacity_ah, strict=True):
        spans: list[tuple[float, float]] = []
        told = telemetry.reads(("current", "voltage"), (name,), begin, end, twice=spans)
        (when, amps), (at, volts) = map(_good, told)
        if twice is not None:
            twice.append(spans)
        volts = _beside(when, at, volts / cells)
        right = (volts > CELL_LOW) & (volts < CELL_HIGH) & (np.abs(amps) < MOST_RATE * capacity)
        for part, values in zip(parts, (when, amps, volts), strict=True):
            part.append(values[right])
    return parts


def _good(found: Columns) -> tuple[Array, Array]:
    """Times and values of what is good, in the order of time, each moment once."""
    value = found.value[:, 0]
    good = np.isfinite(value) & (found.quality[:, 0] == 0)
    time, first = np.unique(found.time[good], return_index=True)
    return time, value[good][first]


def _beside(when: Array, time: Array, value: Array) -> Array:
    """Values at other times, the nearest of each moment; NaN where none is near."""
    if not len(time):
        return np.full(len(when), np.nan)
    right = np.clip(np.searchsorted(time, when), 0, len(time) - 1)
    left = np.maximum(right - 1, 0)
    near = np.where(np.abs(time[left] - when) <= np.abs(time[right] - when), left, right)
    return np.where(np.abs(time[near] - when) <= TOGETHER, value[near], np.nan)


def _warmth(facts: Facts, telemetry: Telemetry, begin: float, end: float) -> Array:
    """Mean temperature of each module in each hour of a day. (24, module)"""
    found = np.full((24, len(facts.names)), np.nan)
    places = [signal.at for signal in telemetry.signals() if signal.quantity == "temperature_degc"]
    for k, name in enumerate(facts.names):
        own = tuple(at for at in places if at == name or at.startswith(f"{name}.t"))
        if own:
            hours = telemetry.rollup("temperature_degc", own, begin, end).mean
            row = np.floor((hours.time - begin) / HOUR).astype(int)
            good = np.isfinite(hours.value).any(axis=1) & (row >= 0) & (row < 24)
            found[row[good], k] = np.nanmean(hours.value[good], axis=1)
    return found
