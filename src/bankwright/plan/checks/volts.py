"""Voltage of the bus: what it may reach, what class it is in, what an arc on it may give.

Gives: CHECKS (P-VOLTS-1, P-VOLTS-2, P-ARC-1). Limits: inductive kick and ringing come on top;
low voltage says nothing of burns.
"""

from __future__ import annotations

from collections.abc import Iterator

import bankwright.plan.walks.lines as lines
from bankwright.bank.asks import wanted
from bankwright.bank.model import Charger, Inverter, Load
from bankwright.forms.card import Card
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import (
    Computed,
    Origin,
    Source,
)
from bankwright.forms.trace import Traced, given, volts, words
from bankwright.forms.wording import (
    Figure,
    Say,
    say,
)
from bankwright.handbook.tables import load, source_of
from bankwright.physics.arc import ONSET, incident_energy, most_power_current
from bankwright.plan.context import Plan
from bankwright.plan.figures.opening import clearing
from bankwright.plan.figures.voltages import full_voltage, highest_voltage, nominal_voltage
from bankwright.plan.walks.feeding import bare_ways

__all__ = ["CHECKS", "rows_between"]

NEAR = 1.05  # caution within 5 %; common practice, no source
_ONE = Card(
    "P-VOLTS-1",
    "Everything on the bus stands its highest voltage",
    "V_max <= highest input voltage",
    Source("derived", how_known="derived"),
    "code",
)
_TWO = Card(
    "P-VOLTS-2",
    "Voltage class of the bus",
    "nominal and V_max against 50, 60 and 100 V",
    Source("rule book", how_known="read"),
    "statement",
    "caution",
)
_THREE = Card(
    "P-ARC-1",
    "Bound of an arc's heat",
    "0.01 V I_arc t / D^2 < 1.2 cal/cm2, I_arc = I_bolted / 2",
    Source("maximum power method, Doan 2010; NFPA 70E Annex D.5.1", how_known="from memory"),
    "physical",
    "caution",
)


@check(_ONE.code, _ONE.title)
def everything_stands_the_voltage(plan: Plan) -> Iterator[Finding]:
    """The highest bus voltage is no more than any inverter, charger or load stands; caution within 5 %.

    Case: every module opens under charge (all full): the bus then follows the charger's ceiling.
    Why: 58.4 V is not the worst; one charger set wrong destroys every inverter on the bus.
    Not seen here: inductive kick and the ringing of capacitors (P-PRECHARGE-5), which come on top.
    Source: derived.
    """

    things: tuple[Inverter | Charger | Load, ...] = (
        *plan.bank.inverters,
        *(c for c in plan.bank.chargers if c.of is None or c.kind.highest_input is not None),
        *plan.bank.loads,
    )
    yield from _ONE.over(things, lambda thing: _everything_stands_the_voltage_at(plan, thing))


def _everything_stands_the_voltage_at(plan: Plan, thing: Inverter | Charger | Load) -> Finding:
    if isinstance(thing, Load):
        key, limit = f"{thing.origin.path}.highest_input", thing.highest_input
    else:
        key, limit = f"{thing.kind.path}.highest_input", thing.kind.highest_input
    highest = highest_voltage(plan)
    stands = wanted(limit, key)
    text = say(
        "The bus may reach {voltage}; {thing} stands {limit}",
        voltage=highest.figure,
        thing=thing.name,
        limit=volts(stands),
    )
    do = say("Limit the charger's range, or take equipment that stands the highest voltage.")
    inputs = (
        *highest.inputs,
        given("limit", f"highest input of {thing.name}", stands, "voltage", plan.bank.key(key)),
    )
    return _ONE.found(
        thing.name,
        highest.figure,
        (None, stands),
        text,
        do,
        inputs=inputs,
        case="all modules open under charge",
        missing=highest.missing,
        caution_limits=(None, stands / NEAR),
    )


def rows_between(plan: Plan, nominal: float, highest: float) -> tuple[tuple[float, str], ...]:
    """Thresholds of the book that lie between the nominal voltage and the highest."""
    table = load(plan.book.shock_table)
    rows = [(table.value(table.row(name), "voltage"), str(table.row(name)["words"])) for name in plan.book.shock_rows]
    return tuple((value, text) for value, text in rows if value is not None and nominal <= value < highest)


@check(_TWO.code, _TWO.title)
def voltage_class(plan: Plan) -> Iterator[Finding]:
    """States nominal voltage and V_max against the book's thresholds; caution where one lies between the two.

    Why: a bank of 16 cells lies above every 50 V rule and below every 60 V rule, and a ceiling of 60.8 V is not.
    Not seen here: burns, which low voltage does not prevent; SELV needs isolation from the mains as well.
    Source: shock/dc, per row.
    """
    nominal, highest = nominal_voltage(plan), highest_voltage(plan)
    first = plan.bank.modules[0].name
    try:
        between = rows_between(plan, nominal, highest.value)
        table = load(plan.book.shock_table)
    except NeedsValue as error:
        yield _TWO.unknown(first, error.missing)
        return
    rows = tuple(
        words("row", "threshold", str(table.row(name)["words"]), source_of(table, table.row(name)))
        for name in plan.book.shock_rows
    )
    yield _TWO.found(
        first,
        highest.figure,
        (None, None),
        _class_words(plan, nominal, highest, between),
        say("Guard live parts; keep rings, watches and bare tools away: low voltage says nothing of burns."),
        inputs=(*highest.inputs, *rows),
        case="highest voltage",
        forced="caution" if between or highest.missing or any(i.assumed for i in highest.inputs) else None,
        source=plan.book.source("shock"),
    )


