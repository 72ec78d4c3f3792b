"""First power-up of a bank: Prove's sheet on the logbook and on what Build and Match left there.

Gives: powering(); keep_readings(), keep_ticks(), step_named(), due_words(), read_words(),
place_words(), wait_words(), sheet_page(), way_back(), ProveSheet, StepNow from the rooms below.
Limits: nothing is judged here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bankwright.build.progress import not_earthed
from bankwright.prove.sheet.entry import facts_of, keep_readings, keep_ticks, step_named, ticks_of
from bankwright.prove.sheet.sheet import ProveSheet, StepNow, prove_sheet, way_back
from bankwright.prove.sheet.words import due_words, place_words, read_words, sheet_page, wait_words

if TYPE_CHECKING:
    from bankwright.job import Job
    from bankwright.logbook.logbook import Logbook

__all__ = [
    "ProveSheet",
    "StepNow",
    "due_words",
    "keep_readings",
    "keep_ticks",
    "place_words",
    "powering",
    "read_words",
    "sheet_page",
    "step_named",
    "wait_words",
    "way_back",
]


def powering(job: Job, book: Logbook | None) -> ProveSheet:
    """The sheet as it stands."""
    return prove_sheet(facts_of(job.bank, book, not_earthed(job.bank, book)), ticks_of(book))
