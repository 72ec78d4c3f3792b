"""The one service: it stores what the modules say, raises alarms, gives signs of life, has days evaluated, tells the
week.

Gives: Service, seen_of(). What the listener yields goes on to whoever shows it; everything else happens beside.
Limits: one line of one bank. Days are kept and joints judged once an hour, beside the polls (looker.py). While nothing
can be stored polls and alarms go on.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass, field, replace
from typing import Any

from bankwright.bank.model import Bank
from bankwright.bus.poll import Cycle, Heard
from bankwright.bus.source import Listing
from bankwright.forms.readings import Instant
from bankwright.logbook.clocks import Clock, SystemClock, wall_seconds
from bankwright.logbook.telemetry.store import Telemetry
from bankwright.watch.alarms.limits import HOLD, limits_of
from bankwright.watch.alarms.metrics import Metrics, metrics_text
from bankwright.watch.alarms.post import MESSAGES, Post
from bankwright.watch.alarms.rules import OF_JOINTS, Seen, judge
from bankwright.watch.alarms.section import STATE
from bankwright.watch.alarms.watchman import Alarm, Watchman, alarms_of, bytes_of
from bankwright.watch.alarms.ways import Message, Way, ways_of
from bankwright.watch.listen import Listener, Told
from bankwright.watch.listening import BEAT, beat, rest
from bankwright.watch.looker import LOOK_EVERY, Looker
from bankwright.watch.say.weekly import Weekly
from bankwright.watch.storing import Storing

__all__ = ["Service", "seen_of"]

SEAL_EVERY = 60.0  # s


def seen_of(heard: Heard, register_map: Listing) -> Seen:
    """What a module said, as the rules want it."""

    def values(quantity: str) -> tuple[float, ...]:
        found = (heard.values.get(signal.name) for signal in register_map.of(quantity))
        return tuple(one.value for one in found if one is not None and one.quality == 0)

    volts, amps = values("voltage"), values("current")
    nan = float("nan")
    return Seen(
        heard.module,
        0.0,
        volts[0] if volts else nan,
        amps[0] if amps else nan,
        values("cell_voltage"),
        values("temperature_degc"),
    )


@dataclass
class Service:
    """Joins the listener, the logbook, the rules and the ways out."""

    bank: Bank
    register_map: Listing
    listener: Listener
    telemetry: Telemetry
    ways: tuple[Way, ...] | None = None
    clock: Clock = field(default_factory=SystemClock)
    week: Callable[[], str] | None = None  # makes the message of the week, where the file says when

    def __post_init__(self) -> None:
        """Take up what stood when the last listener ended."""
        own = self.bank.watch
        self._limits = {module.name: limits_of(self.bank, module) for module in self.bank.modules}
        self._watchman = Watchman(HOLD if own.hold is None else own.hold)
        state = self.telemetry.state(STATE)
        if state is not None:
            self._watchman.standing = alarms_of(state.version, state.blob)
        self._storing, self._said = Storing(self.telemetry, self._broken), ""
        self.listener.keep = self._storing
        begun = self._now()
        self._last = {name: (begun, Seen(name, 0.0)) for name in self._limits}
        self._due = dict.fromkeys(("beat", "seal", "look"), 0.0)
        weekly = None if own.week is None or self.week is None else Weekly(own.week, self.week)
        self._looker = Looker(self.bank, self.telemetry.path, self.clock, weekly)
        ways = ways_of(self.bank) if self.ways is None else self.ways
        self._post = Post(ways, self._lost, MESSAGES if own.messages is None else own.messages)
        self._metrics = None if own.metrics is None else Metrics(own.metrics, self.metrics)

    def run(
        self, sleep: Callable[[float], None], goes_on: Callable[[], bool] = lambda: True
    ) -> Generator[Told, None, None]:
        """Listen until told to stop; what is yielded was stored and judged."""
        try:
            for told in self.listener.run(sleep, goes_on):
                self._take(told.cycle)
                self._look()
                self._chores()
                yield told
                yield from self._outage()
        finally:
            self._storing.tried(lambda: rest(self.telemetry, self.clock.now(), self.listener.every))
            self._looker.close()
            self._post.close()
            if self._metrics is not None:
                self._metrics.close()

    def _outage(self) -> Iterator[Told]:
        """Say once that nothing can be stored."""
        if self._storing.why != self._said:
            self._said = self._storing.why
            if self._said:
                yield Told(None, f"Nothing can be stored, polls and alarms go on: {self._said}")

    def seen(self) -> tuple[Seen, ...]:
        """What each module last said, with its age."""
        now = self._now()
        return tuple(replace(seen, age=max(now - time, 0.0)) for time, seen in self._last.values())

    def metrics(self) -> str:
        """Figures to be fetched."""
        return metrics_text(self.seen(), tuple(self._watchman.standing.values()))

    def _now(self) -> float:
        return _own(self.clock.now())

    def _take(self, cycle: Cycle | None) -> None:
        now = self._now()
        for heard in () if cycle is None else cycle.heard:
            if heard.values and heard.module in self._last:
                seen = seen_of(heard, self.register_map)
                old = self._last[heard.module][1]
                kept = replace(seen, cells=seen.cells or old.cells, warmth=seen.warmth or old.warmth)
                self._last[heard.module] = (now, kept)

    def _look(self) -> None:
        found = (*judge(self.seen(), self._limits), *self._looker.judgements)
        changed = self._watchman.look(self._now(), found)
        for alarm in changed:
            self._tell(alarm)
        if changed:
            self._storing.tried(lambda: self.telemetry.put_state(STATE, *bytes_of(self._watchman)))
        while not self._looker.weeks.empty():
            self._send("week", "week", words=self._looker.weeks.get())

    def _tell(self, alarm: Alarm) -> None:
        code = "alarm-raised" if alarm.raised else "alarm-cleared"
        self._storing.event(code, at=alarm.at, rule=alarm.rule, value=alarm.value, limit=alarm.limit)
        what = "raised" if alarm.raised else "cleared"
        self._send(what, alarm.rule, alarm.at, words=alarm.words, value=alarm.value, limit=alarm.limit)

    def _send(self, what: str, rule: str, at: str = "", **told: Any) -> None:
        title = self.bank.title or self.bank.file
        self._post.send(Message(title, self.clock.now().wall, what, rule, at, **told))

    def _broken(self, why: str) -> None:
        """An outage begins: nothing can be stored, so whoever is told of alarms is told of it."""
        self._send("raised", "store", words=f"Nothing can be stored, alarms go on: {why}")

    def _lost(self, way: str, message: Message, why: str) -> None:
        self._storing.event("alarm-undelivered", at=message.at, way=way, rule=message.rule, what=message.what, why=why)

    def _chores(self) -> None:
        now = self._now()
        if self._is_due("beat", now, BEAT):
            self._storing.tried(lambda: beat(self.telemetry, self.clock.now(), self.listener.every))
        if self._is_due("seal", now, SEAL_EVERY):
            self._storing.tried(lambda: self.telemetry.seal(most=1))
        if self._is_due("look", now, LOOK_EVERY):
            self._looker.look({at for rule, at in self._watchman.standing if rule in OF_JOINTS})

    def _is_due(self, name: str, now: float, every: float) -> bool:
        if now < self._due[name]:
            return False
        self._due[name] = now + every
        return True


def _own(now: Instant) -> float:
    """The machine's own clock, or the wall clock where it has none."""
    return wall_seconds(now) if now.monotonic is None else now.monotonic
