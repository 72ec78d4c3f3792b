"""Section: trips. Modules that left, those that came near their trip, and what the model says of the next large load.

Gives: section(), LEFT, NEAR, AHEAD, MOVES.
Limits: as in leaving.py and expected.py. Trips of devices outside the modules are seen only as modules that leave.
Sources: trips: data sheets, 10 % early where no tolerance is stated (circuit/trips, common practice); shares: network
of the bank.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, Module
from bankwright.circuit.cases import case_of
from bankwright.circuit.errors import CircuitError
from bankwright.circuit.network import Array
from bankwright.circuit.steady import steady
from bankwright.circuit.trips import low_end
from bankwright.forms.card import Card
from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, Say, say
from bankwright.watch.running.expected import Share, currents_at, expected_shares, heard_shares
from bankwright.watch.running.hours import DEGC, Hours, hours_of, minutes_at, sensors_of
from bankwright.watch.running.leaving import Left, deficits, left, nearest, stale
from bankwright.watch.running.stand_ins import NO_SHARE
from bankwright.watch.running.tables import HOUR, hourly
from bankwright.watch.section import Asked, Row, Section

__all__ = ["AHEAD", "LEFT", "MOVES", "NEAR", "section"]

TITLE = "Trips"
SHEETS = Source("data sheets, as the bank file has them; 10 % early where no tolerance is stated", how_known="derived")
LEFT = Card(
    "W-TRIP-1", "No module left the bank", "|I| < 0.4 % C for 3 min while the others carry", SHEETS, ends_at="caution",
    why="A module that leaves hands its current to the others; whoever is next trips next.",
)  # fmt: skip
NEAR = Card(
    "W-TRIP-2", "No module came near its trip", "largest current heard < 0.9 x low end of its trip", SHEETS,
    ends_at="caution",
    why="The trip that almost came is the one that comes when it is colder, or a joint is worse.",
)  # fmt: skip
AHEAD = Card(
    "W-TRIP-3", "With the share it takes no module trips at the bank's largest load", "k I_bank < low end of the trip",
    SHEETS, ends_at="caution",
    why="A module may take more than the wiring gives it in theory. What it was heard to take, times the largest steady"
    " current of the bank, stands here against its trip.",
)  # fmt: skip
MOVES = Card(
    "W-TRIP-4", "What every module says moves with the others", "one current and one voltage for under 2 h",
    Source("our choice", how_known="common practice, no source"), ends_at="caution",
    why="A value that is said again and again is none: it hides what happens, and spoils every sum it goes into.",
)  # fmt: skip
LOOKED = 48  # hours that are looked at by the minute


@dataclass(frozen=True, slots=True)
class _Side:
    """One side of a module: words, way of the current, the low end of its trip, its key."""

    words: str
    way: int
    trip: float | None
    key: str


def section(asked: Asked) -> Section:
    """What left, what came near, what is to be expected."""
    bank = asked.bank
    hours = hours_of(asked)
    size = np.array([m.capacity_ah or m.kind.capacity_ah or 100.0 for m in bank.modules])
    shares = expected_shares(bank, _degc(asked, hours))
    events = tuple(left(minutes_at(asked, deficits(hours, size, LOOKED)), size))
    findings = [*_left(bank, hours, events, shares), *_near(bank, hours)]
    heard = heard_shares(hours, size)
    findings += _ahead(bank, heard, shares)
    findings += _stale(hours, size)
    light = any(one is None for one in heard) and len(bank.modules) > 1
    rows = tuple(_rows(bank, heard, shares))
    return Section("trips", TITLE, tuple(findings), rows, stand_ins=(NO_SHARE,) if light else (), rests_on=("current",))


def _degc(asked: Asked, hours: Hours) -> Array:
    """Mean temperature of each module while the bank was heard, NaN where it is not read. (module,)"""
    answer = np.full(len(hours.names), np.nan)
    for m, name in enumerate(hours.names):
        at = sensors_of(asked.telemetry, name)
        ends = np.full(len(at), DEGC[0]), np.full(len(at), DEGC[1])
        found = hourly(asked, {"temperature_degc": ends}, at, hours.time)[0].mean
        if np.isfinite(found).any():
            answer[m] = float(np.nanmean(found))
    return answer


def _sides(module: Module) -> Iterator[_Side]:
    kind = module.kind
    for words, way, limits in (("discharging", 1, kind.discharge), ("charging", -1, kind.charge)):
        name = "discharge" if way > 0 else "charge"
        trip = None if limits.trip is None else low_end(limits.trip)
        yield _Side(words, way, trip, f"{kind.path}.{name}.trip")


def _moment(seconds: float) -> str:
    return datetime.fromtimestamp(seconds, UTC).strftime("%Y-%m-%d %H:%M UTC")


# --- what left


def _left(bank: Bank, hours: Hours, events: tuple[Left, ...], shares: tuple[Share, ...]) -> Iterator[Finding]:
    do = say("See what its display says, and why it went before it is closed again; look at its voltage beside the"
             " others' first.")  # fmt: skip
    for event in events:
        m = hours.names.index(event.module)
        yield LEFT.found(event.module, None, (None, None), _gone(bank.modules[m], event, shares[m]), do,
                         case=_moment(event.time), forced="caution")  # fmt: skip
    heard = [n for k, n in enumerate(hours.names) if np.isfinite(hours.amps.mean[:, k]).any()]
    if not events and heard and len(hours.names) > 1:
        text = say("No module left while the others carried")
        yield LEFT.found("bank", None, (None, None), text, say("Nothing is to be done."))


def _gone(module: Module, event: Left, share: Share) -> Say:
    _, low, high = currents_at(share, event.bank)
    side = next(s for s in _sides(module) if s.way == (1 if event.current >= 0 else -1))
    gaps: dict[str, Figure | str] = {
        "module": module.name, "when": _moment(event.time), "amps": Figure(abs(event.current), "current"),
        "low": Figure(min(abs(low), abs(high)), "current"), "high": Figure(max(abs(low), abs(high)), "current"),
        "back": "and was not seen to come back" if event.back is None else f"and was back at {_moment(event.back)}",
    }  # fmt: skip
    words = "{module} left at {when} {back}; before it carried {amps}, where its share by the model is {low} to {high}"
    if side.trip is None:
        return say(f"{words}; its trip is not given", **gaps)
    gaps["trip"] = Figure(side.trip, "current")
    if abs(event.current) >= 0.9 * side.trip:
        return say(f"{words}: near its trip, which may come from {{trip}} on", **gaps)
    return say(f"{words}: far below its trip of {{trip}}; a cell, warmth, a hand or a contact, not the current", **gaps)


def _stale(hours: Hours, size: Array) -> Iterator[Finding]:
    do = say("See whether its display moves; if it does, look at its line and address, and at the listener.")
    for one in stale(hours, size):
        text = say(
            "{module} said {amps} and {volts} for {time} from {when} on, the others moved by {others}: stale values",
            module=one.module, amps=Figure(one.current, "current"), volts=Figure(one.volts, "voltage"),
            time=Figure(one.hours * HOUR, "time"), when=_moment(one.time), others=Figure(one.others, "current"),
        )  # fmt: skip
        figure = Figure(one.hours * HOUR, "time")
        yield MOVES.found(one.module, figure, (None, 2 * HOUR), text, do, case=_moment(one.time), forced="caution")


# --- what came near


def _near(bank: Bank, hours: Hours) -> Iterator[Finding]:
    found: list[Finding] = []
    for m, module in enumerate(bank.modules):
        if not np.isfinite(hours.amps.mean[:, m]).any():
            yield NEAR.unknown(module.name, (asking("telemetry.current", "Let bankwright listen to its current."),))
            continue
        for side in _sides(module):
            if side.trip is None:
                yield NEAR.unknown(module.name, (asking(side.key),))
            else:
                found += _near_one(module, hours, m, side)
    yield from _worst(found)


def _worst(found: list[Finding]) -> Iterator[Finding]:
    """All that do not pass; where all pass, the one that comes nearest to its limit."""
    told = [each for each in found if each.verdict != "pass"]
    yield from told
    if found and not told:
        yield max(found, key=lambda each: each.figure.value / (each.limits[1] or 1e9) if each.figure else 0.0)


def _near_one(module: Module, hours: Hours, m: int, side: _Side) -> Iterator[Finding]:
    trip = side.trip or 0.0
    found = nearest(hours, m, trip, side.way)
    if found is None:
        return
    figure = Figure(found.current, "current")
    gaps: dict[str, Figure | str] = {
        "module": module.name, "amps": figure, "trip": Figure(trip, "current"), "when": _moment(found.time),
        "hours": str(found.hours), "way": side.words,
    }  # fmt: skip
    do = say("Ask less of the bank at once, or find out why this module takes so much: its share stands below.")
    if not found.is_shared and found.current >= 0.9 * trip:
        words = (
            "{module} said {amps} {way} in the hour of {when}, and no other module moved with it: a reading to doubt"
        )
        text = say(words, **{k: gaps[k] for k in ("module", "amps", "way", "when")})
        yield NEAR.found(module.name, figure, (None, None), text, do, case=side.words)
        return
    text = say("{module} carried {amps} at most {way} ({when}); its trip may come from {trip} on; {hours} h came within"
               " a tenth of it", **gaps)  # fmt: skip
    yield NEAR.found(module.name, figure, (None, trip), text, do, case=side.words, caution_limits=(None, 0.9 * trip))


# --- what is to be expected


def _largest(bank: Bank) -> dict[int, tuple[float, str]]:
    """The bank's largest steady current out (1) and in (-1), by the file; nothing where it cannot be solved. [A]"""
    answer: dict[int, tuple[float, str]] = {}
    solved = steady(bank)
    for name in solved.continuous:
        try:
            case = case_of(bank, name)
            if case.open or case.only:
                continue
            whole = float(solved.case(name).module_currents().sum())
        except (CircuitError, NeedsValue):
            continue
        way = 1 if whole > 0 else -1
        if way * whole > answer.get(way, (0.0, ""))[0]:
            answer[way] = (way * whole, name)
    return answer


