"""Build: one step a screen, caution before the act, ticks and readings kept in the logbook, resume where it was left.

Gives: router(). /build goes on where the work stands; every step and the whole list have their own address.
Limits: steps are those of build/; entries of a browser that lost its link go through /api/entries.
"""

from __future__ import annotations

import secrets
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.exceptions import HTTPException

from bankwright.forms.carried import BOX
from bankwright.forms.faults import QuestionError
from bankwright.forms.sheets import MATCH_RECORD, Step
from bankwright.forms.wording import amount_text
from bankwright.job import Job
from bankwright.job.building import JOINT_RULE, StepState, apart_sheet, labels, next_step, occasions, upkeep
from bankwright.job.file import Bank
from bankwright.report.booklet import booklet
from bankwright.web.beside import typed_bare, unit_of, warned
from bankwright.web.desk import Desk, State
from bankwright.web.drawn import crop, drawn
from bankwright.web.entries import ReadingIn, TickIn, taken
from bankwright.web.pages.plan import empty
from bankwright.web.paper import page
from bankwright.web.shell import shell
from bankwright.web.stages import steps_of

Typed = Annotated[str, Form(max_length=10)]
Digest = Annotated[str, Form(max_length=64)]
__all__ = ["made_so_far", "router", "step_href"]


def step_href(name: str) -> str:
    """Address of a step."""
    return "/build/step/" + quote(name, safe="")


def made_so_far(bank: Bank, states: tuple[StepState, ...]) -> frozenset[str]:
    """Links and bars whose step is done."""
    can = {link.name for link in bank.links} | {bar.name for bar in bank.bars}
    return frozenset(name for state in states if state.state == "done" for name in state.step.at if name in can)


def _torques(bank: Bank, step: Step, units: str) -> list[tuple[str, str, str]]:
    """The figures for the hand: torque, the same in the other units, and the posts it is for."""
    other = "us" if units == "metric" else "metric"
    rows: dict[float, list[str]] = {}
    wanted = {tick.id.split("/", 1)[1] for tick in step.ticks if tick.id.startswith("torque/")}
    for joint in bank.joints:
        if joint.name in wanted and joint.torque is not None:
            rows.setdefault(joint.torque, []).append(joint.name.split("@")[-1])
    return [
        (amount_text(value, "torque", units), amount_text(value, "torque", other), ", ".join(names))
        for value, names in rows.items()
    ]


def _waits(titles: dict[str, str], name: str) -> tuple[str, str]:
    """What a step waits for, with its page."""
    return ("Match: the modules may be joined", "/match") if name == MATCH_RECORD else (titles[name], step_href(name))


def _values(desk: Desk, state: State, job: Job, number: int, states: tuple[StepState, ...]) -> dict[str, Any]:
    here = states[number]
    step, bank = here.step, job.bank
    drawing = drawn(
        bank, None, (), marked=step.at, made=made_so_far(bank, states), texts={m.name: "off" for m in bank.modules},
        foot=(("Full line", "made"), ("Dashed", "not made yet")),
    )  # fmt: skip
    book = desk.book()
    entries = [
        e for e in (book.entries(step=step.id, standing=True) if book else ()) if e.kind in ("reading", "note", "photo")
    ]
    titles = {item.step.id: item.step.title for item in states}
    return shell(desk, state, "Build") | {
        "step": step,
        "is": here,
        "number": number + 1,
        "count": len(states),
        "back": step_href(states[number - 1].step.id) if number else "/build/all",
        "forward": step_href(states[number + 1].step.id) if number + 1 < len(states) else "/build/all",
        "ahead": [step_href(item.step.id) for item in states[number + 1 : number + 9]],
        "boxes": [(tick.id, tick.words) for tick in step.ticks] or [("", f"Done: {step.done.text(bank.units)}")],
        "warned": warned(step, bank.units),
        "worst": "fail" if any(finding.verdict == "fail" for finding in step.findings) else "caution",
        "unit_of": lambda wanted: unit_of(wanted, bank.units),
        "torques": _torques(bank, step, bank.units),
        "waits": [_waits(titles, name) for name in here.waits_for],
        "drawing": drawing,
        "crop": crop(bank, drawing.phone, step.at),
        "entries": entries,
        "read": {(e.quantity, e.at): e for e in entries if e.kind == "reading"},
        "open_readings": {(w.quantity, w.at) for w in here.readings},
        "meters": sorted({i.name for i in (*bank.instruments, *(book.instruments() if book else ()))}),
        "places": sorted({name for name in step.at if name in bank}),
    }


def router(desk: Desk) -> APIRouter:
    """Routes of Build."""
    routes = APIRouter(include_in_schema=False)
    _resumed(routes, desk)
    _whole(routes, desk)
    _taken_apart(routes, desk)
    _steps(routes, desk)
    return routes


