"""Whether a listener runs: it leaves a sign of life in the logbook, and whoever looks reads its age.

Gives: Life, beat(), rest(), life_of(), ALIVE. Age is told by the machine's own clock where both are of one start of the
machine, so that a step of the wall clock does not kill a listener that lives.
Limits: a listener of another machine on one logbook is judged by the wall clock.
"""

from __future__ import annotations

import json
from dataclasses import dataclass

from bankwright.forms.readings import Instant
from bankwright.logbook.clocks import wall_seconds
from bankwright.logbook.telemetry.store import Telemetry

__all__ = ["ALIVE", "BEAT", "Life", "beat", "life_of", "rest"]

BEAT = 30.0  # s from one sign of life to the next
ALIVE = 100.0  # s without one after which no listener runs: three are missed
_NAME, _FORM = "listening", 1


@dataclass(frozen=True, slots=True)
class Life:
    """The last sign of life; `age` in s, None where there never was one."""

    age: float | None
    stopped: bool  # it ended by itself, or was told to
    every: float | None  # s from poll to poll

    @property
    def runs(self) -> bool:
        """True while a listener runs, as far as it can be told."""
        return self.age is not None and not self.stopped and self.age <= ALIVE


def beat(telemetry: Telemetry, now: Instant, every: float, *, stopped: bool = False) -> None:
    """Leave a sign of life."""
    told = {"boot": now.boot, "mono": now.monotonic, "wall": wall_seconds(now), "every": every, "stopped": stopped}
    telemetry.put_state(_NAME, _FORM, json.dumps(told).encode())


def rest(telemetry: Telemetry, now: Instant, every: float) -> None:
    """Say that the listener ends."""
    beat(telemetry, now, every, stopped=True)


def life_of(telemetry: Telemetry, now: Instant) -> Life:
    """Read the last sign of life; one that cannot be read is none."""
    state = telemetry.state(_NAME)
    if state is None or state.version != _FORM:
        return Life(None, False, None)
    try:
        told = json.loads(state.blob)
        same = bool(told["boot"]) and told["boot"] == now.boot and None not in (told["mono"], now.monotonic)
        age = now.monotonic - told["mono"] if same else wall_seconds(now) - told["wall"]
        return Life(max(float(age), 0.0), bool(told["stopped"]), float(told["every"]))
    except (ValueError, KeyError, TypeError):
        return Life(None, False, None)
