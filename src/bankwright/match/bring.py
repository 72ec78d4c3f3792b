"""Bring one module nearer: charge the lowest, discharge the highest, or level through a resistor.

Gives: bring_nearer(), resistor_sheet(). The module that lies furthest from the middle of the others is moved, no other;
with two modules either may be. A resistor is offered only where the others can be joined first, and nothing it charges
is too cold or too warm.
Limits: makes the current at once small; says nothing of equal charge.
Sources: common practice; times from match/timed.
"""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

import numpy as np

from bankwright.bank.model import Bank, Module
from bankwright.forms.sheets import Caution, ReadingWanted, Sheet, Step, Tick
from bankwright.forms.trace import PRACTICE
from bankwright.forms.wording import Figure, Say, say
from bankwright.handbook.cells import cell_voltage
from bankwright.match.cautions import ALONE, CHARGER, LOADED, band_of, charger_notes, fuse_for, temper
from bankwright.match.charge_range import ChargeRange
from bankwright.match.entry import ModuleReading
from bankwright.match.inrush import Inrush, Limit, Side
from bankwright.match.timed import (
    ChargerChoice,
    Hours,
    ResistorPlan,
    Tools,
    charger_for,
    hours_to_move,
    through_resistor,
)

__all__ = ["bring_nearer", "resistor_sheet"]

WIRED = "Main switch open, inverters and chargers off, the breaker of {alone} open while the resistor is wired."
STEP = 0.05  # of the capacity, between two looks; common practice, no source
HALF = 0.5  # of the larger gap: a smaller one on the other side is left alone


def bring_nearer(
    bank: Bank,
    readings: Sequence[ModuleReading],
    ranges: Sequence[ChargeRange],
    inrush: Inrush,
    tools: Tools,
) -> list[Sheet]:
    """Sheets that move the outermost module, the plainest first."""
    by_volts = sorted(readings, key=lambda r: r.voltage)
    low, high = by_volts[0], by_volts[-1]
    below = median(r.voltage for r in by_volts[1:]) - low.voltage
    above = high.voltage - median(r.voltage for r in by_volts[:-1])
    found, made = {r.module: r for r in ranges}, []
    if below >= HALF * above:
        made.append(_charge_low(bank, low, _goal(by_volts[1:], low), found, inrush, tools=tools))
    if above > HALF * below or len(readings) == 2:
        made.append(_discharge_high(bank, high, _goal(by_volts[:-1], high), found))
    alone = low if below >= above else high
    others = [reading for reading in by_volts if reading is not alone]
    if _levels(bank, inrush, alone, others):
        beside = [r for r in others if r is not low and r is not high]
        order = [name for name in inrush.order.names if name != alone.module]
        plan = through_resistor(bank, high, low, tools.resistor, tools.resistor_power, beside=beside)
        made.append(resistor_sheet(plan, order, cell_voltage("full").value * bank.module(high.module).kind.cells))
    return made


def _goal(others: Sequence[ModuleReading], to: ModuleReading) -> ModuleReading:
    """The one of the others that lies nearest to the module that is moved."""
    return min(others, key=lambda r: abs(r.voltage - to.voltage))


def _levels(bank: Bank, inrush: Inrush, alone: ModuleReading, others: Sequence[ModuleReading]) -> bool:
    """May the others be joined first, and may whatever the resistor charges be charged at all."""
    charged = [alone] if alone.voltage < others[0].voltage else others
    if any(inrush.limit_of(r.module).value == 0.0 for r in charged):
        return False
    if len(others) == 1:
        return True
    if inrush.order.names[-1] != alone.module:
        return False
    window = min((m.kind.join_within for m in bank.modules if m.kind.join_within is not None), default=np.inf)
    volts = [r.voltage for r in others]
    if max(volts) - min(volts) + 2 * max(r.digit for r in others) > window:
        return False
    return all(_within(inrush, count) for count in range(2, len(others) + 1))


def _within(inrush: Inrush, count: int) -> bool:
    """No current at once of this closing passes a limit; an unknown limit counts as passed."""
    joined = inrush.joined(count)
    sides: tuple[tuple[Side, tuple[Limit, ...]], ...] = (("charge", inrush.charge), ("discharge", inrush.discharge))
    for side, limits in sides:
        for amps, limit in zip(inrush.sided(joined, side)[2], limits, strict=True):
            if amps > 0.0 and (limit.value is None or amps > limit.value):
                return False
    return True


