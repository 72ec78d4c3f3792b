"""Readings that would fit better exchanged: two names were mixed up, or the leads were on the wrong module.

Gives: exchanged(). Two witnesses: the volts of an earlier occasion in the logbook, and the modules' own displays.
Limits: a suspicion, never a proof; where nothing else is known of the modules nothing can be suspected.
Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

from bankwright.bank.asks import asking
from bankwright.forms.finding import Finding
from bankwright.forms.wording import Figure, say
from bankwright.match import cards
from bankwright.match.charge_range import ChargeRange
from bankwright.match.entry import ModuleReading

__all__ = ["exchanged"]

NEAR = 0.03  # V between a reading and the earlier one that it would fit; common practice, no source
APART = 3.0  # times that, between the two modules; common practice, no source


def exchanged(readings: Sequence[ModuleReading], ranges: Sequence[ChargeRange]) -> Iterator[Finding]:
    """One finding a pair that agrees with what is known only when it is exchanged."""
    by_name = {found.module: found for found in ranges}
    taken: set[str] = set()
    for a, b in combinations(readings, 2):
        if {a.module, b.module} & taken:
            continue
        why = _by_volts(a, b) or _by_display(a, b, by_name)
        if why:
            taken |= {a.module, b.module}
            yield _finding(a, b, why)


def _by_volts(a: ModuleReading, b: ModuleReading) -> str:
    """Does each fit the other's voltage of an earlier occasion, and not its own."""
    if a.before is None or b.before is None:
        return ""
    near = NEAR + a.digit + b.digit
    crossed = abs(a.voltage - b.before) <= near and abs(b.voltage - a.before) <= near
    if not crossed or abs(a.before - b.before) <= APART * near:
        return ""
    return f"before, {a.module} read {a.before:.2f} V and {b.module} {b.before:.2f} V"


def _by_display(a: ModuleReading, b: ModuleReading, ranges: dict[str, ChargeRange]) -> str:
    """Does each display fit the range of the other's reading, and not that of its own."""
    if a.soc is None or b.soc is None:
        return ""
    of_a, of_b = ranges[a.module], ranges[b.module]
    crossed = of_b.low <= a.soc <= of_b.high and of_a.low <= b.soc <= of_a.high
    wrong = not of_a.low <= a.soc <= of_a.high and not of_b.low <= b.soc <= of_b.high
    if not (crossed and wrong):
        return ""
    return f"the display of {a.module} says {100 * a.soc:.0f} %, that of {b.module} {100 * b.soc:.0f} %"


def _finding(a: ModuleReading, b: ModuleReading, why: str) -> Finding:
    how = f"Read {a.module} and {b.module} again, one after the other, and look at the name on each."
    words = "{a} reads {volts_a} and {b} {volts_b}; {why}: exchanged, they would fit"
    text = say(
        words, a=a.module, b=b.module, volts_a=Figure(a.voltage, "voltage"), volts_b=Figure(b.voltage, "voltage"),
        why=why,
    )  # fmt: skip
    return cards.EXCHANGED.found(
        (a.module,),
        None,
        (None, None),
        text,
        say("Join nothing before it is clear which reading is whose."),
        missing=(asking(f"readings.{a.module}.voltage", how), asking(f"readings.{b.module}.voltage", how)),
        more=(b.module,),
    )
