"""Who asks a broker, and how the connection is kept from others.

Gives: Login. Limits: where the password comes from is mqtt/of_bank.py's matter; it is never printed.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Login"]


@dataclass(frozen=True, slots=True)
class Login:
    """User, password, and files of TLS."""

    user: str | None = None
    password: str | None = None
    tls: bool = False
    ca: str | None = None  # files
    certificate: str | None = None
    key: str | None = None

    def __repr__(self) -> str:
        """Never the password."""
        return f"Login(user={self.user!r}, tls={self.tls})"
