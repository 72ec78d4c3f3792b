"""Pre-charge: filling the inverters' capacitors before the switch is closed.

Gives: CHECKS (P-PRECHARGE-1 to P-PRECHARGE-5). Limits: one lumped capacitor behind one loop; a second inverter that is
closed onto a live bus is fed by the first one's capacitors as well.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bankwright.bank.asks import needs, wanted
from bankwright.bank.model import Inverter
from bankwright.bank.model_kinds import Precharge
from bankwright.forms.card import Card
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Computed, Source
from bankwright.forms.trace import given, volts
from bankwright.forms.wording import Figure, say
from bankwright.physics.precharge import (
    closing_current,
    energy,
    held_power,
    left_after,
    overshoot,
    time_of_peak,
    time_to_reach,
    voltage_left,
)
from bankwright.plan.context import Plan
from bankwright.plan.figures.ripple import loop_of
from bankwright.plan.figures.voltages import full_voltage

__all__ = ["ABOVE", "CHECKS", "MOST_LEFT"]

MOST_LEFT = 2.0  # V across the switch when it closes; common practice, no source
ABOVE, BELOW = 1.2, 0.8  # ends of a capacitance without tolerance; common practice, no source
RC = Source("R-C and R-L-C step response", how_known="derived")
_ONE = Card("P-PRECHARGE-1", "Little voltage is left across the switch", "R Is < 2 V", RC)
_TWO = Card("P-PRECHARGE-2", "The waiting time is long enough", "t = -R C ln((2 V - R Is)/(E - R Is)) < wait", RC)
_THREE = Card("P-PRECHARGE-3", "The resistor takes the pulse", "C E^2 / 2 < pulse energy", RC)
_FOUR = Card(
    "P-PRECHARGE-4", "The resistor stands a shorted input", "E^2 / R < power for the time it may be held on", RC
)
_FIVE = Card(
    "P-PRECHARGE-5",
    "Closing without pre-charge",
    "E (1 + exp(-a pi / w)) < highest input voltage",
    RC,
    "physical",
)
DO = say("Wait longer, or take a resistor that fits; keep the inverter's own loads off until it is closed.")


@dataclass(frozen=True, slots=True)
class Filling:
    """What a pre-charge path has to fill, with the inputs behind it."""

    emf: float
    capacitance: float
    standby: float
    inputs: tuple[Input, ...]
    least: float  # low end of the capacitance


def behind(plan: Plan, inverter: Inverter) -> tuple[Inverter, ...]:
    """Inverters behind the same switch: all of them where a common main holds one, else this one."""
    users = {post for each in plan.bank.inverters for post in each.posts}
    shared = [
        d for d in plan.bank.devices if d.kind.type in ("disconnect", "breaker") and not users & set(_ends(plan, d.on))
    ]
    own = [
        d
        for d in plan.bank.devices
        if d.kind.type in ("disconnect", "breaker") and set(inverter.posts) & set(_ends(plan, d.on))
    ]
    return plan.bank.inverters if shared and not own else (inverter,)


def _ends(plan: Plan, link: str) -> tuple[str, str]:
    found = plan.bank.link(link)
    return found.a, found.b


def filling(plan: Plan, inverter: Inverter, standby: bool) -> Filling:
    """Charging voltage, capacitance at its high end, standby draw, of all inverters behind the switch."""
    emf = max(full_voltage(module) for module in plan.bank.modules)
    total, least, draw, inputs = (
        0.0,
        0.0,
        0.0,
        [Input("E", "bank at its charging voltage", volts(emf), Computed("cells x end of charge"))],
    )
    for each in behind(plan, inverter):
        path = each.kind.path
        c = wanted(each.kind.capacitance, f"{path}.capacitance")
        total += c.high * (ABOVE if c.is_exact else 1.0)
        least += c.low * (BELOW if c.is_exact else 1.0)
        inputs.append(
            given(
                "C",
                f"input capacitance of {each.name}, high end",
                c.high * (ABOVE if c.is_exact else 1.0),
                "capacitance",
                plan.bank.key(f"{path}.capacitance"),
            )
        )
        if standby:
            draw += wanted(each.kind.standby_current, f"{path}.standby_current")
            inputs.append(
                given(
                    "Is",
                    f"standby draw of {each.name}",
                    each.kind.standby_current or 0.0,
                    "current",
                    plan.bank.key(f"{path}.standby_current"),
                )
            )
    return Filling(emf, total, draw, tuple(inputs), least)


def _path(inverter: Inverter) -> tuple[Precharge, float]:
    """The pre-charge path and its resistor."""
    path = inverter.kind.path
    found = wanted(inverter.kind.precharge, f"{path}.precharge")
    return found, wanted(found.resistor, f"{path}.precharge.resistor")


def _resistor(plan: Plan, inverter: Inverter, value: float) -> Input:
    return given(
        "R", "pre-charge resistor", value, "resistance", plan.bank.key(f"{inverter.kind.path}.precharge.resistor")
    )


@check(_ONE.code, _ONE.title)
def little_voltage_is_left(plan: Plan) -> Iterator[Finding]:
    """However long one waits, the standby draw leaves less than 2 V across the switch: R Is < 2 V.

    Why: 25 ohm and 0.4 A leave 10 V for ever, and the switch closes onto them.
    Not seen here: a shorted input, which leaves all of the voltage (P-PRECHARGE-4).
    Source: Ohm's law; 2 V: common practice, no source.
    """

    def one(inverter: Inverter) -> Finding:
        _, resistor = _path(inverter)
        found = filling(plan, inverter, True)
        left = float(voltage_left(resistor, found.standby))
        text = say(
            "Behind {inverter}'s resistor {left} stay across the switch",
            inverter=inverter.name,
            left=Figure(left, "voltage_drop"),
        )
        return _ONE.found(
            inverter.name,
            Figure(left, "voltage_drop"),
            (None, MOST_LEFT),
            text,
            DO,
            inputs=(_resistor(plan, inverter, resistor), *found.inputs),
            case="pre-charge",
        )

    yield from _ONE.over(plan.bank.inverters, one)


@check(_TWO.code, _TWO.title)
def waiting_time_is_long_enough(plan: Plan) -> Iterator[Finding]:
    """Until the switch closes the capacitors are filled to 2 V of the bank:
    t = -R C ln((dV - R Is)/(E - R Is)) < wait.

    Case: charging voltage, all inverters behind the switch,
    capacitance + 20 % where no tolerance is given (practice).
    Why: closed early, the rest comes as a current peak.
    Not seen here: two inverters behind one switch whose standby differs.
    Source: R-C step with a steady draw (derived).
    """

    def one(inverter: Inverter) -> Finding | None:
        path, resistor = _path(inverter)
        found = filling(plan, inverter, True)
        wait = wanted(path.wait, f"{inverter.kind.path}.precharge.wait")
        time = float(time_to_reach(MOST_LEFT, found.emf, resistor, found.capacitance, found.standby))
        if time == float("inf"):  # P-PRECHARGE-1 fails; what the wait leaves beyond that is this check's
            return _too_early(plan, inverter, resistor, found, wait)
        text = say(
            "{inverter} is filled to within 2 V after {time}; the switch waits {wait}",
            inverter=inverter.name,
            time=Figure(time, "time"),
            wait=Figure(wait, "time"),
        )
        inputs = (
            _resistor(plan, inverter, resistor),
            *found.inputs,
            given("wait", "waiting time", wait, "time", plan.bank.key(f"{inverter.kind.path}.precharge.wait")),
        )
        return _TWO.found(inverter.name, Figure(time, "time"), (None, wait), text, DO, inputs=inputs, case="pre-charge")

    yield from _TWO.over(plan.bank.inverters, one)


def _too_early(plan: Plan, inverter: Inverter, resistor: float, found: Filling, wait: float) -> Finding:
    """The draw keeps more than 2 V across the switch for ever: closed early, the rest of the filling comes on top."""
    stays = float(voltage_left(resistor, found.standby))
    left = float(left_after(wait, found.emf, resistor, found.capacitance, found.standby))
    text = say(
        "After a wait of {wait} {left} are across {inverter}'s switch; {stays} would stay for ever",
        wait=Figure(wait, "time"),
        left=Figure(left, "voltage_drop"),
        inverter=inverter.name,
        stays=Figure(stays, "voltage_drop"),
    )
    key = plan.bank.key(f"{inverter.kind.path}.precharge.wait")
    inputs = (_resistor(plan, inverter, resistor), *found.inputs, given("wait", "waiting time", wait, "time", key))
    figure = Figure(left, "voltage_drop")
    return _TWO.found(inverter.name, figure, (None, stays + MOST_LEFT), text, DO, inputs=inputs, case="pre-charge")


@check(_THREE.code, _THREE.title)
def resistor_takes_the_pulse(plan: Plan) -> Iterator[Finding]:
    """The resistor's pulse energy is above what it must swallow: C E^2/2 < pulse energy.

    Why: as much energy as ends in the capacitors is turned to heat in the resistor, whatever its resistance.
    Not seen here: pulses soon after each other.
    Source: C E^2 / 2 (stated law).
    """

    def one(inverter: Inverter) -> Finding:
        path, resistor = _path(inverter)
        found = filling(plan, inverter, False)
        limit = wanted(path.pulse_energy, f"{inverter.kind.path}.precharge.pulse_energy")
        value = float(energy(found.emf, found.capacitance))
        text = say(
            "{inverter}'s resistor must take {energy}; it stands {limit}",
            inverter=inverter.name,
            energy=Figure(value, "energy"),
            limit=Figure(limit, "energy"),
        )
        inputs = (
            _resistor(plan, inverter, resistor),
            *found.inputs,
            given(
                "pulse", "pulse energy", limit, "energy", plan.bank.key(f"{inverter.kind.path}.precharge.pulse_energy")
            ),
        )
        return _THREE.found(
            inverter.name, Figure(value, "energy"), (None, limit), text, DO, inputs=inputs, case="pre-charge"
        )

    yield from _THREE.over(plan.bank.inverters, one)


@check(_FOUR.code, _FOUR.title)
def resistor_stands_a_shorted_input(plan: Plan) -> Iterator[Finding]:
    """Held on a shorted input the resistor stays inside its rating: E^2/R < power, or E^2/R x hold < pulse energy.

    Why: if the resistor keeps glowing, the input behind it is shorted, and nobody may close the switch.
    Not seen here: a timer that opens the pre-charge, unless its time is given (hold).
    Source: E^2 / R (stated law).
    """

    def one(inverter: Inverter) -> Finding:
        path, resistor = _path(inverter)
        emf = max(full_voltage(module) for module in plan.bank.modules)
        value = float(held_power(emf, resistor))
        base = (
            _resistor(plan, inverter, resistor),
            Input("E", "bank at its charging voltage", volts(emf), Computed("cells x end of charge")),
        )
        key = f"{inverter.kind.path}.precharge"
        if path.hold is not None and path.pulse_energy is not None and value * path.hold < path.pulse_energy:
            limit, figure = path.pulse_energy, Figure(value * path.hold, "energy")
            item = given("pulse", "pulse energy", limit, "energy", plan.bank.key(f"{key}.pulse_energy"))
            text = say(
                "On a shorted input {inverter}'s resistor takes {energy} until it is let go; it stands {limit}",
                inverter=inverter.name,
                energy=figure,
                limit=Figure(limit, "energy"),
            )
        else:
            if path.power is None:
                raise needs(f"{key}.power")
            limit, figure = path.power, Figure(value, "power")
            item = given("power", "continuous power", limit, "power", plan.bank.key(f"{key}.power"))
            text = say(
                "On a shorted input {inverter}'s resistor takes {power}; it stands {limit}",
                inverter=inverter.name,
                power=figure,
                limit=Figure(limit, "power"),
            )
        return _FOUR.found(inverter.name, figure, (None, limit), text, DO, inputs=(*base, item), case="shorted input")

    yield from _FOUR.over(plan.bank.inverters, one)


@check(_FIVE.code, _FIVE.title)
def closing_without_precharge(plan: Plan) -> Iterator[Finding]:
    """Closed without pre-charge the capacitors ring above the bank:
    E (1 + exp(-a pi/w)) against the highest input voltage.

    Case: the loop's own resistance and inductance, charging voltage; the peak current is told beside it.
    Why: V/R is only the bound of the current; the over-voltage is the worse news.
    Not seen here: inverters whose pre-charge path is given; for those, this is what happens when it is left out.
    Source: R-L-C step (derived).
    """

    yield from _FIVE.over(
        (inverter for inverter in plan.bank.inverters if inverter.kind.precharge is None),
        lambda inverter: _closing_without_precharge_at(plan, inverter),
    )


def _closing_without_precharge_at(plan: Plan, inverter: Inverter) -> Finding:
    found = filling(plan, inverter, False)
    resistance, inductance = loop_of(plan, inverter)
    series = resistance + (inverter.kind.capacitor_resistance or 0.0)
    if inductance <= 0:
        raise needs(f"{plan.bank.links[-1].origin.path}.length")
    peak = float(closing_current(found.emf, series, inductance, found.capacitance))
    when = float(time_of_peak(series, inductance, found.capacitance))
    top = float(overshoot(found.emf, series, inductance, found.least))  # the smaller, the higher
    limit = wanted(inverter.kind.highest_input, f"{inverter.kind.path}.highest_input")
    text = say(
        "Closed without pre-charge, {inverter} draws {peak} after {when} and its input rings to {top}; "
        "it stands {limit}",
        inverter=inverter.name,
        peak=Figure(peak, "current"),
        when=Figure(when, "time"),
        top=volts(top),
        limit=volts(limit),
    )
    how, key = Computed("0.4 uH a metre x (ln(d/a) + 1/4)"), f"{inverter.kind.path}.highest_input"
    inputs = (
        *found.inputs,
        Input("R", "resistance of the loop", Figure(series, "resistance"), Computed("solved network")),
        Input("L", "inductance of the mains", Figure(inductance, "inductance"), how),
        given("V_max", f"highest input of {inverter.kind.name}", limit, "voltage", plan.bank.key(key)),
    )
    do = say("Never close the main switch without pre-charge.")
    case = "closing on empty capacitors"
    return _FIVE.found(inverter.name, volts(top), (None, limit), text, do, inputs=inputs, case=case)


CHECKS = (
    little_voltage_is_left,
    waiting_time_is_long_enough,
    resistor_takes_the_pulse,
    resistor_stands_a_shorted_input,
    closing_without_precharge,
)
