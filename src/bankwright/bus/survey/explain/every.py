"""All explanations of a survey, worst first.

Gives: explain(), RULES. Limits: what no rule explains is told as it was heard: BUS-UNCLEAR.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bus.survey.explain import clean, line, messages, modules, rounds, sunspec, values
from bankwright.bus.survey.explain.told import Explanation
from bankwright.bus.survey.facts import Facts
from bankwright.forms.wording import Say

__all__ = ["RULES", "explain"]

RULES = (*line.RULES, *modules.RULES, *clean.RULES, *values.RULES, *messages.RULES, *sunspec.RULES, *rounds.RULES)
_ORDER = {"fail": 0, "unknown": 1, "caution": 2, "pass": 3}
_SIDE = frozenset({"BUS-ENDS", "BUS-EARTH", "BUS-HELD", "BUS-ECHO"})  # true beside any other trouble


def explain(facts: Facts) -> tuple[Explanation, ...]:
    """What was heard, explained; worst first, in each verdict what concerns the line before the modules."""
    found = [each for rule in RULES for each in rule(facts)]
    if facts.silent and not any(each.code not in _SIDE for each in found):
        found += list(_unclear(facts))
    return tuple(sorted(found, key=lambda each: (_ORDER[each.verdict], each.code in _SIDE)))


def _unclear(facts: Facts) -> Iterator[Explanation]:
    heard = facts.before.got.data + b"".join(e.got.data for a in facts.asked.values() for e in a.tries)
    marked = sum(bool(mark) for mark in facts.before.got.marks)
    observed = Say(
        f"{len(heard)} characters were heard and none belongs to a whole frame; {marked} were marked as bad. "
        f"The first: {heard[:16].hex(' ')}."
    )
    test = Say(
        "Swap the two data wires at the adapter and survey again: a swapped pair turns every character into another "
        "at any speed, and a swap harms nothing."
    )
    why = "a swapped pair, a speed that was not tried and noise are left"
    title = "Something is heard, and nothing understood"
    yield Explanation("BUS-UNCLEAR", title, "fail", (), observed, "possible", why, test)
