"""What is looked at when, for the next years: the schedule with its sources.

Gives: Upkeep, upkeep(). Joints are measured before anyone re-torques: a turned nut hides what was wrong.
Limits: no published interval table for stationary lithium-ion batteries was found; the intervals are carried over
from lead-acid practice for joints, temperature, frame and records, and say so.
Sources: handbook/data/upkeep.toml, each row with its own.
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.bank.model import Bank
from bankwright.forms.origin import Source
from bankwright.handbook.tables import load, source_of

__all__ = ["JOINT_RULE", "Upkeep", "upkeep"]

JOINT_RULE = (
    "A joint 1.5 times the lowest of its like (ANSI/NETA ATS, read), or 20 % above its own first reading (IEEE "
    "450 and 1188 "
    "practice, read on a trade summary), is a finding, however small the figure. Measure first; torque only what "
    "has grown."
)


@dataclass(frozen=True, slots=True)
class Upkeep:
    """One task: when, what, on what, from which source."""

    id: str
    interval: float  # s
    when: str
    task: str
    at: tuple[str, ...]
    source: Source


def upkeep(bank: Bank) -> tuple[Upkeep, ...]:
    """The schedule for this bank, most frequent first after the first days."""
    table = load("practice/upkeep")
    joints = tuple(joint.name for joint in bank.joints)
    modules = tuple(module.name for module in bank.modules)
    found = []
    for row in table.rows:
        interval = table.value(row, "interval")
        assert interval is not None
        places = joints if "joint" in str(row["task"]) else modules
        found.append(
            Upkeep(str(row["id"]), interval, str(row["unit_words"]), str(row["task"]), places, source_of(table, row))
        )
    return tuple(found)
