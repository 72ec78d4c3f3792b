"""The building sheet: from the empty floor to a wired, dead bank.

Gives: build_sheet(), sheet_findings(). A pure function of the bank and of solved figures that are passed in.
Limits: ticks and readings live in the logbook (build/progress lays them beside the sheet). Nothing is switched on.
Sources: order of work common practice, no source; principles from IEC 62485-5 and NFPA 70E;
each step names its own.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping

from bankwright.bank.model import Bank
from bankwright.bank.pieces.every import pieces
from bankwright.build.steps.end import end_steps
from bankwright.build.steps.frame import frame_steps
from bankwright.build.steps.make import Ground, said
from bankwright.build.steps.modules import module_steps
from bankwright.build.steps.wiring import wiring_steps
from bankwright.forms.finding import Finding
from bankwright.forms.grouping import ordered
from bankwright.forms.sheets import Sheet, Step
from bankwright.forms.wording import Figure

__all__ = ["build_sheet", "sheet_findings"]


def build_sheet(
    bank: Bank,
    currents: Mapping[str, float] | None = None,
    figures: Mapping[str, Figure | str] | None = None,
) -> Sheet:
    """All steps in order. `currents`: by link, for the stacks on posts; `figures`: for labels (build/figures)."""
    steps = _steps(bank, currents, figures)
    if bank.units != "metric":  # other units are other words for the same work: they open no step again
        same = _steps(bank.replaced(units="metric"), currents, figures)
        steps = tuple(dataclasses.replace(step, digest=metric.digest) for step, metric in zip(steps, same, strict=True))
    notes = said(
        "Two people; the second one can switch off and call for help.",
        "Figures come from the bank file; the makers' sheets, the local code and a licensed electrician have the "
        "last word.",
        "Taking apart, the whole bank, one joint or one module, is a sheet of its own: bankwright build FILE --apart.",
    )
    return Sheet("build", f"Building {bank.title}", steps, notes)


def _steps(
    bank: Bank, currents: Mapping[str, float] | None, figures: Mapping[str, Figure | str] | None
) -> tuple[Step, ...]:
    ground = Ground(bank, pieces(bank), currents, dict(figures or {}))
    steps = (*frame_steps(ground), *module_steps(ground), *wiring_steps(ground), *end_steps(ground))
    known = {piece.id for piece in ground.pieces}
    return tuple(dataclasses.replace(step, pieces=tuple(p for p in step.pieces if p in known)) for step in steps)


def sheet_findings(sheet: Sheet) -> tuple[Finding, ...]:
    """All findings of a sheet, each once, worst first and numbered."""
    found: dict[tuple[object, ...], Finding] = {}
    for step in sheet.steps:
        for finding in step.findings:
            found.setdefault((finding.code, finding.at, finding.case), finding)
    return ordered(found.values())