def _charge_low(
    bank: Bank,
    low: ModuleReading,
    goal: ModuleReading,
    found: dict[str, ChargeRange],
    inrush: Inrush,
    *,
    tools: Tools,
) -> Sheet:
    module = bank.module(low.module)
    takes = inrush.limit_of(module.name).value
    charger = charger_for(module, tools.charger_current, tools.charger_ceiling, goal=goal.voltage, limit=takes)
    hours = hours_to_move(module, found[low.module], found[goal.module], -charger.current)
    step = Step(
        f"match.charge.{module.name}",
        f"Charge {module.name} alone until it rests near the others",
        (*temper(module, inrush.degc.get(module.name)), *_charge_acts(module, charger, hours, goal.voltage)),
        say("{module} rests where {other} rests.", module=module.name, other=goal.module),
        at=(module.name,),
        cautions=(ALONE, CHARGER, band_of(module), *charger_notes(charger)),
        tools=("charger", "meter"),
        readings=(ReadingWanted("voltage", module.name, "rested voltage", low.voltage, goal.voltage + 0.2),),
        ticks=(Tick(f"match.charge.{module.name}.done", f"{module.name} is near"),),
        source=PRACTICE,
        duration=None if hours.high is None else hours.high * 3600,
    )
    return Sheet("match", f"Charge {module.name}, the lowest, alone", (step,), (_not_equal(),))


def _charge_acts(module: Module, charger: ChargerChoice, hours: Hours, volts: float) -> tuple[Say, ...]:
    return (
        say(
            "Set {charger} to {ceiling}; read it without a module. Connect it to {module} alone, plus to plus, minus "
            "to minus, and charge with {current}.",
            charger=charger.name,
            ceiling=Figure(charger.ceiling, "voltage"),
            module=module.name,
            current=Figure(charger.current, "current"),
        ),
        say(
            "{stops}, let it rest half an hour, read it; stop for good when it rests at {volts} or more, at the latest "
            "after {time} of charging.",
            stops=_stops(hours, STEP * (module.capacity_ah or module.kind.capacity_ah or 100.0) / charger.current),
            volts=Figure(volts, "voltage"),
            time=_latest(hours),
        ),
    )


def _discharge_high(bank: Bank, high: ModuleReading, goal: ModuleReading, found: dict[str, ChargeRange]) -> Sheet:
    module = bank.module(high.module)
    capacity = module.capacity_ah or module.kind.capacity_ah or 100.0
    most = module.kind.discharge.continuous
    current = 0.1 * capacity if most is None else min(0.1 * capacity, most)
    hours = hours_to_move(module, found[high.module], found[goal.module], current)
    step = Step(
        f"match.discharge.{module.name}",
        f"Discharge {module.name} alone until it rests near the others",
        (
            say(
                "Put a load of about {power} ({current}) on {module} alone: a heater through the inverter, fused.",
                power=Figure(current * high.voltage, "power"),
                current=Figure(current, "current"),
                module=module.name,
            ),
            say(
                "{stops}, let it rest half an hour, read it; stop for good when it rests at {volts} or less, at the "
                "latest after {time} of discharging.",
                stops=_stops(hours, STEP * capacity / current),
                volts=Figure(goal.voltage, "voltage"),
                time=_latest(hours),
            ),
        ),
        say("{module} rests where {other} rests.", module=module.name, other=goal.module),
        at=(module.name,),
        cautions=(LOADED,),
        tools=("load", "meter"),
        readings=(ReadingWanted("voltage", module.name, "rested voltage", goal.voltage - 0.2, high.voltage),),
        ticks=(Tick(f"match.discharge.{module.name}.done", f"{module.name} is near"),),
        source=PRACTICE,
        duration=None if hours.high is None else hours.high * 3600,
    )
    return Sheet("match", f"Discharge {module.name}, the highest, alone", (step,), (_not_equal(),))


def _stops(hours: Hours, every: float) -> str:
    """When to look: after what is needed at least, then every few points of charge."""
    every = every if hours.high is None else max(min(every, hours.high / 2), 1 / 60)
    short = Hours(every, every).words().removeprefix("about ")
    if hours.low <= every:
        return f"Stop every {short}"
    first = Hours(hours.low, hours.low).words().removeprefix("about ")
    return f"Stop after {first}, then every {short}"


