"""Who may come in from the network: a one-time code, exchanged for a session.

Gives: Door. The code is printed in the terminal (text and QR) and lets one device in; the terminal then prints the next
one. A session is a random token in a cookie that scripts cannot read. Neither stands in a URL that the server is sent.
Wrong codes withdraw nothing, or a neighbour could keep the owner out: they are counted by address, and each further
answer to that address comes later. At 31^8 codes and 100 tries a second for ten minutes a guess is one in 14 million.
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
_FREE_TRIES = 5  # wrong codes of one address whose answer does not wait
_FIRST_WAIT, _MOST_WAIT = 0.25, 3.0  # s, doubled with each further wrong code
_FORGET = 600.0  # s after the last wrong code of an address
_MOST_ADDRESSES = 1000
_MOST_SESSIONS = 32
_BETWEEN_CODES = 30.0  # s: who types nonsense does not flood the terminal


class Door:
    """Keeps the one-time code and the sessions; `open` is True when nothing needs to be shown (loopback only)."""

    def __init__(self, open_to_all: bool, clock: Callable[[], float] = time.monotonic) -> None:
        """Make a door; `open_to_all` for a page that only this machine can reach."""
        self.open_to_all = open_to_all
        self._clock = clock
        self._sessions: dict[str, float] = {}
        self._code, self._code_until = "", 0.0
        self._made = float("-inf")
        self._wrong: dict[str, tuple[int, float]] = {}  # address -> wrong codes, when the last one came

    def new_code(self) -> str:
        """Make a new one-time code; the old one is withdrawn."""
        self._code = "".join(secrets.choice(_LETTERS) for _ in range(_CODE_LENGTH))
        self._made = self._clock()
        self._code_until = self._made + _CODE_LIFE
        return self._code

    def enter(self, typed: str, address: str = "") -> str | None:
        """Exchange the code for a session token; None when it is wrong, old or used up. The code is gone afterwards."""
        wanted, given = self._code, "".join(typed.split()).replace("-", "").upper()
        if not wanted or self._clock() > self._code_until:
            self._count(address)
            return None
        if not hmac.compare_digest(wanted.encode(), given.encode("utf-8", "replace")):
            self._count(address)
            return None
        self._code = ""
        self._wrong.pop(address, None)
        token = secrets.token_urlsafe(32)
        self._drop_old()
        self._sessions[token] = self._clock() + _SESSION_LIFE
        return token

    def wait(self, address: str) -> float:
        """How long the answer to the next code of this address waits, right or wrong. [s]"""
        count, last = self._wrong.get(address, (0, 0.0))
        if count < _FREE_TRIES or self._clock() - last > _FORGET:
            return 0.0
        return min(_FIRST_WAIT * 2.0 ** min(count - _FREE_TRIES, 10), _MOST_WAIT)

    def _count(self, address: str) -> None:
        now = self._clock()
        count, last = self._wrong.pop(address, (0, now))
        self._wrong[address] = (count + 1 if now - last <= _FORGET else 1, now)
        if len(self._wrong) > _MOST_ADDRESSES:
            self._wrong.pop(next(iter(self._wrong)))

    @property
    def wants_code(self) -> bool:
        """True when no code holds any more (old, or used) and the last one was not made just now."""
        now = self._clock()
        return (not self._code or now > self._code_until) and now - self._made >= _BETWEEN_CODES

    def lets_in(self, token: str | None) -> bool:
        """True when the token is that of a living session, or nobody is asked."""
        return self.open_to_all or self.knows(token)

    def knows(self, token: str | None) -> bool:
        """True when the token is that of a living session."""
        return token is not None and self._sessions.get(token, -1.0) > self._clock()

    def _drop_old(self) -> None:
        now = self._clock()
        living = {token: until for token, until in self._sessions.items() if until > now}
        while len(living) >= _MOST_SESSIONS:
            living.pop(min(living, key=lambda token: living[token]))
        self._sessions = living
