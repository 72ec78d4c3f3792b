"""Section: growth of joints, from the logbook to findings, rows and lanes.

Gives: section(), look(), Looked. The baseline is the first 14 days that were heard, or those after a part was begun
anew; what is shown begins at `since`.
Limits: another number of modules begins the whole baseline anew.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.circuit.run.bank import parts_of
from bankwright.circuit.steady import Steady, steady
from bankwright.forms.finding import Finding
from bankwright.forms.wording import Figure, Say, amount_text, say
from bankwright.watch.joints.anew import Turn, turns_of
from bankwright.watch.joints.daily import base_numbers, days_of, kept_numbers, open_day
from bankwright.watch.joints.growth import BASE_DAYS
from bankwright.watch.joints.hours import DAY, HOUR, Day
from bankwright.watch.joints.judged import Grown, Judged, judged
from bankwright.watch.joints.limits import PlaceLimit, limit_of, whole_cases
from bankwright.watch.joints.sensors import FULL_DITHER
from bankwright.watch.joints.told import (
    begun_words,
    carries,
    grown_finding,
    inside_findings,
    is_fresh,
    ready_finding,
    short_name,
    stray_findings,
    waiting_findings,
)
from bankwright.watch.joints.wiring import Group, Wiring, wiring_of
from bankwright.watch.renewals import renewals_of
from bankwright.watch.section import Asked, Lane, Mark, Row, Section

__all__ = ["Looked", "look", "section"]

LEAD = 10  # days before what is shown that the longest window needs
SHOWN_WINDOW = 24  # h
SCATTER = 0.03  # of a step, of a ratio that was estimated


@dataclass(frozen=True, eq=False)
class Looked:
    """What was judged, of which wiring, with the limit of each group's place."""

    wiring: Wiring
    found: Judged
    solved: Steady
    limits: tuple[PlaceLimit | None, ...]


