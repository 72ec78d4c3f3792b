"""SunSpec devices as a source of cycles: walked at the first meeting, then read again and again.

Gives: SunspecSource, SunListing. A device that does not answer is looked for again, less and less often; one whose
models stand elsewhere than before is walked anew.
Limits: one line; reading requests alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from bankwright.bus.exchange import Exchange, Outcome, exchange
from bankwright.bus.modbus.request import Request
from bankwright.bus.poll import Cycle, Heard, Policy, Poller, Target
from bankwright.bus.sunspec.asks import registers_of, values_of
from bankwright.bus.sunspec.discover import Device, discovered
from bankwright.bus.sunspec.signals import Positive, SunSignal, Whose
from bankwright.bus.wire.wire import Wire
from bankwright.forms.readings import MISSING

__all__ = ["Speaker", "SunListing", "SunspecSource"]

TRIES = 3  # of each request while a device is walked
LONGEST_REST = 64  # cycles that a device is left alone at most
AGAIN = 20  # polls after which a device that could not be read whole is walked once more
LOST = 5  # polls without a readable model before a device is walked anew
DONE = (Outcome.ANSWER, Outcome.LATE, Outcome.REFUSAL)


@dataclass(frozen=True, slots=True)
class Speaker:
    """A device on the line, and the modules that it speaks for."""

    unit: int
    whose: Whose

    @property
    def modules(self) -> tuple[str, ...]:
        """Their names."""
        return (self.whose.alone,) if self.whose.by_number is None else tuple(self.whose.by_number.values())


@dataclass
class SunListing:
    """What can be heard, as far as devices were met: it grows with them."""

    title: str = "SunSpec models"
    file: str = "the devices' own registers"
    known: dict[int, tuple[SunSignal, ...]] = field(default_factory=dict)

    @property
    def signals(self) -> Sequence[SunSignal]:
        """Each name once."""
        return tuple({s.name: s for signals in self.known.values() for s in signals}.values())

    def of(self, *quantities: str) -> Sequence[SunSignal]:
        """Those of these quantities."""
        return tuple(signal for signal in self.signals if signal.quantity in quantities)


@dataclass
class _Standing:
    """What is remembered of a device."""

    device: Device | None = None
    poller: Poller | None = None
    rest: int = 0
    failed: int = 0
    lost: int = 0
    polls: int = 0  # since it was walked


class SunspecSource:
    """Devices on a wire, open."""

    def __init__(
        self,
        wire: Wire,
        speakers: Sequence[Speaker],
        listing: SunListing,
        positive: Positive,
        *,
        policy: Policy | None = None,
    ) -> None:
        """Nothing is asked before the first cycle."""
        self.name, self._wire, self._speakers, self._listing = wire.name, wire, tuple(speakers), listing
        self._positive, self._policy = positive, policy or Policy()
        self._standing = {speaker.unit: _Standing() for speaker in self._speakers}
        self._number, self._echo = 0, False
        self._done: list[Exchange] = []

    def now(self) -> float:
        """The wire's clock. [s]"""
        return self._wire.now()

    def sleep(self, seconds: float) -> None:
        """Let time pass."""
        self._wire.sleep(seconds)

    def close(self) -> None:
        """Let go of the wire."""
        self._wire.close()

    def cycle(self) -> Cycle:
        """Read every device that is due, back to back."""
        self._done, start = [], self.now()
        heard = [each for speaker in self._speakers for each in self._speaker(speaker)]
        self._number += 1
        return Cycle(self._number, start, self.now() - start, tuple(heard), tuple(self._done))

    def _speaker(self, speaker: Speaker) -> list[Heard]:
        standing = self._standing[speaker.unit]
        if standing.device is None and not self._meet(speaker, standing):
            outcome = Outcome.SILENCE if standing.failed and not standing.rest else None
            return [Heard(module, self.now(), {}, outcome) for module in speaker.modules]
        standing.polls += 1
        if standing.device is not None and not standing.device.is_whole and standing.polls % AGAIN == 0:
            self._again(speaker, standing, standing.device)
        return self._read(speaker, standing)

    def _again(self, speaker: Speaker, standing: _Standing, before: Device) -> None:
        """Walk a device once more of which something could not be read; keep what was known where it is more."""
        device = discovered(self._once, speaker.unit, speaker.whose, self._positive)
        if device is not None and len(device.known.signals) > len(before.known.signals):
            self._take(speaker, standing, device)

    def _meet(self, speaker: Speaker, standing: _Standing) -> bool:
        """Walk a device for the first time, or anew."""
        if standing.rest > 0:
            standing.rest -= 1
            return False
        device = discovered(self._once, speaker.unit, speaker.whose, self._positive)
        if device is None or not device.known.asks:
            standing.failed += 1
            standing.rest = min(2 ** (standing.failed - 1) - 1, LONGEST_REST)
            return False
        self._take(speaker, standing, device)
        return True

    def _take(self, speaker: Speaker, standing: _Standing, device: Device) -> None:
        standing.device, standing.failed, standing.lost, standing.polls = device, 0, 0, 0
        standing.poller = Poller(
            self._wire, device.known, [Target(self.name, speaker.unit)], self._policy, echo=self._echo
        )
        self._listing.known[speaker.unit] = device.known.signals

    def _once(self, request: Request) -> Exchange:
        done = exchange(self._wire, request, self._policy.patience, self._echo)
        for _ in range(TRIES - 1):
            if done.outcome in DONE:
                break
            done = exchange(self._wire, request, self._policy.patience, self._echo)
        self._echo |= done.taken.echo
        self._done.append(done)
        return done

    def _read(self, speaker: Speaker, standing: _Standing) -> list[Heard]:
        assert standing.poller is not None
        assert standing.device is not None
        cycle = standing.poller.cycle()
        self._done += cycle.exchanges
        (told,) = cycle.heard
        registers = registers_of(told.values)
        times = {each.request.first: each.at for each in cycle.exchanges if isinstance(each.request, Request)}
        heard = [self._module(module, standing.device, registers, told, times) for module in speaker.modules]
        readable = any(each.values for each in heard)
        standing.lost = 0 if readable or told.outcome is None else standing.lost + 1
        if standing.lost >= LOST and registers:
            standing.device = None  # other models stand where ours stood
        return heard

    def _module(
        self, module: str, device: Device, registers: Mapping[int, int], told: Heard, times: Mapping[int, float]
    ) -> Heard:
        signals = [signal for signal in device.known.signals if signal.module == module]
        values = values_of(signals, registers) if registers else {}
        if not signals or all(one.quality == MISSING for one in values.values()):
            return Heard(module, told.time, {}, told.outcome if told.outcome is None else Outcome.SILENCE)
        by_name = {signal.name: signal for signal in signals}
        first = min((times[s.model.at] for s in signals if s.model.at in times), default=told.time)
        whole = all(one.quality != MISSING for name, one in values.items() if not by_name[name].is_text)
        done = Outcome.LATE if told.outcome is Outcome.LATE else Outcome.ANSWER
        return Heard(module, first, values, done if whole else told.outcome)
