"""What to do, as sheets with times: close in this order, bring one nearer, take all to full and join at the top.

Gives: plans(). Every plan says which module, with what, to what, how long, and when to stop;
times are ranges that the run engine found.
Limits: a module with a stop is in no plan. The hand decides; nothing is switched from here.
Sources: end of charge by tail current with all cells above the knee, balancing only at the top [common practice, no
source; reason: on the plateau 10 mV are 2 to 25 points of charge].
"""

from __future__ import annotations

from collections.abc import Sequence

from bankwright.bank.model import Bank
from bankwright.forms.sheets import ReadingWanted, Sheet, Step, Tick
from bankwright.forms.trace import PRACTICE
from bankwright.forms.wording import Figure, Say, say
from bankwright.match.bring import bring_nearer
from bankwright.match.cautions import ALONE, CHARGER, CLOSING, QUIET, band_of, charger_notes, temper
from bankwright.match.charge_range import ChargeRange
from bankwright.match.entry import ModuleReading
from bankwright.match.inrush import Inrush
from bankwright.match.settle import Settled
from bankwright.match.timed import ChargerChoice, Hours, Tools, charger_for, hours_to_full

__all__ = ["close_in_order", "plans", "to_full"]

KNEE = 3.4  # V a cell; above it voltage tells charge again; common practice, no source


def plans(
    bank: Bank,
    readings: Sequence[ModuleReading],
    ranges: Sequence[ChargeRange],
    inrush: Inrush,
    settled: Settled | None,
    *,
    may_join: bool,
    apart: bool,
    equal: bool,
    tools: Tools,
) -> tuple[Sheet, ...]:
    """All plans that fit, the first one is the one to take; `apart`: the difference itself stands in the way."""
    made = []
    if may_join:
        made.append(close_in_order(inrush, settled))
    if not equal:
        made.append(to_full(bank, ranges, inrush, tools))
    if len(readings) > 1:
        every = bring_nearer(bank, readings, ranges, inrush, tools) if apart or tools.resistor else []
        made += every if apart else [sheet for sheet in every if "resistor" in sheet.title]
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
        cautions = (QUIET,)
        readings: tuple[ReadingWanted, ...] = ()
    else:
        most, cautions = Figure(at_once.high or at_once.value, "current"), (CLOSING,)
        fallen = Figure(max(most.value / 5, 1.0), "current")
        acts = (
            say("Read {name} once more; go on only if it reads as before, within its last digits.", name=name),
            say(
                "Close the breaker of {name}. About {current} flows at once, {most} at most.",
                name=name,
                current=at_once,
                most=most,
            ),
            say("Wait until the clamp meter on its lead reads less than {fallen}.", fallen=fallen),
        )
        readings = (ReadingWanted("current", name, "current at its lead after a minute", -(most.value), most.value),)
    return Step(
        f"match.close.{name}",
        f"Close {name}",
        acts,
        say("{name} is closed and quiet.", name=name),
        at=(name,),
        cautions=cautions,
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


def to_full(bank: Bank, ranges: Sequence[ChargeRange], inrush: Inrush, tools: Tools) -> Sheet:
    """Every module to full one by one, then join at the top: the only way to know."""
    steps, low, high, open_end = [], 0.0, 0.0, False
    before: tuple[str, ...] = ()
    for found in ranges:
        module = bank.module(found.module)
        takes = inrush.limit_of(module.name).value
        charger = charger_for(module, tools.charger_current, tools.charger_ceiling, limit=takes)
        hours = hours_to_full(module, found, charger)
        low, high, open_end = low + hours.low, high + (hours.high or 0.0), open_end or hours.high is None
        first = temper(module, inrush.degc.get(module.name))
        steps.append(_charging(bank, found, charger, hours, before, first=first))
        before = (steps[-1].id,)
    steps.append(_join_at_top(ranges, before))
    total = Hours(low, None if open_end else high)
    note = say("All charging together takes {time}, as the readings allow anything in between.", time=total.words())
    return Sheet("match", "Every module to full, one by one, and join at the top", tuple(steps), (note,))


def _charging(
    bank: Bank,
    found: ChargeRange,
    charger: ChargerChoice,
    hours: Hours,
    before: tuple[str, ...],
    *,
    first: tuple[Say, ...],
) -> Step:
    cells = bank.module(found.module).kind.cells
    ceiling, tail = Figure(charger.ceiling, "voltage"), Figure(charger.tail, "current")
    alone = f"Charge {found.module} alone to full"
    ends = charger.ceiling * 0.97, charger.ceiling * 1.005
    return Step(
        f"match.full.{found.module}",
        f"Bring {found.module} to its temperature, then c{alone[1:]}" if first else alone,
        (*first, *_charging_acts(found.module, charger, hours)),
        say(
            "{module} is full: current below {tail} at {ceiling}, all {cells} cells above the knee.",
            module=found.module,
            tail=tail,
            ceiling=ceiling,
            cells=str(cells),
        ),
        at=(found.module,),
        cautions=(ALONE, CHARGER, band_of(bank.module(found.module)), *charger_notes(charger)),
        tools=("charger", "meter", "clamp meter"),
        readings=(
            ReadingWanted("voltage", found.module, "voltage at the end of charge", *ends),
            ReadingWanted("current", found.module, "tail current", -charger.tail, 0.0),
        ),
        ticks=(Tick(f"match.full.{found.module}.done", f"{found.module} is full"),),
        after=before,
        source=PRACTICE,
        duration=None if hours.high is None else hours.high * 3600,
    )


def _charging_acts(module: str, charger: ChargerChoice, hours: Hours) -> tuple[Say, ...]:
    assumed = " (chosen here: name yours to have its times)" if charger.assumed else ""
    return (
        say(
            "Set {charger} to {ceiling}" + assumed + "; read it without a module first.",
            charger=charger.name,
            ceiling=Figure(charger.ceiling, "voltage"),
        ),
        say(
            "Connect it to {module} alone, plus to plus, minus to minus, and charge with {current}.",
            module=module,
            current=Figure(charger.current, "current"),
        ),
        say(
            "Stop when the current has fallen to {tail} at the ceiling and every cell reads above {knee}.",
            tail=Figure(charger.tail, "current"),
            knee=Figure(KNEE, "cell_voltage"),
        ),
        say("Expect {time}.", time=hours.words()),
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
