"""Voltage in a surge: the lowest at an inverter and at the modules' own posts.

Gives: CHECKS (P-DROP-2), LEAST_ABOVE_CUT_OUT.
Limits: half a volt above the cut-out is common practice; the trough of the ripple ends at caution.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from bankwright.bank.asks import asking, wanted
from bankwright.bank.model import Inverter, Module
from bankwright.circuit.cases import SURGE
from bankwright.circuit.errors import CircuitError, NotDeliverable
from bankwright.circuit.steady import Steady
from bankwright.forms.card import Card
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Computed, Source
from bankwright.forms.trace import given
from bankwright.forms.wording import Figure, say
from bankwright.physics.heat import ripple_share
from bankwright.plan.context import Plan
from bankwright.plan.ends.surges import surge_inputs
from bankwright.plan.figures.ripple import balanced, loop_inputs, loop_of

__all__ = ["CHECKS", "LEAST_ABOVE_CUT_OUT"]

RIPPLE = Computed("half swing of the current of single-phase inverters times |R + jwL|, w twice line frequency")
LEAST_ABOVE_CUT_OUT = 0.5  # V; common practice, no source
_TWO = Card(
    "P-DROP-2",
    "Lowest inverter voltage in a surge",
    "(E + sqrt(E^2 - 4 R P/eta)) / 2 > V_cut-out + 0.5 V",
    Source("circuit laws; 0.5 V above the cut-out: common practice, no source", how_known="derived"),
)


@check(_TWO.code, _TWO.title)
def lowest_voltage_in_a_surge(plan: Plan) -> Iterator[Finding]:
    """In a surge the inverter stays on: V at its posts > V_cut-out + 0.5 V, cold cells, one module away.

    Case: surge at the resistance of its own time, or of later in a step (as P-TRIP-1), 3.0 V a cell, coldest cells,
    each module away; no real root: fail.
    Why: the lights go out when the motor starts, and only on a cold evening.
    The modules' own posts stay above their under-voltage trip too. The ripple's trough (its half swing, from the loop's
    resistance and inductance) ends at caution.
    Not seen here: inverters that stop at a trough of a millisecond; trips that act on one cell (Match).
    Source: upper root of U^2 - E U + R P = 0 (derived); 0.5 V: common practice, no source.
    """

    if SURGE in plan.steady.names:
        yield from _TWO.over(plan.bank.inverters, lambda inverter: _lowest_voltage_in_a_surge_at(plan, inverter))
        yield from _TWO.over(tuple({m.kind.path: m for m in plan.bank.modules}.values()), lambda m: _cells(plan, m))


def _lowest_voltage_in_a_surge_at(plan: Plan, inverter: Inverter) -> Finding:
    kind = inverter.kind
    cut_out = wanted(kind.cut_out, f"{kind.path}.cut_out")
    wanted(kind.surge_power, f"{kind.path}.surge_power")
    wanted(plan.bank.site.ambient_low_degc, "site.ambient")
    found = [_surges(plan, inverter, each) for row in plan.steadies for each in row]
    value, case, fraction = min(found, key=lambda each: each[0])
    best = max(each[0] for each in found)
    assumed = (*plan.surge_assumed, *_power_inputs(plan)) if best - value > 1e-3 else ()
    figure = Figure(value, "voltage", value, best) if assumed else Figure(value, "voltage")
    inputs = (*_surge_base(plan, inverter, figure, cut_out, case), *assumed)
    if fraction < 1.0:
        whole_at_best = max(each[2] for each in found) >= 1.0
        return _not_delivered(inverter, fraction, case, inputs, whole_at_best)
    return _stays_on(plan, inverter, figure, cut_out, case, inputs=inputs)


SURGE_DO = say("Add modules, warm the room, shorten or enlarge the mains, or limit what starts together.")


def _surge_base(plan: Plan, inverter: Inverter, figure: Figure, cut_out: float, case: str) -> tuple[Input, ...]:
    kind, key = inverter.kind, plan.bank.key
    power = wanted(kind.surge_power, f"{kind.path}.surge_power")
    return (
        Input("V", f"lowest voltage at {inverter.name}", figure, Computed(f"solved network, {case}")),
        given("V_cut-out", f"cut-out of {kind.name}", cut_out, "voltage", key(f"{kind.path}.cut_out")),
        given("P", f"surge power of {kind.name}", power, "power", key(f"{kind.path}.surge_power")),
        *surge_inputs(plan.bank),
    )


def _not_delivered(
    inverter: Inverter, fraction: float, case: str, inputs: tuple[Input, ...], whole_at_best: bool
) -> Finding:
    """Only a part of the surge can be drawn: at every end of what is not given, or at the worst one alone."""
    part = Figure(fraction, "share")
    if whole_at_best:
        text = say(
            "At the worst end of what is not given {inverter} cannot deliver its surge: at most {part} of it",
            inverter=inverter.name,
            part=part,
        )
        settle = tuple(item.settle for item in inputs if item.assumed and item.settle is not None)
        return _TWO.found(inverter.name, None, (None, None), text, SURGE_DO, inputs=inputs, case=case, missing=settle)
    words = "{case}: the surge of {inverter} cannot be delivered; at most {part} of it"
    text = say(words, case=case, inverter=inverter.name, part=part)
    return _TWO.found(inverter.name, part, (1.0, None), text, SURGE_DO, inputs=inputs, case=case, forced="fail")


def _stays_on(
    plan: Plan, inverter: Inverter, figure: Figure, cut_out: float, case: str, *, inputs: tuple[Input, ...]
) -> Finding:
    """Lowest voltage against the cut-out, with room; in the trough of the ripple it ends at caution."""
    trough, limit = _trough(plan, inverter, figure.value), cut_out + LEAST_ABOVE_CUT_OUT
    text = say(
        "In a surge {inverter} sees {voltage}, {trough} less in the trough of its ripple; it cuts out at {cut}, "
        "and {room} more is asked",
        inverter=inverter.name,
        voltage=Figure(figure.value, "voltage"),
        trough=Figure(trough, "voltage_drop"),
        cut=Figure(cut_out, "voltage"),
        room=Figure(LEAST_ABOVE_CUT_OUT, "voltage"),
    )
    ripple = Input("V_ripple", "half swing of the ripple", Figure(trough, "voltage_drop"), RIPPLE)
    inputs = (*inputs, ripple, *(loop_inputs(plan, inverter) if trough else ()))
    steps = (limit + trough, None)
    return _TWO.found(
        inverter.name, figure, (limit, None), text, SURGE_DO, inputs=inputs, case=case, caution_limits=steps
    )


def _trough(plan: Plan, inverter: Inverter, volt: float) -> float:
    """How far the voltage falls under its mean twice in each period; 0 for three phases, or where they balance."""
    kinds = [each.kind for each in plan.bank.inverters if each.kind.phases != 3]
    if inverter.kind.phases in (3, None) or balanced(plan.bank.inverters):
        return 0.0
    power = sum((kind.surge_power or 0.0) / (kind.efficiency or 1.0) for kind in kinds)
    resistance, inductance = loop_of(plan, inverter)
    line, c = inverter.kind.frequency or 50.0, inverter.kind.capacitance
    farads = 0.0 if c is None else c.low * len(kinds)
    share = float(ripple_share(resistance, inductance, farads, line, inverter.kind.capacitor_resistance or 0.0))
    return share * math.hypot(resistance, 4 * math.pi * line * inductance) * power / max(volt, 1.0)


def _cells(plan: Plan, module: Module) -> Finding | None:
    """Voltage at a module's posts in the surge against its own under-voltage trip: who opens first."""
    kind = module.kind
    if kind.discharge.cell_trip is None:
        return None  # P-VOLTS-3 asks for it
    trip = kind.cells * kind.discharge.cell_trip.high
    alike = [each for each in plan.bank.modules if each.kind.path == kind.path]
    try:
        found = [_lowest(ends, alike) for row in plan.steadies for ends in row]
    except CircuitError:
        return None  # said above
    (value, name), best = min(found), max(found)[0]
    assumed = (*plan.surge_assumed, *_power_inputs(plan)) if best - value > 1e-3 else ()
    figure = Figure(value, "voltage", value, best) if assumed else Figure(value, "voltage")
    text = say(
        "In a surge {module} comes down to {voltage} at its posts; its under-voltage trip may open it at {trip}",
        module=name,
        voltage=figure,
        trip=Figure(trip, "voltage"),
    )
    key = plan.bank.key(f"{kind.path}.discharge.cell_trip")
    inputs = (
        Input("V", f"lowest voltage at {name}", figure, Computed(f"solved network, {SURGE}")),
        given("V_trip", f"{kind.cells} cells at their under-voltage trip, high end", trip, "voltage", key),
        *assumed,
    )
    do = say("Add modules, warm the room, or limit what starts together.")
    return _TWO.found(name, figure, (trip, None), text, do, inputs=inputs, case=SURGE)