def look(asked: Asked) -> Looked:
    """Judge what was heard of joints; a bank of one module has none to be judged."""
    wiring = wiring_of(asked.bank)
    numbers = kept_numbers(asked.telemetry)
    turns = _turns(asked, wiring, numbers)
    days = _days_for(asked, numbers, turns)
    parts = [parts_of(module) for module in asked.bank.modules]
    found = judged(wiring, parts, days, int(asked.since // HOUR), turns)
    solved = steady(asked.bank)
    whole = whole_cases(solved)
    limits = tuple(limit_of(asked.bank, solved, group.names, whole) for group in wiring.groups)
    return Looked(wiring, found, solved, limits)


def section(asked: Asked) -> Section:
    """What was judged, as findings, rows and lanes."""
    if len(asked.bank.modules) < 2:
        note = say("One module alone: joints cannot be heard here. Read the millivolts of each joint once a year.")
        return Section("joints", "Growth of joints", notes=(note,))
    looked = look(asked)
    return Section(
        "joints",
        "Growth of joints",
        tuple(_findings(asked, looked)),
        tuple(_rows(looked, is_fresh(looked.found.readiness, asked.until))),
        tuple(_lanes(looked, int(asked.since // HOUR))),
        tuple(_notes(looked.wiring, looked.found)),
    )


def _turns(asked: Asked, wiring: Wiring, numbers: Sequence[int]) -> tuple[Turn, ...]:
    """What was begun anew after the first day that is kept."""
    turns = turns_of(wiring, renewals_of(asked.bank, asked.telemetry))
    return tuple(turn for turn in turns if numbers and numbers[0] * 24 < turn.hour <= asked.until / HOUR)


def _days_for(asked: Asked, numbers: Sequence[int], turns: Sequence[Turn]) -> tuple[Day, ...]:
    """The days of every baseline, then those from LEAD days before what is shown, then the one that is not over."""
    low = int(asked.since // DAY) - LEAD
    wanted = {n for n in numbers if n >= low}
    for start in (0, *(turn.hour // 24 + 1 for turn in turns)):
        wanted |= set(base_numbers(asked.bank, asked.telemetry, [n for n in numbers if n >= start], BASE_DAYS))
    days = days_of(asked.bank, asked.telemetry, sorted(wanted))
    today = open_day(asked.bank, asked.telemetry, asked.until)
    return days if today is None or int(asked.until // DAY) in wanted else (*days, today)


def _findings(asked: Asked, looked: Looked) -> Iterator[Finding]:
    found = looked.found
    yield ready_finding(asked.bank, found.readiness, asked.until)
    if not found.windows or not is_fresh(found.readiness, asked.until):
        return
    yield from waiting_findings(looked.wiring, found)
    if not found.readiness.coarse:
        grown = found.grown
        yield grown_finding(looked.wiring, grown, None if grown is None else looked.limits[grown.group])
        if grown is not None and grown.alarm:
            yield from carries(asked.bank, looked.solved, looked.wiring.groups[grown.group], grown)
    yield from inside_findings(found)
    yield from stray_findings(found)


def _latest(found: Judged, group: int) -> tuple[float, float, int] | None:
    """Size and deviation of the longest window that was told last."""
    for growth in reversed(found.windows):
        begin = max(len(growth.hour) - SHOWN_WINDOW, 0)
        good = np.flatnonzero(np.isfinite(growth.size[begin:, group]))
        if good.size:
            place = begin + int(good[-1])
            return float(growth.size[place, group]), float(growth.sigma[place, group]), growth.window
    return None


def _rows(looked: Looked, fresh: bool) -> Iterator[Row]:
    found = looked.found
    waits = {each.group: each for each in found.waiting}
    for place, group in enumerate(looked.wiring.groups):
        told = _now(found, place)
        name = short_name(group)
        limit = looked.limits[place]
        wall = None if limit is None else Figure(limit.ohms, "resistance")
        if told is None or place in waits or found.readiness.coarse or not fresh:
            begun = f" ({begun_words(waits[place])})" if place in waits else ""
            yield Row(name, None, wall, say("not told{begun}: {parts}", begun=begun, parts=", ".join(group.names)))
            continue
        size, sigma, window = told
        size, sigma = _less(looked, place, size, sigma)
        figure = Figure(size, "resistance", size - 2 * sigma, size + 2 * sigma)
        words = say("over {window} against its baseline, 95 %: {parts}", window=Figure(window * 3600.0, "time"),
                    parts=", ".join(group.names))  # fmt: skip
        yield Row(name, figure, wall, words)


def _now(found: Judged, group: int) -> tuple[float, float, int] | None:
    """What stands now: of a group that grew its clearest window, else the longest."""
    grown: Grown | None = found.grown
    if grown is not None and grown.group == group:
        return grown.size, grown.sigma, grown.window
    return _latest(found, group)


def _put_on(looked: Looked, place: int) -> float:
    """What one ohm of the group that grew puts on another that is looked at alone, the modules sharing evenly."""
    grown, wiring = looked.found.grown, looked.wiring
    if grown is None or not grown.alarm or grown.group == place:
        return 0.0
    G, through = wiring.patterns, wiring.patterns.sum(axis=1)  # of every module's ampere, and of an ampere of each
    own = float(G[place] @ wiring.projection @ G[place] * through[place])
    other = float(G[place] @ wiring.projection @ G[grown.group] * through[grown.group])
    return other / own if own else 0.0


def _less(looked: Looked, place: int, size: float, sigma: float) -> tuple[float, float]:
    """Size and deviation without what the growth of another group puts on this one."""
    grown, share = looked.found.grown, _put_on(looked, place)
    if grown is None or not share:
        return size, sigma
    return size - share * grown.size, math.hypot(sigma, share * grown.sigma)


def _as_read(wiring: Wiring) -> list[tuple[int, Group]]:
    """Groups with their numbers, as a person reads them: branches in the order of the modules, then what they share."""
    first = {name: number for number, name in enumerate(wiring.modules)}
    return sorted(
        enumerate(wiring.groups),
        key=lambda item: (len(item[1].modules) != 1, first[item[1].modules[0]] if item[1].modules else 0),
    )


def _lanes(looked: Looked, since: int) -> Iterator[Lane]:
    found = looked.found
    growth = next((each for each in found.windows if each.window == SHOWN_WINDOW), None)
    if growth is None or found.readiness.coarse:
        return
    shown = (growth.hour >= since) & (growth.hour % 24 == 23)
    time = tuple(float((hour + 1) * HOUR) for hour in growth.hour[shown])
    for place, group in _as_read(looked.wiring):
        size, sigma = growth.size[shown, place], growth.sigma[shown, place]
        limit, grown = looked.limits[place], found.grown
        share = _put_on(looked, place)
        if grown is not None and share:
            other = np.where(growth.hour[shown] >= (grown.first or 0), growth.size[shown, grown.group], 0.0)
            size, sigma = size - share * other, np.hypot(sigma, share * grown.sigma * (other != 0.0))
        marks: tuple[Mark, ...] = ()
        if grown is not None and grown.group == place and grown.first is not None:
            marks = (Mark(float((grown.first + 1) * HOUR), "growth first seen"),)
        yield Lane(
            short_name(group),
            "resistance",
            time,
            tuple(size.tolist()),
            tuple((size - 2 * sigma).tolist()),
            tuple((size + 2 * sigma).tolist()),
            None if limit is None else limit.ohms,
            marks,
        )


def _notes(wiring: Wiring, found: Judged) -> Iterator[Say]:
    yield say("Growth of all branches alike, and of the mains, is never seen from here; which joint of a branch it is "
              "neither: millivolts at a known current tell.")  # fmt: skip
    if found.grown is not None and found.grown.alarm:
        yield say("What the growth of {name} puts on the others is taken off what is shown of them.",
                  name=short_name(wiring.groups[found.grown.group]))  # fmt: skip
    if wiring.left_out:
        yield say("{why}", why=wiring.left_out)
    ready = found.readiness
    if ready.ready and not math.isnan(ready.dither) and ready.dither < FULL_DITHER - SCATTER:
        yield say("The noise of a voltage is {ratio} of its step: growth is shown, its band is a guess.",
                  ratio=f"{ready.dither:.2f}")  # fmt: skip
    if len(ready.sigma) and np.isfinite(ready.sigma).any():
        yield say("A day tells a branch to {sigma} (one standard deviation).",
                  sigma=amount_text(float(np.nanmax(ready.sigma)), "resistance"))  # fmt: skip
