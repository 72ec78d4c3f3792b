"""Suggest: the least change that passes, searched beside the page, what is and what will be, put in by one button.

Gives: router(). The search runs in a thread of its own; it can be stopped, what it has found so far stays.
Limits: the search is plan/suggest; nothing is written before the button.
"""

from __future__ import annotations

import threading
from typing import Annotated, Any

from fastapi import APIRouter, Form
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.finding import summary
from bankwright.job.file import Document
from bankwright.job.planning import changed_keys
from bankwright.job.suggesting import Suggestion, suggest
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


class _Held:
    """The search of the file as it stands; one for another file ends when a new one begins."""

    def __init__(self) -> None:
        self._held: dict[str, _Search] = {}
        self._lock = threading.Lock()

    def get(self, digest: str) -> _Search | None:
        return self._held.get(digest)

    def search(self, digest: str, document: Document) -> _Search:
        with self._lock:
            if digest not in self._held:
                for other in self._held.values():
                    other.stop = True
                self._held.clear()
                self._held[digest] = _Search(document)
            return self._held[digest]


def router(desk: Desk) -> APIRouter:
    """Routes of the suggestion."""
    routes = APIRouter(include_in_schema=False)
    held = _Held()

    @routes.get("/plan/suggest")
    def show() -> HTMLResponse:
        state = desk.look()
        if state.job is None or state.document is None:
            return empty(desk, state)
        found = held.search(state.digest, state.document)
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
        values["keys"] = changed_keys(made.before.data, made.after.data)
        values["was"], values["now"] = summary(made.was), summary(made.now)
        values["copper"] = [volume * COPPER for volume in made.copper]
        values["look_for"] = [said.text(units) for said in made.look_for]
    return values
