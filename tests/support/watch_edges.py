"""Limits of Watch that decide a verdict or raise an alarm: rows for both sides.

Gives: EDGES, Pin. The limits stand here a second time, in SI; all of them are our own choice or those of the invented
sheets of the demo bank, but for what a row names. Each row is told by the function that decides, the readings around it
made for it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from types import SimpleNamespace

import numpy as np

from bankwright.circuit.run.curves import Curve, published_curves
from bankwright.forms.toleranced import Toleranced
from bankwright.watch import heard
from bankwright.watch.alarms.limits import limits_of
from bankwright.watch.alarms.rules import Seen, judge
from bankwright.watch.cells.capacity import Trend
from bankwright.watch.cells.senses import Minutes, doubtful
from bankwright.watch.cells.spread import meaning
from bankwright.watch.charge import section as charge
from bankwright.watch.listening import Life
from bankwright.watch.running import draw, efficiency, temperature, trips
from bankwright.watch.running.expected import Share
from bankwright.watch.running.frame import halves
from bankwright.watch.running.hours import Hours
from bankwright.watch.running.leaving import left, nearest, stale
from bankwright.watch.running.round_trip import Through, Trip
from bankwright.watch.running.standing import Rest
from bankwright.watch.running.tables import HOUR, Table
from bankwright.watch.running.warmth import Beside, still
from bankwright.watch.say.due import _state
from support.proved import barn

__all__ = ["EDGES", "Pin"]


@dataclass(frozen=True)
class Pin:
    """A limit, its wrong side, and what is said of a figure inside and outside of it."""

    code: str
    what: str
    side: str  # "least" or "most"
    limit: float
    unit: str
    says: Callable[[float], object]
    outside: object
    inside: object = "pass"
    at_it: object = None  # of the limit itself, where that is as good as outside

    def __str__(self) -> str:
        """For the name of the test."""
        return f"{self.code} {self.what} {self.side}"


# --- who is heard


def silent(age: float, every: float = 60.0) -> str:
    """M1 last heard so long ago, at some time from poll to poll."""
    time = np.array([1e9 - age])
    table = SimpleNamespace(time=time, value=np.array([[52.0] * 5]))
    telemetry = SimpleNamespace(read=lambda *_: table)
    asked = SimpleNamespace(bank=barn(), telemetry=telemetry, now=1e9, until=1e9)
    return worst(heard.section(asked, Life(1.0, False, every)).findings, "W-HEARD-1")  # type: ignore[arg-type]


def listens(age: float) -> str:
    """A listener's last sign of life."""
    return heard._listens(Life(age, False, 60.0)).verdict


def worst(findings: object, code: str) -> str:
    """The worst verdict of a code."""
    order = ["pass", "caution", "unknown", "fail"]
    return max((f.verdict for f in findings if f.code == code), key=order.index)  # type: ignore[attr-defined]


# --- charge


def present(away: float, sd: float, offset: float, doubt: float) -> SimpleNamespace:
    """An estimator that says so of M1 of 100 Ah."""
    apart = SimpleNamespace(was_on=[True])
    facts = SimpleNamespace(names=("M1",), capacity_ah=np.array([100.0]))
    offsets = lambda: (np.array([offset]), np.array([doubt]))  # noqa: E731
    told = lambda: (np.array([away]), np.array([sd]))  # noqa: E731
    made = SimpleNamespace(apart=apart, apart_charge=told, facts=facts, offsets=offsets)
    return SimpleNamespace(estimator=made)


def together(away: float) -> str:
    (found,) = charge._together(present(away + 1.96 * 0.01, 0.01, 0.0, 0.0))  # type: ignore[arg-type]
    return found.verdict


def sensors(offset: float) -> str:
    (found,) = charge._sensors(present(0.0, 0.0, -offset - 3.0 * 0.05, 0.05))  # type: ignore[arg-type]
    return found.verdict


# --- cells


def straight() -> tuple[Curve, ...]:
    """One curve, straight from 3.0 V to 4.0 V."""
    (first, *_) = published_curves()
    return (replace(first, soc=np.array([0.0, 1.0]), volts=np.array([3.0, 4.0])),)


def spread(volts: float) -> str:
    """Two cells so far apart at rest, each read to 1.5 mV."""
    return meaning(3.6, 3.6 - volts, straight()).kind


def cells(level: float) -> Minutes:
    """Seven cells that move together, some replaced by what a test puts there."""
    base = level + 0.05 * np.sin(np.arange(120) / 9.0)
    mean = np.repeat(base[:, None], 7, axis=1)
    time = 1.7e9 + 60.0 * np.arange(120)
    return Minutes(time, mean, mean - 5e-4, mean + 5e-4, mean.sum(axis=1), 5.0 + np.sin(np.arange(120) / 5.0))


