"""Verdict 2: are these modules equally charged? Voltage alone seldom tells.

Gives: CHECKS (M-CHARGE-1, M-READ-3, M-REST-1, M-METER-1, M-BMS-1, M-EVEN-1), ChargeSubject.
Nothing here speaks of joining.
Limits: curves of small new cells stand for all; a counted charge from a full end is better than any voltage.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bankwright.bank.asks import asking
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import Computed, Source
from bankwright.forms.wording import Figure, say
from bankwright.match import cards
from bankwright.match.charge_range import ChargeRange, hidden_spread
from bankwright.match.entry import STAND_IN_GAIN, ModuleReading, stale
from bankwright.match.settle import Settled
from bankwright.match.sources import CURVES, EQUAL_WITHIN, LOADED_BEFORE, REST_FOR_CHARGE

__all__ = ["CHECKS", "ChargeSubject"]

RELAXATION = Source("relaxation of an LFP cell, two exponentials (handbook: lfp/relaxation)", how_known="derived")
TO_FULL = (
    "To know it: charge each module to full, one by one (all cells above the knee, current down to its tail), and join "
    "them there; or count ampere-hours from a known full end."
)


@dataclass(frozen=True, eq=False)
class ChargeSubject:
    """What the checks look into."""

    readings: tuple[ModuleReading, ...]
    ranges: tuple[ChargeRange, ...]
    settled: Settled | None
    not_read: tuple[str, ...] = ()
    stand_ins: tuple[Input, ...] = ()  # what the run after joining takes for what the file does not give


def _gaps(readings: tuple[ModuleReading, ...]) -> tuple[Missing, ...]:
    """What would make the ranges narrower, asked for by name."""
    found = []
    unrested = [reading.module for reading in readings if reading.rested is None]
    undirected = [reading.module for reading in readings if reading.last is None]
    if unrested:
        how = "Say how long it has had no current; three hours or more is what charge needs."
        found.append(asking(f"rest of {', '.join(unrested)}", how))
    if undirected:
        how = "Say whether it was last charged or last discharged: the two branches of the curve lie apart."
        found.append(asking(f"last direction of {', '.join(undirected)}", how))
    return tuple(found)


@check("M-CHARGE-1", "Equally charged")
def equal(subject: ChargeSubject) -> Iterator[Finding]:
    """No two modules can lie further apart in charge than what still counts as equal.

    Why: on the plateau 0.1 V of a module hides 2 to 16 points; joined, a curve without hysteresis levels in hours, a
    real one may never. Nobody then knows what the bank holds, and the fuller one reaches its limit first.
    Not seen here: unlike capacity (Extend).
    Source: envelope of published voltage curves, both branches where the last direction is not known.
    """
    least, most = hidden_spread(subject.ranges)
    figure = Figure((least + most) / 2, "soc", least, most)
    settled = least > EQUAL_WITHIN or most < EQUAL_WITHIN / 1.05
    lowest = min(subject.ranges, key=lambda r: r.low)
    highest = max(subject.ranges, key=lambda r: r.high)
    how = "Charge each module to full, one by one, and join them at the top; then all are equal, whatever they read."
    missing = () if settled else (asking("charge of each module", how), *_gaps(subject.readings))
    text = say(
        "The readings allow {low} to {high}: two modules may lie {least} to {most} apart",
        low=Figure(lowest.low, "soc"),
        high=Figure(highest.high, "soc"),
        least=Figure(least, "soc"),
        most=Figure(most, "soc"),
    )
    inputs = tuple(
        Input("z", f"charge that {r.module} may hold", Figure((r.low + r.high) / 2, "soc", r.low, r.high), CURVES)
        for r in subject.ranges
    )
    yield cards.EQUAL.found(
        tuple(dict.fromkeys((lowest.module, highest.module))),
        figure,
        (None, EQUAL_WITHIN),
        text,
        say("Equal volts are not equal charge. " + TO_FULL),
        inputs=inputs,
        missing=missing,
    )


@check("M-READ-3", "The charge of every module can be told")
def every_one(subject: ChargeSubject) -> Iterator[Finding]:
    """No module of the bank is without a reading of its own, taken with the others.

    Why: what was never read, or read on another day, may hold any charge.
    Source: common practice, no source.
    """
    old = stale(subject.readings)
    if not old and not subject.not_read:
        return
    names = (*subject.not_read, *old)
    how = "Read it alone at its posts, on the same day as the others."
    yield cards.TOLD.found(
        names[:1],
        None,
        (None, None),
        say("Not read, or read long before: {names}", names=", ".join(names)),
        say("Say nothing of the bank's charge before all are read."),
        missing=tuple(asking(f"readings.{name}.voltage", how) for name in names),
        more=names[1:],
    )


@check("M-REST-1", "Rested long enough for its voltage to speak")
def rested(subject: ChargeSubject) -> Iterator[Finding]:
    """Each module had no current for three hours or more before it was read.

    Why: after half an hour a reading is still a loaded one; the slow part of relaxation runs on for hours.
    Source: measured relaxation of an LFP cell to 15 min, a lower bound;
    published: to 24 h and more (Voicila et al. 2025, abstract).
    """
    untold = tuple(reading.module for reading in subject.readings if reading.rested is None)
    rest = Figure(REST_FOR_CHARGE, "time")
    if untold:
        how = "Say how long it has had no current, or let it rest three hours and read it again."
        yield cards.RESTED.found(
            untold[:1],
            None,
            (REST_FOR_CHARGE, None),
            say("How long it rested is not told: {names}", names=", ".join(untold)),
            say("Let each rest {time} with nothing connected, then read it again.", time=rest),
            missing=tuple(asking(f"readings.{name}.rested", how) for name in untold),
            more=untold[1:],
        )
    for reading in subject.readings:
        if reading.rested is None:
            continue
        figure = Figure(reading.rested, "time")
        yield cards.RESTED.found(
            reading.module,
            figure,
            (LOADED_BEFORE if reading.rested < LOADED_BEFORE else REST_FOR_CHARGE, None),
            say("{module} rested {time}", module=reading.module, time=figure),
            say(
                "Let {module} rest {time} with nothing connected, then read it again.",
                module=reading.module,
                time=rest,
            ),
        )


@check("M-METER-1", "The meter's accuracy is known")
def meter(subject: ChargeSubject) -> Iterator[Finding]:
    """Every reading names a meter whose accuracy is known.

    Why: 0.5 % of 52.6 V is 0.26 V, more than the whole middle of the plateau; a gain error never cancels when one
    voltage is looked up on a curve, though it does in differences of one meter on one range.
    Source: arithmetic; the stand-in of 0.5 % is common practice, no source.
    """
    unknown = tuple(reading.module for reading in subject.readings if reading.gain is None)
    if not unknown:
        return
    how = 'Name the meter of the bank file, or write the accuracy of its data sheet: --meter "0.5 % + 2 digits".'
    yield cards.METER.found(
        unknown[:1],
        None,
        (None, None),
        say(
            "Taken as {gain} of the reading meanwhile, and as one meter on one range",
            gain=Figure(STAND_IN_GAIN, "share"),
        ),
        say("Name the meter that was used, and use the same one on the same range for all modules."),
        missing=(asking("meter", how),),
        more=unknown[1:],
    )


@check("M-BMS-1", "The module's own state of charge agrees with its voltage")
def own_display(subject: ChargeSubject) -> Iterator[Finding]:
    """What the module's own display says lies inside the range that its voltage allows.

    Why: a display counts from the last full end and drifts by points a day; outside the range one of the two is wrong.
    Source: envelope of published voltage curves.
    """
    for reading, found in zip(subject.readings, subject.ranges, strict=True):
        if reading.soc is None:
            continue
        yield cards.DISPLAY.found(
            reading.module,
            Figure(reading.soc, "soc"),
            (found.low, found.high),
            say(
                "{module} says {soc}; its voltage allows {low} to {high}",
                module=reading.module,
                soc=Figure(reading.soc, "soc"),
                low=Figure(found.low, "soc"),
                high=Figure(found.high, "soc"),
            ),
            say("Do not go by the display of {module}. " + TO_FULL, module=reading.module),
            inputs=(Input("z", "display", Figure(reading.soc, "soc"), Computed("as read on the module")),),
        )


@check("M-EVEN-1", "How long the bank would take to even out")
def evening_out(subject: ChargeSubject) -> Iterator[Finding]:
    """Hours from joining until all modules lie within five points, a range over curves and resistances.

    Why: after a join a day of rest or a full charge must pass before the bank is judged.
    Assumption: no hysteresis. With it two modules that read alike have no voltage left to drive a current, and stay
    apart until they are charged to full.
    Source: run of the bank over time.
    """
    if subject.settled is None:
        return
    settled = subject.settled
    before = settled.spread_before
    low, high = Figure(before[0], "soc"), Figure(before[1], "soc")
    words = "; the voltages as read mean {low} to {high} between modules of one and the same curve"
    if settled.opened:
        words = f"They do not even out: {settled.opened[0]}" + words
    else:
        words = f"Joined and left alone: {_span(*settled.hours_to_level)}, if no hysteresis holds them apart" + words
    yield cards.EVENING.found(
        settled.names[:1],
        None,
        (None, None),
        say(words, low=low, high=high),
        say("Judge the bank only after a day of rest or, better, after a full charge."),
        inputs=subject.stand_ins,
        more=settled.names[1:],
    )


def _span(shortest: float | None, longest: float | None) -> str:
    """Words for the hours until the modules lie within five points of each other."""
    if shortest is None:
        return "further than 5 points apart after a day still"
    if longest is not None and longest * 3600 < 60:
        return "within 5 points from the start"
    first = "at once" if shortest * 3600 < 60 else _hours(shortest)
    return f"{first} to {'more than a day' if longest is None else _hours(longest)} until within 5 points"


def _hours(value: float) -> str:
    return f"{60 * value:.0f} min" if value < 0.3 else f"{value:.1f} h"


CHECKS = (equal, every_one, rested, meter, own_display, evening_out)
