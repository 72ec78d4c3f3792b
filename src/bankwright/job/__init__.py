"""Job: one bank file, and every stage's result of it, each computed once when it is first asked for.

Gives: Job, open_bank(), differences(). The only door of the faces: what they need of a stage or an engine beside a
Job's own results stands in the files of this room, one a subject; documents as JSON in job/documents. A change makes a
new job on the same file; nothing is written until the document is saved.
Limits: no wording, no layout, no options; those belong to the faces.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bankwright.bank.file.document import Document
from bankwright.bank.model import Bank
from bankwright.bank.read import BankFileError, bank_from_text, read_bank

if TYPE_CHECKING:
    from bankwright.build.figures import Solved
    from bankwright.buy.lines import PartsList
    from bankwright.circuit.scatter.scatter import Scatter
    from bankwright.circuit.solution import Solution
    from bankwright.circuit.steady import Steady
    from bankwright.forms.carried import Carried
    from bankwright.forms.finding import Finding
    from bankwright.forms.sheets import Sheet
    from bankwright.plan.context import Plan
    from bankwright.plan.lists.compare import Difference

__all__ = ["Job", "differences", "open_bank"]


class Job:
    """A bank file as it stands (or as it would stand after a change) with its results."""

    def __init__(self, path: Path, text: str | None = None) -> None:
        """Prepare; `text` stands for the file's content when it is not, or not yet, on disk."""
        self.path = path
        self._text = text

    @cached_property
    def bank(self) -> Bank:
        """The bank, unfolded; BankFileError with all faults."""
        return read_bank(self.path) if self._text is None else bank_from_text(self._text, self.path)

    @cached_property
    def document(self) -> Document:
        """The file as text, ready for proven edits."""
        return Document.read(self.path) if self._text is None else Document(self._text, self.path)

    @property
    def units(self) -> str:
        """Units of all output: "metric" or "us"."""
        return self.bank.units

    @cached_property
    def plan(self) -> Plan:
        """What the checks of Plan look into."""
        from bankwright.plan.context import plan_of

        return plan_of(self.bank)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """Findings of Plan, worst first, places of one kind put together."""
        from bankwright.plan.results import findings_of

        return findings_of(self.plan)

    @cached_property
    def quick_findings(self) -> tuple[Finding, ...]:
        """Findings that wait for no scatter, worst first: what is shown at once after an edit."""
        from bankwright.plan.results import SCATTERED, findings_of

        return findings_of(self.plan, SCATTERED)

    @cached_property
    def carried(self) -> Carried:
        """What Plan fails, as the stages after it tell it."""
        from bankwright.forms.carried import carried_of

        return carried_of(self.findings)

    @property
    def steady(self) -> Steady:
        """Steady solutions of the bank."""
        return self.plan.steady

    def solution(self, name: str) -> Solution:
        """Solve a case by name; QuestionError where there is none of this name, or where it cannot be solved."""
        from bankwright.circuit.errors import CircuitError
        from bankwright.forms.checks import NeedsValue
        from bankwright.forms.faults import Fault, QuestionError
        from bankwright.forms.nearest import did_you_mean

        names = self.steady.names
        if name not in names:
            hint = did_you_mean(name, names, f"Cases: {', '.join(names[:4])} ...", 3)
            raise QuestionError(
                (Fault("case", "unknown-case", f'there is no case "{name}"', hint=hint),), "the options"
            )
        try:
            return self.steady.case(name)
        except (CircuitError, NeedsValue) as error:
            raise QuestionError(
                (Fault("case", "not-solved", f"{name} cannot be solved: {error}"),), "the case"
            ) from error

    @property
    def scatter(self) -> Scatter:
        """Variants inside the tolerances."""
        return self.plan.scatter

    @cached_property
    def parts(self) -> PartsList:
        """Every part that the bank needs, counted with the rules that hold when nothing is said of stock and prices."""
        from bankwright.buy.parts import parts

        return parts(self.bank)

    @cached_property
    def not_checked(self) -> tuple[str, ...]:
        """What no check of Plan looks at, and the checks of other rule books."""
        from bankwright.plan.checks import CHECKS
        from bankwright.plan.lists.not_checked import not_checked

        return not_checked(CHECKS, self.bank)

    @cached_property
    def build_findings(self) -> tuple[Finding, ...]:
        """Findings of the building sheet, worst first."""
        from bankwright.build.sheet import sheet_findings

        return sheet_findings(self.sheet)

    @cached_property
    def solved(self) -> Solved:
        """The solved figures that the building sheet and the labels use."""
        from bankwright.build.figures import solved

        return solved(self.bank)

    @cached_property
    def sheet(self) -> Sheet:
        """The building sheet."""
        from bankwright.build.sheet import build_sheet

        return build_sheet(self.bank, self.solved.currents, self.solved.figures)

    def changed(self, path: str | Mapping[str, Any], value: Any = None) -> Job:
        """Return a new job with one value changed, or with several of a mapping; the file on disk stays.

        What cannot stand is refused here: EditRefused where no such key can be written, BankFileError with all faults.
        """
        changes = {path: value} if isinstance(path, str) else dict(path)
        document = self.document
        for key, wanted in changes.items():
            document = document.with_value(key, wanted)
        after = Job(self.path, document.text)
        try:
            _ = after.bank
        except BankFileError as error:  # the file on disk is right: its name and lines would mislead
            asked = ", ".join(f"{key} = {wanted!r}" for key, wanted in changes.items())
            faults = tuple(replace(fault, place=None, also=None) for fault in error.faults)
            raise BankFileError(faults, f"{self.path.name} with {asked}") from None
        return after

    def __repr__(self) -> str:
        """Its file, and whether the text is another one than the file's."""
        return f"<Job of {self.path}{'' if self._text is None else ', changed'}>"


def open_bank(path: str | os.PathLike[str]) -> Job:
    """Open a bank file; BankFileError with all faults, with line and column."""
    job = Job(Path(path))
    _ = job.bank
    return job


def differences(before: Job, after: Job) -> tuple[Difference, ...]:
    """What differs between the findings of two jobs."""
    from bankwright.plan.lists.compare import differences as compared

    return compared(before.findings, after.findings)