def mark(volts: float) -> str:
    """One reading of the third cell."""
    minutes = cells(3.3)
    for table in (minutes.low, minutes.mean, minutes.high):
        table[5, 2] = volts
    return ", ".join(one.why for one in doubtful(minutes) if one.why == "mark") or "believed"


def wire(volts: float) -> str:
    """Second and third cell off by so much to opposite sides."""
    minutes = cells(3.3)
    for table in (minutes.low, minutes.mean, minutes.high):
        table[:, 1] = table[:, 0] - volts
        table[:, 2] = table[:, 0] + volts
    return ", ".join(one.why for one in doubtful(minutes) if one.why == "sense wire") or "believed"


def falls(share: float) -> bool:
    """A fall of the capacity with a deviation of 1 %."""
    return Trend(100.0, 1.0, 100.0 * (1.0 - share), 1.0, share, 0.01, 1.0, 0.1, 20).falls


# --- what runs


def pole(part: float) -> str:
    """Plus and minus to the frame, so much of the whole apart."""
    return halves(26.6 * (1.0 + part), 26.6 * (1.0 - part), None).kind


def near_frame(part: float) -> str:
    """The lower pole at so much of the whole."""
    return halves(53.2 * (1.0 - part), 53.2 * part, None).kind


def standing(half: float) -> str:
    """A draw of 1 A with a half band."""
    return draw._told(Rest(Toleranced(1.0, 1.0 - half, 1.0 + half), 20, False)).verdict


def grows(low: float) -> str:
    """The low end of the rise of the draw of 500 Ah."""
    facts = SimpleNamespace(capacity_ah=np.full(5, 100.0))
    rise = Toleranced(low + 0.5, low, low + 1.0)
    (found,) = draw._grows(Rest(Toleranced(1.0, 0.9, 1.1), 20, False, rise), facts)  # type: ignore[arg-type]
    return found.verdict


def round_trip(low: float, high: float) -> str:
    """An efficiency between two ends over 1 kWh in, without any current: no resistance, the gap alone."""
    through = Through(np.full((1, 5), 52.0), np.zeros((1, 5)), np.ones(1))
    found = Trip(1.0, 0.97, (low + high) / 2.0, low, high, 0.0, 0.0)
    return efficiency._told(SimpleNamespace(bank=barn()), through, found).verdict  # type: ignore[arg-type]


def slots(amps: np.ndarray, step: float = 60.0) -> Hours:
    """Five modules by the minute; each of 100 Ah."""
    time, none = 1.7e9 // HOUR * HOUR + step * np.arange(len(amps)), np.zeros(amps.shape)
    volts = Table(time, np.full(amps.shape, 52.0), np.full(amps.shape, 52.0), np.full(amps.shape, 52.1), none)
    names = tuple(f"M{k}" for k in range(1, amps.shape[1] + 1))
    return Hours(names, time, step, volts, Table(time, amps, amps, amps, none))


def gone(own: float = 0.0, others: float = 30.0, minutes: int = 10) -> bool:
    """M3 at a current for some minutes while the others carry, after it had carried itself."""
    amps = np.full((60, 5), 30.0)
    amps[30 : 30 + minutes] = others
    amps[30 : 30 + minutes, 2] = own
    return any(one.module == "M3" for one in left(slots(amps), np.full(5, 100.0)))


def near_trip(amps: float) -> str:
    """M1's largest current, the others with it; its sheet trips at 150 A, 10 % early where no tolerance is stated."""
    table = np.full((3, 5), 20.0)
    table[1] = amps
    module = barn().modules[0]
    side = next(trips._sides(module))
    (found,) = trips._near_one(module, slots(table, HOUR), 0, side)
    return found.verdict


def ahead(amps: float) -> str:
    """M1 takes a fifth of the bank's largest current, its band nothing."""
    module = barn().modules[0]
    side = next(trips._sides(module))
    took = Share(0.2, 0.2, 0.2)
    return trips._ahead_one(module, side, took, took, (5.0 * amps, "case")).verdict


def shared(part: float) -> bool:
    """Whether a peak of M1 counts where another module shared so much of it."""
    table = np.full((3, 5), 1.0)
    table[1, 0], table[1, 1] = 100.0, 100.0 * part
    found = nearest(slots(table, HOUR), 0, 135.0, 1)
    return found is not None and found.current == 100.0


