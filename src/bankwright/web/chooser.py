"""The case chooser over the drawing: every case by name with its verdict, and what the chosen one supposes.

Gives: Cases, cases(). Verdict of a case: the worst of the findings that name it.
Limits: steady cases; the chosen case is solved here, through the job.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

import numpy as np

from bankwright.draw.paint.currents import amperes
from bankwright.forms.faults import QuestionError
from bankwright.forms.finding import VERDICTS, Finding
from bankwright.job import Job
from bankwright.job.file import Bank
from bankwright.job.planning import parted_change

__all__ = ["Cases", "cases"]

_WORDS = {"fail": "fails", "caution": "caution", "unknown": "unknown", "assumed": "passes, assumed", "pass": "passes"}
_RANK = VERDICTS


@dataclass(frozen=True, slots=True)
class Choice:
    """One case: its name, and name with verdict."""

    name: str
    words: str


@dataclass(frozen=True, slots=True)
class Group:
    """Cases that start from the same condition."""

    name: str
    items: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class Cases:
    """What the chooser shows."""

    name: str
    number: int
    count: int
    groups: tuple[Group, ...]
    earlier: str
    later: str
    earlier_part: str
    later_part: str
    conditions: str
    solution: Any  # None: it could not be solved


def _verdicts(findings: tuple[Finding, ...]) -> dict[str, str]:
    worst: dict[str, str] = {}
    for finding in findings:
        if finding.case is not None:
            name = finding.case.removeprefix("all modules, ")
            held = worst.get(name, "pass")
            worst[name] = min(held, finding.verdict, key=_RANK.index)
    return worst


def _groups(names: tuple[str, ...], worst: dict[str, str]) -> tuple[Group, ...]:
    groups: dict[str, list[Choice]] = {}
    for name in names:
        base, _, change = name.partition(", ")
        shown = change or "all modules on"
        said = f"{name[0].upper()}{name[1:]}" if not change else f"{base[0].upper()}{base[1:]}, {shown}"
        verdict = f": {_WORDS[worst[name]]}" if name in worst else ""
        head = "Whole bank" if not change else f"{base[0].upper()}{base[1:]}, one thing changed"
        groups.setdefault(head, []).append(Choice(name, said + verdict))
    return tuple(Group(head, tuple(items)) for head, items in groups.items())


def cases(job: Job, wanted: str | None, findings: tuple[Finding, ...]) -> Cases | None:
    """The chooser with its chosen case solved; None for a bank without a case."""
    names = job.steady.names
    if not names:
        return None
    asked = (wanted or "").removeprefix("all modules, ")
    name = asked if asked in names else _first(names)
    at = names.index(name)
    before, after = names[(at - 1) % len(names)], names[(at + 1) % len(names)]
    try:
        solution: Any = job.solution(name)
        said = _conditions(job.bank, solution)
    except QuestionError as error:
        solution, said = None, f"{error.faults[0].found.rstrip('.')}."
    links = [f"{path}?{urlencode({'case': other})}" for path in ("/plan", "/plan/drawing") for other in (before, after)]
    return Cases(
        name,
        at + 1,
        len(names),
        _groups(names, _verdicts(findings)),
        links[0],
        links[1],
        links[2],
        links[3],
        said,
        solution,
    )


def _first(names: tuple[str, ...]) -> str:
    """Normal running: full discharge with everything on, where there is such a case; else the first."""
    return next((name for name in names if name.startswith("full discharge") and ", " not in name), names[0])


def _conditions(bank: Bank, solution: Any) -> str:
    total = float(np.sum([solution.current(module.name) for module in bank.modules]))
    change = solution.case.name.partition(", ")[2]
    modules = f"{len(bank.modules)} modules on"
    if change:
        thing, way = parted_change(change)
        modules = f"{thing} {way}" if thing not in {m.name for m in bank.modules} else f"{thing}: {way}, the others on"
    where = "leave the bank" if total >= 0 else "flow into the bank"
    return f"{modules}. {amperes(abs(total))} {where}. Equal charge in all modules, minutes after the step."
