"""The built manual, served beside the pages of a bank: help without internet, also on a phone beside the rack.

Gives: router(). Only files that are in the manual when the page starts are served, by their names.
"""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import FileResponse, RedirectResponse, Response
from starlette.exceptions import HTTPException

from bankwright.job.manual import NO_MANUAL, manual_folder, manual_page

__all__ = ["router"]

_TYPES = {
    ".html": "text/html; charset=utf-8",
    ".js": "text/javascript",
    ".css": "text/css",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".json": "application/json",
}


def router() -> APIRouter:
    """Routes of the manual."""
    routes = APIRouter(include_in_schema=False)
    folder = manual_folder()
    found = (
        {path.relative_to(folder).as_posix(): path for path in folder.rglob("*") if path.suffix in _TYPES}
        if folder
        else {}
    )

    @routes.get("/manual/at/{word}")
    def at(word: str) -> Response:
        if folder is None:
            raise HTTPException(410, NO_MANUAL)
        return RedirectResponse(f"/manual/{manual_page(folder, word)}", 303)

    @routes.get("/manual/{name:path}")
    def manual(name: str) -> Response:
        if folder is None:
            raise HTTPException(410, NO_MANUAL)
        path = found.get(name or "index.html")
        if path is None:
            raise HTTPException(404)
        return FileResponse(path, media_type=_TYPES[path.suffix], headers={"cache-control": "no-cache"})

    return routes