def _lowest(ends: Steady, modules: list[Module]) -> tuple[float, str]:
    """Lowest voltage between the posts of some modules in the surge, and whose it is."""
    solution = ends.case(SURGE)
    rows = [(m.name, *(next(p for p in m.posts if p.endswith(pole)) for pole in "+-")) for m in modules]
    return min((float(solution.potential(p)) - float(solution.potential(q)), name) for name, p, q in rows)


def _power_inputs(plan: Plan) -> tuple[Input, ...]:
    return tuple(item for item in plan.stood.voltages if item.symbol == "eta")


def _surges(plan: Plan, inverter: Inverter, ends: Steady) -> tuple[float, str, float]:
    """Lowest voltage over the surge with all modules and with each one open; the part that can be delivered."""

    cases = [SURGE] + [f"{SURGE}, {module.name} open" for module in plan.bank.modules if len(plan.bank.modules) > 1]
    found = []
    for case in cases:
        try:
            solution = ends.case(case)
        except NotDeliverable as error:
            return 0.0, case, error.fraction
        except CircuitError as error:
            raise NeedsValue(asking("wiring", "See the wiring there.", lacks=str(error))) from error
        if not solution.is_dead(inverter.name):
            found.append((solution.voltage(inverter.name), case))
    value, case = min(found)
    return value, case, 1.0


CHECKS = (lowest_voltage_in_a_surge,)
