"""What is looked at when, for the next years: the schedule with its sources.

Gives: Upkeep, upkeep(), standing_days(). Joints are measured before anyone re-torques:
a turned nut hides what was wrong.
Limits: no published interval table for stationary lithium-ion batteries was found; the intervals are carried over
from lead-acid practice for joints, temperature, frame and records, and say so.
Sources: handbook/data/upkeep.toml, each row with its own.
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.bank.model import Bank
from bankwright.forms.origin import Source
from bankwright.handbook.tables import load, source_of

__all__ = ["FIFTH", "JOINT_RULE", "Upkeep", "standing_days", "upkeep"]

JOINT_RULE = (
    "A joint 1.5 times the lowest of its like (ANSI/NETA ATS, read), or 20 % above its own first reading (IEEE "
    "450 and 1188 "
    "practice, read on a trade summary), is a finding, however small the figure. Measure first; torque only what "
    "has grown."
)

FIFTH = 0.2  # of the charge, that may go before it is put back; common practice, no source
STANDING = Source("charge over current; a fifth is common practice, no source", how_known="derived")


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
    return tuple(sorted((*found, *_stored(bank)), key=lambda task: task.interval))


def standing_days(bank: Bank, share: float) -> float | None:
    """Days in which the modules' own consumption takes a share of the bank's charge; None where a kind is silent.

    Modules in parallel have one voltage: the charge of all stands against the draw of all. Draw = P / V, V nominal.
    """
    draws = [module.kind.standby_power for module in bank.modules]
    charges = [module.capacity_ah or module.kind.capacity_ah for module in bank.modules]
    if not draws or None in draws or None in charges:
        return None
    amps = sum((module.kind.standby_power or 0.0) / module.kind.nominal_voltage for module in bank.modules)
    return sum(charge or 0.0 for charge in charges) * share / amps / 24 if amps > 0 else None


def _stored(bank: Bank) -> tuple[Upkeep, ...]:
    """The row for a bank that stands unused."""
    days = standing_days(bank, FIFTH)
    if days is None:
        return ()
    task = (
        f"Charge. The modules' own consumption takes {FIFTH:.0%} of the charge in {days:.0f} days, with nothing else "
        "on the bus. Voltage does not tell it: it hardly falls over that part."
    )
    modules = tuple(module.name for module in bank.modules)
    return (Upkeep("stored", days * 86400.0, f"stored: within {days:.0f} days", task, modules, STANDING),)
