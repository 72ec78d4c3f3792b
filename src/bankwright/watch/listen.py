"""Listening without end: polls the modules, stores what they say, tells what happens on the line.

Gives: Listener, Told, Keep (what is needed of the logbook's telemetry). The one room that joins the bus and the
logbook; it holds no alarm rules.
Limits: one line; a port that goes away is opened again, less and less often. Times are of the machine's own clock.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol

from bankwright.bus.exchange import Outcome
from bankwright.bus.map.registers import RegisterMap
from bankwright.bus.messages.fields import MessageMap
from bankwright.bus.passive import Source
from bankwright.bus.poll import Cycle, Policy, Poller, Target, columns
from bankwright.bus.source import Listing
from bankwright.bus.wire.wire import Wire, WireGone
from bankwright.forms.readings import Columns
from bankwright.watch.renewals import SERIAL

__all__ = ["Keep", "Listener", "Told"]

FIRST_WAIT, LONGEST_WAIT = 1.0, 60.0  # s before a port that went away is tried again


class Keep(Protocol):
    """What is needed of the telemetry of a logbook."""

    def append(self, *columns: Columns) -> Any:
        """Store what was read, in one commit; False where nothing could be stored."""

    def event(self, code: str, *, at: str = "", **detail: Any) -> Any:
        """Store that something happened."""


@dataclass(frozen=True, slots=True)
class Told:
    """One poll for whoever watches: how many answered, how long it took."""

    cycle: Cycle | None
    words: str
    stored: int = 0  # values


@dataclass
class Listener:
    """Polls a wire, or takes the cycles of a source, and stores; `open_wire` is asked again after it went away."""

    open_wire: Callable[[], Wire | Source]
    register_map: Listing
    targets: Sequence[Target]
    every: float
    keep: Keep | None
    policy: Policy = field(default_factory=Policy)

    def __post_init__(self) -> None:
        """Know nothing yet."""
        self.reached = False  # whether a poll was ever made
        self._silent: dict[str, bool] = {}
        self._flags: dict[tuple[str, str], tuple[str, ...]] = {}
        self._texts: dict[tuple[str, str], str] = {}
        self._serials = {signal.name for signal in self.register_map.of("serial")}

    def run(
        self, sleep: Callable[[float], None], goes_on: Callable[[], bool] = lambda: True
    ) -> Generator[Told, None, None]:
        """Poll until told to stop; what is yielded has been stored."""
        wait = FIRST_WAIT
        while goes_on():
            try:
                wire = self.open_wire()
            except WireGone as gone:
                yield Told(None, str(gone))
                sleep(wait)
                wait = min(2 * wait, LONGEST_WAIT)
                continue
            self._event("bus-open", detail=wire.name)
            served = False
            try:
                for told in self._polls(wire, goes_on):
                    wait, served = FIRST_WAIT, True
                    yield told
            except WireGone as gone:
                self._event("bus-gone", detail=str(gone))
                yield Told(None, str(gone))
                if not served:
                    sleep(wait)
                    wait = min(2 * wait, LONGEST_WAIT)
            finally:
                wire.close()

    def _polls(self, wire: Wire | Source, goes_on: Callable[[], bool]) -> Iterator[Told]:
        source = wire if isinstance(wire, Source) else self._poller(wire)
        due = wire.now()
        while goes_on():
            cycle = source.cycle()
            self.reached = True
            stored = self._store(cycle)
            yield Told(cycle, cycle.words or f"{cycle.answered} of {len(self.targets)} answered", stored)
            due = max(due + self.every, wire.now())
            wire.sleep(due - wire.now())

    def _poller(self, wire: Wire) -> Poller:
        if not isinstance(self.register_map, (RegisterMap, MessageMap)):
            raise TypeError("only registers and messages are polled")
        return Poller(wire, self.register_map, self.targets, self.policy)

    def _store(self, cycle: Cycle) -> int:
        found = columns([cycle], self.register_map)
        stored = self.keep is not None and bool(found) and self.keep.append(*found) is not False
        for heard in cycle.heard:
            self._changes(heard.module, heard.outcome)
            for name, one in heard.values.items():
                if one.flags or (heard.module, name) in self._flags:
                    self._flag(heard.module, name, one.flags)
                if one.text:
                    self._text(heard.module, name, one.text)
        return sum(each.value.size for each in found) if stored or self.keep is None else 0

    def _changes(self, module: str, outcome: Outcome | None) -> None:
        if outcome is None:
            return
        silent = outcome not in (Outcome.ANSWER, Outcome.LATE)
        if self._silent.get(module, False) != silent:
            code = "module-silent" if silent else "module-back"
            self._event(code, module, outcome.value)
        self._silent[module] = silent

    def _flag(self, module: str, name: str, flags: tuple[str, ...]) -> None:
        if self._flags.get((module, name), ()) != flags:
            self._event("module-flags", module, json.dumps({name: list(flags)}))
        self._flags[module, name] = flags

    def _text(self, module: str, name: str, text: str) -> None:
        before = self._texts.get((module, name))
        if before != text:
            self._event("module-text", module, json.dumps({name: text, "before": before}))
            if name in self._serials:
                self._event(SERIAL, module, text)
        self._texts[module, name] = text

    def _event(self, code: str, at: str = "", detail: str = "") -> None:
        if self.keep is not None:
            self.keep.event(code, at=at, words=detail)
