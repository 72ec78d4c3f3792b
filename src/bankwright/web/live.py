"""A stream of what changed on disk: the bank file, the logbook. Pages listen and ask anew.

Gives: router(): /live, as text/event-stream with events `bank` and `log`.
Limits: says that something changed, never what; a page that hears nothing works the same, only later.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import StreamingResponse

from bankwright.web.desk import Desk

__all__ = ["router"]

LOOK, STILL = 0.5, 15.0  # s between looks, and between signs of life


def router(desk: Desk) -> APIRouter:
    """Routes of the stream."""
    routes = APIRouter(include_in_schema=False)

    @routes.get("/live")
    async def live(request: Request, digest: Annotated[str | None, Query(max_length=64)] = None) -> StreamingResponse:
        """Changes from now on; with the digest of a page also the one that came before it listened."""
        return StreamingResponse(_changes(desk, request, digest), media_type="text/event-stream")

    return routes


async def _changes(desk: Desk, request: Request, digest: str | None) -> AsyncIterator[str]:
    seen = desk.signature()
    yield "retry: 3000\n\n"
    now_there = await asyncio.to_thread(lambda: desk.look().digest)
    if digest is not None and digest != now_there:
        yield f"event: bank\ndata: {now_there}\n\n"
    still = 0.0
    while not request.app.state.stopping() and not await request.is_disconnected():
        await asyncio.sleep(LOOK)
        now, still = desk.signature(), still + LOOK
        for name, was, new in (("bank", seen[0], now[0]), ("log", seen[1], now[1])):
            if was != new:
                digest = await asyncio.to_thread(lambda: desk.look().digest) if name == "bank" else "-"
                yield f"event: {name}\ndata: {digest}\n\n"
                still = 0.0
        seen = now
        if still >= STILL:
            yield ": still here\n\n"
            still = 0.0
