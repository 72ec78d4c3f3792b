"""What to do, as sheets with times: close in this order, bring one nearer, take all to full and join at the top.

Gives: plans(). Every plan says which module, with what, to what, how long, and when to stop; times are ranges that the
run engine found.
Limits: a module with a stop is in no plan. The hand decides; nothing is switched from here.
Sources: end of charge by tail current with all cells above the knee, balancing only at the top [common practice, no
source; reason: on the plateau 10 mV are 2 to 25 points of charge].
"""

from __future__ import annotations

from collections.abc import Sequence

from bankwright.bank.model import Bank
from bankwright.forms.sheets import Caution, ReadingWanted, Sheet, Step, Tick
from bankwright.forms.wording import Figure, Say, say
from bankwright.match.charge_range import ChargeRange
from bankwright.match.entry import ModuleReading
from bankwright.match.inrush import Inrush
from bankwright.match.settle import Settled
from bankwright.match.sources import PRACTICE
from bankwright.match.timed import (
    ChargerChoice,
    Hours,
    ResistorPlan,
    Tools,
    charger_for,
    hours_to_full,
    hours_to_move,
    through_resistor,
)

__all__ = ["bring_nearer", "close_in_order", "plans", "resistor_sheet", "to_full"]

OPEN = "Breaker of every other module open and its posts covered. Main switch open. Nothing on the bus but "
ALONE = Caution(say(OPEN + "this module and this charger."), PRACTICE)
LOADED = Caution(say(OPEN + "this module and this load."), PRACTICE)
TWO = Caution(say(OPEN + "these two modules."), PRACTICE)
CHARGER = Caution(
    say(
        "Measure the charger's open voltage and polarity before it is connected: it must not exceed the ceiling. No "
        "recovery or repair programme, no equalising. Stay within call; local codes and a licensed electrician have "
        "the last word."
    ),
    PRACTICE,
)
CLOSING = Caution(say("A spark or a buzzing breaker means: open it again at once, read all voltages again."), PRACTICE)
KNEE = 3.4  # V a cell; above it voltage tells charge again; common practice, no source


def plans(
    bank: Bank,
    readings: Sequence[ModuleReading],
    ranges: Sequence[ChargeRange],
    inrush: Inrush,
    settled: Settled | None,
    may_join: bool,
    equal: bool,
    tools: Tools,
) -> tuple[Sheet, ...]:
    """All plans that fit, the first one is the one to take."""
    made = []
    if may_join:
        made.append(close_in_order(inrush, settled))
    if not equal:
        made.append(to_full(bank, ranges, tools))
    if not may_join and len(readings) > 1:
        made += bring_nearer(bank, readings, ranges, tools)
    return tuple(made)


def close_in_order(inrush: Inrush, settled: Settled | None) -> Sheet:
    """Close the breakers one after the other, in the gentlest order."""
    names, steps = inrush.order.names, []
    before: tuple[str, ...] = ()
    for count in range(1, len(names) + 1):
        name = names[count - 1]
        at_once = None
        if count > 1:
            currents = inrush.currents(inrush.joined(count))
            at_once = Figure(float(abs(currents[1]).max()), "current", None, float(abs(currents[2]).max()))
        steps.append(_closing(name, at_once, before, settled))
        before = (steps[-1].id,)
    return Sheet("match", "Close the breakers in this order", tuple(steps))


def _closing(name: str, at_once: Figure | None, before: tuple[str, ...], settled: Settled | None) -> Step:
    if at_once is None:
        acts: tuple[Say, ...] = (say("Close the breaker of {name}. Nothing flows yet.", name=name),)
        readings: tuple[ReadingWanted, ...] = ()
    else:
        most = Figure(at_once.high or at_once.value, "current")
        acts = (
            say("Read {name} once more; go on only if it reads as before, within its last digits.", name=name),
            say(
                "Close the breaker of {name}. About {current} flows at once, {most} at most.",
                name=name,
                current=at_once,
                most=most,
            ),
            say("Wait until the clamp meter on its lead reads less than a fifth of that."),
        )
        readings = (ReadingWanted("current", name, "current at its lead after a minute", -(most.value), most.value),)
    return Step(
        f"match.close.{name}",
        f"Close {name}",
        acts,
        say("{name} is closed and quiet.", name=name),
        at=(name,),
        cautions=() if at_once is None else (CLOSING,),
        tools=("meter", "clamp meter") if at_once else ("meter",),
        readings=readings,
        ticks=(Tick(f"match.close.{name}.done", f"{name} closed"),),
        after=before,
        duration=_wait(settled),
    )


def _wait(settled: Settled | None) -> float | None:
    """Time until the largest current of the worst run has fallen to a fifth."""
    if settled is None:
        return None
    size = abs(settled.current).max(axis=(0, 2))
    under = (size <= 0.2 * size[0]).nonzero()[0]
    return float(settled.time[under[0]]) if len(under) else None


