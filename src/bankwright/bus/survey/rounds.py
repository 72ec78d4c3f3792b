"""The last step of a survey: the modules are read a few times more, some time apart.

Gives: watched(). What stays the same to the last digit while the others move, and who falls silent and comes back, is
seen only over time; planned modules that were silent are asked once more in each round.
Limits: facts only; conclusions are in survey/explain/rounds.py. Reading requests alone.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Mapping, Sequence

from bankwright.bus.asks import Ask as Asking
from bankwright.bus.asks import asks_of
from bankwright.bus.exchange import Exchange, Outcome, Patience
from bankwright.bus.map.decode import Decoded
from bankwright.bus.spell import AnyRequest, is_refusal
from bankwright.bus.survey.facts import Asked, Facts, Round
from bankwright.bus.wire.wire import Wire

__all__ = ["ROUNDS", "TRIES", "watched"]

ROUNDS, TRIES = 4, 3  # readings, and requests before a module counts as silent in one; our choice
Ask = Callable[[int], Asked]
Once = Callable[[AnyRequest, Patience], Exchange]


def watched(
    wire: Wire, facts: Facts, seconds: float, patience: tuple[Patience, Patience], once: Once, *, ask: Ask
) -> Facts:
    """Read all in rounds over so many seconds; `patience` with those that answered, and with those that did not.

    `once` makes one request; `ask` asks an address that came to life as if it were the first time.
    """
    known = facts.expected.register_map
    asked = dict(facts.asked)
    units = [unit for unit, each in asked.items() if each.is_there]
    if known is None or not units or seconds <= 0:
        return facts
    fast = asks_of(known, wire.framing, ("fast",))
    late = [target.unit for target in facts.mute]
    heard: dict[int, list[Round]] = {unit: [] for unit in (*units, *late)}
    for number in range(ROUNDS):
        if number:
            wire.sleep(seconds / (ROUNDS - 1))
        for unit in units:
            heard[unit].append(_read(once, unit, fast, patience[0], TRIES))
        for unit in late:
            heard[unit].append(_read(once, unit, fast[:1], patience[1], 1))
            if heard[unit][-1] is not None and not asked[unit].is_there:
                asked[unit] = ask(unit)
    for unit, rounds in heard.items():
        if any(one is not None for one in rounds):
            asked[unit] = dataclasses.replace(asked[unit], rounds=tuple(rounds), apart=seconds / (ROUNDS - 1))
    return dataclasses.replace(facts, asked=asked)


def _read(once: Once, unit: int, fast: Sequence[Asking], patience: Patience, tries: int) -> Round:
    """Numbers of one reading; None where not one request brought anything."""
    values: dict[str, float] = {}
    was_heard = False
    for block in fast:
        for _ in range(tries):
            done = once(block.request(unit), patience)
            was_heard |= done.outcome is not Outcome.SILENCE
            if done.reply is not None and not is_refusal(done.reply):
                values |= _numbers(block.values(done.reply))
                break
        if not was_heard:
            return None
    return values


def _numbers(values: Mapping[str, Decoded]) -> Mapping[str, float]:
    return {name: one.value for name, one in values.items() if math.isfinite(one.value)}
