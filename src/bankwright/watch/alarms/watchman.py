"""The watchman: which alarm stands, by how long a limit has been passed.

Gives: Watchman, Alarm, alarms_of(), bytes_of(). A limit that is passed for the hold time raises an alarm; it is cleared
when the value has been well back behind it for the same time. What stands is kept in the logbook, so that a restart
raises nothing twice.
Limits: a value that is not heard neither raises nor clears; that it is not heard is an alarm of its own.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass, field

from bankwright.watch.alarms.rules import RULES, Judgement

__all__ = ["Alarm", "Watchman", "alarms_of", "bytes_of"]

_FORM = 1


@dataclass(frozen=True, slots=True)
class Alarm:
    """Something that was raised or cleared: rule, place, figure, limit; `raised` False when it is over."""

    rule: str
    at: str
    value: float
    limit: float
    raised: bool

    @property
    def words(self) -> str:
        """One sentence without figures."""
        return f"{self.at}: {RULES[self.rule][0]}" if self.raised else f"{self.at}: no longer, {RULES[self.rule][0]}"


@dataclass
class Watchman:
    """Times are of the machine's own clock, s."""

    hold: float
    standing: dict[tuple[str, str], Alarm] = field(default_factory=dict)
    _since: dict[tuple[str, str], float] = field(default_factory=dict)

    def look(self, now: float, judgements: Iterable[Judgement]) -> list[Alarm]:
        """What is raised or cleared now."""
        found = []
        for each in judgements:
            key = (each.rule, each.at)
            stands = key in self.standing
            if not (each.back if stands else each.over):
                self._since.pop(key, None)
                continue
            if now - self._since.setdefault(key, now) < (0.0 if each.rule == "silent" else self.hold):
                continue
            del self._since[key]
            alarm = Alarm(each.rule, each.at, each.value, each.limit, not stands)
            if stands:
                del self.standing[key]
            else:
                self.standing[key] = alarm
            found.append(alarm)
        return found


def bytes_of(watchman: Watchman) -> tuple[int, bytes]:
    """What stands, to be kept: number of the form, bytes."""
    rows = [[a.rule, a.at, a.value, a.limit] for a in watchman.standing.values()]
    return _FORM, json.dumps(rows).encode()


def alarms_of(form: int, blob: bytes) -> dict[tuple[str, str], Alarm]:
    """Read it back; nothing where it cannot be read."""
    try:
        rows = json.loads(blob) if form == _FORM else []
        made = [Alarm(str(rule), str(at), float(value), float(limit), True) for rule, at, value, limit in rows]
    except (ValueError, TypeError):
        return {}
    return {(a.rule, a.at): a for a in made if a.rule in RULES}
