"""Waking from black: the first module alone carries what all inverters draw.

Gives: CHECKS (P-START-1, P-START-2). Limits: the order of closing and the inrush between modules are judged by Match.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking, wanted
from bankwright.bank.model import Module
from bankwright.forms.card import Card
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Computed, Source
from bankwright.forms.trace import amperes, given, words
from bankwright.forms.wording import Figure, say
from bankwright.physics.precharge import first_current
from bankwright.physics.source import current_for_power
from bankwright.plan.checks.precharge import filling
from bankwright.plan.context import Plan
from bankwright.plan.ends.stand_in import efficiency_of
from bankwright.plan.figures.limits import trip_input, trip_low
from bankwright.plan.figures.voltages import full_voltage

__all__ = ["CHECKS"]

_ONE = Card(
    "P-START-1",
    "The first module alone wakes the inverters",
    "standby + pre-charge current < I_trip (low end)",
    Source("Ohm's law", how_known="derived"),
)
_TWO = Card(
    "P-START-2",
    "A module that closes again meets no more than it may carry",
    "P / (eta V) < I_trip (low end)",
    Source("P = U I", how_known="derived"),
)


WAKES = {
    "by hand": "modules start again by hand, one first",
    "by itself": "modules start again by themselves, one first",
    "by charger": "modules start again only when a charger gives voltage, one first",
}


@check(_ONE.code, _ONE.title)
def first_module_wakes_the_inverters(plan: Plan) -> Iterator[Finding]:
    """The first module on the bus carries standby and pre-charge of all inverters: sum(E/R + Is) < I_trip, low end.

    How a module starts again is told (trips.restart); one that waits for a charger in a bank without any: caution.
    Why: one module alone sees the whole inrush, and one without pre-charge trips on it.
    Not seen here: closing without pre-charge (P-PRECHARGE-5).
    Source: Ohm's law (derived).
    """
    module = plan.bank.modules[0]
    if not plan.bank.inverters:
        return

    yield from _ONE.over((module,), lambda first: _first_module_wakes_the_inverters_at(plan, first))


def _first_module_wakes_the_inverters_at(plan: Plan, first: Module) -> Finding:
    total, inputs = _precharging(plan)
    found = filling(plan, plan.bank.inverters[0], True)
    standby = sum(inverter.kind.standby_current or 0.0 for inverter in plan.bank.inverters)
    value = total + standby
    limit = trip_low(first, "discharge")
    how, key = first.kind.trips.restart, f"{first.kind.path}.trips.restart"
    stuck = how == "by charger" and not plan.bank.chargers and value < limit
    head = "" if how is None else f"{first.kind.name}: {WAKES[how]}. "
    text = say(
        head
        + "Waking the inverters, one module carries {current}; it may trip from {limit} on"
        + (". The bank has no charger to wake it" if stuck else ""),
        current=amperes(value),
        limit=amperes(limit),
    )
    if how is not None:
        inputs.append(words("restart", f"{first.kind.name} starts again from black", how, plan.bank.key(key)))
    return _ONE.found(
        first.name,
        amperes(value),
        (None, limit),
        text,
        say("Add a charger that starts on a black bank." if stuck else "Wake the inverters one after the other."),
        inputs=(*inputs, *found.inputs, trip_input(plan.bank, first, "discharge")),
        case="waking from black",
        missing=() if how is not None else (asking(key),),
        forced="caution" if stuck else None,
    )


def _precharging(plan: Plan) -> tuple[float, list[Input]]:
    """What all pre-charge resistors draw at first, from the fullest module. [A]"""
    total, inputs = 0.0, list[Input]()
    emf = max(full_voltage(each) for each in plan.bank.modules)
    for inverter in plan.bank.inverters:
        path = f"{inverter.kind.path}.precharge"
        precharge = wanted(inverter.kind.precharge, path)
        resistor = wanted(precharge.resistor, f"{path}.resistor")
        total += float(first_current(emf, resistor))
        name, key = f"pre-charge resistor of {inverter.name}", plan.bank.key(f"{path}.resistor")
        inputs.append(given("R", name, resistor, "resistance", key))
    return total, inputs


@check(_TWO.code, _TWO.title)
def reclosing_module_meets_its_load(plan: Plan) -> Iterator[Finding]:
    """A module that closes by itself onto a running load carries it alone: P/(eta V) < I_trip, low end.

    Case: lowest voltage of the inverter; modules that close again by hand are held until the loads are off.
    Why: modules close one by one, and trip one by one.
    Not seen here: an inverter that waits longer than all modules need, where its delay is given and longer.
    Source: P = U I, efficiency divided by (derived).
    """

    kinds = {module.kind.path: module for module in reversed(plan.bank.modules)}
    if plan.bank.inverters and len(plan.bank.modules) > 1:
        yield from _TWO.over(tuple(kinds.values()), lambda module: _reclosing_module_meets_its_load_at(plan, module))


def _reclosing_module_meets_its_load_at(plan: Plan, module: Module) -> Finding:
    trips, path = module.kind.trips, module.kind.path
    how = wanted(trips.recloses, f"{path}.trips.recloses")
    restart = words("recloses", f"{module.kind.name} closes again", how, plan.bank.key(f"{path}.trips.recloses"))
    if how == "never":
        text = say(
            "{kind} does not close again by itself: hold the loads off until all modules are on",
            kind=module.kind.name,
        )
        return _TWO.found(
            module.name,
            None,
            (None, None),
            text,
            say("Close all modules before the inverter starts."),
            inputs=(restart,),
            case="closing again",
        )
    delays = [inverter.kind.start_delay for inverter in plan.bank.inverters]
    if delays and trips.reclose_delay is not None and all(d is not None and d > trips.reclose_delay for d in delays):
        text = say("Every inverter waits longer than {kind} needs to close again", kind=module.kind.name)
        return _TWO.found(
            module.name, None, (None, None), text, say("Nothing to do."), inputs=(restart,), case="closing again"
        )
    return _alone(plan, module, restart)


def _alone(plan: Plan, module: Module, restart: Input) -> Finding:
    """One module under the whole load."""
    total, least, inputs = 0.0, 0.0, [restart]
    for inverter in plan.bank.inverters:
        kind = inverter.kind
        power, (efficiency, best, assumed) = wanted(kind.power, f"{kind.path}.power"), efficiency_of(inverter)
        voltage = wanted(kind.cut_out or kind.lowest_voltage, f"{kind.path}.cut_out")
        total += float(current_for_power(power, efficiency, voltage))
        least += float(current_for_power(power, best, voltage))
        inputs += assumed
        inputs.append(
            Input(
                "P/(eta V)",
                f"{inverter.name} at {voltage:g} V",
                amperes(float(current_for_power(power, efficiency, voltage))),
                Computed("rated power"),
            )
        )
    limit = trip_low(module, "discharge")
    text = say(
        "Closing again alone, {module} meets {current}; it may trip from {limit} on",
        module=module.name,
        current=amperes(total),
        limit=amperes(limit),
    )
    do = say("Hold the loads off until all modules are on: a start delay, or a restart by hand.")
    return _TWO.found(
        module.name,
        amperes(total) if least == total else Figure(total, "current", least, total),
        (None, limit),
        text,
        do,
        inputs=(*inputs, trip_input(plan.bank, module, "discharge")),
        case="closing again",
    )


CHECKS = (first_module_wakes_the_inverters, reclosing_module_meets_its_load)