def _ahead(bank: Bank, heard: tuple[Share | None, ...], shares: tuple[Share, ...]) -> Iterator[Finding]:
    if len(bank.modules) < 2:
        return
    largest, found = _largest(bank), []
    for module, took, should in zip(bank.modules, heard, shares, strict=True):
        for side in _sides(module):
            if side.trip is None or took is None or side.way not in largest:
                continue
            found.append(_ahead_one(module, side, took, should, largest[side.way]))
    yield from _worst(found)
    if any(one is None for one in heard):
        how = "Let bankwright listen on two days on which the bank carries 3 % of its capacity an hour or more."
        yield AHEAD.unknown("bank", (asking("telemetry.current", how),))
    if not largest:
        yield AHEAD.unknown("bank", (asking("inverters", "Its power gives the largest current of the bank."),))


def _ahead_one(module: Module, side: _Side, took: Share, should: Share, largest: tuple[float, str]) -> Finding:
    whole, case = largest
    value, low, high = currents_at(took, whole)
    model = currents_at(should, whole)
    figure = Figure(value, "current", low, high)
    text = say(
        "{module} takes {share} of the current: {amps} at {case}; by the model {low} to {high}", module=module.name,
        share=Figure(took.value, "share"), amps=figure, low=Figure(model[1], "current"), case=case,
        high=Figure(model[2], "current"),
    )  # fmt: skip
    do = say(
        "Find out why it takes more than its share: joints and leads of the others, their temperatures, its sensor."
    )
    return AHEAD.found(module.name, figure, (None, side.trip), text, do, case=case)


def _rows(bank: Bank, heard: tuple[Share | None, ...], shares: tuple[Share, ...]) -> Iterator[Row]:
    for module, took, should in zip(bank.modules, heard, shares, strict=True):
        gaps = {"low": Figure(should.low, "share"), "high": Figure(should.high, "share")}
        if took is None:
            words = say("share of the current unknown: too few days with a load; by the model {low} to {high}", **gaps)
            yield Row(module.name, None, None, words)
        else:
            figure = Figure(took.value, "share", took.low, took.high)
            yield Row(module.name, figure, None, say("of the bank's current; by the model {low} to {high}", **gaps))
