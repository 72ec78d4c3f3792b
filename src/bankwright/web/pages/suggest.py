"""Suggest: the least change that passes, searched beside the page, with before and after, written on one button.

Gives: router(). The search runs in a thread of its own; it can be stopped, what it has found so far stays.
Limits: the search is plan/suggest; nothing is written before the button.
"""

from __future__ import annotations

import difflib
import threading
from typing import Annotated, Any

from fastapi import APIRouter, Form
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from bankwright.bank.document import Document
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.finding import summary
from bankwright.plan.suggest import Suggestion, suggest
from bankwright.web.desk import Desk
from bankwright.web.pages.plan import empty, plan_values
from bankwright.web.paper import fragment, page

__all__ = ["router"]

COPPER = 8960.0  # kg/m3 at 20 degC [from memory]


class _Search:
    """One search on one text."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.line = "The search begins"
        self.made: Suggestion | None = None
        self.broken = ""
        self.stop = False
        threading.Thread(target=self._run, daemon=True, name="suggest").start()

    def _run(self) -> None:
        try:
            self.made = suggest(self.document, self._tell)
        except Exception as error:  # said on the page; the server goes on
            self.broken = f"The search ended with {type(error).__name__}: {error}"

    def _tell(self, line: str) -> None:
        self.line = line
        if self.stop:
            raise KeyboardInterrupt


def router(desk: Desk) -> APIRouter:
    """Routes of the suggestion."""
    routes = APIRouter(include_in_schema=False)
    held: dict[str, _Search] = {}
    lock = threading.Lock()

    def search_of(digest: str, document: Document) -> _Search:
        with lock:
            if digest not in held:
                for other in held.values():
                    other.stop = True
                held.clear()
                held[digest] = _Search(document)
            return held[digest]

    @routes.get("/plan/suggest")
    def show() -> HTMLResponse:
        state = desk.look()
        if state.job is None or state.document is None:
            return empty(desk, state)
        found = search_of(state.digest, state.document)
        values = plan_values(desk, state, None, "suggest") | _shown(found, state.job.units)
        return page("suggest.html", **values)

    @routes.get("/plan/suggest/part")
    def part() -> HTMLResponse:
        state = desk.look()
        found = held.get(state.digest)
        if found is None:
            return HTMLResponse("", 204)
        values = {"state": state, "units": state.shown.units if state.shown else "metric"}
        return HTMLResponse(fragment("_suggest.html", **values, **_shown(found, "metric")))

    @routes.post("/plan/suggest/stop")
    def stop() -> Response:
        found = held.get(desk.look().digest)
        if found is not None:
            found.stop = True
        return RedirectResponse("/plan/suggest", 303)

    @routes.post("/plan/suggest/write")
    def write(digest: Annotated[str, Form(max_length=64)]) -> Response:
        found = held.get(digest)
        if found is None or found.made is None:
            raise QuestionError((Fault("", "no-suggestion", "this suggestion is no longer there"),))
        desk.write_text(found.made.after.text, digest)
        return RedirectResponse("/plan", 303)

    return routes


def _shown(found: _Search, units: str) -> dict[str, Any]:
    made = found.made
    values: dict[str, Any] = {"search": found, "made": made}
    if made is not None:
        rows = difflib.unified_diff(made.before.text.splitlines(), made.after.text.splitlines(), "", "", "", "", 0)
        values["lines"] = [(row[:1], row[1:]) for row in rows if not row.startswith(("---", "+++", "@@"))]
        values["was"], values["now"] = summary(made.was), summary(made.now)
        values["copper"] = [volume * COPPER for volume in made.copper]
        values["look_for"] = [said.text(units) for said in made.look_for]
    return values
