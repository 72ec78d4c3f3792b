"""The page on fault and fire: one touch away from everywhere.

Gives: router().
"""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import HTMLResponse

from bankwright.build.emergency import emergency
from bankwright.web.desk import Desk
from bankwright.web.paper import page
from bankwright.web.shell import shell

__all__ = ["router"]


def router(desk: Desk) -> APIRouter:
    """Routes of the page on fault and fire."""
    routes = APIRouter(include_in_schema=False)

    @routes.get("/fire")
    def fire() -> HTMLResponse:
        state = desk.look()
        sheet = emergency(state.shown.bank) if state.shown else None
        return page("fire.html", sheet=sheet, **shell(desk, state, "Fire"))

    return routes