def _resumed(routes: APIRouter, desk: Desk) -> None:
    """Going on where the work is, and the tick under what Plan fails."""

    @routes.get("/build")
    def resume() -> Response:
        state = desk.look()
        if state.shown is None:
            return empty(desk, state)
        here = next_step(steps_of(state.shown, desk))
        return RedirectResponse("/build/all" if here is None else step_href(here.step.id), 303)

    @routes.post("/carried/known")
    def known(done: Typed = "", back: Typed = "", shown: Digest = "") -> Response:
        """Tick, or take back, "I know" under what Plan fails; a list that grew since it was shown is shown again."""
        state = desk.look()
        if state.shown is None:
            return empty(desk, state)
        book = desk.book(write=True)
        assert book is not None
        carried = state.shown.carried  # every finding, also those that the page did not wait for
        book.tick(*BOX, done=bool(done) and shown in ("", carried.digest), digest=carried.digest)
        return RedirectResponse({"Buy": "/buy", "Match": "/match"}.get(back, "/build"), 303)


def _whole(routes: APIRouter, desk: Desk) -> None:
    """The whole sheet."""

    @routes.get("/build/all")
    def whole() -> HTMLResponse:
        state = desk.look()
        job = state.shown
        if job is None:
            return empty(desk, state)
        states = steps_of(job, desk)
        values = shell(desk, state, "Build") | {
            "states": [(item, step_href(item.step.id)) for item in states],
            "now": next_step(states),
            "notes": [note.text(job.units) for note in job.sheet.notes],
            "labels": labels(job.bank, job.solved.figures),
            "upkeep": upkeep(job.bank),
            "occasions": occasions(job.bank),
            "joint_rule": JOINT_RULE,
            "drawing": drawn(
                job.bank, None, (), made=made_so_far(job.bank, states), texts={m.name: "off" for m in job.bank.modules},
                foot=(("Full line", "made"), ("Dashed", "not made yet")),
            ),
        }  # fmt: skip
        return page("build_all.html", **values)


def _taken_apart(routes: APIRouter, desk: Desk) -> None:
    """The order of taking apart, and the booklet."""

    @routes.get("/build/apart")
    def apart(of: str = "") -> HTMLResponse:
        """The order of taking apart: the whole bank, or what `of` names."""
        state = desk.look()
        job = state.shown
        if job is None:
            return empty(desk, state)
        what = of[:80].strip()
        try:
            sheet = apart_sheet(job.bank, what or None, job.solved.currents)
        except QuestionError as error:
            sheet, wrong = apart_sheet(job.bank, None, job.solved.currents), error.faults
        else:
            wrong = ()
        bank = job.bank
        places = [m.name for m in bank.modules] + [link.name for link in bank.links]
        places += [d.name for d in bank.devices] + [joint.name for joint in bank.joints]
        values: dict[str, Any] = {"apart": sheet, "of": what, "wrong": wrong, "places": places}
        return page("apart.html", **shell(desk, state, "Build"), **values)

    @routes.get("/build/booklet.html")
    def as_booklet() -> Response:
        state = desk.look()
        if state.shown is None:
            return empty(desk, state)
        head = {"content-disposition": 'attachment; filename="booklet.html"'}
        return HTMLResponse(booklet(state.shown), headers=head)


def _steps(routes: APIRouter, desk: Desk) -> None:
    """One step, and what is entered at it."""

    @routes.get("/build/step/{name:path}")
    def step(name: str) -> HTMLResponse:
        state = desk.look()
        job = state.shown
        if job is None:
            return empty(desk, state)
        states = steps_of(job, desk)
        number = next((n for n, item in enumerate(states) if item.step.id == name), None)
        if number is None:
            raise HTTPException(404)
        return page("step.html", **_values(desk, state, job, number, states))

    @routes.post("/build/step/{name:path}")
    async def enter(name: str, request: Request) -> Response:
        """Without script: all boxes and readings of a step at once."""
        form = await request.form(max_files=0, max_fields=200)
        state = desk.look()
        found = next((s for s in steps_of(state.shown, desk) if s.step.id == name), None) if state.shown else None
        if found is None:
            raise HTTPException(404)
        asked = {str(box) for box in form.getlist("box")}
        for box in [tick.id for tick in found.step.ticks] or [""]:
            if (box in asked) != (box in found.ticked):
                _or_raise(desk, TickIn(id=secrets.token_hex(8), kind="tick", step=name, box=box, done=box in asked))
        for wanted in found.step.readings:
            text = str(form.get(f"read {wanted.quantity} {wanted.at}", "")).strip()
            if text:
                text = typed_bare(text, unit_of(wanted, state.shown.units if state.shown else "metric"))
                made, said = secrets.token_hex(8), text[:80]
                entry = ReadingIn(id=made, kind="reading", step=name, at=wanted.at, text=said, quantity=wanted.quantity)
                _or_raise(desk, entry)
        return RedirectResponse(step_href(name), 303)


def _or_raise(desk: Desk, entry: TickIn | ReadingIn) -> None:
    found = taken(desk, entry)
    if found.faults:
        raise QuestionError(found.faults)