def to_full(bank: Bank, ranges: Sequence[ChargeRange], tools: Tools) -> Sheet:
    """Every module to full one by one, then join at the top: the only way to know."""
    steps, low, high, open_end = [], 0.0, 0.0, False
    before: tuple[str, ...] = ()
    for found in ranges:
        module = bank.module(found.module)
        charger = charger_for(module, tools.charger_current, tools.charger_ceiling)
        hours = hours_to_full(module, found, charger)
        low, high, open_end = low + hours.low, high + (hours.high or 0.0), open_end or hours.high is None
        steps.append(_charging(bank, found, charger, hours, before))
        before = (steps[-1].id,)
    steps.append(_join_at_top(ranges, before))
    total = Hours(low, None if open_end else high)
    note = say("All charging together takes {time}, as the readings allow anything in between.", time=total.words())
    return Sheet("match", "Every module to full, one by one, and join at the top", tuple(steps), (note,))


def _charging(bank: Bank, found: ChargeRange, charger: ChargerChoice, hours: Hours, before: tuple[str, ...]) -> Step:
    cells = bank.module(found.module).kind.cells
    ceiling, tail = Figure(charger.ceiling, "voltage"), Figure(charger.tail, "current")
    assumed = " (chosen here: name yours to have its times)" if charger.assumed else ""
    return Step(
        f"match.full.{found.module}",
        f"Charge {found.module} alone to full",
        (
            say(
                "Set {charger} to {ceiling}" + assumed + "; read it without a module first.",
                charger=charger.name,
                ceiling=ceiling,
            ),
            say(
                "Connect it to {module} alone, plus to plus, and charge with {current}.",
                module=found.module,
                current=Figure(charger.current, "current"),
            ),
            say(
                "Stop when the current has fallen to {tail} at the ceiling and every cell reads above {knee}. "
                "Expect {time}.",
                tail=tail,
                knee=Figure(KNEE, "cell_voltage"),
                time=hours.words(),
            ),
        ),
        say(
            "{module} is full: current below {tail} at {ceiling}, all {cells} cells above the knee.",
            module=found.module,
            tail=tail,
            ceiling=ceiling,
            cells=str(cells),
        ),
        at=(found.module,),
        cautions=(ALONE, CHARGER),
        tools=("charger", "meter", "clamp meter"),
        readings=(
            ReadingWanted(
                "voltage", found.module, "voltage at the end of charge", charger.ceiling * 0.97, charger.ceiling * 1.005
            ),
            ReadingWanted("current", found.module, "tail current", -charger.tail, 0.0),
        ),
        ticks=(Tick(f"match.full.{found.module}.done", f"{found.module} is full"),),
        after=before,
        source=PRACTICE,
        duration=None if hours.high is None else hours.high * 3600,
    )


def _join_at_top(ranges: Sequence[ChargeRange], before: tuple[str, ...]) -> Step:
    names = tuple(found.module for found in ranges)
    return Step(
        "match.top.join",
        "Join the full modules",
        (
            say("Let all modules rest an hour, read them all with one meter on one range, enter the readings."),
            say("Ask Match again: near full their difference tells charge, and the current at once is known."),
            say("Close the breakers in the order that it gives."),
        ),
        say("All modules are joined, and all were full."),
        at=names,
        cautions=(CLOSING,),
        tools=("meter",),
        ticks=(Tick("match.top.join.done", "joined at the top"),),
        after=before,
        source=PRACTICE,
        duration=3600.0,
    )


def bring_nearer(
    bank: Bank, readings: Sequence[ModuleReading], ranges: Sequence[ChargeRange], tools: Tools
) -> list[Sheet]:
    """Move the outermost module: charge the lowest, discharge the highest, or level the two through a resistor."""
    by_volts = sorted(readings, key=lambda r: r.voltage)
    low, high = by_volts[0], by_volts[-1]
    found = {r.module: r for r in ranges}
    return [
        _charge_low(bank, low, high, found, tools),
        _discharge_high(bank, low, high, found),
        resistor_sheet(through_resistor(bank, high, low, tools.resistor, tools.resistor_power)),
    ]


def _charge_low(
    bank: Bank, low: ModuleReading, high: ModuleReading, found: dict[str, ChargeRange], tools: Tools
) -> Sheet:
    module = bank.module(low.module)
    charger = charger_for(module, tools.charger_current, min(tools.charger_ceiling or 1e9, high.voltage + 1.0))
    if tools.charger_current is None:
        charger = charger_for(module)
    hours = hours_to_move(module, found[low.module], found[high.module], -charger.current)
    acts = (
        say(
            "Connect {charger} to {module} alone and charge with {current}.",
            charger=charger.name,
            module=module.name,
            current=Figure(charger.current, "current"),
        ),
        say(
            "Stop every hour, let it rest half an hour, read it; stop for good when it rests at {volts} or more, "
            "at the latest after {time}.",
            volts=Figure(high.voltage, "voltage"),
            time=_latest(hours),
        ),
    )
    step = Step(
        f"match.charge.{module.name}",
        f"Charge {module.name} alone until it rests near the others",
        acts,
        say("{module} rests where {other} rests.", module=module.name, other=high.module),
        at=(module.name,),
        cautions=(ALONE, CHARGER),
        tools=("charger", "meter"),
        readings=(ReadingWanted("voltage", module.name, "rested voltage", low.voltage, high.voltage + 0.2),),
        ticks=(Tick(f"match.charge.{module.name}.done", f"{module.name} is near"),),
        source=PRACTICE,
        duration=None if hours.high is None else hours.high * 3600,
    )
    return Sheet("match", f"Charge {module.name}, the lowest, alone", (step,), (_not_equal(),))