def stands_still(hours: int) -> bool:
    """M1 says one value for so many hours while the others move."""
    amps = np.full((12, 5), 10.0) + 5.0 * (np.arange(12) % 2)[:, None]
    table = slots(amps, HOUR)
    low, high = table.amps.low.copy() - 0.5, table.amps.high.copy() + 0.5
    low[3 : 3 + hours, 0] = high[3 : 3 + hours, 0] = 7.0
    mean = table.amps.mean.copy()
    mean[3 : 3 + hours, 0] = 7.0
    volts = replace(table.volts, high=table.volts.low)
    made = replace(table, amps=replace(table.amps, low=low, mean=mean, high=high), volts=volts)
    return any(one.module == "M1" for one in stale(made, np.full(5, 100.0)))


def even(kelvin: float) -> str:
    """The end of the band of a module's deviation at rest that is nearer to nothing."""
    return temperature._even("M1", Beside(kelvin + 1.96 * 0.1 * np.sign(kelvin), 0.1, None, 0.0, 4)).verdict


def off_rest(kelvin: float) -> bool:
    return temperature._beyond(Beside(kelvin + 1.96 * 0.1, 0.1, None, 0.0, 4), "rest", temperature.AT_REST)


def under_load(kelvin: float) -> str:
    """How much more M1 warms than the others: the low end of its band."""
    one = Beside(0.0, 0.1, kelvin + 1.96 * 0.1, 0.1, 4)
    seen = SimpleNamespace(is_loaded=True, degc=[None])
    keep = temperature._among, temperature._off, temperature._stuck
    try:
        temperature._among = lambda *_: one  # type: ignore[assignment]
        temperature._off = lambda *_: iter(())  # type: ignore[assignment]
        temperature._stuck = lambda *_: ()  # type: ignore[assignment]
        return worst(temperature._warms(seen, 0, barn().modules[0]), "W-WARM-2")  # type: ignore[arg-type]
    finally:
        temperature._among, temperature._off, temperature._stuck = keep


def stuck(others: float) -> bool:
    """A sensor that said one value for a day while its neighbours moved."""
    return still(np.full(24, 21.0), np.full(24, 21.0), others)


# --- alarms


def over(rule: str, make: Callable[[float], dict[str, object]]) -> Callable[[float], bool]:
    """Whether a rule's limit is passed at M1, the other modules as usual."""

    def says(value: float) -> bool:
        usual = [Seen(m.name, 1.0, 52.0, 10.0, (3.25,) * 16, (20.0, 20.0)) for m in barn().modules]
        seen = [replace(usual[0], **make(value)), *usual[1:]]  # type: ignore[arg-type]
        limits = {m.name: limits_of(barn(), m) for m in barn().modules}
        found = [j for j in judge(seen, limits) if (j.rule, j.at) == (rule, "M1")]
        return any(j.over for j in found)

    return says


def one_cell(volts: float, level: float = 3.25) -> dict[str, object]:
    return {"cells": (*[level] * 15, volts)}


def at(values: dict[str, object]) -> Callable[[float], dict[str, object]]:
    """The place that is None holds the figure."""
    return lambda value: {key: value if each is None else each for key, each in values.items()}


def overdue(seconds: float) -> str:
    """So long after its day."""
    return _state(1e9, 1e9 + seconds)


