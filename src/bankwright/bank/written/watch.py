"""Watch as written: limits of alarms, and the ways out.

Gives: WatchW, BrokerW, MailW, minute_of_week(). Pydantic, strict.
Limits: rules that join keys are in bank/rules/watch; a password never stands in the file, but in a variable of the
environment that the file names.
"""

from __future__ import annotations

import re
from typing import Annotated

from pydantic import Field

from bankwright.bank.written.parts import Degrees, Seconds, Volt
from bankwright.bank.written.values import Count, Form, Names, Strict, Text, Texts, YesNo, amount

__all__ = ["BrokerW", "MailW", "WatchW", "minute_of_week"]

_DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_MOMENT = re.compile(r"([A-Za-z]+) ([0-9]{1,2}):([0-9]{2})")

PortNumber = Annotated[int, Field(ge=1, le=65535), Form("whole number", "1883")]
Spread = Annotated[float, amount("cell_spread")]
Part = Annotated[float, amount("share")]


def minute_of_week(text: str) -> int | None:
    """Minutes from Monday 00:00 to a moment written as "Monday 08:00"; None where it is none."""
    found = _MOMENT.fullmatch(text.strip())
    if found is None or found[1].lower() not in _DAYS or int(found[2]) > 23 or int(found[3]) > 59:
        return None
    return _DAYS.index(found[1].lower()) * 1440 + int(found[2]) * 60 + int(found[3])


class BrokerW(Strict):
    """A message broker (MQTT) on which alarms are published as plain JSON, retained never."""

    host: Text = Field(description="Name or address of the broker.")
    port: PortNumber = Field(1883, description="Its port.")
    root: Text = Field("bankwright", description="Topic root that everything of ours stands under.")
    reads: Texts = Field([], description="Topics that anything here is read from; the root must keep clear of them.")
    user: Text | None = Field(None, description="User name.")
    password_in: Text | None = Field(None, description="Variable of the environment that holds the password.")


class MailW(Strict):
    """A mail server, and from whom to whom."""

    server: Text = Field(description="Name or address of the server.")
    port: PortNumber = Field(587, description="Its port.")
    encrypted: YesNo = Field(True, description="STARTTLS; false only for a server on this machine.")
    sender: Text = Field(alias="from", description="Address of the sender.")
    to: Names = Field(description="Who gets it.")
    user: Text | None = Field(None, description="User name.")
    password_in: Text | None = Field(None, description="Variable of the environment that holds the password.")


class WatchW(Strict):
    """Limits that go before the usual ones, never looser than the maker's; who is told of an alarm."""

    hold: Seconds | None = Field(None, description="How long a value must stand beyond its limit; not written: 30 s.")
    cell_high: Volt | None = Field(None, description="Highest cell voltage.")
    cell_low: Volt | None = Field(None, description="Lowest cell voltage.")
    cell_spread: Spread | None = Field(None, description="Cell spread at rest on the plateau.")
    cell_spread_ends: Spread | None = Field(None, description="Cell spread near full and near empty.")
    temperature_high: Degrees | None = Field(None, description="Highest temperature of a module.")
    temperature_low: Degrees | None = Field(None, description="Lowest temperature of a module.")
    share_off: Part | None = Field(None, description="Part of the mean that a module's current may be off.")
    silence: Seconds | None = Field(None, description="How long a module may be silent.")
    week: Text | None = Field(None, description='When the listener tells the week: "Monday 08:00"; not written: never.')
    messages: Count | None = Field(None, description="Most messages an hour, each way; not written: 12.")
    mqtt: BrokerW | None = Field(None, description="Tell a message broker.")
    post: Text | None = Field(None, description="Address that one document is posted to for each alarm.")
    mail: MailW | None = Field(None, description="Tell by mail.")
    command: Texts | None = Field(
        None, description="A program and its words, to tell somebody; not to switch anything."
    )
    metrics: Text | None = Field(None, description='Where figures can be fetched: "127.0.0.1:9480".')
