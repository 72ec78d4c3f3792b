"""Build: one step a screen, caution before the act, ticks and readings kept in the logbook, resume where it was left.

Gives: router(). /build goes on where the work stands; every step and the whole list have their own address.
Limits: steps are those of build/; entries of a browser that lost its link go through /api/entries.
"""

from __future__ import annotations

import secrets
from typing import Any
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.exceptions import HTTPException

from bankwright.bank.model import Bank
from bankwright.build.labels import labels
from bankwright.build.progress import StepState, next_step
from bankwright.build.upkeep import JOINT_RULE, upkeep
from bankwright.forms.faults import QuestionError
from bankwright.forms.sheets import Step
from bankwright.forms.wording import amount_text
from bankwright.job import Job
from bankwright.web.desk import Desk, State
from bankwright.web.drawn import crop, drawn
from bankwright.web.entries import ReadingIn, TickIn, taken
from bankwright.web.pages.plan import empty
from bankwright.web.paper import page
from bankwright.web.shell import shell
from bankwright.web.stages import steps_of

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
        "torques": _torques(bank, step, bank.units),
        "waits": [(titles[name], step_href(name)) for name in here.waits_for],
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

    @routes.get("/build")
    def resume() -> Response:
        state = desk.look()
        if state.shown is None:
            return empty(desk, state)
        here = next_step(steps_of(state.shown, desk))
        return RedirectResponse("/build/all" if here is None else step_href(here.step.id), 303)

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
            "joint_rule": JOINT_RULE,
            "drawing": drawn(
                job.bank, None, (), made=made_so_far(job.bank, states), texts={m.name: "off" for m in job.bank.modules},
                foot=(("Full line", "made"), ("Dashed", "not made yet")),
            ),
        }  # fmt: skip
        return page("build_all.html", **values)

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
                _or_raise(
                    desk, ReadingIn(id=secrets.token_hex(8), kind="reading", step=name, at=wanted.at, text=text[:80])
                )
        return RedirectResponse(step_href(name), 303)

    return routes


def _or_raise(desk: Desk, entry: TickIn | ReadingIn) -> None:
    found = taken(desk, entry)
    if found.faults:
        raise QuestionError(found.faults)
