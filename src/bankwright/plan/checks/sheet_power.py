"""The data sheets of inverters and chargers against themselves: figures that cannot all be true.

Gives: CHECKS (P-SHEET-3). Limits: what is wrong and yet likely is not seen; order of voltages is a rule of the file
(bank/rules), and the bank's own voltage is held against them in checks/volts and windows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from bankwright.bank.model import Charger, Inverter
from bankwright.bank.model_kinds import InverterKind, Precharge
from bankwright.forms.card import Card
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.trace import PRACTICE
from bankwright.forms.wording import Figure, Say, say
from bankwright.plan.context import Plan
from bankwright.plan.figures.usual import Usual, alike, typed_wrong

__all__ = ["CHECKS"]

GIVES = Usual(0.5, 0.80, 0.985, 1.0)  # efficiency at rated power, from some 48 V
SURGE = Usual(1.0, 1.0, 4.0, 10.0)  # surge power over continuous power
LASTS = Usual(
    None, None, 300.0, 10800.0
)  # s: a surge; NEC article 100: three hours are a continuous load [from memory]
CHARGES = Usual(None, None, 1.5, 4.0)  # charging power of an inverter over its rated power
FILLED = Usual(None, 2e-8, 2e-5, 2e-4)  # F a watt of rated power
IDLE = Usual(None, None, 0.05, 0.5)  # draw before it starts, over rated power
LINES = Usual(40.0, 49.0, 61.0, 70.0)  # Hz
LEG = Usual(80.0, 95.0, 250.0, 300.0)  # V of a leg against the neutral
_CARD = Card(
    "P-SHEET-3",
    "Figures of an inverter or charger agree",
    "efficiency, surge, charging power and input capacitors as inverters of that power have them; hold >= wait",
    PRACTICE,
    "code",
)
Judged = Iterator[Finding]


def _told(at: str, item: Input, ends: Usual, text: Say, *also: Input) -> Finding:
    assert isinstance(item.figure, Figure)
    do = typed_wrong(f"{item.name} of {at}")
    return _CARD.found(at, item.figure, ends.possible, text, do, inputs=(item, *also), caution_limits=ends.steps)


@check(_CARD.code, _CARD.title)
def figures_of_a_converter_agree(plan: Plan) -> Iterator[Finding]:
    """Efficiency lies between 80 and 98.5 % (fail below 50 %), surge power is up to 4 times the continuous
    power (fail above 10), a surge lasts minutes (fail above 3 hours), the charger of an inverter gives up to 1.5 times
    its power (fail above 4) and no more without the message than with it, the pre-charge may be held as long as it is
    waited for; input capacitance, draw, line frequency and volts of a leg are those
    of inverters.

    Why: 6 W for 6 kW passes every check of current: nothing is ever loaded.
    Not seen here: which of two figures is the wrong one; a wrong figure that is likely.
    Source: common practice, no source; 3 h of a continuous load: NEC article 100 [from memory].
    """
    parts: tuple[Callable[[Plan, Inverter], Judged], ...] = (_efficiency, _surge, _input, _waiting)
    inverters = {each.name: each for each in plan.bank.inverters}
    chargers = {each.name: each for each in plan.bank.chargers}
    for first, *others in alike((each.name, each.kind.path) for each in inverters.values()).values():
        for part in parts:
            yield from (replace(finding, more=tuple(others)) for finding in part(plan, inverters[first]))
    for first, *others in alike((each.name, each.kind.path) for each in chargers.values()).values():
        yield from (replace(finding, more=tuple(others)) for finding in _charger(plan, chargers[first]))


def _of(plan: Plan, path: str, named: tuple[str, str], figure: Figure, key: str) -> Input:
    return Input(*named, figure, plan.bank.key(f"{path}.{key}"))


def _power(plan: Plan, kind: InverterKind) -> Input:
    return _of(plan, kind.path, ("P", "continuous power"), Figure(kind.power or 0.0, "power"), "power")


def _efficiency(plan: Plan, inverter: Inverter) -> Judged:
    kind, value = inverter.kind, inverter.kind.efficiency
    if value is not None:
        item = _of(plan, kind.path, ("eta", "efficiency"), Figure(value, "share"), "efficiency")
        text = say("{kind} is given an efficiency of {value} at full power", kind=kind.name, value=item.figure)
        yield _told(inverter.name, item, GIVES, text)
    if kind.frequency is not None:
        item = _of(plan, kind.path, ("f", "line frequency"), Figure(kind.frequency, "frequency"), "frequency")
        text = say("{kind} is given a line of {value}", kind=kind.name, value=item.figure)
        yield _told(inverter.name, item, LINES, text)
    if kind.volts_out is not None:
        leg = kind.volts_out.nominal
        item = _of(plan, kind.path, ("U", "voltage of a leg"), Figure(leg, "ac_voltage"), "volts_out")
        text = say("{kind} is given {value} a leg", kind=kind.name, value=item.figure)
        yield _told(inverter.name, item, LEG, text)


def _surge(plan: Plan, inverter: Inverter) -> Judged:
    kind = inverter.kind
    if kind.power and kind.surge_power is not None:
        item = _of(plan, kind.path, ("P_s", "surge power"), Figure(kind.surge_power, "power"), "surge_power")
        text = say(
            "{kind} gives {power} for long and {surge} for a moment; up to {high} is usual",
            kind=kind.name,
            power=Figure(kind.power, "power"),
            surge=Figure(kind.surge_power, "power"),
            high=Figure((SURGE.high or 0.0) * kind.power, "power"),
        )
        yield _told(inverter.name, item, SURGE.times(kind.power), text, _power(plan, kind))
    if kind.surge_time is not None:
        item = _of(plan, kind.path, ("t_s", "time of the surge"), Figure(kind.surge_time, "time"), "surge_time")
        text = say(
            "A surge of {kind} lasts {time}: it warms conductors, and the checks of lasting currents do not see it",
            kind=kind.name,
            time=Figure(kind.surge_time, "time"),
        )
        short = say("A surge of {kind} lasts {time}", kind=kind.name, time=Figure(kind.surge_time, "time"))
        yield _told(inverter.name, item, LASTS, text if kind.surge_time > (LASTS.high or 0.0) else short)


def _input(plan: Plan, inverter: Inverter) -> Judged:
    kind = inverter.kind
    if kind.capacitance is not None and kind.power:
        ends, value = FILLED.times(kind.power), kind.capacitance.nominal
        item = _of(plan, kind.path, ("C", "input capacitance"), Figure(value, "capacitance"), "capacitance")
        text = say(
            "{kind} is given {value} at its input; {low} to {high} is usual for {power}",
            kind=kind.name,
            value=Figure(value, "capacitance"),
            low=Figure(ends.low or 0.0, "capacitance"),
            high=Figure(ends.high or 0.0, "capacitance"),
            power=Figure(kind.power, "power"),
        )
        yield _told(inverter.name, item, ends, text, _power(plan, kind))
    if kind.standby_current is not None and kind.power:
        ends = IDLE.times(kind.power / plan.bank.modules[0].kind.nominal_voltage)
        item = _of(
            plan,
            kind.path,
            ("I_0", "draw before it starts"),
            Figure(kind.standby_current, "current"),
            "standby_current",
        )
        text = say("{kind} draws {value} before it starts", kind=kind.name, value=item.figure)
        yield _told(inverter.name, item, ends, text, _power(plan, kind))


def _waiting(plan: Plan, inverter: Inverter) -> Judged:
    path = inverter.kind.precharge or Precharge()
    if path.hold is not None and path.wait is not None:
        item = _of(
            plan,
            inverter.kind.path,
            ("hold", "longest time of pre-charge"),
            Figure(path.hold, "time"),
            "precharge.hold",
        )
        text = say(
            "Pre-charge of {inverter} is waited for {wait} and may be held on {hold}",
            inverter=inverter.name,
            wait=Figure(path.wait, "time"),
            hold=Figure(path.hold, "time"),
        )
        wait = _of(plan, inverter.kind.path, ("wait", "time waited"), Figure(path.wait, "time"), "precharge.wait")
        yield _told(inverter.name, item, Usual(path.wait, None, None, None), text, wait)


def _charger(plan: Plan, charger: Charger) -> Judged:
    kind = charger.kind
    if kind.current is None:
        return
    current = _of(plan, kind.path, ("I", "largest charging current"), Figure(kind.current, "current"), "current")
    if kind.without_message is not None:
        item = _of(
            plan,
            kind.path,
            ("I_w", "current without the message"),
            Figure(kind.without_message, "current"),
            "without_message",
        )
        text = say(
            "{charger} gives {most} at most, and {without} without the message",
            charger=charger.name,
            most=Figure(kind.current, "current"),
            without=Figure(kind.without_message, "current"),
        )
        yield _told(charger.name, item, Usual(None, None, kind.current, None), text, current)
    inverter = next((each for each in plan.bank.inverters if each.name == charger.of), None)
    volts = kind.setting or kind.voltage_high
    if inverter is None or not inverter.kind.power or not volts:
        return
    ends = CHARGES.times(inverter.kind.power / volts)
    text = say(
        "{charger} charges with {current} at {volts}; the whole of {power} is {full} at that voltage",
        charger=charger.name,
        current=Figure(kind.current, "current"),
        volts=Figure(volts, "voltage"),
        power=Figure(inverter.kind.power, "power"),
        full=Figure(inverter.kind.power / volts, "current"),
    )
    yield _told(charger.name, current, ends, text, _power(plan, inverter.kind))


CHECKS = (figures_of_a_converter_agree,)
