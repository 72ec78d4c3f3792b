"""The page on fault and fire, to print: on the screen it is a block of every page, so that it needs no link.

Gives: router().
"""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import HTMLResponse

from bankwright.web.desk import Desk
from bankwright.web.paper import page
from bankwright.web.shell import shell

__all__ = ["router"]


def router(desk: Desk) -> APIRouter:
    """Routes of the page on fault and fire."""
    routes = APIRouter(include_in_schema=False)

    @routes.get("/fire")
    def fire() -> HTMLResponse:
        return page("fire.html", **shell(desk, desk.look(), "Fire"))

    return routes
