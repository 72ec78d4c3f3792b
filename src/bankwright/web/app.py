"""The application: pages, interface under /api, static files, one fault shape, the guard around everything.

Gives: make_app().
Limits: sockets and signals are in serve, strangers in guard. The interactive documentation page is switched off: its
script would come from the network; /api/openapi.json holds the description.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import FileResponse, JSONResponse, PlainTextResponse, Response
from starlette.exceptions import HTTPException

from bankwright.draw.pen.styles import drawing_css, tokens_css
from bankwright.forms.faults import Fault, QuestionError
from bankwright.job.documents import faults_document
from bankwright.web.api import router as api_router
from bankwright.web.desk import Conflict, Desk
from bankwright.web.door import Door
from bankwright.web.guard import Guard
from bankwright.web.live import router as live_router
from bankwright.web.pages import ask, build, buy, edit, enter, fire, manual, match, place, plan, start, suggest, this
from bankwright.web.paper import page
from bankwright.web.shell import shell

__all__ = ["make_app"]

STATIC = Path(__file__).parent / "static"
_BARE = ("/api", "/static/", "/enter")  # no page of the bank as an answer: programs, and whoever has no session yet
_TYPES = {".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml"}
_WORDS = {404: "There is no such page.", 405: "This page cannot be asked in that way."}


def make_app(
    bank_file: Path,
    door: Door,
    hosts: tuple[str, ...],
    entered: Callable[[], None] = lambda: None,
    stopping: Callable[[], bool] = lambda: False,
    *,
    turn: Callable[[Path], None] | None = None,
) -> Guard:
    """Make the application of one bank file.

    `entered` is called when a code is due, `stopping` ends open streams, `turn` opens another bank file.
    """
    desk = Desk(bank_file)
    words = "What the pages use: bank file, findings, parts, building sheet, logbook of one bank."
    app = FastAPI(
        title="Bankwright",
        version="1",
        description=words,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
    )
    app.state.desk, app.state.stopping = desk, stopping
    _statics(app)
    for module in (plan, ask, edit, place, suggest, start, buy, build, match, fire):
        app.include_router(module.router(desk))
    app.include_router(manual.router())
    app.include_router(this.router(desk, turn))
    app.include_router(enter.router(door, entered))
    app.include_router(live_router(desk))
    app.include_router(api_router(desk))
    _errors(app, desk)
    app.openapi()  # makes every route now: two first requests at once would each make them, and trip over each other
    return Guard(app, door, hosts)


def _statics(app: FastAPI) -> None:
    """Static files by name: what is not in the list does not exist."""
    found = {path.relative_to(STATIC).as_posix(): path for path in STATIC.rglob("*") if path.suffix in _TYPES}
    made = {"tokens.css": tokens_css, "drawing.css": drawing_css}

    @app.get("/static/{name:path}", include_in_schema=False)
    def static(name: str) -> Response:
        kept = {"cache-control": "max-age=86400" if name.startswith("vendor/") else "no-cache"}
        if name in made:
            return PlainTextResponse(made[name](), media_type="text/css", headers=kept)
        if name not in found:
            raise HTTPException(404)
        return FileResponse(found[name], media_type=_TYPES[found[name].suffix], headers=kept)


def _wants_page(request: Request) -> bool:
    return not request.url.path.startswith(_BARE) and "text/html" in request.headers.get("accept", "")


def _errors(app: FastAPI, desk: Desk) -> None:
    def answer(request: Request, status: int, faults: tuple[Fault, ...]) -> Response:
        if _wants_page(request) and "hx-request" not in request.headers:
            values: dict[str, Any] = shell(desk, desk.look(), "")
            return page("wrong.html", status, faults=faults, status_code=status, **values)
        return JSONResponse(faults_document(faults), status)

    @app.exception_handler(QuestionError)
    def question(request: Request, error: QuestionError) -> Response:
        return answer(request, 409 if isinstance(error, Conflict) else 422, error.faults)

    @app.exception_handler(RequestValidationError)
    def invalid(request: Request, error: RequestValidationError) -> Response:
        return answer(request, 422, tuple(_fault_of(item) for item in error.errors()))

    @app.exception_handler(HTTPException)
    def http(request: Request, error: HTTPException) -> Response:
        said = _WORDS.get(error.status_code) or str(error.detail)
        made = answer(request, error.status_code, (Fault("", f"http-{error.status_code}", said),))
        made.headers.update(error.headers or {})
        return made

    @app.exception_handler(Exception)
    def broken(request: Request, error: Exception) -> Response:
        found = f"the page stopped with {type(error).__name__}; nothing was written"
        return answer(request, 500, (Fault("", "broken", found, hint="The terminal shows where"),))


def _fault_of(item: Any) -> Fault:
    """A body that the interface cannot take, in the one shape."""
    where = ".".join(str(part) for part in item.get("loc", ()) if part not in ("body", "query", "path"))
    return Fault(where, str(item.get("type", "invalid")).replace("_", "-"), str(item.get("msg", "not what is asked")))
