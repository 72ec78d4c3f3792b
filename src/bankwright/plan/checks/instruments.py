"""Meters and clamps of the file against what they will have to read.

Gives: CHECKS (P-METER-1). Limits: accuracy is Match's and Prove's matter; a quantity for which no instrument stands in
the file is not asked for here.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.model import Bank
from bankwright.forms.card import Card
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.readings import Instrument
from bankwright.forms.trace import Traced, computed, given
from bankwright.forms.wording import Figure, say
from bankwright.plan.context import Plan
from bankwright.plan.figures.voltages import full_voltage, highest_voltage

__all__ = ["CHECKS"]

_CARD = Card(
    "P-METER-1",
    "Meters reach what they are to read",
    "range >= full voltage of the bus; range >= current of a module (fail), of the main (caution)",
    Source("the meter's data sheet", how_known="read"),
    "code",
)


@check(_CARD.code, _CARD.title)
def meters_reach(plan: Plan) -> Iterator[Finding]:
    """Of the file's instruments for a quantity one reaches what is to be read: for voltage all cells full (a caution
    below the bus's highest), for current the largest of a module (a caution below that of the main).

    Case: full discharge and full charge, modules away included.
    Why: a meter beyond its range shows nothing on the day the bank is proved, and a cheap one does not survive it.
    Not seen here: instruments whose range is not given; what shows a bank's current is its shunt too.
    Source: the instruments' sheets.
    """
    for quantity, one in (("voltage", _volts), ("current", _amperes)):
        best = _furthest(plan.bank, quantity)
        if best is not None:
            try:
                yield one(plan, best)
            except NeedsValue:
                continue  # what cannot be solved is told where it is asked for


def _furthest(bank: Bank, quantity: str) -> Instrument | None:
    known = [each for each in bank.instruments if each.quantity == quantity and each.high is not None]
    return max(known, key=lambda each: each.high or 0.0, default=None)


def _told(plan: Plan, meter: Instrument, reads: tuple[str, Traced], at_most: tuple[str, Traced], unit: str) -> Finding:
    reach = Figure(meter.high or 0.0, unit)
    number = [each.name for each in plan.bank.instruments].index(meter.name)
    text = say(
        "{meter} reads up to {reach}; {what} {least}, {other} {most}",
        meter=meter.name,
        reach=reach,
        what=reads[0],
        least=Figure(reads[1].high, unit),
        other=at_most[0],
        most=Figure(at_most[1].high, unit),
    )
    inputs = (
        given("range", f"range of {meter.name}", reach.value, unit, plan.bank.key(f"instruments[{number}].range")),
        computed("least", reads[0], reads[1]),
        computed("most", at_most[0], at_most[1]),
    )
    do = say("Take an instrument with a range of {most} and more.", most=Figure(at_most[1].high, unit))
    limits, steps = (reads[1].high, None), (at_most[1].high, None)
    return _CARD.found(meter.name, reach, limits, text, do, inputs=inputs, caution_limits=steps)


def _volts(plan: Plan, meter: Instrument) -> Finding:
    full = Traced(Figure(max(full_voltage(module) for module in plan.bank.modules), "voltage"))
    return _told(plan, meter, ("all cells full are", full), ("the bus may reach", highest_voltage(plan)), "voltage")


def _amperes(plan: Plan, meter: Instrument) -> Finding:
    cases = tuple(plan.steady.continuous)
    modules = max((plan.worst(module.name, cases) for module in plan.bank.modules), key=lambda each: each.high)
    lines = max((plan.worst(link.name, cases) for link in plan.bank.links), key=lambda each: each.high)
    return _told(plan, meter, ("a module gives up to", modules), ("a cable carries up to", lines), "current")


CHECKS = (meters_reach,)
