"""Readings of load tests on the two invented banks, for the tests of Prove.

Gives: rounds(), share(), with_growth(), STEADY. Values are typed as a hand would read them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import Any

from bankwright.bank.model import Bank
from bankwright.circuit.steady import Steady, steady
from bankwright.forms.toleranced import Toleranced
from bankwright.prove.currents import CurrentRead, Level, Round
from bankwright.prove.meters import By, Clamp
from bankwright.prove.share_subject import ShareSubject
from bankwright.prove.share_test import ShareTest, share_test
from support.inverse_banks import barn, chain_bank

__all__ = ["barn", "chain_bank", "one_round", "share", "solved", "verdicts", "with_growth"]

ZEROED = Clamp(zero=0.2)


@cache
def solved(which: str) -> Steady:
    return steady(barn() if which == "bars" else chain_bank())


def one_round(
    load: float,
    amps: Sequence[float],
    *,
    age: float | None = 40.0,
    by: By = "clamp",
    number: int = 1,
    main: float | None = None,
    volts: Mapping[str, float] | None = None,
) -> Round:
    """One pass up the rack."""
    reads = [
        CurrentRead(f"M{k}", by, value, None if load == 0 else age, f"{value} A") for k, value in enumerate(amps, 1)
    ]
    if main is not None:
        reads.append(CurrentRead("main+", "clamp", main, age, f"{main} A"))
    return Round(Level(load), number, tuple(reads), volts or {})


def share(which: str, *rounds: Round, **beside: Any) -> ShareTest:
    """Judge rounds on one of the banks, the clamp zeroed in place."""
    bank = barn() if which == "bars" else chain_bank()
    drops = beside.pop("drops", ())
    subject = ShareSubject(bank, solved(which), rounds, **{"clamp": ZEROED, **beside})
    return share_test(subject, drops)


def verdicts(found: Any, code: str) -> dict[str, str]:
    """Verdict of each place of a code."""
    return {place: f.verdict for f in found.findings if f.code == code for place in (*f.at, *f.more)}


def with_growth(bank: Bank, joint: str, growth: float) -> Bank:
    """The bank with one joint worse than its file has it."""

    def grown(value: Toleranced | None) -> Toleranced:
        assert value is not None
        return Toleranced(value.nominal + growth, value.low + growth, value.high + growth)

    joints = tuple(replace(j, resistance=grown(j.resistance)) if j.name == joint else j for j in bank.joints)
    return bank.replaced(joints=joints)
