"""Match for those who write Python: readings as texts, the answer as one object.

Gives: reading(), match(). The same road as the command line: everything is parsed, all faults come together.
Limits: nothing is kept in a logbook here; match/collect.keep does that.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bankwright.bank.model import Bank
from bankwright.match.collect import Typed, collected
from bankwright.match.timed import tools_of
from bankwright.match.verdicts import Match, match_of

__all__ = ["ReadingText", "match", "reading"]


@dataclass(frozen=True, slots=True)
class ReadingText:
    """What was read at one module, as one would say it."""

    module: str
    voltage: str
    rested: str | None = None
    temperature: str | None = None
    last: str | None = None
    soc: str | None = None


def reading(
    module: str,
    voltage: str,
    *,
    rested: str | None = None,
    temperature: str | None = None,
    last: str | None = None,
    soc: str | None = None,
) -> ReadingText:
    """Name a module and what was read: `reading("M1", "52.6 V", rested="6 h", temperature="15 degC")`."""
    return ReadingText(module, voltage, rested, temperature, last, soc)


def match(
    bank: Bank,
    readings: Sequence[ReadingText],
    meter: str | None = None,
    *,
    charger: str | None = None,
    resistor: str | None = None,
    cycle: bool | None = None,
) -> Match:
    """Judge readings: `.may_join` and `.equally_charged`, the findings behind each, `.order`, `.plans`."""
    columns = {
        name: tuple(f"{r.module}={getattr(r, name)}" for r in readings if getattr(r, name) is not None)
        for name in ("voltage", "rested", "temperature", "last", "soc")
    }
    typed = Typed(columns["voltage"], columns["rested"], columns["temperature"], columns["last"], columns["soc"], meter)
    return match_of(bank, collected(bank, typed), tools=tools_of(charger, resistor), cycle=cycle)
