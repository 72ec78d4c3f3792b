"""A place of the bank: what each stage knows of it.

Gives: router(). Reached by touching the drawing, or by name.
"""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

from fastapi import APIRouter
from fastapi.responses import RedirectResponse, Response
from starlette.exceptions import HTTPException

from bankwright.draw.paint.currents import amperes
from bankwright.draw.paint.places import place_of
from bankwright.forms.faults import QuestionError
from bankwright.forms.grouping import numbered
from bankwright.forms.wording import amount_text
from bankwright.job import Job
from bankwright.job.file import Link
from bankwright.web.desk import Desk, State
from bankwright.web.drawn import key_plan
from bankwright.web.pages.plan import answer_values, drawing_values
from bankwright.web.paper import key_href, page
from bankwright.web.shell import shell
from bankwright.web.stages import steps_of

__all__ = ["router"]


def router(desk: Desk) -> APIRouter:
    """Routes of places."""
    routes = APIRouter(include_in_schema=False)

    @routes.get("/at")
    def pick(name: str) -> Response:
        return RedirectResponse("/at/" + quote(name, safe=""), 303)

    @routes.get("/at/{name:path}")
    def at(name: str, case: str | None = None) -> Response:
        state = desk.look()
        job = state.shown
        meters = [] if job is None else [each.name for each in job.bank.instruments]
        if job is not None and name in meters and name not in job.bank:  # an instrument has no place of its own
            return RedirectResponse(key_href(f"instruments[{meters.index(name)}]"), 303)
        if job is None or name not in job.bank:
            raise HTTPException(404, f"The bank has no place {name!r}.")
        return page("at.html", **_values(desk, state, job, name, case))

    return routes


def _values(desk: Desk, state: State, job: Job, name: str, case: str | None) -> dict[str, Any]:
    bank, findings = job.bank, desk.findings(job).findings
    values = shell(desk, state, "Plan")
    values |= answer_values(state, findings, "")
    values |= drawing_values(job, findings, case, marked=(name,))
    chosen = values["cases"]
    here = _same_place(job, name)
    try:
        lines = desk.shop.listing(job).lines
    except QuestionError:  # its faults are told on Buy
        lines = ()
    steps = [s for s in steps_of(job, desk) if here & set(s.step.at)]
    book = desk.book()
    readings = [r for r in (book.readings() if book else ()) if r.at in here or r.at.split(".c")[0] in here]
    values |= {
        "place": place_of(bank, name) or name,
        "name": name,
        "what": _what(job, name),
        "carries": _carries(job, chosen.solution if chosen else None, name),
        "case_name": chosen.name if chosen else "",
        "findings": [(n, f) for n, f in numbered(findings) if here & {*f.at, *f.more}],
        "passing": sum(f.verdict == "pass" and bool(here & {*f.at, *f.more}) for f in findings),
        "lines": [line for line in lines if here & set(line.at)][:12],
        "steps": steps,
        "readings": readings[-8:],
        "origin": bank[name].origin.path,
        "keyplan": {"drawing": key_plan(bank, name), "words": name, "more": chosen.name if chosen else ""},
    }
    return values


def _same_place(job: Job, name: str) -> set[str]:
    """The place and what the drawing shows under it: joints of a link, posts of a module."""
    bank = job.bank
    shown = place_of(bank, name) or name
    names = [t.name for group in (bank.joints, bank.posts) for t in group if place_of(bank, t.name) == shown]
    return {name, shown, *names} if name == shown else {name}


def _what(job: Job, name: str) -> list[tuple[str, str]]:
    """A line or two on the thing itself."""
    bank = job.bank
    thing: Any = bank[name]
    kind = getattr(thing, "kind", None)
    label = getattr(kind, "path", "").split(".", 2)[-1]
    rows = [("Is a", _noun(type(thing).__name__) + (f" of kind {label}" if label else ""))]
    if isinstance(thing, Link):
        rows.append(("From, to", f"{thing.a} to {thing.b}"))
        what = "no cable: straight on the bar" if thing.straight else "not given"
        rows.append(("Cable", thing.cable.size if thing.cable else what))
    for key, words, quantity in (
        ("length", "Length", "length"),
        ("torque", "Torque", "torque"),
        ("slot", "Slot", ""),
        ("on", "In", ""),
    ):
        value = getattr(thing, key, None)
        if value:
            rows.append((words, amount_text(value, quantity, bank.units) if quantity else str(value)))
    rating = getattr(kind, "rating", None)
    if isinstance(rating, float):
        rows.append(("Rating", amount_text(rating, "current", bank.units)))
    return rows


def _noun(name: str) -> str:
    return {"BarPiece": "piece of a bar"}.get(name, name.lower())


def _carries(job: Job, solution: Any, name: str) -> str:
    if solution is None:
        return ""
    try:
        current = float(solution.current(name))
    except (KeyError, TypeError, ValueError):
        return ""
    said = amperes(abs(current))
    try:
        drop = abs(float(solution.drop(name)))
        return f"{said}, {amount_text(drop, 'voltage_drop', job.units)} across it"
    except (KeyError, AttributeError, TypeError, ValueError):
        return said
