"""A bus that is only listened to, as the bank file describes it: a CAN bus's bit rate, length, terminators; a broker.

Gives: Remark (one thing about a data line), can_remarks(), broker_remarks(). data_line.py puts them with what every
line has.
Limits: what is not in the file is a remark that names the key; nothing is heard here.
Sources: 120 ohm at both ends: ISO 11898-2, from memory; longest line by bit rate: CiA 301, table of recommended bit
rates, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from bankwright.bank.model_bus import Bus
from bankwright.forms.wording import Figure, Say

__all__ = ["Remark", "broker_remarks", "can_remarks"]

LONGEST = ((1e6, 25.0), (800e3, 50.0), (500e3, 100.0), (250e3, 250.0), (125e3, 500.0), (50e3, 1000.0))  # bit/s, m


@dataclass(frozen=True, slots=True)
class Remark:
    """One thing about the line: right, wrong, or not given."""

    verdict: Literal["pass", "caution", "fail", "unknown"]
    says: Say
    key: str  # of the bank file


def can_remarks(
    bit_rate: float | None, length: float | None, terminators: tuple[str, ...] | None, order: tuple[str, ...]
) -> Iterator[Remark]:
    """What is to be said of it. `bit_rate` in bit/s, `length` in m."""
    yield from _rate(bit_rate, length)
    yield from _ends(terminators, order)


def _rate(bit_rate: float | None, length: float | None) -> Iterator[Remark]:
    if bit_rate is None:
        says = Say("The bit rate is not given: the manual says it, and at a wrong one nothing is heard at all.")
        yield Remark("unknown", says, "bus.can.bit_rate")
    else:
        says = Say("CAN at {rate}; only listened to.", {"rate": Figure(bit_rate, "bit_rate")})
        yield Remark("pass", says, "bus.can.bit_rate")
    if length is None:
        yield Remark("unknown", Say("The line: its length is not given."), "bus.length")
    elif bit_rate is not None:
        most = next((metres for rate, metres in LONGEST if bit_rate >= rate), LONGEST[-1][1])
        says = Say(
            "The line is {value} long; {most} is the most at this bit rate.",
            {"value": Figure(length, "length"), "most": Figure(most, "length")},
        )
        yield Remark("pass" if length <= most else "fail", says, "bus.length")


def _ends(terminators: tuple[str, ...] | None, order: tuple[str, ...]) -> Iterator[Remark]:
    key = "bus.terminators"
    if terminators is None:
        says = Say("Which terminators are switched on is not given: the meter test below tells.")
        yield Remark("unknown", says, key)
        return
    ends = {"computer", "end", *order[-1:]}
    inside = [name for name in terminators if name not in ends]
    if len(terminators) > 2:
        yield Remark("fail", Say(f"{len(terminators)} terminators are on: switch off all but those at the ends."), key)
    elif inside or ("end" in terminators and order and order[-1] in terminators):
        yield Remark("fail", Say("A terminator inside the line: they belong to the two ends only."), key)
    elif len(terminators) == 2:
        yield Remark("pass", Say("Two terminators, one at each end."), key)
    else:
        count = "One terminator" if terminators else "No terminator"
        yield Remark("caution", Say(f"{count}: CAN wants one at each end, also on a short line."), key)


def broker_remarks(line: Bus) -> Iterator[Remark]:
    """Who else can hear the password, and what the broker's readers see."""
    own = line.mqtt
    if own.tls:
        yield Remark("pass", Say("The broker's certificate is checked, and what is said is encrypted."), "bus.mqtt.tls")
    elif own.user is not None and (line.host or "").partition(":")[0] not in ("127.0.0.1", "localhost"):
        says = Say("The password goes over the network as it is: tls = true keeps it from others in the house.")
        yield Remark("caution", says, "bus.mqtt.tls")
    else:
        yield Remark("pass", Say("Not encrypted, and no password that others could hear."), "bus.mqtt.tls")
