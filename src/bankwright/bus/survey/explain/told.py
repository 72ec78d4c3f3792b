"""One explanation: what was observed, how sure the conclusion is, and the one test to make next.

Gives: Explanation, Sure, named(), listing(), ohms_expected(). Serves the rooms beside it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from bankwright.bus.survey.facts import Expected, Facts
from bankwright.forms.wording import Figure, Say, amount_text
from bankwright.physics.data_line import pair_resistance

__all__ = ["Explanation", "Sure", "counted", "listing", "meter_test", "named", "ohms_expected"]

Sure = Literal["certain", "nearly certain", "likely", "possible"]


@dataclass(frozen=True, slots=True)
class Explanation:
    """What one thing on the line means."""

    code: str  # stable: "BUS-DOUBLED"
    title: str
    verdict: Literal["pass", "caution", "fail", "unknown"]
    at: tuple[str, ...]  # modules, masters, or nothing for the whole line
    observed: Say
    sure: Sure
    why: str  # of how sure
    test: Say | None = None  # the one to make next


def listing(words: Iterable[str]) -> str:
    """`M1, M2 and M3`."""
    found = list(words)
    return found[0] if len(found) == 1 else f"{', '.join(found[:-1])} and {found[-1]}" if found else "none"


def counted(number: int, word: str) -> str:
    """`1 value`, `3 values`."""
    return f"{number} {word}{'' if number == 1 else 's'}"


def named(facts: Facts, unit: int) -> str:
    """The module planned at an address, or the address."""
    return facts.expected.names.get(unit, f"address {unit}")


def ohms_expected(expected: Expected) -> Say:
    """What a meter should show between the two data wires with everything off."""
    if expected.terminators is None:
        two = pair_resistance(2, expected.terminator_ohm)
        return Say("{two} with two terminators", {"two": Figure(two, "resistance")})
    ohm = pair_resistance(expected.terminators, expected.terminator_ohm)
    if math.isinf(ohm):
        return Say("several kΩ or more: no terminator is switched on")
    count = "one terminator" if expected.terminators == 1 else f"{expected.terminators} terminators"
    return Say("{ohm} with {count}", {"ohm": Figure(ohm, "resistance"), "count": count})


def meter_test(expected: Expected, then: str) -> Say:
    """The ohmmeter with power off, and what to do after it."""
    words = (
        "Switch all modules and the adapter off. At the computer's end, measure the resistance between the two data "
        f"wires: expect {{ohms}}. About 0 {amount_text(1, 'resistance')[-1]} is a short, far more is a broken wire or "
        f"a plug that is out. {then}"
    )
    return Say(words, {"ohms": ohms_expected(expected).text()})
