"""The closure of currents: all branches add up to the mains of one pole, or nothing that was read counts.

Gives: SUM, branches_close(), meters_leave(), open_closures(). A closure accuses no joint: where it
fails, the readings and everything computed from them are unknown.
Limits: only where every module that is on and every main of a pole was read in one round.
Sources: Kirchhoff's current law [stated law]; errors of the instruments by kind: prove/meters.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank
from bankwright.circuit.inverse.band import half_width
from bankwright.forms.card import Card
from bankwright.forms.finding import Finding
from bankwright.forms.wording import Figure, say
from bankwright.prove.currents import Round
from bankwright.prove.meters import Bus, By, Clamp, current_errors
from bankwright.prove.share_subject import ShareSubject
from bankwright.prove.sources import KIRCHHOFF

__all__ = ["BY_WORDS", "SUM", "branches_close", "meters_leave", "open_closures"]

SUM = Card("V-SUM-1", "Branch currents and main current close", "|sum i_k - i_main| <= limits", KIRCHHOFF)
BY_WORDS = {"clamp": "by the clamp", "bus": "by the modules' own sensors"}


def open_closures(subject: ShareSubject) -> tuple[Finding, ...]:
    """Closures that do not close: everything computed from their readings waits."""
    return tuple(finding for finding in branches_close(subject) if finding.verdict == "unknown")


def branches_close(subject: ShareSubject) -> Iterator[Finding]:
    """Sum of the branch currents less that of the mains of a pole, at every load at which both were read."""
    for each in subject.rounds:
        on = sorted(set(subject.modules) - each.level.off)
        for by in subject.bys:
            reads = each.of(by)
            if not set(on) <= set(reads):
                continue
            branches = {name: reads[name].value for name in on}
            for mains in _mains_read(subject.bank, each):
                yield _closure(subject, branches, mains, each.level.load, by)


def _mains_read(bank: Bank, each: Round) -> Iterator[dict[str, float]]:
    """The mains of each pole, where the clamp was round all of them; read as sizes."""
    reads = each.of("clamp")
    for pole in "+-":
        names = [link.name for link in bank.links if link.role == "main" and link.pole == pole]
        if names and set(names) <= set(reads):
            yield {name: abs(reads[name].value) for name in names}


def meters_leave(by: By, branches: dict[str, float], mains: dict[str, float], clamp: Clamp, bus: Bus) -> float:
    """Half of the 99 % interval of the gap that the instruments alone leave. [A]"""
    signed: dict[str, float] = {}
    parts = [(by, at, value, 1.0) for at, value in branches.items()]
    parts += [("clamp", at, value, -1.0) for at, value in mains.items()]
    for kind, at, value, sign in parts:
        for name, size in current_errors(kind, at, value, at, clamp, bus=bus).items():
            signed[name] = signed.get(name, 0.0) + sign * size
    return float(half_width(np.array([list(signed.values())]), 0.99)[0])


def _closure(
    subject: ShareSubject, branches: dict[str, float], mains: dict[str, float], load: float, by: By
) -> Finding:
    way = -1.0 if load < 0 else 1.0
    sizes = {name: way * value for name, value in mains.items()}
    gap, half = (
        sum(branches.values()) - sum(sizes.values()),
        meters_leave(by, branches, sizes, subject.clamp, subject.bus),
    )
    figure = Figure(gap, "current")
    text = say(
        "At {load} the branches {by} and {mains} differ by {gap}; the meters leave {half} open",
        load=Figure(load, "current"),
        by=BY_WORDS[by],
        mains=" and ".join(mains),
        gap=figure,
        half=Figure(half, "current"),
    )
    do = say(
        "A conductor missed or counted twice, clamp on the wrong side of a stack or over both poles, a charger "
        "running: look, then read all again. Nothing in the bank is accused."
    )
    case, at = f"{load:g} A {by}", tuple(mains)
    if abs(gap) <= half:
        return SUM.found(at, figure, (None, None), text, do, case=case)
    how = "Read every branch and the main again, on the same side of each stack."
    missing = (asking("readings.main.current", how),)
    return SUM.found(at, figure, (None, None), text, do, case=case, missing=missing)
