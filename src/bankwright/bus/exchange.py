"""One request and what came of it, over any wire.

Gives: Patience, Outcome, Exchange, exchange(), hearken(). Silence,
damage, a stranger's frame and a refusal are named apart.
Limits: one try; when to try again is the poller's matter (poll.py).
"""

from __future__ import annotations

import enum
from dataclasses import dataclass

from bankwright.bus.modbus.reply import Answer
from bankwright.bus.modbus.taken import Chunk, Taken
from bankwright.bus.spell import AnyRequest, is_refusal
from bankwright.bus.wire.wire import Wire

__all__ = ["Exchange", "Outcome", "Patience", "exchange", "hearken"]

MOST_BYTES = 4096  # of one exchange: a line that babbles is cut off
AFTER_DAMAGE = 0.03  # s, that a damaged reply is given to end


@enum.unique
class Outcome(enum.Enum):
    """What came of a request."""

    ANSWER = "answer"
    LATE = "late"  # a whole answer, after the time limit
    REFUSAL = "refusal"
    SILENCE = "silence"  # nothing, or a gateway's word that nobody answered behind it
    BROKEN = "broken"  # begins like the reply, wrong check or marked characters
    CUT = "cut"  # begins like the reply and ends early
    STRANGER = "stranger"  # only whole frames of others
    NOISE = "noise"


@dataclass(frozen=True, slots=True)
class Patience:
    """How long to wait: for a reply to begin, for one that is late, for a second one to begin behind it. [s]"""

    timeout: float = 0.3
    grace: float = 0.0
    linger: float = 0.0


@dataclass(frozen=True, slots=True)
class Exchange:
    """A request with all that was heard after it."""

    request: AnyRequest
    outcome: Outcome
    taken: Taken
    got: Chunk
    at: float  # when the request had left
    took: float  # until the end of it all
    delay: float | None = None  # from the request's last character to the end of the reply

    @property
    def reply(self) -> Answer | None:
        """The reply, also one that was late."""
        return self.taken.reply


def hearken(wire: Wire, seconds: float, most: int = 65536) -> Chunk:
    """Listen without asking."""
    got, until = Chunk(), wire.now() + seconds
    while wire.now() < until and len(got.data) < most:
        got += wire.hear(until)
    return got


def _length(wire: Wire, request: AnyRequest) -> float:
    """Time that the reply itself takes on the line."""
    framing = wire.framing
    return 0.0 if framing is None else (request.reply_length or 256) * framing.character


def exchange(wire: Wire, request: AnyRequest, patience: Patience, echo_expected: bool = False) -> Exchange:
    """Ask once and listen: until the reply is whole, or the time is over."""
    left = wire.ask(request)
    limit = left + patience.timeout + _length(wire, request)
    got, taken = _collect(wire, request, Chunk(), limit, echo_expected)
    late = False
    if taken.reply is None and patience.grace > 0 and len(got.data) < MOST_BYTES:
        got, taken = _collect(wire, request, got, limit + patience.grace, echo_expected)
        late = taken.reply is not None
    delay = wire.now() - left if taken.reply is not None else None
    if taken.reply is not None and patience.linger > 0:
        got += hearken(wire, patience.linger + _length(wire, request), MOST_BYTES)
        taken = wire.taken(request, got, echo_expected)
    return Exchange(request, _outcome(taken, late), taken, got, left, wire.now() - left, delay)


def _collect(wire: Wire, request: AnyRequest, got: Chunk, limit: float, echo: bool) -> tuple[Chunk, Taken]:
    taken = wire.taken(request, got, echo)
    while taken.reply is None and wire.now() < limit and len(got.data) < MOST_BYTES:
        chunk = wire.hear(limit)
        if chunk.data:
            got += chunk
            taken = wire.taken(request, got, echo)
            if taken.broken:
                limit = min(limit, wire.now() + AFTER_DAMAGE)
    return got, taken


def _outcome(taken: Taken, late: bool) -> Outcome:
    if taken.reply is not None:
        if is_refusal(taken.reply):
            return Outcome.SILENCE if taken.reply.is_absence else Outcome.REFUSAL
        return Outcome.LATE if late else Outcome.ANSWER
    if taken.broken:
        return Outcome.BROKEN
    if taken.cut:
        return Outcome.CUT
    if taken.strangers:
        return Outcome.STRANGER
    return Outcome.NOISE if taken.noise_before or taken.echo_differs else Outcome.SILENCE
