"""Currents of all modules at several load levels: a difference of open-circuit voltage and a resistance told apart.

Gives: Level, Line, lines_of(), level_findings(). A level is one moment: amperes by module, plus while discharging.
I_k = a_k + s_k I with I the sum: s_k is the share by resistance, a_k the current that flows between the modules at no
load. Two levels give the line, three and more also how well it holds.
Limits: levels minutes apart, all modules closed, no trip between; slow changes of charge count as scatter.
Source: Ohm's and Kirchhoff's laws for modules on one bus: I_k = g_k (E_k - V), sum I_k = I [derived].
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import median

import numpy as np

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank
from bankwright.circuit.run.bank import parts_of
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Computed
from bankwright.forms.wording import Figure, say
from bankwright.match import cards
from bankwright.match.uneven import CLEARLY

__all__ = ["Level", "Line", "level_findings", "lines_of"]

Level = Mapping[str, float]  # A by module
LEAST_SPAN = 0.2  # of the largest bank current, that the levels must lie apart; common practice, no source


@dataclass(frozen=True, slots=True)
class Line:
    """One module over the levels."""

    module: str
    offset: float  # A at no bank current
    share: float  # of the bank's current
    scatter: float | None  # A, root mean square about the line; None: two levels only


def checked(bank: Bank, levels: Sequence[Level]) -> None:
    """Refuse a module that the bank does not have, and a level that leaves some out."""
    names = {module.name for module in bank.modules}
    faults = []
    for number, level in enumerate(levels, 1):
        faults += [
            Fault(f"level {number}", "module-unknown", f"{name} is no module of this bank",
                  hint=f"Modules: {', '.join(sorted(names))}")
            for name in level if name not in names
        ]  # fmt: skip
    if faults:
        raise QuestionError(tuple(faults), "the currents")


def lines_of(levels: Sequence[Level]) -> tuple[Line, ...]:
    """Least-squares line of each module that stands in every level; empty where the levels do not part."""
    names = [name for name in levels[0] if all(name in level for level in levels)] if levels else []
    if len(levels) < 2 or len(names) < 2:
        return ()
    amps = np.array([[level[name] for name in names] for level in levels])
    total = amps.sum(axis=1)
    if np.ptp(total) < LEAST_SPAN * np.abs(total).max() or np.ptp(total) == 0.0:
        return ()
    design = np.column_stack([np.ones(len(total)), total])
    fit, *_ = np.linalg.lstsq(design, amps, rcond=None)
    left = amps - design @ fit
    free = len(total) - 2
    scatter = [float(x) for x in np.sqrt((left**2).sum(axis=0) / free)] if free else None
    return tuple(
        Line(name, float(fit[0, k]), float(fit[1, k]), None if scatter is None else scatter[k])
        for k, name in enumerate(names)
    )


def _expected(bank: Bank, lines: Sequence[Line]) -> dict[str, float]:
    """Share of each by the resistances that the file gives."""
    ohm = {line.module: parts_of(bank.module(line.module)).ohmic.nominal for line in lines}
    whole = sum(1 / value for value in ohm.values())
    return {name: 1 / value / whole for name, value in ohm.items()}


def _volts(bank: Bank, line: Line) -> float:
    """Open-circuit voltage against the mean of the bank: what is left at no load, through the module's 30 s value."""
    kind = bank.module(line.module).kind
    dc = kind.resistance.dc or parts_of(bank.module(line.module)).ohmic
    return line.offset * dc.nominal


def level_findings(bank: Bank, levels: Sequence[Level]) -> tuple[Finding, ...]:
    """What several levels tell; nothing with fewer than two, unknown where they lie too near to one another."""
    checked(bank, levels)
    if len(levels) < 2:
        return ()
    lines = lines_of(levels)
    if not lines:
        return (_too_near(bank),)
    usual = _expected(bank, lines)
    worst = min(lines, key=lambda line: line.share / usual[line.module])
    middle = median([line.share / usual[line.module] for line in lines if line is not worst])
    return (_parted(bank, lines, worst, worst.share / usual[worst.module] / middle),)


def _too_near(bank: Bank) -> Finding:
    names = tuple(module.name for module in bank.modules)
    how = "Read the currents of all modules at another load, twice as large or half as large."
    return cards.PARTED.found(
        names[:1], None, (None, None),
        say("The load levels lie too near to one another to tell offset from resistance"),

        say("Take another level before anything is undone."), missing=(asking(f"readings.{names[0]}.current", how),),
        more=names[1:],
    )  # fmt: skip


def _parted(bank: Bank, lines: Sequence[Line], worst: Line, ratio: float) -> Finding:
    apart = max(lines, key=lambda line: abs(line.offset))
    rows = "; ".join(f"{line.module} {100 * line.share:.1f} % and {line.offset:+.1f} A" for line in lines)
    rows = rows.replace("-", "−")
    low = ratio < CLEARLY
    words = "Share of the bank's current, and current at no load: {rows}. {what}"
    what = (
        f"{worst.module} has {1 / ratio:.1f} times the resistance of the others, joints and cable included"
        if low and ratio > 0
        else "Resistances are alike"
    )
    volts = _volts(bank, apart)
    what += (
        f"; {apart.module} lies {abs(volts) * 1e3:.0f} mV {'above' if volts > 0 else 'below'} the mean of the bank in "
        "open-circuit voltage"
        if abs(apart.offset) > 0.5
        else "; open-circuit voltages are alike"
    )
    do = (
        "Read the millivolts over each joint and cable of {module} under load, the largest first."
        if low
        else "Undo no joint: unequal currents at a small load come from charge, and even out over a cycle."
    )
    scatter = max((line.scatter for line in lines if line.scatter is not None), default=None)
    inputs = [
        Input(f"s, a of {line.module}", "slope and offset", Figure(line.share, "share"), Computed("least squares"))
        for line in lines
    ]
    if scatter is not None:
        inputs.append(Input("r", "about the lines", Figure(scatter, "current"), Computed("least squares")))
    return cards.PARTED.found(
        worst.module,
        Figure(ratio, "share"),
        (CLEARLY, None),
        say(words, rows=rows, what=what),
        say(do, module=worst.module) if low else say(do),
        inputs=inputs,
        forced="caution" if low else None,
    )
