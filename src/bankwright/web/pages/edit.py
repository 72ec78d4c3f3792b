"""The bank in forms beside the drawing: every key of the file, tried while typing, written when left.

Gives: router(). A value that cannot stand is marked, said and kept in its field, and nothing is written.
Limits: edits are those of bank/file/document, proven there; what a file may hold is in bank/written.
"""

from __future__ import annotations

from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from bankwright.forms.faults import Fault, QuestionError
from bankwright.job.planning import differences
from bankwright.web.desk import Conflict, Desk, Edited, State, changed
from bankwright.web.faulty import shown_faults
from bankwright.web.pages.plan import answer_values, drawing_values, empty
from bankwright.web.paper import fragment, page
from bankwright.web.sections import fields_of, fresh_like, section_of, sections, typed_value
from bankwright.web.shell import shell

__all__ = ["router"]

Path_ = Annotated[str, Form(max_length=300)]
Value = Annotated[str, Form(max_length=20_000)]
Digest = Annotated[str, Form(max_length=64)]


def _values(desk: Desk, state: State, key: str, case: str | None = None, **more: Any) -> dict[str, Any]:
    """Everything that the page of forms needs; `key` is a path in the section that is open."""
    job, document = state.shown, state.document
    assert document is not None
    chosen = section_of(document, key)
    values = shell(desk, state, "Plan", before=desk.before_outside, faults=shown_faults(state), **more)
    values |= {
        "sections": sections(document),
        "chosen": chosen,
        "sets": fields_of(document, chosen) if chosen is not None else (),
        "marks": {fault.path: fault for fault in state.faults},
        "key": key,
        "keyplan": None,
    }
    if job is not None:
        findings = desk.findings(job).findings
        values |= answer_values(state, findings, "bank") | drawing_values(job, findings, case)
        values["wanted"] = {m.key: m for f in findings for m in f.missing}
    else:
        values |= {
            "headline": "The file has faults",
            "tally": [],
            "late": "",
            "tab": "bank",
            "drawing": None,
            "wanted": {},
        }
    return values


def _oob(desk: Desk, state: State, case: str | None) -> str:
    """The parts of the page that follow a saved edit: title block, route, answer, drawing, undo."""
    values = _values(desk, state, "", case) | {"oob": True}
    names = ["_block.html", "_route.html", "_answer.html", "_pen.html"]
    if values["drawing"] is not None:
        names.append("_drawing.html")
    return "".join(fragment(name, **values) for name in names)


def _said(path: str, edited: Edited | None, typed: str, drafts: str = "") -> str:
    faults = edited.faults if edited else ()
    own = next((fault for fault in faults if fault.path == path or path.startswith(fault.path + ".")), None)
    other = next((fault for fault in faults if fault is not own), None) if own is None else None
    return (
        fragment("_said.html", path=path, fault=own or other, elsewhere=own is None and other is not None, typed=typed)
        + drafts
    )


def router(desk: Desk) -> APIRouter:
    """Routes of the forms."""
    routes = APIRouter(include_in_schema=False)
    _forms(routes, desk)
    _steps_back(routes, desk)
    return routes


def _forms(routes: APIRouter, desk: Desk) -> None:
    """The forms, a try while typing, and a value that is saved."""

    @routes.get("/plan/bank")
    def forms(key: str = "") -> HTMLResponse:
        state = desk.look()
        if state.document is None:
            return empty(desk, state)
        return page("bank.html", **_values(desk, state, key or "title"))

    @routes.post("/plan/try")
    def trial(path: Path_, value: Value = "") -> HTMLResponse:
        """While typing: what is wrong with it, or what it would change; nothing is written."""
        state = desk.look()
        edited = desk.tried(changed(path, typed_value(path, value)))
        rows: Any = ()
        if edited.job is not None and state.job is not None and edited.job.document.text != state.text:
            rows = differences(state.job.quick_findings, edited.job.quick_findings)
        draft = fragment("_draft.html", rows=rows, typed=value, units=state.shown.units if state.shown else "metric")
        return HTMLResponse(_said(path, edited, value, draft))

    @routes.post("/plan/value")
    def save(request: Request, path: Path_, digest: Digest, value: Value = "", case: Path_ = "") -> Response:
        edited = desk.edit(changed(path, typed_value(path, value)), digest)
        state = desk.look()
        if "hx-request" not in request.headers:  # no script: a plain form
            if edited.faults:
                raise QuestionError(edited.faults)
            return RedirectResponse("/plan/bank?" + urlencode({"key": path}), 303)
        body = _said(path, edited, value, fragment("_draft.html", rows=(), typed="", units="metric"))
        headers = {"HX-Trigger": "saved"} if edited.saved else {}
        return HTMLResponse(body + (_oob(desk, state, case or None) if edited.saved else ""), headers=headers)


def _steps_back(routes: APIRouter, desk: Desk) -> None:
    """Undo, redo, and blocks that come and go."""

    @routes.post("/plan/undo")
    def undo(digest: Digest) -> Response:
        desk.step_back(digest)
        return RedirectResponse("/plan/bank", 303)

    @routes.post("/plan/redo")
    def redo(digest: Digest) -> Response:
        desk.step_back(digest, forward=True)
        return RedirectResponse("/plan/bank", 303)

    @routes.post("/plan/another")
    def another(path: Path_, digest: Digest) -> Response:
        state = desk.look()
        if state.document is None:
            raise Conflict((Fault("", "no-toml", "the file cannot be read as TOML"),))
        name, values = fresh_like(state.document, path)
        edited = desk.edit(lambda document: document.with_block(name, values), digest)
        if edited.faults:
            raise QuestionError(edited.faults)
        count = len(desk.look().document.data[name])  # type: ignore[union-attr]
        return RedirectResponse("/plan/bank?" + urlencode({"key": f"{name}[{count - 1}]"}), 303)

    @routes.post("/plan/without")
    def without(path: Path_, digest: Digest) -> Response:
        edited = desk.edit(lambda document: document.without_block(path), digest)
        if edited.faults:
            raise QuestionError(edited.faults)
        return RedirectResponse("/plan/bank", 303)
