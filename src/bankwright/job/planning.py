"""The door of the faces: what the faces need of Plan: gaps, comparisons, rows of a case.

Gives: the names in __all__, from the rooms below, and case_rows().
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bankwright.circuit.cases import parted_change
from bankwright.circuit.solution import Solution
from bankwright.plan.lists.compare import ChangedKey, Difference, changed_keys, differences
from bankwright.plan.lists.gaps import Gap, decisions, measurements, questions, waiting
from bankwright.plan.results import SCATTERED

if TYPE_CHECKING:
    from bankwright.job import Job

__all__ = [
    "SCATTERED",
    "ChangedKey",
    "Difference",
    "Gap",
    "Solution",
    "case_rows",
    "changed_keys",
    "decisions",
    "differences",
    "measurements",
    "parted_change",
    "questions",
    "waiting",
]


def case_rows(job: Job, solution: Solution) -> list[tuple[str, float, float, float]]:
    """Name, current (A), drop (V) and heat (W) of every module, link and piece, and of what takes from the bank."""
    bank, rows = job.bank, []
    sources = [*(m.name for m in bank.modules), *(x.name for x in bank.links), *(x.name for x in bank.pieces)]
    takers = [*(x.name for x in bank.inverters), *(x.name for x in bank.chargers), *(x.name for x in bank.loads)]
    for name in (*sources, *takers):
        if name not in solution.network.edge_index:
            continue
        current = float(solution.current(name))
        drop = float(solution.drop(name)) if name in sources else float(solution.voltage(name))
        rows.append((name, current, drop, abs(current * drop)))
    return rows
