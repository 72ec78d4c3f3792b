"""What the bank file says of Watch, unfolded: limits of alarms that go before the usual ones, and who is told.

Gives: Watch, Broker, Mail. Limits: what is not given is None or empty; what an alarm is, is watch/alarms' matter.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Broker", "Mail", "Watch"]


@dataclass(frozen=True, slots=True)
class Broker:
    """A message broker (MQTT) that alarms are published on, under one topic root."""

    host: str
    port: int = 1883
    root: str = "bankwright"
    reads: tuple[str, ...] = ()  # topics that something here is read from
    user: str | None = None
    password_in: str | None = None  # name of the variable of the environment


@dataclass(frozen=True, slots=True)
class Mail:
    """A mail server, and from whom to whom."""

    server: str
    sender: str
    to: tuple[str, ...]
    port: int = 587
    encrypted: bool = True
    user: str | None = None
    password_in: str | None = None


@dataclass(frozen=True, slots=True)
class Watch:
    """Limits in SI; None: the usual one out of data sheet and handbook."""

    hold: float | None = None  # s
    cell_high: float | None = None  # V
    cell_low: float | None = None
    cell_spread: float | None = None  # V, at rest on the plateau
    cell_spread_ends: float | None = None  # V, near full and near empty
    temperature_high_degc: float | None = None
    temperature_low_degc: float | None = None
    share_off: float | None = None
    silence: float | None = None  # s
    week: int | None = None  # minute of the week, from Monday 00:00 on, from which the week is told; None: never
    messages: int | None = None  # an hour, each way
    broker: Broker | None = None
    post: str | None = None  # address that a document is posted to
    mail: Mail | None = None
    command: tuple[str, ...] = ()
    metrics: str | None = None  # host:port
