"""Joints judged against their like, and against their own first readings in the logbook.

Gives: joints_checked(), first_resistances(), begin_anew(). A first reading is the oldest resistance stored at
the joint that was not struck or corrected; else its oldest drop with a current stored at its cable within the quarter
of an hour around it.
Limits: resistance at the temperature of the day; cleaning or a new torque begins no new baseline by itself:
begin_anew() at the joint, its cable or its module does. The quarter of an hour: our choice, common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING

from bankwright.bank.model import Bank
from bankwright.build.joints.check import JointCheck, bank_joint_checks
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.readings import Instant, Reading
from bankwright.logbook.baseline import ANEW
from bankwright.logbook.logbook import Logbook, open_logbook

if TYPE_CHECKING:
    from bankwright.job import Job

__all__ = ["JointCheck", "begin_anew", "first_resistances", "joints_checked"]

TOGETHER = 900.0  # s between a drop and its current; our choice


def joints_checked(job: Job, drops: Mapping[str, float], current: float) -> tuple[JointCheck, ...]:
    """Judge drops (V) of joints read at a current (A), worst first, with the first readings of the bank's logbook."""
    with open_logbook(job.path, job.bank, write=False) as book:
        first = first_resistances(job.bank, book)
    return bank_joint_checks(job.bank, drops, current, job.solved.currents, first)


def first_resistances(bank: Bank, book: Logbook) -> dict[str, float]:
    """Resistance of each joint at its first reading. [ohm]"""
    anew = _anew(bank, book)
    found = {joint.name: _first(book, joint.name, joint.link, anew.get(joint.name, 0.0)) for joint in bank.joints}
    return {name: value for name, value in found.items() if value is not None and value > 0}


def begin_anew(bank: Bank, book: Logbook, place: str, who: str = "", when: Instant | None = None) -> int:
    """From now (or `when`) on the first readings at this module, cable or joint are its baseline; how many joints that
    touches."""
    touched = _joints_at(bank, place)
    if not touched:
        hint = "A module, a cable, or a joint as L1+@M1+"
        raise QuestionError((Fault("--anew", "place-unknown", f"{place} has no joints in this bank", hint=hint),))
    book.event(ANEW, at=place, who=who, when=when)
    return len(touched)


def _joints_at(bank: Bank, place: str) -> tuple[str, ...]:
    owner = {post.name: post.owner for post in bank.posts}
    return tuple(
        joint.name
        for joint in bank.joints
        if place in (joint.name, joint.link) or (joint.post is not None and owner.get(joint.post) == place)
    )


def _anew(bank: Bank, book: Logbook) -> dict[str, float]:
    """When the baseline of a joint began anew, for those where it did. [s since 1970]"""
    found: dict[str, float] = {}
    for entry in book.entries(kind="event"):
        if entry.body.get("code") == ANEW and entry.at is not None:
            when = datetime.fromisoformat(entry.moment.wall).timestamp()
            found.update(dict.fromkeys(_joints_at(bank, entry.at), when))
    return found


def _first(book: Logbook, joint: str, link: str, since: float = 0.0) -> float | None:
    direct = sorted((r for r in book.readings(joint, "resistance") if _when(r) >= since), key=_when)
    if direct:
        return abs(direct[0].value)
    currents = (*book.readings(joint, "current"), *book.readings(link, "current"))
    drops = (r for r in book.readings(joint, "voltage_drop") if _when(r) >= since)
    for drop in sorted(drops, key=_when):
        near = min(currents, key=lambda amps: abs(_when(amps) - _when(drop)), default=None)
        if near is not None and near.value and abs(_when(near) - _when(drop)) <= TOGETHER:
            return abs(drop.value / near.value)
    return None


def _when(reading: Reading) -> float:
    return datetime.fromisoformat(reading.when.wall).timestamp()
