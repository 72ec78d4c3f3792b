"""The guard before every request: host, origin, session, size and rate; strict headers after it.

Gives: Guard, an ASGI layer. A page elsewhere cannot post here (Origin and Sec-Fetch-Site), a foreign name that points
here is refused (Host, against DNS rebinding), bodies are bounded while they stream in, who asks too often waits.
Sources: RFC 9110, 7.2 (Host); RFC 6454 (Origin); Fetch Metadata Request Headers and Content Security Policy Level 3,
W3C working drafts [all from memory].
"""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import Awaitable, Callable, Iterable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from typing import Any

from fastapi import HTTPException

from bankwright.forms.faults import Fault
from bankwright.job.documents import faults_document
from bankwright.web.door import COOKIE, Door

__all__ = ["HEADERS", "Guard", "PayloadTooLarge"]

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

MOST_BODY = 1 << 20  # bytes: a bank file, a form
MOST_PHOTO = 16 << 20  # bytes: one photo from a phone
MOST_PARCEL = 512 << 20  # bytes: a bank with logbook and photos as one file
_RATE, _BURST = 40.0, 200.0  # requests a second and at once, for each client
_LATE = 0.5  # s that a request over the rate waits at the door
_SAFE = ("GET", "HEAD", "OPTIONS")
_DOOR, _STATIC = "/enter", "/static/"  # reachable without a session

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'; manifest-src 'self'; worker-src 'self'"
)
HEADERS: tuple[tuple[bytes, bytes], ...] = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"geolocation=(), microphone=(), payment=()"),
)


class PayloadTooLarge(HTTPException):
    """A body grew past its bound while it was read: of a kind that the application does not take for its own error."""

    def __init__(self, most: int) -> None:
        """Say the bound."""
        super().__init__(413, _most_words(most))


class _Bucket:
    __slots__ = ("level", "when")

    def __init__(self, when: float) -> None:
        self.level, self.when = _BURST, when


class Guard:
    """An ASGI layer around the application."""

    def __init__(
        self,
        app: App,
        door: Door,
        hosts: Iterable[str],
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        """Guard `app`; `hosts` are the only values of Host that are answered, each with its port."""
        self.app, self.door, self.hosts, self._clock = app, door, frozenset(hosts), clock
        self._buckets: dict[str, _Bucket] = {}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or refuse it with the one fault shape."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return  # no websockets here
        refusal = self._refusal(scope)
        if refusal is not None:
            await _refuse(scope, send, *refusal)
            return
        if scope["late"]:
            await asyncio.sleep(_LATE)
        most = _most(scope["path"])
        await self._through(scope, receive, send, most)

    def _refusal(self, scope: Scope) -> tuple[int, str, str] | None:
        headers = _headers(scope)
        if headers.get("host", "") not in self.hosts:
            return 421, "host", "This page answers only under the address that the terminal printed."
        free = scope["path"] == _DOOR or scope["path"].startswith(_STATIC)
        in_time = self._within_rate(scope, headers)
        if not in_time and not (free and not self.door.open_to_all):
            return 429, "rate", "Too many requests at once. Wait a second."
        if scope["method"] not in _SAFE and not self._same_origin(headers):
            return 403, "origin", "This request came from another page. Nothing was changed."
        length = headers.get("content-length", "0")
        most = _most(scope["path"])
        if not length.isdecimal() or int(length) > most:
            return 413, "size", _most_words(most)
        scope["late"] = not in_time  # at the door: whoever shares an address with a nuisance waits, and comes in
        if not free and not self.door.lets_in(_token(headers)):
            return 401, "session", "Type the code that the terminal shows, at /enter."
        return None

    def _same_origin(self, headers: dict[str, str]) -> bool:
        site = headers.get("sec-fetch-site")
        if site is not None and site not in ("same-origin", "none"):
            return False
        origin = headers.get("origin")
        if origin is None:
            return site == "same-origin" or "x-bankwright" in headers  # a form elsewhere cannot set this header
        return origin.startswith("http://") and origin.removeprefix("http://") in self.hosts

    def _within_rate(self, scope: Scope, headers: dict[str, str]) -> bool:
        """Who holds a session is counted by it, so that a neighbour behind the same address takes nothing from them."""
        token = _token(headers)
        client = f"session {token}" if self.door.knows(token) else (scope.get("client") or ("?", 0))[0]
        now = self._clock()
        if len(self._buckets) > 1000:
            self._buckets = {}
        bucket = self._buckets.setdefault(client, _Bucket(now))
        bucket.level = min(_BURST, bucket.level + (now - bucket.when) * _RATE)
        bucket.when = now
        if bucket.level < 1.0:
            return False
        bucket.level -= 1.0
        return True

    async def _through(self, scope: Scope, receive: Receive, send: Send, most: int) -> None:
        taken, begun = 0, False

        async def counted() -> MutableMapping[str, Any]:
            nonlocal taken
            message = await receive()
            taken += len(message.get("body", b"")) if message["type"] == "http.request" else 0
            if taken > most:
                raise PayloadTooLarge(most)
            return message

        async def with_headers(message: MutableMapping[str, Any]) -> None:
            nonlocal begun
            if message["type"] == "http.response.start":
                begun = True
                message["headers"] = [*message.get("headers", []), *HEADERS]
                names = {name.lower() for name, _ in message["headers"]}
                if b"cache-control" not in names:
                    message["headers"].append((b"cache-control", b"no-store"))
            await send(message)

        try:
            await self.app(scope, counted, with_headers)
        except PayloadTooLarge:
            if begun:
                raise
            await _refuse(scope, send, 413, "size", _most_words(most))


def _most_words(most: int) -> str:
    return f"At most {most // 1024} KiB are taken here."


def _headers(scope: Scope) -> dict[str, str]:
    return {name.decode("latin-1").lower(): value.decode("latin-1") for name, value in scope["headers"]}


def _token(headers: dict[str, str]) -> str | None:
    try:
        found = SimpleCookie(headers.get("cookie", "")).get(COOKIE)
    except CookieError:
        return None
    return found.value if found else None


async def _refuse(scope: Scope, send: Send, status: int, code: str, words: str) -> None:
    """Answer with one fault; a browser that asked for a page without a session is sent to the door."""
    wants_page = b"text/html" in dict(scope["headers"]).get(b"accept", b"")
    if code == "session" and wants_page and scope["method"] == "GET":
        head = [(b"location", b"/enter"), (b"content-length", b"0"), *HEADERS]
        await send({"type": "http.response.start", "status": 303, "headers": head})
        await send({"type": "http.response.body", "body": b""})
        return
    body = json.dumps(faults_document([Fault("", code, words)])).encode()
    head = [(b"content-type", b"application/json"), (b"content-length", str(len(body)).encode()), *HEADERS]
    await send({"type": "http.response.start", "status": status, "headers": head})
    await send({"type": "http.response.body", "body": body})


def _most(path: str) -> int:
    """Bytes that a request to a path may bring."""
    if path.endswith("/photo"):
        return MOST_PHOTO
    return MOST_PARCEL if path == "/this/open" else MOST_BODY
