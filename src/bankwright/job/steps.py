"""Steps that an entry of the logbook may belong to: of Build, of taking apart, of first power-up.

Gives: step_exists(), which refuses any other name and says which was perhaps meant.
Limits: steps of a plan of Match follow from its readings, and bear the prefix "match.".
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bankwright.forms.faults import Fault
from bankwright.forms.nearest import did_you_mean

if TYPE_CHECKING:
    from bankwright.job import Job
    from bankwright.logbook.logbook import Logbook

__all__ = ["step_exists"]

OF_MATCH = "match."


def step_exists(job: Job, book: Logbook | None, name: str) -> str:
    """The name of a step that there is; EntryRefused for one that there is not."""
    from bankwright.job.building import apart_sheet
    from bankwright.job.logs import EntryRefused
    from bankwright.job.powering import powering

    sheets = (job.sheet, apart_sheet(job.bank))
    known = [step.id for sheet in sheets for step in sheet.steps]
    known += [f"prove.{now.step.id}" for now in powering(job, book).steps]
    if name in known or name.startswith(OF_MATCH):
        return name
    hint = did_you_mean(name, known, "bankwright build FILE --show list names the steps", 3)
    raise EntryRefused(Fault("--step", "unknown-step", f'there is no step "{name}"', hint=hint))
