"""The bank file over the interface: read it, change one value, undo, redo.

Gives: router(). PATCH says with `digest` which text it was made on; an edit made outside is never overwritten.
"""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter

from bankwright.forms.as_json import plain
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.finding import Finding
from bankwright.job.planning import differences
from bankwright.web.api.shapes import ERRORS, BankOut, EditIn, EditOut, StepBackIn, fault_out
from bankwright.web.desk import Conflict, Desk, changed

__all__ = ["router"]


def router(desk: Desk) -> APIRouter:
    """Routes of the bank file."""
    routes = APIRouter(tags=["bank file"], responses=ERRORS)
    _read_and_edited(routes, desk)
    _stepped_back(routes, desk)
    return routes


def _read_and_edited(routes: APIRouter, desk: Desk) -> None:
    """The file, and one value of it changed."""

    @routes.get("/bank")
    def bank() -> BankOut:
        """The text of the file, its digest and its faults."""
        return _bank(desk)

    @routes.patch("/bank")
    def edit(body: EditIn) -> EditOut:
        """Change one value; an edit that would bring a new fault is not written, its faults are the answer."""
        before = desk.look()
        try:
            change = changed(body.path, body.value)
        except ValueError as error:
            raise QuestionError((Fault("path", "no-path", str(error)),)) from error
        if body.write:
            made = desk.edit(change, body.digest)
        elif before.digest != body.digest:
            raise Conflict((Fault("digest", "changed-outside", "the file is not the one of this digest"),))
        else:
            made = desk.tried(change)
        rows: Any = ()
        if made.job is not None and before.job is not None:
            rows = differences(before.job.quick_findings, made.job.quick_findings)
        changes = [
            {"code": row.code, "title": row.title, "before": _side(row.before), "after": _side(row.after)}
            for row in rows
        ]
        faults = [fault_out(f) for f in made.faults]
        return EditOut(saved=made.saved, digest=desk.look().digest, faults=faults, changes=changes)


def _stepped_back(routes: APIRouter, desk: Desk) -> None:
    """Undo and redo."""

    @routes.post("/bank/undo")
    def undo(body: StepBackIn) -> BankOut:
        """Take the last edit of this sitting back."""
        return _stepped(desk, body, False)

    @routes.post("/bank/redo")
    def redo(body: StepBackIn) -> BankOut:
        """Make the edit that was taken back again."""
        return _stepped(desk, body, True)


def _bank(desk: Desk) -> BankOut:
    state = desk.look()
    return BankOut(
        file=desk.path.name,
        digest=state.digest,
        title=state.job.bank.title if state.job else None,
        text=state.text,
        saved=state.saved.isoformat() if state.saved else None,
        faults=[fault_out(f) for f in state.faults],
        undo=state.undo,
        redo=state.redo,
    )


def _stepped(desk: Desk, body: StepBackIn, forward: bool) -> BankOut:
    if not desk.step_back(body.digest, forward):
        word = "redo" if forward else "undo"
        raise QuestionError((Fault("", "nothing-to-take", f"there is nothing to {word}"),))
    return _bank(desk)


def _side(finding: Finding | None) -> dict[str, Any] | None:
    """Verdict and figure of one side of a difference."""
    return None if finding is None else {"verdict": finding.verdict, "figure": plain(finding.figure)}