def _discharge_high(bank: Bank, low: ModuleReading, high: ModuleReading, found: dict[str, ChargeRange]) -> Sheet:
    module = bank.module(high.module)
    capacity = module.capacity_ah or module.kind.capacity_ah or 100.0
    current = 0.1 * capacity
    hours = hours_to_move(module, found[high.module], found[low.module], current)
    power = Figure(current * high.voltage, "power")
    step = Step(
        f"match.discharge.{module.name}",
        f"Discharge {module.name} alone until it rests near the others",
        (
            say(
                "Put a load of about {power} ({current}) on {module} alone: a heater through the inverter, fused.",
                power=power,
                current=Figure(current, "current"),
                module=module.name,
            ),
            say(
                "Stop every hour, let it rest half an hour, read it; stop for good when it rests at {volts} or less, "
                "at the latest after {time}.",
                volts=Figure(low.voltage, "voltage"),
                time=_latest(hours),
            ),
        ),
        say("{module} rests where {other} rests.", module=module.name, other=low.module),
        at=(module.name,),
        cautions=(LOADED,),
        tools=("load", "meter"),
        readings=(ReadingWanted("voltage", module.name, "rested voltage", low.voltage - 0.2, high.voltage),),
        ticks=(Tick(f"match.discharge.{module.name}.done", f"{module.name} is near"),),
        source=PRACTICE,
        duration=None if hours.high is None else hours.high * 3600,
    )
    return Sheet("match", f"Discharge {module.name}, the highest, alone", (step,), (_not_equal(),))


def _latest(hours: Hours) -> str:
    return "two weeks" if hours.high is None else f"{max(hours.high, 0.1):.2g} h"


def _not_equal() -> Say:
    return say("This makes the joining current small. It does not make the modules equally charged.")


def resistor_sheet(plan: ResistorPlan) -> Sheet:
    """Level two modules through a resistor, with its stop rule."""
    ohm, power = Figure(plan.resistance, "resistance"), Figure(plan.first_power, "power")
    cautions = [TWO]
    if plan.stands is False and plan.largest_difference is not None:
        words = "This resistor does not stand it: {power} against {rating}. It stands a difference of {most} at most."
        cautions.append(
            Caution(
                say(
                    words,
                    power=power,
                    rating=Figure(plan.rating or 0.0, "power"),
                    most=Figure(plan.largest_difference, "voltage_drop"),
                )
            )
        )
    cautions.append(Caution(say("The resistor grows hot: on a stone, nothing near that burns, nobody touches it.")))
    rated = "" if plan.rating is None else f" rated {plan.rating:g} W or more"
    step = Step(
        f"match.resistor.{plan.high}.{plan.low}",
        f"Level {plan.high} and {plan.low} through a resistor",
        (
            say(
                "Join the minus posts of {high} and {low}, then the plus posts through {ohm}" + rated + ", fused.",
                high=plan.high,
                low=plan.low,
                ohm=ohm,
            ),
            say(
                "{current} flows at first, {power} of heat; both fall as the difference does.",
                current=Figure(plan.first_current, "current"),
                power=power,
            ),
            say(
                "Stop when the meter across the resistor reads {stop}: expect {time}, {least} to {most} moved.",
                stop=Figure(plan.stop, "voltage_drop"),
                time=plan.hours.words(),
                least=Figure(plan.moved_ah[0], "capacity_ah"),
                most=Figure(plan.moved_ah[1], "capacity_ah"),
            ),
        ),
        say("Less than {stop} across the resistor.", stop=Figure(plan.stop, "voltage_drop")),
        at=(plan.high, plan.low),
        cautions=tuple(cautions),
        tools=("resistor", "fuse", "meter"),
        readings=(ReadingWanted("voltage_drop", plan.high, "across the resistor", 0.0, plan.stop),),
        ticks=(Tick(f"match.resistor.{plan.high}.{plan.low}.done", "levelled"),),
        source=PRACTICE,
        duration=None if plan.hours.high is None else plan.hours.high * 3600,
    )
    note = say(
        "Nothing across the resistor does not prove equal charge: on the plateau the voltage is gone long before the "
        "difference of charge is."
    )
    return Sheet("match", f"Level {plan.high} and {plan.low} through a resistor", (step,), (note, _not_equal()))
