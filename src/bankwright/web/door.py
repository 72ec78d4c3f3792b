"""Who may come in from the network: a one-time code, exchanged for a session.

Gives: Door. The code is printed in the terminal (text and QR) and lets one device in; the terminal then prints the next
one. A session is a random token in a cookie that scripts cannot read. Neither stands in a URL that the server is sent.
Limits: no user names, no rights; whoever holds a session may do what the page can do.
"""

from __future__ import annotations

import hmac
import secrets
import time
from collections.abc import Callable

__all__ = ["COOKIE", "Door"]

COOKIE = "bankwright_session"
_LETTERS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"  # no 0 O 1 I L: typed with gloves
_CODE_LENGTH = 8
_CODE_LIFE = 600.0  # s
_SESSION_LIFE = 12 * 3600.0  # s: a working day
_MOST_TRIES = 10  # wrong codes before the code is withdrawn
_MOST_SESSIONS = 32
_BETWEEN_CODES = 30.0  # s: who types nonsense withdraws codes, but neither shuts the door nor floods the terminal


class Door:
    """Keeps the one-time code and the sessions; `open` is True when nothing needs to be shown (loopback only)."""

    def __init__(self, open_to_all: bool, clock: Callable[[], float] = time.monotonic) -> None:
        """Make a door; `open_to_all` for a page that only this machine can reach."""
        self.open_to_all = open_to_all
        self._clock = clock
        self._sessions: dict[str, float] = {}
        self._code, self._code_until, self._tries = "", 0.0, 0
        self._made = float("-inf")

    def new_code(self) -> str:
        """Make a new one-time code; the old one is withdrawn."""
        self._code = "".join(secrets.choice(_LETTERS) for _ in range(_CODE_LENGTH))
        self._made = self._clock()
        self._code_until, self._tries = self._made + _CODE_LIFE, 0
        return self._code

    def enter(self, typed: str) -> str | None:
        """Exchange the code for a session token; None when it is wrong, old or used up. The code is gone afterwards."""
        wanted, given = self._code, "".join(typed.split()).replace("-", "").upper()
        if not wanted or self._clock() > self._code_until:
            return None
        if not hmac.compare_digest(wanted.encode(), given.encode("utf-8", "replace")):
            self._tries += 1
            if self._tries >= _MOST_TRIES:
                self._code = ""
            return None
        self._code = ""
        token = secrets.token_urlsafe(32)
        self._drop_old()
        self._sessions[token] = self._clock() + _SESSION_LIFE
        return token

    @property
    def wants_code(self) -> bool:
        """True when no code holds any more (old, or withdrawn) and the last one was not made just now."""
        now = self._clock()
        return (not self._code or now > self._code_until) and now - self._made >= _BETWEEN_CODES

    def lets_in(self, token: str | None) -> bool:
        """True when the token is that of a living session, or nobody is asked."""
        if self.open_to_all:
            return True
        return token is not None and self._sessions.get(token, -1.0) > self._clock()

    def _drop_old(self) -> None:
        now = self._clock()
        living = {token: until for token, until in self._sessions.items() if until > now}
        while len(living) >= _MOST_SESSIONS:
            living.pop(min(living, key=lambda token: living[token]))
        self._sessions = living
