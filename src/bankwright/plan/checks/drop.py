"""Voltage: drop at full power, lowest inverter voltage in a surge.

Gives: CHECKS (P-DROP-1, P-DROP-2). Limits: 3 % and 1 % are common practice; the ripple trough of 1 to 2 V under the
mean
is not in the second.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.model import Charger, Inverter
from bankwright.circuit.cases import CHARGE, LOWEST, SURGE
from bankwright.circuit.errors import CircuitError, NotDeliverable
from bankwright.circuit.errors import NeedsValue as CircuitNeedsValue
from bankwright.circuit.steady import Steady
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Computed, Source
from bankwright.forms.wording import Figure, say
from bankwright.plan.asks import asking, wanted
from bankwright.plan.checks.frame import Card
from bankwright.plan.context import SAME, Plan
from bankwright.plan.surges import surge_inputs
from bankwright.plan.trace import PRACTICE, given
from bankwright.plan.voltages import nominal_voltage

__all__ = ["CHECKS", "LEAST_ABOVE_CUT_OUT", "MOST_DROP"]

MOST_DROP = {"discharge": 0.03, "charge": 0.01}  # of nominal voltage; common practice, no source
LEAST_ABOVE_CUT_OUT = 0.5  # V; common practice, no source
_ONE = Card("P-DROP-1", "Voltage drop at full power", "sum(I r) / V_nominal < 3 % (charge 1 %)", PRACTICE)
_TWO = Card(
    "P-DROP-2",
    "Lowest inverter voltage in a surge",
    "(E + sqrt(E^2 - 4 R P/eta)) / 2 > V_cut-out + 0.5 V",
    Source("circuit laws; 0.5 V above the cut-out: common practice, no source", how_known="derived"),
)


@check(_ONE.code, _ONE.title)
def drop_at_full_power(plan: Plan) -> Iterator[Finding]:
    """From the modules' posts to the inverter little is lost: sum(I r)/V_nominal < 3 % (charge path 1 %), both
    poles, joints in.

    Case: full discharge at the lowest voltage; full charge; conductors at their running temperature; the worst
    module.
    Why: lost volts make heat in the cables, early cut-out, and chargers that stop before the bank is full.
    Not seen here: the modules' own resistance (P-DROP-2). Limits: common practice, no source.
    Source: sum of I r out and back (stated law).
    """
    users: list[tuple[Inverter | Charger, str]] = [(inverter, LOWEST) for inverter in plan.bank.inverters]
    users += [(charger, CHARGE) for charger in plan.bank.chargers]

    for user, case in users:
        if case in plan.bases:
            yield from _ONE.over((user,), lambda each, case=case: _drop(plan, each, case))  # type: ignore[misc]


def _drop(plan: Plan, user: Inverter | Charger, case: str) -> Finding:
    import numpy as np

    plan.currents(case)
    nominal = nominal_voltage(plan)
    side = "charge" if case == CHARGE else "discharge"
    values = []
    for each in (each for row in plan.steadies for each in row):
        solution = each.case(case)
        at_user = float(np.asarray(solution.voltage(user.name)))
        at_modules = [float(np.asarray(solution.voltage(module.name))) for module in plan.bank.modules]
        gaps = [at - at_user if side == "discharge" else at_user - at for at in at_modules]
        values.append(max(gaps))
    value = max(values)
    band, assumed = _joints_assumed(plan, case)
    if value - min(values) > SAME * abs(value):
        assumed = (*assumed, *plan.stood.voltages, *plan.stood.metal)
    low, high = (max(min(values) - band, 0.0), value + band) if assumed else (None, None)
    share = Figure(
        value / nominal, "share", None if low is None else low / nominal, None if high is None else high / nominal
    )
    text = say(
        "{drop} is lost between the modules and {user} ({share} of {nominal}) in {case}; {limit} is the usual limit",
        drop=Figure(value, "voltage_drop"),
        user=user.name,
        share=share,
        nominal=Figure(nominal, "voltage"),
        case=case,
        limit=Figure(MOST_DROP[side], "share"),
    )
    inputs = (
        Input(
            "sum(I r)",
            f"drop to {user.name}, both poles, joints and devices in",
            Figure(value, "voltage_drop"),
            Computed(f"solved network, {case}"),
        ),
        Input("V_nominal", "3.2 V a cell", Figure(nominal, "voltage"), PRACTICE),
        *assumed,
    )
    do = say(
        "Take a larger or a shorter main cable to {user}; look for the joint or device that takes most.", user=user.name
    )
    return _ONE.found(user.name, share, (None, MOST_DROP[side]), text, do, inputs, case)


def _joints_assumed(plan: Plan, case: str) -> tuple[float, tuple[Input, ...]]:
    """What the joints of mains and branches that nobody measured may take more or less, and the input that says
    so."""
    solution = plan.steady.case(case)
    mains = {link.name for link in plan.bank.links if link.role in ("main", "branch")}
    band, count, key = 0.0, 0, ""
    for element in solution.network.elements:
        edge = solution.network.edges[solution.network.edge_index[element.name]].name
        if edge in mains and element.assumed and element.kind == "joint" and element.resistance is not None:
            current = abs(float(solution.edge_current[solution.network.edge_index[element.name]]))
            band += current * (element.resistance.high - element.resistance.nominal)
            count, key = count + 1, element.needs
            origin, figure = element.origin, element.resistance
    if not count or origin is None:
        return 0.0, ()
    joint = Figure(figure.nominal, "resistance", figure.low, figure.high)
    return band, (Input("r_joint", f"{count} joints of mains, not given", joint, origin, True, asking(key)),)


@check(_TWO.code, _TWO.title)
def lowest_voltage_in_a_surge(plan: Plan) -> Iterator[Finding]:
    """In a surge the inverter stays on: V at its posts > V_cut-out + 0.5 V, cold cells, one module away.

    Case: surge at the resistance of its own time, or of later in a step (as P-TRIP-1), 3.0 V a cell, coldest cells,
    each module away; no real root: fail.
    Why: the lights go out when the motor starts, and only on a cold evening.
    Not seen here: the ripple's trough, 1 to 2 V under the mean.
    Source: upper root of U^2 - E U + R P = 0 (derived); 0.5 V: common practice, no source.
    """

    def one(inverter: Inverter) -> Finding:
        kind = inverter.kind
        cut_out = wanted(kind.cut_out, f"{kind.path}.cut_out")
        wanted(kind.surge_power, f"{kind.path}.surge_power")
        wanted(plan.bank.site.ambient_low_degc, "site.ambient")
        found = [_surges(plan, inverter, each) for row in plan.steadies for each in row]
        value, case, fraction = min(found, key=lambda each: each[0])
        best = max(each[0] for each in found)
        assumed = (*plan.surge_assumed, *_power_inputs(plan)) if best - value > 1e-3 else ()
        figure = Figure(value, "voltage", value, best) if assumed else Figure(value, "voltage")
        limit = cut_out + LEAST_ABOVE_CUT_OUT
        inputs = (
            Input("V", f"lowest voltage at {inverter.name}", figure, Computed(f"solved network, {case}")),
            given("V_cut-out", f"cut-out of {kind.name}", cut_out, "voltage", plan.bank.key(f"{kind.path}.cut_out")),
            given(
                "P",
                f"surge power of {kind.name}",
                wanted(kind.surge_power, ""),
                "power",
                plan.bank.key(f"{kind.path}.surge_power"),
            ),
            *surge_inputs(plan.bank),
            *assumed,
        )
        do = say("Add modules, warm the room, shorten or enlarge the mains, or limit what starts together.")
        if fraction < 1.0 and max(each[2] for each in found) >= 1.0:
            text = say(
                "At the worst end of what is not given {inverter} cannot deliver its surge: at most {part} of it",
                inverter=inverter.name,
                part=Figure(fraction, "share"),
            )
            settle = tuple(item.settle for item in inputs if item.assumed and item.settle is not None)
            return _TWO.found(inverter.name, None, (None, None), text, do, inputs, case, settle)
        if fraction < 1.0:
            text = say(
                "{case}: the surge of {inverter} cannot be delivered; at most {part} of it",
                case=case,
                inverter=inverter.name,
                part=Figure(fraction, "share"),
            )
            return _TWO.found(
                inverter.name,
                Figure(fraction, "share"),
                (1.0, None),
                text,
                do,
                inputs,
                case,
                forced="fail",
            )
        text = say(
            "In a surge {inverter} sees {voltage}; it cuts out at {cut}, and {room} more is asked",
            inverter=inverter.name,
            voltage=Figure(value, "voltage"),
            cut=Figure(cut_out, "voltage"),
            room=Figure(LEAST_ABOVE_CUT_OUT, "voltage"),
        )
        return _TWO.found(inverter.name, figure, (limit, None), text, do, inputs, case)

    if SURGE in plan.steady.names:
        yield from _TWO.over(plan.bank.inverters, one)


def _power_inputs(plan: Plan) -> tuple[Input, ...]:
    return tuple(item for item in plan.stood.voltages if item.symbol == "eta")


def _surges(plan: Plan, inverter: Inverter, ends: Steady) -> tuple[float, str, float]:
    """Lowest voltage over the surge with all modules and with each one open; the part that can be delivered."""
    import numpy as np

    cases = [SURGE] + [f"{SURGE}, {module.name} open" for module in plan.bank.modules if len(plan.bank.modules) > 1]
    found = []
    for case in cases:
        try:
            solution = ends.case(case)
        except NotDeliverable as error:
            return 0.0, case, error.fraction
        except CircuitNeedsValue as error:
            raise NeedsValue(*plan.missing_of(error)) from error
        except CircuitError as error:
            raise NeedsValue(asking("wiring", str(error))) from error
        if not solution.is_dead(inverter.name):
            found.append((float(np.asarray(solution.voltage(inverter.name))), case))
    value, case = min(found)
    return value, case, 1.0


CHECKS = (drop_at_full_power, lowest_voltage_in_a_surge)
