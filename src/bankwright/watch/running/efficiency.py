"""Section: round trip. How much of the energy that went into the modules came out, and whether resistance explains the
rest.

Gives: section(), GIVES_BACK.
Limits: as in round_trip.py: at the modules' posts, not at the house. Between the first and the last full charge where
there were two a day apart, else between the states of charge at the ends of what is shown.
Sources: resistances: the bank file's, else published ranges (circuit/run/bank); gap between charge and discharge of a
26650 cell at C/30, 1.0 to 2.0 % of its energy at 45 to 5 degC: from its curves, handbook table lfp/ocv-26650
[derived]. Those go from full to empty, with the gap turned right over; a bank that turns round sooner loses less by it,
how much less no open data tell: from nothing on is expected, so that only what beats resistance alone is too good.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bankwright.bank.asks import asking
from bankwright.circuit.network import Array
from bankwright.circuit.run.bank import ModuleParts, parts_of
from bankwright.forms.card import Card
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say
from bankwright.watch.charge.daily import kept_estimator, kept_track
from bankwright.watch.charge.estimator import TOP_SD
from bankwright.watch.charge.facts import Facts, facts_of
from bankwright.watch.running.hours import Hours, hours_of, minutes_at, part_of
from bankwright.watch.running.round_trip import Through, Trip, mixed_hours, through_of, trip_of
from bankwright.watch.running.stand_ins import NO_ROUND_TRIP
from bankwright.watch.running.tables import HOUR
from bankwright.watch.section import Asked, Row, Section

__all__ = ["GIVES_BACK", "section"]

TITLE = "Round trip"
GIVES_BACK = Card(
    "W-ROUND-1", "Resistance explains what is lost in a round trip", "eta >= (1 - gap)(1 - sum I^2 R / E_in)",
    Source("resistances of the modules, gap of a published cell", place="docs/running.md", how_known="derived"),
    ends_at="caution",
    why="More lost than the modules' own resistance makes is a resistance that grew, a module that works against the"
    " others, or a meter that is off.",
)  # fmt: skip
GAP = (0.0, 0.020)  # share of the energy lost by the gap of the curve alone
FACTOR = (0.85, 1.3)  # of the resistance, 15 to 35 degC, handbook table lfp/resistance-temperature
TELLS = 0.05  # half a band above it says nothing
LEAST_CHARGES = 1.0  # capacities in, before anything is said
MOST_MINUTES = 72  # hours of which minutes are read; the rest stand as they are
BROKEN, HOLES = 3, 0.05  # h without a reading that end the stretch; share of the capacity an hour that may have passed


@dataclass(frozen=True, slots=True)
class _Ends:
    """Stretch [s since 1970], charge at its end more than at its beginning, and its doubt (1 sd), as shares."""

    start: float
    end: float
    moved: float
    doubt: float
    words: str


def section(asked: Asked) -> Section:
    """The bank."""
    facts, lacking = facts_of(asked.bank)
    if facts is None:
        return Section("round-trip", TITLE, (GIVES_BACK.unknown("bank", lacking),))
    finding, rows = _found(asked, facts)
    stand_ins = (NO_ROUND_TRIP,) if finding.verdict == "unknown" else ()
    return Section("round-trip", TITLE, (finding,), rows, stand_ins=stand_ins, rests_on=("current", "voltage"))


def _found(asked: Asked, facts: Facts) -> tuple[Finding, tuple[Row, ...]]:
    hours = _unbroken(hours_of(asked))
    ends = None if hours is None else _ends(asked, facts, hours)
    if hours is None or ends is None:
        return GIVES_BACK.unknown("bank", (_full(),)), ()
    through, holes = _through(asked, hours, ends)
    whole = float(facts.capacity_ah.sum())
    found = trip_of(through, ends.moved * whole, float(np.hypot(ends.doubt, HOLES * holes)) * whole)
    if found is None or found.energy_in < LEAST_CHARGES * float(facts.capacity_ah @ facts.cells) * 3.2 / 1000:
        return GIVES_BACK.unknown("bank", (_more(),)), ()
    return _told(asked, through, found), _rows(through, found, ends)


def _unbroken(hours: Hours) -> Hours | None:
    """What was heard since the last hole of three hours or more."""
    heard = np.flatnonzero(hours.told.any(axis=1))
    if not len(heard):
        return None
    holes = np.flatnonzero(np.diff(heard) > BROKEN)
    first = heard[holes[-1] + 1] if len(holes) else heard[0]
    return part_of(hours, slice(int(first), int(heard[-1]) + 1))


def _ends(asked: Asked, facts: Facts, hours: Hours) -> _Ends | None:
    """Two full charges a day apart or more, else the state of charge at both ends; None where it was not kept."""
    first, last = float(hours.time[0]), float(hours.time[-1]) + HOUR
    kept = kept_estimator(facts, asked.telemetry)
    tops = [] if kept is None else [a.time for a in kept.anchors if a.is_top and first <= a.time <= last]
    if len(tops) > 1 and tops[-1] - tops[0] >= 24 * HOUR:
        return _Ends(tops[0], tops[-1], 0.0, float(np.sqrt(2)) * TOP_SD, f"{len(tops)} full charges")
    track = kept_track(facts, asked.telemetry)
    track = track[(track[:, 0] >= first) & (track[:, 0] <= last)]
    if len(track) < 24:
        return None
    middles = [float((row[2] + row[3]) / 2 if np.isnan(row[1]) else row[1]) for row in (track[0], track[-1])]
    halves = [float(row[3] - row[2]) / 2 / 1.96 for row in (track[0], track[-1])]
    words = "states of charge at both ends"
    return _Ends(track[0, 0], track[-1, 0], middles[1] - middles[0], float(np.hypot(halves[0], halves[1])), words)


def _through(asked: Asked, hours: Hours, ends: _Ends) -> tuple[Through, float]:
    """The stretch by the hour, mixed hours and both ends by the minute; and how many hours of it nobody heard."""
    edge = {float(np.floor(t / HOUR) * HOUR) for t in (ends.start, ends.end)}
    mixed = [float(t) for t in mixed_hours(hours) if ends.start <= t < ends.end]
    places = np.linspace(0, len(mixed) - 1, min(len(mixed), MOST_MINUTES)).astype(int)
    some = [mixed[k] for k in places]
    minutes = _within(minutes_at(asked, edge | set(some)), ends)
    whole = _within(hours, ends, frozenset(edge))
    silent = float((~whole.told.any(axis=1)).sum())
    return through_of(whole, minutes), silent


def _within(hours: Hours, ends: _Ends, leave: frozenset[float] = frozenset()) -> Hours:
    keep = (hours.time >= ends.start) & (hours.time + hours.step <= ends.end)
    keep &= ~np.isin(hours.time, list(leave))
    return part_of(hours, keep)


def _expected(asked: Asked, through: Through, found: Trip) -> tuple[float, float]:
    """Efficiency that resistance and gap leave, worst and best."""
    square = np.nansum(through.amps**2 * through.hours[:, None], axis=0) / 1000
    parts = [parts_of(module) for module in asked.bank.modules]
    rest = np.array([part.quick + part.slow for part in parts])
    ends = zip(GAP, FACTOR, ("low", "high"), strict=True)
    best, worst = (
        (1 - gap) * (1 - factor * float(square @ (_ohmic(parts, end) + rest)) / found.energy_in)
        for gap, factor, end in ends
    )  # fmt: skip
    return worst, best


def _ohmic(parts: list[ModuleParts], end: str) -> Array:
    return np.array([getattr(part.ohmic, end) for part in parts])


def _told(asked: Asked, through: Through, found: Trip) -> Finding:
    figure = Figure(found.efficiency, "share", found.low, found.high)
    worst, best = _expected(asked, through, found)
    text = say(
        "{eta} of the energy came out again, between {low} and {high}; resistance and gap explain {worst} to {best}",
        eta=figure, low=Figure(found.low, "share"), high=Figure(found.high, "share"), worst=Figure(worst, "share"),
        best=Figure(best, "share"),
    )  # fmt: skip
    if (found.high - found.low) / 2 > TELLS:
        return GIVES_BACK.found("bank", figure, (None, None), text, say("Wait for it."), missing=(_full(),))
    do = say("Compare the modules' currents and voltages with a meter, charging and discharging; then test joints and"
             " capacity.")  # fmt: skip
    if found.high < worst:
        return GIVES_BACK.found("bank", figure, (worst, None), text, do, forced="caution")
    if found.low > best:
        return GIVES_BACK.found("bank", figure, (None, best), text, do, forced="caution")
    return GIVES_BACK.found("bank", figure, (None, None), text, do)


def _rows(through: Through, found: Trip, ends: _Ends) -> tuple[Row, ...]:
    energy = through.volts * through.amps * through.hours[:, None] / 1000
    put, got = -float(np.nansum(np.minimum(energy, 0.0))), float(np.nansum(np.maximum(energy, 0.0)))
    days = Figure(ends.end - ends.start, "time")
    return (
        Row("in", Figure(found.energy_in, "energy_kwh"), None,
            say("over {days}, between {ends}", days=days, ends=ends.words)),
        Row("out", Figure(found.energy_out, "energy_kwh"), None, say("over the same time")),
        Row("as read", Figure(got / put, "share"), None, say("out over in, nothing put right")) if put else
        Row("as read", None, None, say("unknown: nothing went in")),
        Row("offset", Figure(found.offset, "current"), None,
            say("of all current sensors together: it balances the charge")),
    )  # fmt: skip


def _full() -> Missing:
    how = ("Charge the bank full (3.45 V a cell, current under a twentieth of the capacity) twice, some days of use"
           " between, with the listener running: then both ends are known.")  # fmt: skip
    return replace(asking("telemetry.round_trip", how), ask="measure", lacks="round trip: state of charge at both ends")


def _more() -> Missing:
    how = "Use the bank: its whole capacity in and out, with the listener running."
    return replace(asking("telemetry.round_trip", how), ask="measure", lacks="round trip: too little went in and out")
