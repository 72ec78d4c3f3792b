"""Section: how full is the bank, and does every module hold its share of it?

Gives: section(), TITLE, TOLD, TOGETHER, SENSORS, READINGS. A figure stands with its 95 % band; `unknown` where half
of it is above 10 points.
Limits: what one module's own meter says of its charge is not judged here.
Sources: limits of a difference of charge and of an offset: own choice, from what a healthy bank shows in simulation.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from bankwright.bank.asks import asking
from bankwright.forms.card import Card
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, Say, say
from bankwright.watch.charge.daily import Present, present
from bankwright.watch.charge.estimator import Charge
from bankwright.watch.charge.facts import facts_of
from bankwright.watch.section import Asked, Lane, Row, Section

__all__ = ["READINGS", "SENSORS", "TITLE", "TOGETHER", "TOLD", "section"]

OWN = Source("own trials on open data and in simulation, docs/charge.md", how_known="derived")
CHOICE = Source("our choice, from what healthy banks show in simulation", how_known="common practice, no source")
TITLE = "State of charge"
TOLD = Card(
    "W-CHARGE-1", "The state of charge can be told", "half of the 95 % band <= 10 points", OWN, ends_at="caution",
    why="Counting alone goes astray by a few points a day; the curve is flat. Where both leave more than 10 points"
    " open, a number would say more than is known.",
)  # fmt: skip
TOGETHER = Card(
    "W-CHARGE-2", "Modules hold the same share of charge", "charge off the mean of all <= 5 points", CHOICE,
    ends_at="caution",
    why="On one pair of bars slopes of the curve pull modules together within hours; one that stays away has lost"
    " capacity or contact, or was joined at another charge.",
)  # fmt: skip
SENSORS = Card(
    "W-CHARGE-3", "Current sensors of the modules agree", "offset off the mean of all <= 0.5 % of the capacity an hour",
    CHOICE, ends_at="caution",
    why="Whatever a module's own meter counts from such a sensor goes astray by as much; shares read from it are off.",
)  # fmt: skip
READINGS = "current and voltage of every module, 10 min at least"
FAR, OFFSET, SIGMAS = 0.05, 0.005, 3.0  # share; 1/h; how sure


def section(asked: Asked) -> Section:
    """The bank, then each module; differences and sensors where there are several."""
    facts, lacking = facts_of(asked.bank)
    if facts is None:
        return Section("charge", TITLE, (TOLD.unknown("bank", lacking),))
    found = present(facts, asked.telemetry, asked.until)
    if not np.isfinite(found.estimator.end):
        return Section("charge", TITLE, (TOLD.unknown("bank", (_more(READINGS),)),))
    findings = [_told(found)]
    if len(facts.names) > 1:
        findings += [*_together(found), *_sensors(found)]
    modules = found.estimator.modules()
    rows = tuple(_row(one) for one in (found.estimator.bank(), *modules))
    return Section("charge", TITLE, tuple(findings), rows, _lanes(found, asked.since), tuple(_notes(found, modules)))


def _more(how: str, lacks: str = "state of charge: too little was heard") -> Missing:
    return replace(asking("telemetry.charge", f"Let bankwright listen run: {how}."), ask="measure", lacks=lacks)


def _told(found: Present) -> Finding:
    bank = found.estimator.bank()
    half = Figure(bank.half, "soc")
    band = {"low": Figure(bank.low, "soc"), "high": Figure(bank.high, "soc")}
    do = say("Charge until the highest cell stands at 3.45 V and the current falls under a twentieth of the capacity.")
    if bank.soc is not None:
        text = say("The bank holds {soc}, between {low} and {high} with 95 %", soc=Figure(bank.soc, "soc"), **band)
        return TOLD.found("bank", half, (None, None), text, do)
    heaps = found.estimator.heaps()
    text = say("The bank holds anything between {low} and {high}", **band)
    if len(heaps) > 1:
        places = " or ".join(f"{heap.soc:.0%} (weight {heap.weight:.0%})" for heap in heaps)
        text = say("The bank holds {places}; between {low} and {high} with 95 %", places=places, **band)
    missing = replace(
        asking("telemetry.charge", do.words), ask="measure", lacks="the state of charge lies on the flat of the curve"
    )
    return TOLD.found("bank", half, (None, None), text, do, missing=(missing,))


def _together(found: Present) -> Iterator[Finding]:
    away, sd = found.estimator.apart_charge()
    do = say("Charge the bank until it is full and stays so for an hour; if the module stays away, test its capacity.")
    for m, name in enumerate(found.estimator.facts.names):
        if not found.estimator.apart.was_on[m]:
            continue
        size = abs(float(away[m]))
        figure = Figure(size, "soc", max(size - 1.96 * float(sd[m]), 0.0), size + 1.96 * float(sd[m]))
        text = say(
            "{module} holds {size} {way} than the mean of the bank", module=name, size=figure,
            way="less" if away[m] < 0 else "more",
        )  # fmt: skip
        is_far = size - 1.96 * float(sd[m]) > FAR
        yield (
            TOGETHER.found(name, figure, (None, FAR), text, do, forced="caution")
            if is_far
            else TOGETHER.found(name, figure, (None, None), text, do)
        )


def _sensors(found: Present) -> Iterator[Finding]:
    offset, sd = found.estimator.offsets()
    do = say("Compare its current with a clamp meter at rest and under load; the meter inside may need its zero set.")
    for m, name in enumerate(found.estimator.facts.names):
        if not found.estimator.apart.was_on[m]:
            continue
        limit = OFFSET * float(found.estimator.facts.capacity_ah[m])
        size, doubt = abs(float(offset[m])), float(sd[m])
        figure = Figure(size, "current", max(size - 1.96 * doubt, 0.0), size + 1.96 * doubt)
        text = say("The current sensor of {module} lies {size} off the mean of all", module=name, size=figure)
        is_off = size - SIGMAS * doubt > limit
        yield (
            SENSORS.found(name, figure, (None, limit), text, do, forced="caution")
            if is_off
            else SENSORS.found(name, figure, (None, None), text, do)
        )


def _row(one: Charge) -> Row:
    if one.soc is None:
        wide = {
            "off": say("unknown: it gave no current while the others worked, or was not heard"),
            "band": say(
                "unknown: anything between {low} and {high}", low=Figure(one.low, "soc"), high=Figure(one.high, "soc")
            ),
        }
        return Row(one.name, None, None, wide[one.why])
    figure = Figure(one.soc, "soc", one.low, one.high)
    return Row(one.name, figure, None, say("full, with 95 %"))


def _notes(found: Present, modules: tuple[Charge, ...]) -> Iterator[Say]:
    curve = found.estimator.common.lasting.curve
    if not curve.is_own:
        yield say(
            "The curve of these cells is not known; {count} published or given curves stand in for it, and their spread"
            " is in the band.", count=str(len(curve.names)),
        )  # fmt: skip
    off = ", ".join(one.name for one in modules if one.why == "off")
    if off:
        yield say("Not in these figures: {modules}.", modules=off)


def _lanes(found: Present, since: float) -> tuple[Lane, ...]:
    rows = found.track[found.track[:, 0] >= since]
    if not len(rows):
        return ()
    time, soc, low, high = (tuple(float(v) for v in rows[:, k]) for k in range(4))
    return (Lane("bank", "soc", time, soc, low, high),)
