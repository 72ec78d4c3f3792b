"""The door: the code of the terminal, exchanged for a session cookie that scripts cannot read.

Gives: router(). The code stands behind `#` in the address, which a browser never sends; door.js puts it in the field.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from bankwright.web.door import COOKIE, Door
from bankwright.web.paper import page

__all__ = ["router"]


def router(door: Door, entered: Callable[[], None]) -> APIRouter:
    """Routes of the door; `entered` prints the next code: when one was used, and when a try finds that none holds."""
    routes = APIRouter(include_in_schema=False)

    @routes.get("/enter")
    def ask() -> HTMLResponse:
        return page("enter.html", wrong=False)

    @routes.post("/enter")
    async def enter(request: Request, code: Annotated[str, Form(max_length=40)] = "") -> Response:
        address = request.client.host if request.client else ""
        await asyncio.sleep(door.wait(address))  # right or wrong: who guesses waits, and keeps nobody else waiting
        token = door.enter(code, address)
        if token is None:
            if door.wants_code:
                entered()
            return page("enter.html", 403, wrong=True)
        entered()
        answer = RedirectResponse("/", 303)
        answer.set_cookie(COOKIE, token, max_age=12 * 3600, httponly=True, samesite="strict", path="/")
        return answer

    return routes
