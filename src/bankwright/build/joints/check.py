"""Millivolts across joints at a known current: resistance, heat at full current, who stands out, when to look again.

Gives: JointCheck, joint_checks(), bank_joint_checks(), joint_findings(). For the check after the first days and every
half year: measure, compare, only then torque.
Limits: contact and lug together; the drop is taken from cable metal to post metal. A first reading is the baseline.
Sources: 1.5 times the lowest of its like, ANSI/NETA ATS (read); 20 % above its own first reading, IEEE 450 and 1188
practice (read on a trade summary); re-check after the first days, then every 6 to 12 months:
common practice, no source.
"""

from __future__ import annotations

import dataclasses
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from bankwright.bank.model import Bank
from bankwright.build import cards
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Computed
from bankwright.forms.wording import Figure, say
from bankwright.physics.joint import ABOVE_LOWEST, heat

__all__ = ["JointCheck", "bank_joint_checks", "joint_checks", "joint_findings"]

GROWTH = 1.2  # times its own first reading, IEEE 450 and 1188 practice [read on a trade summary]
FIRST_DAYS, HALF_YEAR, SOON = 7, 182, 30  # d; common practice, no source


@dataclass(frozen=True, slots=True)
class JointCheck:
    """One joint: resistance, heat at full current, against the lowest of its like and against its first reading."""

    joint: str
    resistance: float
    heat: float  # W at full current
    against_lowest: float
    against_first: float | None
    reasons: tuple[str, ...]
    next_check_days: int

    @property
    def stands_out(self) -> bool:
        """True when something is to be done at this joint."""
        return bool(self.reasons)


def joint_checks(
    drops: Mapping[str, float], current: float, full_current: float, first: Mapping[str, float] | None = None
) -> tuple[JointCheck, ...]:
    """Judge drops (V) of like joints at a current; `first`: resistances of the first check. Worst first."""
    if current <= 0:
        raise ValueError("the drops need the current they were read at")
    resistances = {joint: drop / current for joint, drop in drops.items()}
    lowest = min((r for r in resistances.values() if r > 0), default=0.0)
    found = [_check(joint, r, lowest, full_current, (first or {}).get(joint)) for joint, r in resistances.items()]
    return tuple(sorted(found, key=lambda check: -check.resistance))


def _check(joint: str, resistance: float, lowest: float, full_current: float, first: float | None) -> JointCheck:
    ratio = resistance / lowest if lowest > 0 else float("inf") if resistance > 0 else 1.0
    growth = resistance / first if first else None
    reasons = []
    if ratio > ABOVE_LOWEST:
        reasons.append(f"{ratio:.1f} times the lowest of its like; above {ABOVE_LOWEST:g} is a finding")
    if growth is not None and growth > GROWTH:
        reasons.append(f"{growth:.2f} times its first reading; above {GROWTH:.2f} is a finding")
    days = SOON if reasons else HALF_YEAR if first is not None else FIRST_DAYS
    return JointCheck(joint, resistance, float(heat(full_current, resistance)), ratio, growth, tuple(reasons), days)


def bank_joint_checks(
    bank: Bank,
    drops: Mapping[str, float],
    current: float,
    currents: Mapping[str, float] | None,
    first: Mapping[str, float] | None = None,
) -> tuple[JointCheck, ...]:
    """Judge joints of a bank against their like: cables of one role, studs of one size. Worst first.

    `currents`: solved currents by link at full load; without them heat is that at the current of the check.
    """
    groups: dict[tuple[str, str | None], dict[str, float]] = defaultdict(dict)
    joints = {joint.name: joint for joint in bank.joints}
    for name, drop in drops.items():
        joint = joints[name]
        groups[bank.link(joint.link).role, joint.stud][name] = drop
    found = []
    for group in groups.values():
        for check in joint_checks(group, current, current, first):
            full = (currents or {}).get(joints[check.joint].link, current)
            found.append(dataclasses.replace(check, heat=float(heat(full, check.resistance))))
    return tuple(sorted(found, key=lambda check: -check.resistance))


def joint_findings(checks: Sequence[JointCheck]) -> Iterator[Finding]:
    """A finding for each joint that is too far from the lowest of its like, or from its own first reading."""
    do = say("Modules and main switch off; clean both faces, torque by the maker, then read it again.")
    for check in checks:
        ohms = Input("R", "drop over current", Figure(check.resistance, "resistance"), Computed("drop / current"))
        warmth = Input("P", "heat at full current", Figure(check.heat, "power"), Computed("R I^2"))
        yield cards.JOINT.found(
            check.joint, Figure(check.against_lowest, "ratio"), (None, ABOVE_LOWEST), None, do, inputs=(ohms, warmth)
        )
        if check.against_first is not None:
            yield cards.JOINT_GROWN.found(
                check.joint, Figure(check.against_first, "ratio"), (None, GROWTH), None, do, inputs=(ohms, warmth)
            )
