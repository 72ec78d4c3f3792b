"""One bank file, and every stage's result of it, each computed once when it is first asked for.

Gives: Job, open_bank(). The command line and the page call nothing else. A change makes a new job on the same file;
nothing is written until the document is saved.
Limits: no wording, no layout, no options; those belong to the faces.
"""

from __future__ import annotations

import os
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bankwright.bank.document import Document
from bankwright.bank.model import Bank
from bankwright.bank.read import bank_from_text, read_bank

if TYPE_CHECKING:
    from bankwright.build.figures import Solved
    from bankwright.buy.parts import PartsList
    from bankwright.circuit.scatter import Scatter
    from bankwright.circuit.steady import Steady
    from bankwright.forms.finding import Finding
    from bankwright.forms.sheets import Sheet
    from bankwright.plan.compare import Difference
    from bankwright.plan.context import Plan

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

    @property
    def steady(self) -> Steady:
        """Steady solutions of the bank."""
        return self.plan.steady

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
    def solved(self) -> Solved:
        """The solved figures that the building sheet and the labels use."""
        from bankwright.build.figures import solved

        return solved(self.bank)

    @cached_property
    def sheet(self) -> Sheet:
        """The building sheet."""
        from bankwright.build.sheet import build_sheet

        return build_sheet(self.bank, self.solved.currents, self.solved.figures)

    def changed(self, path: str, value: Any) -> Job:
        """Return a new job with one value of the file changed; the file on disk stays."""
        return Job(self.path, self.document.with_value(path, value).text)


def open_bank(path: str | os.PathLike[str]) -> Job:
    """Open a bank file; BankFileError with all faults, with line and column."""
    job = Job(Path(path))
    _ = job.bank
    return job


def differences(before: Job, after: Job) -> tuple[Difference, ...]:
    """What differs between the findings of two jobs."""
    from bankwright.plan.compare import differences as compared

    return compared(before.findings, after.findings)