EDGES = [
    Pin("W-LISTEN-1", "last sign of life", "most", 100.0, "s", listens, "caution"),
    Pin("W-HEARD-1", "five polls", "most", 300.0, "s", silent, "unknown"),
    Pin("W-HEARD-1", "a minute at least", "most", 60.0, "s", lambda v: silent(v, 5.0), "unknown"),
    Pin("W-CHARGE-2", "off the mean", "most", 0.05, "-", together, "caution"),
    Pin("W-CHARGE-3", "0.5 % of 100 Ah", "most", 0.5, "A", sensors, "caution"),
    Pin("W-CELL-1", "a cell's least", "least", 1.5, "V", mark, "mark", "believed"),
    Pin("W-CELL-1", "a cell's most", "most", 4.5, "V", mark, "mark", "believed"),
    Pin("W-CELL-1", "a pair off", "most", 0.15, "V", wire, "sense wire", "believed"),
    # a volt is the whole charge on this curve; 3 mV of it are the meters'. A narrow band counts by its middle
    Pin("W-CELL-2", "even", "most", 0.03, "V", spread, "unknown", "even"),
    Pin("W-CELL-2", "charge", "most", 0.03 + 0.003, "V", spread, "charge", "unknown"),
    Pin("W-CELL-2", "not charge", "most", 0.10 + 0.003, "V", spread, "not charge", "charge"),
    Pin("W-CAPACITY-1", "2.6 deviations", "most", 0.026, "-", falls, True, False),
    Pin("W-LIMIT-3", "5 % of the whole", "most", 0.05, "-", pole, "partial", "none"),
    Pin("W-LIMIT-3", "2 % of the whole", "least", 0.02, "-", near_frame, "bolted", "partial"),
    Pin("W-STAND-1", "half of the draw", "most", 0.5, "A", standing, "unknown"),
    Pin("W-STAND-2", "0.3 A a 100 Ah", "most", 1.5, "A", grows, "caution"),
    Pin("W-ROUND-1", "half a band", "most", 0.05, "-", lambda v: round_trip(0.985 - v, 0.985 + v), "unknown"),
    Pin("W-ROUND-1", "less than explained", "least", 0.98, "-", lambda v: round_trip(v - 0.01, v), "caution"),
    Pin("W-ROUND-1", "more than explained", "most", 1.0, "-", lambda v: round_trip(v, v + 0.01), "caution"),
    Pin("W-TRIP-1", "at nothing", "least", 0.4, "A", lambda v: gone(own=v), True, False),
    Pin("W-TRIP-1", "others carry", "most", 5.0, "A", lambda v: gone(others=v), True, False),
    Pin("W-TRIP-2", "a tenth before", "most", 0.9 * 0.9 * 150.0, "A", near_trip, "caution"),
    Pin("W-TRIP-3", "the low end", "most", 0.9 * 150.0, "A", ahead, "caution", "caution"),
    Pin("W-TRIP-3", "5 % before", "most", 0.9 * 150.0 / 1.05, "A", ahead, "caution"),
    Pin("W-TRIP-2", "shared", "least", 0.3, "-", shared, False, True),
    Pin("W-WARM-1", "at rest", "most", 3.0, "K", off_rest, True, False),
    Pin("W-WARM-1", "others moved", "most", 2.0, "K", stuck, True, False),
    Pin("W-WARM-2", "under load", "most", 3.0, "K", under_load, "caution"),
    Pin("W-WARM-3", "warmer", "most", 5.0, "K", even, "caution"),
    Pin("W-WARM-3", "colder", "least", -5.0, "K", even, "caution"),
    Pin("W-DUE-1", "a day late", "most", 86400.0, "s", overdue, "overdue", "now"),
    Pin("W-DUE-2", "a day before", "least", -86400.0, "s", overdue, "to come", "now"),
    # alarms of the invented sheets: trips of 3.75 V and 2.5 V less 50 mV, 50 and 55 degC and -20 degC less 3 K
    Pin("W-ALARM-1", "cell high", "most", 3.70, "V", over("cell-high", one_cell), True, False, True),
    Pin("W-ALARM-1", "cell low", "least", 2.55, "V", over("cell-low", one_cell), True, False, True),
    # 30 mV on the plateau, and 6 mohm of spread a cell at 10 A
    Pin("W-ALARM-1", "spread", "most", 3.25 + 0.03 + 6e-4, "V", over("cell-spread", one_cell), True, False),
    Pin("W-ALARM-1", "spread at the knee", "most", 3.45 + 0.15 + 6e-4, "V",
        over("cell-spread", lambda v: one_cell(v, 3.45)), True, False),
    Pin("W-ALARM-1", "hot", "most", 52.0, "degC", over("hot", lambda v: {"warmth": (20.0, v)}), True, False, True),
    Pin("W-ALARM-1", "hot, charging", "most", 47.0, "degC",
        over("hot", lambda v: {"warmth": (20.0, v), "amps": -10.0}), True, False, True),
    Pin("W-ALARM-1", "cold", "least", -17.0, "degC", over("cold", lambda v: {"warmth": (20.0, v)}), True, False, True),
    Pin("W-ALARM-1", "discharge", "most", 100.0, "A", over("current", at({"amps": None})), True, False, True),
    Pin("W-ALARM-1", "charge", "least", -60.0, "A", over("current", at({"amps": None})), True, False, True),
    # M1 with x beside four of 10 A: x / mean - 1 = 0.3 at x = 52 / 3.7
    Pin("W-ALARM-1", "share", "most", 52.0 / 3.7, "A", over("share", at({"amps": None})), True, False),
    Pin("W-ALARM-1", "silent", "most", 60.0, "s", over("silent", at({"age": None})), True, False, True),
    Pin("W-ALARM-1", "own sum", "most", 52.0 + 0.5, "V", over("contradiction", at({"volts": None})), True, False, True),
]  # fmt: skip
