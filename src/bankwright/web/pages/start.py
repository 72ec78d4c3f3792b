"""Start from nothing: the first conversation on the page, one question at a time.

Gives: router(). A thin face of bank/talk, as the terminal's is; both keep the same answers beside the file to come.
Limits: only while there is no bank file; what is there is never overwritten.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from markupsafe import Markup

from bankwright.draw.plates import plate
from bankwright.forms.faults import Fault, QuestionError
from bankwright.job.file import BankFileError, ChangedOutside, bank_from
from bankwright.job.sheets import NotReadable, offers_of, proposed_of_text
from bankwright.job.start import first_document
from bankwright.job.talking import (
    Question,
    Talk,
    back,
    enough,
    forget,
    go_to,
    keep,
    kept,
    known,
    not_known,
    offering,
    question,
    said,
    shelf_of,
    start_of,
    using,
)
from bankwright.web.desk import Conflict, Desk
from bankwright.web.drawn import Drawn, drawn
from bankwright.web.paper import page
from bankwright.web.shell import shell

__all__ = ["router"]

SECONDS = 20  # a question; our choice
Short = Annotated[str, Form(max_length=200)]
MOST_SHEET = 200_000  # letters of a pasted data sheet


def router(desk: Desk) -> APIRouter:
    """Routes of the conversation."""
    routes = APIRouter(include_in_schema=False)

    @routes.get("/start")
    def ask(key: str = "", left: str = "") -> Response:
        if desk.look().digest:
            return RedirectResponse("/plan", 303)
        talk = kept(desk.path)
        return _shown(desk, go_to(talk, key) if key else talk, left)

    @routes.post("/start")
    async def answer(request: Request) -> Response:
        form = await request.form(max_files=0, max_fields=8)
        typed = {key: str(value)[:200] for key, value in form.items()}
        if desk.look().digest:
            raise Conflict((Fault("", "exists", f"{desk.path.name} is there already; nothing was written"),))
        talk = kept(desk.path)
        talk = go_to(talk, typed.get("key", "")) if typed.get("key") else talk
        if typed.get("key") and talk.at != typed["key"]:  # a page from before: its question is not asked any more
            return RedirectResponse("/start", 303)
        if typed.get("act") == "write":
            return _written(desk, talk)
        after, left = _after(talk, typed)
        if after.heard is not None:
            return _shown(desk, after, "", typed.get("unit", ""))
        try:
            keep(desk.path, after)
        except OSError as error:
            raise Conflict((Fault("", "not-kept", f"the answers cannot be kept: {error.strerror}"),)) from error
        key = f"?key={after.at}" if typed.get("act") == "back" else f"?left={left}" if left else ""
        return RedirectResponse("/start" + key, 303)

    _sheets(routes, desk)
    _shelf(routes, desk)
    return routes


def _shelf(routes: APIRouter, desk: Desk) -> None:
    """A kind of a file of kinds beside the bank, taken or let go."""

    @routes.post("/start/kind")
    def kind(family: Short, name: Short = "", file: Short = "") -> Response:
        if desk.look().digest:
            return RedirectResponse("/plan", 303)
        there = (k for k in shelf_of(desk.path.parent) if (k.family, k.name, k.file) == (family, name, file))
        found = next(there, None)
        if name and found is None:
            raise QuestionError((Fault("kind", "unknown-kind", f"no file of kinds here gives {name[:60]} now"),))
        keep(desk.path, using(kept(desk.path), family, found))
        return RedirectResponse("/start", 303)


def _sheets(routes: APIRouter, desk: Desk) -> None:
    """A pasted data sheet."""

    @routes.post("/start/sheet")
    def sheet(text: Annotated[str, Form(max_length=MOST_SHEET)] = "") -> Response:
        if desk.look().digest:
            return RedirectResponse("/plan", 303)
        talk = kept(desk.path)
        try:
            found = proposed_of_text(text)
        except NotReadable as error:
            return _shown(desk, talk, "", sheet=SheetSaid(text, str(error)))
        offers = offers_of(found)
        keep(desk.path, offering(talk, offers))
        words = f"Read as the sheet of: {found.kind}. {len(offers)} questions below are answered by it; confirm each."
        return _shown(desk, kept(desk.path), "", sheet=SheetSaid("", words, read=True))


@dataclass(frozen=True, slots=True)
class SheetSaid:
    """What became of a pasted data sheet."""

    text: str = ""
    words: str = ""
    read: bool = False


NO_SHEET = SheetSaid()


def _after(talk: Talk, typed: dict[str, str]) -> tuple[Talk, str]:
    """The next state, and the key of what was left open on the way."""
    act = typed.get("act", "next")
    if "offer" in typed:
        return said(talk, typed["offer"], typed.get("unit", "")), ""
    if act == "back":
        return back(talk), ""
    if act == "anew":
        return Talk(), ""
    if act == "unknown":
        return not_known(talk), talk.at
    after = said(talk, typed.get("typed", ""), typed.get("unit", ""))
    return after, talk.at if talk.at and after.heard is None and after.answer(talk.at) is None else ""


def _written(desk: Desk, talk: Talk) -> Response:
    document = first_document(start_of(talk), desk.path)
    _ = bank_from(document)
    try:
        desk.begin(document)
    except (ChangedOutside, OSError) as error:
        raise Conflict((Fault("", "exists", str(error)),)) from error
    forget(desk.path)
    return RedirectResponse("/plan", 303)


def _shown(desk: Desk, talk: Talk, left: str, unit: str = "", sheet: SheetSaid = NO_SHEET) -> HTMLResponse:
    rows = known(talk)
    asked = question(talk.at) if talk.at else None
    offer = talk.offer(talk.at)
    ready = offer.values[0] if offer is not None and len(offer.values) == 1 else ""
    values: dict[str, Any] = {
        "asked": asked,
        "rows": rows,
        "number": next((row.number for row in rows if row.here), len(rows)),
        "minutes": max(round(sum(not row.given for row in rows) * SECONDS / 60), 1),
        "heard": talk.heard,
        "typed": talk.heard.typed if talk.heard else (talk.answer(talk.at) or ready) if asked else "",
        "offer": offer,
        "sheet": sheet,
        "unit": unit if asked and unit in asked.units else asked.unit(talk.units) if asked else "",
        "shelf": shelf_of(desk.path.parent),
        "taken": talk.kinds,
        "enough": enough(talk),
        "left_open": next((row.question for row in rows if row.question.key == left), None),
        "picture": _picture(asked.picture) if asked else None,
        "pictures": _choices(asked),
        "drawing": _drawing(desk, talk),
    }
    return page("start.html", **shell(desk, desk.look(), "Plan", **values))


def _picture(name: str) -> Markup | None:
    found = plate(name) if name else None
    return None if found is None else Markup(str(found))


def _choices(asked: Question | None) -> dict[str, Markup]:
    if asked is None or asked.picture != "patterns":
        return {}
    return {choice.text: found for choice in asked.choices if (found := _picture(choice.text)) is not None}


def _drawing(desk: Desk, talk: Talk) -> Drawn | None:
    """The bank as far as it is known: every cable dashed."""
    if talk.answer("modules") is None:
        return None
    try:
        return drawn(bank_from(first_document(start_of(talk), desk.path)), made=())
    except BankFileError:
        return None