def _class_words(plan: Plan, nominal: float, highest: Traced, between: tuple[tuple[float, str], ...]) -> Say:
    table = load(plan.book.shock_table)
    above = [float(table.value(table.row(name), "voltage") or 0.0) for name in plan.book.shock_rows]
    passed = sorted({value for value in above if value < nominal})
    return say(
        "{nominal} nominal, up to {highest}: above the thresholds of {passed}; between the two: {between}. "
        "SELV: {selv}",
        nominal=volts(nominal),
        highest=highest.figure,
        passed=", ".join(f"{v:g} V" for v in passed) or "none",
        between="; ".join(f"{value:g} V ({words_})" for value, words_ in between) or "none",
        selv=_selv(plan),
    )


def _selv(plan: Plan) -> str:
    isolated = [inverter.kind.isolated for inverter in plan.bank.inverters]
    if not isolated or any(value is None for value in isolated):
        return "unknown, the isolation of the inverter is not given"
    return "possible, every inverter is isolated" if all(isolated) else "no, an inverter is not isolated from the mains"


@check(_THREE.code, _THREE.title)
def arc_bound(plan: Plan) -> Iterator[Finding]:
    """Upper bound of an arc's heat at 45.7 cm: 0.01 V I_arc t/D^2 < 1.2 cal/cm2,
    I_arc half the bolted fault. Ends at caution.

    Case: ahead of the first device (2 s) and behind it (its time at I_arc, not at I_bolted);
    both ends of the fault range.
    Why: the first device is what makes the difference; ahead of it the arc burns until somebody lets go.
    Not seen here: a bridged tool; in a box up to 3 times as much (memory), not beyond 72 cm.
    Source: maximum power method (part memory); onset of a burn 1.2 cal/cm2 [read].
    """

    def one(place: str) -> Iterator[Finding]:
        fault = plan.faults.at(place)
        volt = max(full_voltage(module) for module in plan.bank.modules)
        yield _arc(plan, place, fault, volt)

    yield from _THREE.over(_places(plan), one)


def _places(plan: Plan) -> tuple[str, ...]:
    """Where the bank meets the mains, and each inverter's post."""
    return tuple(
        dict.fromkeys((*plan.bank.feed_posts[0][:1], *(inverter.posts[0] for inverter in plan.bank.inverters)))
    )


def _arc(plan: Plan, place: str, fault: Traced, volt: float) -> Finding:
    distance = _of_limits("working distance", "distance")
    arc = float(most_power_current(fault.value))
    time, what, source = _burns(plan, place, arc)
    values = [
        float(incident_energy(volt, float(most_power_current(i)), time, distance))
        for i in (fault.value, fault.low, fault.high)
    ]
    figure = Figure(values[0], "incident_energy", *(values[1:] if fault.inputs else ()))
    text = say(
        "An arc at {place} may give {energy} at {distance} ({what}); a burn begins at {limit}",
        place=place,
        distance=Figure(0.457, "height"),
        energy=figure,
        what=what,
        limit=Figure(ONSET, "incident_energy"),
    )
    table = load("arc/limits")
    half, row = Computed(f"{fault.case}, {fault.value:.0f} A bolted"), source_of(table, table.row("working distance"))
    inputs = (
        Input("I_arc", "half the bolted fault", Figure(arc, "current"), half),
        Input("t", what, Figure(time, "time"), source),
        Input("V", "charging voltage", volts(volt), Computed("cells x end of charge")),
        Input("D", "distance of face and chest", Figure(distance, "length"), row),
        *fault.inputs,
    )
    do = say("Work with the modules' breakers open, cover the other pole, insulated tools, eye protection.")
    return _THREE.found(place, figure, (None, ONSET), text, do, inputs=inputs, case=fault.case)


def _of_limits(row: str, column: str) -> float:
    table = load("arc/limits")
    value = table.value(table.row(row), column)
    assert value is not None
    return value


def _burns(plan: Plan, place: str, arc: float) -> tuple[float, str, Origin]:
    """How long the arc burns, what ends it, and where that is known from. [s]"""
    longest = _of_limits("no device", "time")
    bare = bare_ways(plan, place, ("fuse", "breaker"))
    guards = () if bare else lines.guards_towards(plan, place) or ()
    times = [min(clearing(device, max(arc / max(len(guards), 1), 1.0)), longest) for device in guards] or [longest]
    if bare:
        return max(times), "ahead of the first device, 2 s", load("arc/limits").source
    return max(times), f"cleared by {', '.join(d.name for d in guards)}", guards[0].origin


CHECKS = (everything_stands_the_voltage, voltage_class, arc_bound)
