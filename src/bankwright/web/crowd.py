"""Who may hold how many connections, and for how long without asking anything: one neighbour does not keep out others.

Gives: Crowd, connection_of(). A connection that sends no whole request within HEADER seconds, or no whole body within
BODY, is dropped. One address holds at most EACH; when that, or the whole, is full, the connection that has waited
longest makes room, so that a new one comes in. Accepting more than the system has handles for is told once a minute.
Limits: what a request may ask is the guard's matter. Times and numbers: own choice, no source.
"""

from __future__ import annotations

import asyncio
import sys
import time
from collections.abc import Callable
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

__all__ = ["BACKLOG", "Crowd", "connection_of"]

HEADER, BODY = 10.0, 120.0  # s: for a request's head, for 16 MB over a slow network
EACH, ALL = 48, 400  # connections of one address, and of all
SPARE = 96  # handles that the program needs for itself
BACKLOG = 32  # accepted in one go: none of them is counted before the next go
_LOOK, _QUIET = 1.0, 60.0  # s between looks for slow ones, between two words of one kind


def _handles() -> int:
    """How many handles the system lets this program hold, after asking for more."""
    try:
        import resource

        soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
        wanted = ALL + SPARE if hard == resource.RLIM_INFINITY else min(ALL + SPARE, hard)
        if soft != resource.RLIM_INFINITY and soft < wanted:
            resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, hard))
            soft = wanted
        return ALL + SPARE if soft == resource.RLIM_INFINITY else soft
    except (ImportError, OSError, ValueError):
        return ALL + SPARE


class Crowd:
    """All connections of a server."""

    def __init__(self, clock: Callable[[], float] = time.monotonic, most: int | None = None, each: int = EACH) -> None:
        """Prepare; `most` is otherwise what the system has handles for."""
        self.clock, self.each = clock, each
        self.most = most if most is not None else max(min(ALL, _handles() - SPARE), 8)
        self._members: dict[Member, None] = {}  # in the order they came
        self._sweeping = False
        self._told = float("-inf")

    def admit(self, member: Member) -> bool:
        """Take a connection in; another makes room where there is none. False: nobody can."""
        own = [one for one in self._members if one.address == member.address]
        if len(own) >= self.each and not _drop_one(own):
            return False
        if len(self._members) >= self.most and not _drop_one(self._heaviest()):
            return False
        self._members[member] = None
        self._sweep_soon(member.loop)
        return True

    def leave(self, member: Member) -> None:
        """A connection is gone."""
        self._members.pop(member, None)

    def _heaviest(self) -> list[Member]:
        by: dict[str, list[Member]] = {}
        for one in self._members:
            by.setdefault(one.address, []).append(one)
        return max(by.values(), key=len)

    def _sweep_soon(self, loop: asyncio.AbstractEventLoop) -> None:
        if not self._sweeping:
            self._sweeping = True
            loop.call_later(_LOOK, self._sweep, loop)

    def _sweep(self, loop: asyncio.AbstractEventLoop) -> None:
        self._sweeping = False
        now = self.clock()
        for one in list(self._members):
            most = {"waiting": HEADER, "sending": BODY}.get(one.phase)
            if most is not None and now - one.since > most:
                one.drop()
        if self._members:
            self._sweep_soon(loop)

    def complain(self, loop: asyncio.AbstractEventLoop, context: dict[str, Any]) -> None:
        """Say once a minute that no connection can be taken; everything else as the loop says it."""
        if isinstance(context.get("exception"), OSError) and "accept" in str(context.get("message", "")):
            if self.clock() - self._told >= _QUIET:
                self._told = self.clock()
                print("More connections ask than this system has handles for; some wait.", file=sys.stderr)
            return
        loop.default_exception_handler(context)


def _drop_one(members: list[Member]) -> bool:
    """Drop the one that waits longest, then the one that sends longest; False when all are being answered."""
    for phase in ("waiting", "sending"):
        found = [one for one in members if one.phase == phase]
        if found:
            min(found, key=lambda one: one.since).drop()
            return True
    return False


class Member(H11Protocol):
    """One connection of a crowd."""

    crowd: Crowd
    address = ""
    phase, since = "waiting", 0.0

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Come in, or be sent away."""
        super().connection_made(transport)
        self.address = self.client[0] if self.client else "?"
        self.since = self.crowd.clock()
        if not self.crowd.admit(self):
            transport.abort()

    def connection_lost(self, exc: Exception | None) -> None:
        """Leave."""
        self.crowd.leave(self)
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Take bytes; a head that becomes whole, or a body, begins another phase."""
        super().data_received(data)
        self._look()

    def on_response_complete(self) -> None:
        """Begin to wait for the next request."""
        super().on_response_complete()
        self._look()

    def drop(self) -> None:
        """Close at once."""
        self.crowd.leave(self)
        self.transport.abort()

    def _look(self) -> None:
        if self.cycle is None or self.cycle.response_complete:
            phase = "waiting"
        else:
            phase = "sending" if self.conn.their_state is h11.SEND_BODY else "answering"
        if phase != self.phase:
            self.phase, self.since = phase, self.crowd.clock()


def connection_of(crowd: Crowd) -> type[H11Protocol]:
    """The kind of connection that belongs to a crowd, for the server."""
    return type("Connection", (Member,), {"crowd": crowd})