def _latest(hours: Hours) -> str:
    least = 0.1
    return "two weeks" if hours.high is None else Hours(0.0, max(hours.high, least)).words().removeprefix("up to ")


def _not_equal() -> Say:
    return say("This makes the joining current small. It does not make the modules equally charged.")


def resistor_sheet(plan: ResistorPlan, order: Sequence[str] = (), volts: float = 58.4) -> Sheet:
    """Level through a resistor, with its stop rule; `order` closes the others first, `volts` the fuses must break."""
    cautions, rating = _stands(plan)
    joined = plan.joined[0] if len(plan.joined) == 1 else "the joined modules"
    step = Step(
        f"match.resistor.{plan.high}.{plan.low}",
        f"Level {plan.alone} and {joined} through a resistor",
        (*_others_first(plan, order), *_resistor_acts(plan, joined, rating, volts)),
        say("Less than {stop} across the resistor.", stop=Figure(plan.stop, "voltage_drop")),
        at=(plan.alone, *plan.joined),
        cautions=cautions,
        tools=("resistor", "two fuses", "meter"),
        readings=(ReadingWanted("voltage_drop", plan.high, "across the resistor", 0.0, plan.stop),),
        ticks=(Tick(f"match.resistor.{plan.high}.{plan.low}.done", "levelled"),),
        source=PRACTICE,
        duration=None if plan.hours.high is None else plan.hours.high * 3600,
    )
    note = say(
        "Nothing across the resistor does not prove equal charge: on the plateau the voltage is gone long before the "
        "difference of charge is."
    )
    return Sheet("match", f"Level {plan.alone} and {joined} through a resistor", (step,), (note, _not_equal()))


def _stands(plan: ResistorPlan) -> tuple[tuple[Caution, ...], float | None]:
    """Cautions of the resistor, and the rating that it needs. [W]"""
    cautions = [Caution(say(WIRED, alone=plan.alone), PRACTICE)]
    rating = plan.rating
    if plan.stands is False and plan.largest_difference is not None:
        words = "This resistor does not stand it: {power} against {rating}. It stands a difference of {most} at most."
        power, has = Figure(plan.first_power, "power"), Figure(plan.rating or 0.0, "power")
        most = Figure(plan.largest_difference, "voltage_drop")
        cautions.append(Caution(say(words, power=power, rating=has, most=most), PRACTICE))
        rating = float(np.ceil(2 * plan.first_power))
    hot = "The resistor grows hot: on a stone, nothing near that burns, nobody touches it. It never stays alone."
    return (*cautions, Caution(say(hot), PRACTICE)), rating


def _others_first(plan: ResistorPlan, order: Sequence[str]) -> tuple[Say, ...]:
    if len(plan.joined) < 2:
        return ()
    words = "Close these first, in this order: {order}. {alone} stays open."
    return (say(words, order=", ".join(order), alone=plan.alone),)


def _resistor_acts(plan: ResistorPlan, joined: str, rating: float | None, volts: float) -> tuple[Say, ...]:
    rated = "" if rating is None else f" rated {rating:g} W or more"
    return (
        say(
            "Take the plus lead of {alone} off. Minus to minus of {joined}, plus to plus through {ohm}" + rated + "; "
            "only then close {alone}.",
            alone=plan.alone,
            joined=joined,
            ohm=Figure(plan.resistance, "resistance"),
        ),
        say(
            "A fuse of {fuse} at both plus posts, for {volts} DC or more and for the short-circuit current there.",
            fuse=Figure(fuse_for(plan.first_current), "current"),
            volts=Figure(volts, "voltage"),
        ),
        say(
            "{current} flows at first, {power} of heat; both fall as the difference does.",
            current=Figure(plan.first_current, "current"),
            power=Figure(plan.first_power, "power"),
        ),
        _stop_rule(plan),
    )


def _stop_rule(plan: ResistorPlan) -> Say:
    stop = Figure(plan.stop, "voltage_drop")
    if plan.hours.high is None and not plan.moved_ah[1]:
        return say("Stop when the meter across the resistor reads {stop}; no curve tells how long.", stop=stop)
    return say(
        "Stop when the meter across the resistor reads {stop}: expect {time}, {least} to {most} moved.",
        stop=stop,
        time=plan.hours.words(),
        least=Figure(plan.moved_ah[0], "capacity_ah"),
        most=Figure(plan.moved_ah[1], "capacity_ah"),
    )
