"""What a module still moves between its reading and its closing, and whether that would pass a limit.

Gives: drift(), drifting(), CLOSING. The current at once is computed again with each module's voltage free to move by
what its rest has left of the last current; that grows with the current, which may have been all that its sheet allows.
Limits: the relaxation table is a lower bound, of a record of 15 min.
Sources: handbook lfp/relaxation, after 0.55 C; half an hour from the first reading to the last closing, and the least
difference that the trade's rule speaks of, 100 mV: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank
from bankwright.bank.model_kinds import ModuleKind
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Computed
from bankwright.forms.wording import Figure, say
from bankwright.match import cards
from bankwright.match.charge_range import rest_error
from bankwright.match.entry import ModuleReading
from bankwright.match.inrush import Inrush, Side, inrush
from bankwright.match.subject import Degc

__all__ = ["CLOSING", "drift", "drifting"]

CLOSING = 1800.0  # s from a reading of now to the last closing; common practice, no source
NEVER_SAID = 60.0  # s of rest that is taken where none was told; the shortest in which one can read it
STILL = 0.01  # V; less is not spoken of
READ_AGAIN = 0.1  # V that a module may move until it is closed, from which on it is read again
TABLE_RATE = 0.55  # 1/h, current over capacity before the rest that the table was taken from


def drift(bank: Bank, reading: ModuleReading, degc: float | None) -> float:
    """Volts by which a module may still move until it is closed, either way."""
    rested = NEVER_SAID if reading.rested is None else reading.rested
    kind = bank.module(reading.module).kind
    later = rested + (reading.age or 0.0) + CLOSING
    left = max(rest_error(rested, degc, kind.cells) - rest_error(later, degc, kind.cells), 0.0)
    return left * max(_rate(kind, reading.last) / TABLE_RATE, 1.0)


def _rate(kind: ModuleKind, last: str | None) -> float:
    """The most that a module may have carried last, over its capacity; 1 where the sheet is silent. [1/h]"""
    amps = [row[1] for row in kind.charge.by_temperature]
    charge = max(amps) if amps else kind.charge.continuous
    sides = {"charged": (charge,), "discharged": (kind.discharge.continuous,)}
    given = [amps for amps in sides.get(last or "", (charge, kind.discharge.continuous)) if amps is not None]
    return max(given) / kind.capacity_ah if given and kind.capacity_ah else 1.0


def drifting(bank: Bank, readings: Sequence[ModuleReading], flow: Inrush, degc: Degc) -> Iterator[Finding]:
    """Unknown where a limit is passed only because a module still moves; a caution where no rest was told."""
    moves = {r.module: drift(bank, r, None if (t := degc[r.module]) is None else t[0]) for r in readings}
    if max(moves.values()) < STILL:
        return
    wide = tuple(replace(r, digit=r.digit + moves[r.module]) for r in readings)
    moved = inrush(bank, wide, degc)
    for side in ("charge", "discharge"):
        found = _one_side(readings, flow, moved, moves, side)
        if found is not None:
            yield found
            return
    told = [r for r in readings if r.rested is not None and moves[r.module] >= READ_AGAIN]
    if told:
        yield _moves_on(told, moves)


def _moves_on(told: Sequence[ModuleReading], moves: dict[str, float]) -> Finding:
    """No limit is passed, but what was read is not what will be joined."""
    most = max(told, key=lambda r: moves[r.module])
    text = say(
        "{module} may still move by {drift} until it is closed, after {rested} of rest; no limit is passed with it",
        module=most.module,
        drift=Figure(moves[most.module], "voltage_drop"),
        rested=Figure(most.rested or 0.0, "time"),
    )
    do = say("Read it again right before it is closed, and join on that reading.")
    return cards.STILL_MOVES.found(
        most.module,
        None,
        (None, None),
        text,
        do,
        inputs=(_left(most, moves),),
        forced="caution",
        more=tuple(r.module for r in told if r is not most),
    )


def _left(reading: ModuleReading, moves: dict[str, float]) -> Input:
    how = Computed("relaxation of an LFP cell over its rest and half an hour more, by the most it may have carried")
    figure = Figure(moves[reading.module], "voltage_drop")
    return Input("V_r", "left of the last current", figure, how, reading.rested is None)


def _one_side(
    readings: Sequence[ModuleReading], flow: Inrush, moved: Inrush, moves: dict[str, float], side: Side
) -> Finding | None:
    name, _, figure, limit = moved.worst(side)
    before = flow.worst(side)[2]
    if limit.value is None or (figure.high or 0.0) <= limit.value or (before.high or 0.0) > limit.value:
        return None  # no limit is known, it holds, or it is passed already as read (M-JOIN-1, M-JOIN-2)
    told = [r for r in readings if r.rested is not None and moves[r.module] >= STILL]
    most = max(told or readings, key=lambda r: moves[r.module])
    at = tuple(dict.fromkeys((most.module, *(r.module for r in told))))
    how = "Let it rest half an hour, or read it again right before it is closed: {name} first of all."
    missing = tuple(asking(f"readings.{n}.voltage", how.format(name=n)) for n in at) if told else ()
    rested = "a rest that was not told" if most.rested is None else "{rested} of rest"
    words = "{module} may still move by {drift} until it is closed, after " + rested
    words += "; then {name} would carry {current} at once"
    gaps = {} if most.rested is None else {"rested": Figure(most.rested, "time")}
    text = say(
        words, module=most.module, drift=Figure(moves[most.module], "voltage_drop"), name=name,
        current=Figure(figure.high or 0.0, "current"), **gaps,
    )  # fmt: skip
    return cards.STILL_MOVES.found(
        at[:1],
        Figure(figure.value, "current", None, figure.high),
        (None, limit.value),
        text,
        say("Read all modules again just before the first is closed, and join on those readings."),
        inputs=(limit.as_input, _left(most, moves)),
        missing=missing,
        forced=None if told else "caution",
        more=at[1:],
    )  # fmt: skip
