"""Plan: what fails and what is asked beside the drawing, the case chooser.

Gives: router(), plan_values().
Limits: forms of the file are in pages/edit; the same findings as JSON are in api/.
"""

from __future__ import annotations

import difflib
from typing import Any

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from bankwright.forms.finding import VERDICTS, Finding, summary
from bankwright.forms.finding_text import headline
from bankwright.job import Job
from bankwright.job.explained import explained
from bankwright.web.chooser import cases
from bankwright.web.desk import Desk, State
from bankwright.web.drawn import drawn, key_plan
from bankwright.web.faulty import shown_faults
from bankwright.web.paper import fragment, page
from bankwright.web.shell import shell
from bankwright.web.turned import turned_values

__all__ = ["plan_values", "router"]


def answer_values(state: State, findings: tuple[Finding, ...], tab: str) -> dict[str, Any]:
    """The answer: one sentence and the tally."""
    count = summary(findings)
    late = ""
    if state.job is None and state.good_when is not None:
        late = f"The file cannot stand as it is. The findings below are from {state.good_when:%H:%M}."
    tally = [(verdict, count[verdict]) for verdict in VERDICTS if count[verdict]]
    return {"headline": headline(findings), "tally": tally, "late": late, "tab": tab}


def drawing_values(
    job: Job, findings: tuple[Finding, ...], case: str | None, marked: tuple[str, ...] = ()
) -> dict[str, Any]:
    """The drawing with the currents of a case."""
    if job.plan.ill_posed() is not None:
        return {"drawing": drawn(job.bank, None, findings, foot=(("Line width", "not solved"),)), "cases": None}
    chosen = cases(job, case, findings)
    first = next((f for f in findings if f.verdict != "pass"), None)
    marked = marked or ((first.at[0],) if first is not None and first.at else ())
    drawing = drawn(
        job.bank, chosen.solution if chosen else None, findings, marked=marked, foot=(("Line width", "current"),)
    )
    return {"drawing": drawing, "cases": chosen}


def finding_values(desk: Desk, job: Job) -> dict[str, Any]:
    """The list of findings and what stands below it."""
    found = desk.findings(job)
    return turned_values(job, found.findings) | {
        "passes": [finding for finding in found.findings if finding.verdict == "pass"],
        "pending": found.pending,
        "dated": found.dated,
        "not_checked": job.not_checked,
    }


def plan_values(desk: Desk, state: State, case: str | None, tab: str, **more: Any) -> dict[str, Any]:
    """Everything that a page of Plan needs: frame, answer, drawing, findings."""
    job = state.shown
    assert job is not None
    pending = desk.findings(job).pending
    values = _plan_values(desk, state, job, case, tab, more=more)
    if desk.findings(job).pending != pending:  # the scatter came in between: head, drawing and list tell one number
        values = _plan_values(desk, state, job, case, tab, more=more)
    return values


def _plan_values(
    desk: Desk, state: State, job: Job, case: str | None, tab: str, *, more: dict[str, Any]
) -> dict[str, Any]:
    findings = desk.findings(job).findings
    values = shell(desk, state, "Plan", faults=shown_faults(state), before=desk.before_outside, **more)
    values |= answer_values(state, findings, tab)
    values |= drawing_values(job, findings, case)
    values |= finding_values(desk, job)
    values["keyplan"] = _key(job, findings, values["cases"])
    return values


def _key(job: Job, findings: tuple[Finding, ...], chosen: Any) -> dict[str, Any]:
    first = next((f for f in findings if f.verdict != "pass" and f.at), None)
    words = "Nothing is marked" if first is None else f"Finding 1 at {first.at[0]}"
    more = chosen.name if chosen else "no case"
    return {"drawing": key_plan(job.bank, first.at[0] if first else None), "words": words, "more": more}


def router(desk: Desk) -> APIRouter:
    """Routes of Plan."""
    routes = APIRouter(include_in_schema=False)
    _whole(routes, desk)
    _parts(routes, desk)
    return routes


def _whole(routes: APIRouter, desk: Desk) -> None:
    """The page, and its drawing."""

    @routes.get("/")
    def front() -> Response:
        return RedirectResponse("/plan", 303)

    @routes.get("/plan")
    def plan(case: str | None = None) -> HTMLResponse:
        state = desk.look()
        if state.shown is None:
            return empty(desk, state)
        return page("plan.html", **plan_values(desk, state, case, "findings"))

    @routes.get("/plan/drawing")
    def drawing(case: str | None = None) -> HTMLResponse:
        state = desk.look()
        job = state.shown
        if job is None:
            return HTMLResponse("", 204)
        values = drawing_values(job, desk.findings(job).findings, case)
        return HTMLResponse(fragment("_drawing.html", units=job.units, **values))


def _parts(routes: APIRouter, desk: Desk) -> None:
    """What comes after the page, or beside it."""

    @routes.get("/plan/findings")
    def findings(case: str | None = None) -> HTMLResponse:
        """The whole list, scatter and all, and with it all that bears its numbers; waits for it."""
        state = desk.look()
        job = state.shown
        if job is None:
            return HTMLResponse("", 204)
        _ = job.findings
        values = shell(desk, state, "Plan") | finding_values(desk, job) | {"oob": False}
        values |= answer_values(state, job.findings, "findings") | drawing_values(job, job.findings, case)
        values["keyplan"] = _key(job, job.findings, values["cases"])
        around = ("_answer.html", "_route.html", "_drawing.html", "_keyplan.html")
        parts = [fragment(name, **{**values, "oob": True}) for name in around]
        return HTMLResponse("".join((fragment("_findings.html", **values), *parts)))

    @routes.get("/plan/trace")
    def trace(check: str, at: str) -> HTMLResponse:
        """One check at one place, with every number that was solved for it."""
        state = desk.look()
        if state.shown is None:
            return empty(desk, state)
        told = explained(state.shown, check, at=at)
        return page("trace.html", **shell(desk, state, "Plan"), told=told)

    @routes.get("/plan/outside")
    def outside() -> HTMLResponse:
        state = desk.look()
        was = desk.before_outside or ""
        lines = _diff(was, state.text)
        return page("outside.html", lines=lines, **shell(desk, state, "Plan"))


def _diff(was: str, now: str) -> list[tuple[str, str]]:
    rows = difflib.unified_diff(was.splitlines(), now.splitlines(), "", "", "", "", 2)
    return [(row[:1], row[1:]) for row in rows if not row.startswith(("---", "+++"))]


def empty(desk: Desk, state: State) -> HTMLResponse:
    """No bank yet, or a file that never stood: say so, and what the first step is."""
    template = "faulty.html" if state.digest else "start_here.html"
    return page(template, faults=shown_faults(state), **shell(desk, state, "Plan"))
