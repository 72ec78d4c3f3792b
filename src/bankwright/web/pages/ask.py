"""Answers on Plan: a question's box, heard as the terminal hears it, written, planned anew; the page of words.

Gives: router().
Limits: an answer that cannot be taken keeps its letters in its box and offers what may be meant; nothing is written.
"""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from bankwright.forms.faults import Fault, QuestionError
from bankwright.job import Job
from bankwright.job.asking import Asked, Heard, changed_by, hear_box, is_unknown, settled, words
from bankwright.job.file import Document
from bankwright.web.desk import Conflict, Desk
from bankwright.web.pages.plan import answer_values, finding_values
from bankwright.web.paper import fragment, page
from bankwright.web.shell import shell
from bankwright.web.turned import question_of, turned_values

__all__ = ["router"]

Key = Annotated[str, Form(max_length=300)]
Typed = Annotated[str, Form(max_length=2_000)]
Short = Annotated[str, Form(max_length=64)]


def router(desk: Desk) -> APIRouter:
    """Routes of answers and words."""
    routes = APIRouter(include_in_schema=False)

    @routes.post("/plan/answer")
    def answer(
        request: Request,
        key: Key,
        digest: Short,
        typed: Typed = "",
        unit: Short = "",
        *,
        act: Short = "",
        offer: Typed = "",
    ) -> Response:
        job, question = _asked(desk, key)
        if is_unknown(typed) and not offer:
            act = "unknown"
        heard = _heard(question, offer or typed, unit) if act != "unknown" else None
        if heard is not None and heard.how != "taken":
            return _shown(request, desk, job, question, heard)
        if heard is None:
            return _shown(request, desk, job, question, Heard("refused", "", words=_left_open(question)), left=True)
        edited = desk.edit(lambda document: _changed(document, question, heard.text), digest)
        if edited.faults or edited.job is None:
            told = " ".join(f"{f.found}. {f.expected} {f.hint}".strip() for f in edited.faults[:2])
            return _shown(request, desk, job, question, Heard("refused", typed, words=told))
        return _settled(request, desk, question, heard.text)

    @routes.get("/words")
    def all_words() -> HTMLResponse:
        return page("words.html", words=words(), **shell(desk, desk.look(), ""))

    return routes


def _asked(desk: Desk, key: str) -> tuple[Job, Asked]:
    job = desk.look().job
    if job is None:
        raise Conflict((Fault("", "faulty", "the file has faults; mend them first"),))
    question = question_of(job, desk.findings(job).findings, key)
    if question is None or question.box is None:
        raise QuestionError((Fault(key, "not-asked", "this is not asked any more"),))
    return job, question


def _heard(question: Asked, typed: str, unit: str) -> Heard:
    assert question.box is not None
    if not typed.strip():
        return Heard("refused", typed, words="Nothing was typed. I do not know is an answer too.")
    return hear_box(question.box, typed, unit)


def _changed(document: Document, question: Asked, text: str) -> Document:
    made = changed_by(document, question, text)
    if made.path != document.path:
        raise QuestionError((Fault("", "elsewhere", f"this kind stands in {made.path.name}", hint="Answer it there"),))
    return made


def _left_open(question: Asked) -> str:
    return f"Left open. {question.settles} findings go on waiting for it."


def _shown(request: Request, desk: Desk, job: Job, question: Asked, heard: Heard, *, left: bool = False) -> Response:
    """The question again, with what was typed."""
    if "hx-request" not in request.headers:
        if left:
            return RedirectResponse("/plan", 303)
        hint = f'Perhaps "{heard.offers[0]}"?' if heard.offers else ""
        raise QuestionError((Fault(question.keys[0], "not-taken", heard.words.rstrip("."), hint=hint),))
    values: dict[str, Any] = turned_values(job, desk.findings(job).findings)
    shown = {"question": question, "heard": heard, "left": left, "state": desk.look(), "units": job.units}
    return HTMLResponse(fragment("_question.html", **{**values, **shown}))


def _settled(request: Request, desk: Desk, question: Asked, text: str) -> Response:
    """What the answer settled, in the place of the question; head, route and digest follow."""
    if "hx-request" not in request.headers:
        return RedirectResponse("/plan", 303)
    state = desk.look()
    job = state.job
    assert job is not None
    findings = desk.findings(job).findings
    became = settled(question, findings)
    values = shell(desk, state, "Plan") | answer_values(state, findings, "findings") | finding_values(desk, job)
    said = {"question": question, "text": text, "became": became, "oob": True}
    parts = [fragment("_settled.html", **{**values, **said})]
    parts += [fragment(name, **{**values, "oob": True}) for name in ("_answer.html", "_route.html", "_digest.html")]
    return HTMLResponse("".join(parts), headers={"HX-Trigger": "saved"})
