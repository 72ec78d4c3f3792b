"""What the alarms are told of joints: which group stands out, which is past the limit of its place, which is quiet.

Gives: joint_judgements(). A growth that stands out (its windows are its hold time) is a caution to look;
one past the heat limit of its place is more. It is over when the group has stayed under a note for a day, or was begun
anew.
Limits: nothing is raised and nothing cleared while joints cannot be heard.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

import numpy as np

from bankwright.circuit.network import Array
from bankwright.watch.alarms.rules import Judgement
from bankwright.watch.joints.anew import Flags
from bankwright.watch.joints.growth import ALARMS, NOTE, WINDOWS
from bankwright.watch.joints.judged import LAST, Grown
from bankwright.watch.joints.section import Looked
from bankwright.watch.joints.told import conductor, is_fresh

__all__ = ["joint_judgements"]

BACK = 0.95  # of a limit


def joint_judgements(looked: Looked, until: float, standing: Collection[str]) -> Iterator[Judgement]:
    """Both rules of every group; `standing`: places whose alarm stands, which are kept where growth may be either's."""
    found = looked.found
    if not found.readiness.ready or not is_fresh(found.readiness, until):
        return
    places = [conductor(group) for group in looked.wiring.groups]
    named = _named(found.grown, places, standing)
    quiet, sizes = _quiet(looked), _sizes(looked)
    for number, place in enumerate(places):
        grown = found.grown if number == named else None
        limit = looked.limits[number]
        if grown is None:
            size, ohms = float(sizes[number]), 0.0 if limit is None else limit.ohms
            yield Judgement("joint", place, size, ohms, False, bool(quiet[number]))
            yield Judgement("joint-past", place, size, ohms, False, bool(quiet[number]))
            continue
        yield Judgement("joint", place, grown.size, _stands_out(grown), True, False)
        if limit is not None:
            past = grown.size >= limit.ohms
            yield Judgement("joint-past", place, grown.size, limit.ohms, past, grown.size < BACK * limit.ohms)


def _named(grown: Grown | None, places: list[str], standing: Collection[str]) -> int | None:
    """The group that an alarm is raised for: one that stands already goes on, where the growth may be its."""
    if grown is None or not grown.alarm:
        return None
    return next((number for number in (grown.group, *grown.alike) if places[number] in standing), grown.group)


def _stands_out(grown: Grown) -> float:
    """The least growth that would have stood out in its window. [ohm]"""
    return grown.size / grown.z * ALARMS[WINDOWS.index(grown.window)]


def _sizes(looked: Looked) -> Array:
    """What a day last told of each group, 0 where it tells nothing (group,). [ohm]"""
    day = next(growth for growth in looked.found.windows if growth.window == LAST)
    return np.asarray(np.nan_to_num(day.size[-1], nan=0.0))


def _quiet(looked: Looked) -> Flags:
    """Groups that stayed under a note in every window of the last day, or that were begun anew (group,)."""
    held = looked.found.held
    if held is None or not (now := held.now(LAST)).any():
        return np.zeros(len(looked.wiring.groups), bool)
    windows = held.present()
    highest = np.max([np.nan_to_num(growth.z[now], nan=-np.inf).max(axis=0) for growth in windows], axis=0)
    quiet: Flags = np.isfinite(highest) & (highest < NOTE)
    quiet[[each.group for each in held.waiting]] = True
    return quiet
