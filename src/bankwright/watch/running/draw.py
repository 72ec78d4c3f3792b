"""Section: standing draw. What the bank loses while nothing is asked of it, and whether that grows.

Gives: section(), STANDS, GROWS.
Limits: as in standing.py. Self-discharge of the cells is not in it: no current of the bank shows it.
Sources: sizes that are said: our choice.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from bankwright.bank.asks import asking
from bankwright.circuit.network import Array
from bankwright.forms.card import Card
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, Say, say
from bankwright.watch.charge.daily import kept_estimator, kept_track
from bankwright.watch.charge.facts import Facts, facts_of
from bankwright.watch.running.hours import hours_of
from bankwright.watch.running.stand_ins import NO_DRAW
from bankwright.watch.running.standing import Rest, lasts, rest_of
from bankwright.watch.section import Asked, Row, Section

__all__ = ["GROWS", "STANDS", "section"]

TITLE = "Standing draw"
CHOICE = Source("our choice", how_known="common practice, no source")
STANDS = Card(
    "W-STAND-1", "The standing draw is known", "half of its 95 % band <= half of it", CHOICE, ends_at="caution",
    why="What draws day and night empties a bank that nobody charges: in winter, or in store.",
)  # fmt: skip
GROWS = Card(
    "W-STAND-2", "The standing draw does not grow", "later half of the rest less the earlier one <= 0.3 A a 100 Ah",
    CHOICE, ends_at="caution",
    why="A draw that grows while nothing was added is a load left on, a leak, or current sensors that wander.",
)  # fmt: skip
GROWN = 0.003  # of the capacity in A
DOWN_TO = 0.2  # state of charge down to which days are counted; our choice
KNOWN = 0.5  # of the figure: half a band above it says nothing


def section(asked: Asked) -> Section:
    """The bank at rest."""
    facts, lacking = facts_of(asked.bank)
    if facts is None:
        return Section("standing", TITLE, (STANDS.unknown("bank", lacking),))
    found = _rest(asked, facts)
    if found is None:
        missing = _reading("Let the bank rest for six hours, no charger and no load on, with the listener running.",
                           "hours in which the bank rests, below 3.40 V a cell")  # fmt: skip
        unknown = STANDS.unknown("bank", (missing,))
        return Section("standing", TITLE, (unknown,), stand_ins=(NO_DRAW,), rests_on=("current",))
    findings = (_told(found), *_grows(found, facts))
    stand_ins = (NO_DRAW,) if findings[0].verdict == "unknown" else ()
    return Section(
        "standing", TITLE, findings, _rows(asked, facts, found), notes=(_volts(),), stand_ins=stand_ins,
        rests_on=("current",),
    )  # fmt: skip


def _rest(asked: Asked, facts: Facts) -> Rest | None:
    kept = kept_estimator(facts, asked.telemetry)
    offset = (0.0, 0.003 * float(facts.capacity_ah.sum()))  # a usual sensor, until it is known better
    if kept is not None:
        mean, sd = kept.common.speaks.offset()
        whole = float(facts.capacity_ah.sum())
        offset = (float(mean[0]) * whole, float(sd[0]) * whole)
    return rest_of(hours_of(asked), facts.capacity_ah, facts.cells, offset=offset)


def _told(found: Rest) -> Finding:
    draw = found.draw
    figure = Figure(draw.nominal, "current", draw.low, draw.high)
    do = say("Switch off what stands on the bank, one thing after the other, with a clamp meter for small currents on"
             " the main cable.")  # fmt: skip
    band = {"draw": figure, "low": Figure(draw.low, "current"), "high": Figure(draw.high, "current")}
    text = say("{draw} at rest, between {low} and {high}, heard in {hours} h", hours=str(found.hours), **band)
    half = (draw.high - draw.low) / 2
    if found.is_mute or half > KNOWN * abs(draw.nominal):
        return STANDS.found("bank", figure, (None, None), _unsure(found, text), do, missing=(_meter(found),))
    return STANDS.found("bank", figure, (None, None), text, do)


def _grows(found: Rest, facts: Facts) -> Iterator[Finding]:
    grown, limit = found.grown, GROWN * float(facts.capacity_ah.sum())
    if grown is None or found.is_mute:
        return
    figure = Figure(grown.nominal, "current", grown.low, grown.high)
    text = say("The draw at rest rose by {rise}, between {low} and {high}", rise=figure,
               low=Figure(grown.low, "current"), high=Figure(grown.high, "current"))  # fmt: skip
    do = say("See what was left on. If nothing was, compare the modules' currents with a clamp meter at rest.")
    if grown.low > limit:
        yield GROWS.found("bank", figure, (None, limit), text, do, forced="caution")
    else:
        yield GROWS.found("bank", figure, (None, None), text, do)


def _unsure(found: Rest, text: Say) -> Say:
    if found.is_mute:
        return say("The modules say 0 A at rest: their sensors say nothing of small currents")
    return say(text.words + ": within what the current sensors may be off", **text.figures)


def _meter(found: Rest) -> Missing:
    how = ("Read a clamp meter for small currents on the main cable with everything idle; or charge the bank full, let"
           " it rest for weeks, and count what it takes to be full again.")  # fmt: skip
    lacks = "standing draw: the sensors are mute" if found.is_mute else "standing draw: offset of the current sensors"
    return _reading(how, lacks)


def _reading(how: str, lacks: str) -> Missing:
    return replace(asking("telemetry.standing", how), ask="measure", lacks=lacks)


def _volts() -> Say:
    return say("The voltage is no check of it: on the flat of the curve weeks of such a draw move it by less than a"
               " step of the meter.")  # fmt: skip


def _rows(asked: Asked, facts: Facts, found: Rest) -> tuple[Row, ...]:
    draw = found.draw
    row = Row("bank", Figure(draw.nominal, "current", draw.low, draw.high), None,
              say("at rest, {hours} h of it heard", hours=str(found.hours)))  # fmt: skip
    return (row, *_days(kept_track(facts, asked.telemetry), facts, found))


def _days(track: Array, facts: Facts, found: Rest) -> tuple[Row, ...]:
    """Days until the bank is at a fifth, from where it was last known to be."""
    told = track[np.isfinite(track[:, 1])] if len(track) else track
    if not len(told) or found.is_mute:
        return ()
    soc, low, high = (float(v) for v in told[-1, 1:4])
    whole = float(facts.capacity_ah.sum())
    ends = [lasts(one, DOWN_TO, whole, found.draw) for one in (low, soc, high)]
    least, middle, most = ends
    if least is None or middle is None or most is None or not soc > DOWN_TO:
        words = say("unknown how long it would stand: the draw may be none at all")
        return (Row("left alone", None, None, words),)
    days = [d * 86400.0 for d in (middle.nominal, max(least.low, 0.0), most.high)]
    words = say(
        "{low} to {high} from {soc} (last whole day) down to {end}, with this draw alone", soc=Figure(soc, "soc"),
        end=Figure(DOWN_TO, "soc"), low=Figure(days[1], "time"), high=Figure(days[2], "time"),
    )  # fmt: skip
    return (Row("left alone", Figure(days[0], "time"), None, words),)
