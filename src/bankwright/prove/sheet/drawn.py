"""The current that was read at a load step, whether it closes, and the bank solved at it.

Gives: Now, now_of(), sum_finding(), mains_of(), names_of(), currents_of().
Limits: the clamp is the least one that is enough; without a main the branches are the load.
Sources: Kirchhoff's current law; errors of the clamp: prove/meters.
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank
from bankwright.circuit.inverse.looks import Look
from bankwright.circuit.of_bank.at_age import READ_FROM
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.wording import Figure, say
from bankwright.prove.closures import meters_leave
from bankwright.prove.expected import Conditions, Expected, expected, loads_of
from bankwright.prove.meters import Bus, Clamp, current_errors
from bankwright.prove.share_subject import LACKING, missing_of
from bankwright.prove.sheet.cards import SHEET_CARDS
from bankwright.prove.sheet.due import Facts
from bankwright.prove.sources import KIRCHHOFF

__all__ = ["Now", "currents_of", "mains_of", "names_of", "now_of", "sum_finding"]

READ_AT = READ_FROM  # s after the step
SIGN = {"E2": 1.0, "F1": -1.0}


@dataclass(frozen=True, slots=True)
class Now:
    """What is due at the load that was read, or why nothing is."""

    total: float | None
    due: Expected | None
    missing: tuple[Missing, ...] = ()

    def figure(self, look: Look) -> Figure | None:
        """The engine's figure with its interval."""
        return None if self.due is None else self.due.figure(look)

    @property
    def loose(self) -> float:
        """Limits of the current that was read over that current. [-]"""
        if not self.total:
            return 0.0
        return sum(
            abs(part) for part in current_errors("clamp", "", self.total, "", Clamp(), bus=Bus()).values()
        ) / abs(self.total)


def mains_of(bank: Bank, pole: str = "+") -> tuple[str, ...]:
    """Names of the mains of a pole."""
    return tuple(link.name for link in bank.links if link.role == "main" and link.pole == pole)


def currents_of(facts: Facts, step: str, names: tuple[str, ...]) -> dict[str, float] | None:
    """Currents read at some places in a step; None before all are read. [A]"""
    found = {name: facts.read(step, "current", name) for name in names}
    values = {name: value for name, value in found.items() if value is not None}
    return values if names and len(values) == len(names) else None


def names_of(bank: Bank) -> tuple[str, ...]:
    """Names of the modules."""
    return tuple(module.name for module in bank.modules)


def now_of(facts: Facts, step: str) -> Now:
    """The bank at the load that was read in a step, unless the currents do not close."""
    mains = mains_of(facts.bank) or names_of(facts.bank)
    read = currents_of(facts, step, mains)
    if read is None:
        return Now(None, None, (asking(f"readings.{mains[0]}.current", f"Read the current of {', '.join(mains)}."),))
    total = SIGN[step] * sum(abs(value) for value in read.values())
    closes = sum_finding(facts, step)
    if closes is not None and closes.verdict == "unknown":
        return Now(total, None, closes.missing)
    try:
        return Now(total, expected(facts.bank, Conditions(loads_of(facts.bank, total), READ_AT)))
    except LACKING as error:
        return Now(total, None, missing_of(error))


def sum_finding(facts: Facts, step: str) -> Finding | None:
    """Do the branches and the main add up; None before all are read. Where not, nothing built on them counts."""
    mains, branches = currents_of(facts, step, mains_of(facts.bank)), currents_of(facts, step, names_of(facts.bank))
    if mains is None or branches is None:
        return None
    sizes = {name: SIGN[step] * abs(value) for name, value in mains.items()}
    gap, half = sum(branches.values()) - sum(sizes.values()), meters_leave("clamp", branches, sizes, Clamp(), Bus())
    text = say(
        "The branches and {mains} differ by {gap}; the meter leaves {half} open",
        mains=" and ".join(mains),
        gap=Figure(gap, "current"),
        half=Figure(half, "current"),
    )
    how = (
        "Read every branch and the main again: one missed or counted twice, the clamp over both poles or on the wrong "
        "side of a stack, its arrow turned, a charger or load running beside."
    )
    missing = () if abs(gap) <= half else (asking(f"readings.{next(iter(mains))}.current", how),)
    card = SHEET_CARDS["V-SUM-2"]
    return card.found(
        tuple(mains), Figure(gap, "current"), (None, None), text, say("{how}", how=how), missing=missing,
        source=KIRCHHOFF, case=step,
    )  # fmt: skip
