"""What only time shows: values that stand still while the others move, modules that fall silent and come back.

Gives: RULES: functions of the facts that yield explanations.
Limits: a few seconds; months are the listener's matter.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bus.exchange import Outcome
from bankwright.bus.survey.explain.told import Explanation, counted, listing, named
from bankwright.bus.survey.facts import Asked, Facts
from bankwright.forms.wording import Figure, Say

__all__ = ["RULES"]

LEAST_VALUES = 3  # that a module must tell, and the others move by, before "all the same" means anything; our choice
LEAST_TIME = 2.0  # s, over which they are read; many modules measure once a second (common practice, no source)
LEAST_SILENT = 2  # rounds one after the other; a single one counts only where no reply was ever lost
LOST = 0.1  # of all tries: a line that loses more says nothing about one module


def _moved(asked: Asked) -> int:
    """How many values were not the same in all rounds."""
    rounds = [one for one in asked.rounds if one]
    names = set.intersection(*map(set, rounds)) if rounds else set()
    return sum(len({one[name] for one in rounds}) > 1 for name in names)


def frozen(facts: Facts) -> Iterator[Explanation]:
    """All values of a module the same to the last digit, while those of others move."""
    seen = {unit: asked for unit, asked in facts.asked.items() if sum(bool(one) for one in asked.rounds) >= 3}
    moving = [unit for unit, asked in seen.items() if _moved(asked) >= LEAST_VALUES]
    for unit, asked in seen.items():
        count = min(len(one) for one in asked.rounds if one)
        seconds = asked.apart * (len(asked.rounds) - 1)
        enough = 2 * len(moving) >= len(seen) and count >= LEAST_VALUES and seconds >= LEAST_TIME
        if _moved(asked) or not enough:
            continue
        name, others = named(facts, unit), listing(named(facts, each) for each in moving)
        observed = Say(
            f"All {count} values of {name} were the same to the last digit in {len(asked.rounds)} readings over "
            f"{{time}}; those of {others} moved.",
            {"time": Figure(seconds, "time")},
        )
        test = Say(
            "Change the load by some amperes (a kettle on the inverter) and survey again: a module whose current and "
            "volts still stand is frozen. Then restart it as its manual says, and look again."
        )
        sure = "likely" if 1 < len(moving) == len(seen) - 1 else "possible"
        why = "a module at rest may stand still too, but it shares the bus with those that moved"
        title = f"The values of {name} stand still"
        yield Explanation("BUS-FROZEN", title, "caution", (name,), observed, sure, why, test)  # type: ignore[arg-type]


def away(facts: Facts) -> Iterator[Explanation]:
    """Answered, then silent for a while; or silent first, and there at the end."""
    for unit, asked in facts.asked.items():
        silent = [one is None for one in asked.rounds]
        before = asked.count(Outcome.SILENCE) / max(len(asked.tries), 1)
        run = _longest(silent)
        if not any(silent) or before > (LOST if run >= LEAST_SILENT or silent[0] else 0.0):
            continue
        name, back = named(facts, unit), not silent[-1]
        observed = Say(
            f"{name} answered, then not in {counted(sum(silent), 'round')} of {len(silent)}, {{apart}} apart"
            + (", then again." if back else ", up to the end."),
            {"apart": Figure(asked.apart, "time")},
        )
        if silent[0] and back:
            observed = Say(f"{name} was silent at first and answered later in the same survey.")
        test = Say(
            f"Look at {name}'s lamps and at its list of alarms: a restart stands there. If none does, move its data "
            "plugs by hand, one after the other, while you survey again."
        )
        title = f"{name} was away and came back" if back else f"{name} fell silent during the survey"
        why = "a restart, a plug that is loose, or a module that goes to sleep sound alike"
        yield Explanation("BUS-AWAY", title, "caution", (name,), observed, "possible", why, test)


def _longest(silent: list[bool]) -> int:
    """Length of the longest stretch of silence."""
    most = now = 0
    for one in silent:
        now = now + 1 if one else 0
        most = max(most, now)
    return most


RULES = (frozen, away)
