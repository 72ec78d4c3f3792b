"""Voltage drop at full power.

Gives: CHECKS (P-DROP-1), MOST_DROP. Limits: 3 % and 1 % are common practice; a surge is in dip.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking
from bankwright.bank.model import Charger, Inverter, Load
from bankwright.circuit.cases import CHARGE, FULL, LOWEST
from bankwright.circuit.errors import CircuitError, NotDeliverable
from bankwright.circuit.steady import Steady
from bankwright.forms.card import Card
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Computed, Source
from bankwright.forms.trace import PRACTICE
from bankwright.forms.wording import Figure, say
from bankwright.plan.context import SAME, Plan
from bankwright.plan.figures.voltages import nominal_voltage

User = Inverter | Charger | Load
__all__ = ["CHECKS", "MOST_DROP"]

MOST_DROP = {"discharge": 0.03, "charge": 0.01}  # of nominal voltage; common practice, no source
DELIVERED = Computed(f"solved network, {FULL}")
LAW = Source("most power that resistances pass on: the root of U^2 - E U + R P = 0 ends", how_known="stated law")
_ONE = Card("P-DROP-1", "Voltage drop at full power", "sum(I r) / V_nominal < 3 % (charge 1 %)", PRACTICE)


@check(_ONE.code, _ONE.title)
def drop_at_full_power(plan: Plan) -> Iterator[Finding]:
    """From the modules' posts to an inverter or a direct load little is lost: sum(I r)/V_nominal < 3 % (charge path
    1 %), both poles, joints in.

    Case: full discharge at the lowest voltage; full charge; conductors at their running temperature; the worst
    module. A load given as power is taken at the cells' end of discharge. Full discharge that cannot be delivered at
    all, at nominal voltage, fails here with the part that can.
    Why: lost volts make heat in the cables, early cut-out, and chargers that stop before the bank is full.
    Not seen here: the modules' own resistance (P-DROP-2).
    The limit: your own (site.most_drop), or common practice, no source.
    Source: sum of I r out and back (stated law).
    """
    users: list[tuple[User, str]] = [(inverter, LOWEST) for inverter in plan.bank.inverters]
    users += [(load, LOWEST) for load in plan.bank.loads]
    users += [(charger, CHARGE) for charger in plan.bank.chargers]

    for user, case in users:
        if case in plan.bases:
            yield from _ONE.over((user,), lambda each, case=case: _drop(plan, each, case))  # type: ignore[misc]
    short = _short_of_power(plan)
    if short is not None:
        yield short


def _short_of_power(plan: Plan) -> Finding | None:
    """Full discharge that the bank cannot deliver, with the part that it can; None where it can, or is not known."""
    users = [*(each.name for each in plan.bank.inverters), *(each.name for each in plan.bank.loads)]
    if not users:
        return None
    try:
        parts = [_delivered(each) for row in plan.steadies for each in row]
    except (CircuitError, NeedsValue):
        return None  # what is missing is asked for by the case at the lowest voltage
    if min(parts) >= 1.0:
        return None
    settle = tuple(i.settle for i in (*plan.stood.resistances["dc"], *plan.stood.voltages) if i.settle is not None)
    missing = settle if max(parts) >= 1.0 else ()
    text = say(
        "Full discharge cannot be delivered"
        + (" at the worst end of what is not given" if missing else "")
        + ": {part} "
        "of the power that {users} ask for, at most",
        part=Figure(min(parts), "share"),
        users=", ".join(users),
    )
    inputs = (Input("part", "largest part that can be delivered", Figure(min(parts), "share"), DELIVERED),)
    do = say("Add modules, shorten or enlarge the cables, or ask for less power.")
    return _ONE.found(
        users[0],
        None,
        (None, None),
        text,
        do,
        inputs=inputs,
        case=FULL,
        missing=missing,
        forced=None if missing else "fail",
        source=LAW,
        more=tuple(users[1:]),
    )


def _delivered(ends: Steady) -> float:
    """Part of full discharge that can be delivered, 1 where all of it can. [-]"""
    try:
        ends.case(FULL)
    except NotDeliverable as error:
        return error.fraction
    return 1.0


def _drop(plan: Plan, user: User, case: str) -> Finding:
    plan.currents(case)
    nominal = nominal_voltage(plan)
    side = "charge" if case == CHARGE else "discharge"
    own = plan.bank.site.most_drop_charge if side == "charge" else plan.bank.site.most_drop
    most = MOST_DROP[side] if own is None else own
    values = _drops(plan, user, case, side)
    value = max(values)
    band, assumed = _joints_assumed(plan, case)
    if value - min(values) > SAME * abs(value):
        assumed = (*assumed, *(plan.stood.voltages if side == "discharge" else ()), *plan.stood.metal)
    low, high = (max(min(values) - band, 0.0), value + band) if assumed else (None, None)
    share = Figure(
        value / nominal, "share", None if low is None else low / nominal, None if high is None else high / nominal
    )
    text = say(
        "{drop} is lost between the modules and {user} ({share} of {nominal}) in {case}; {limit} is {whose}",
        drop=Figure(value, "voltage_drop"),
        user=user.name,
        share=share,
        nominal=Figure(nominal, "voltage"),
        case=case,
        limit=Figure(most, "share"),
        whose="the usual limit" if own is None else "your own limit",
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
        "Take a larger or a shorter cable to {user}; look for the joint or device that takes most.", user=user.name
    )
    return _ONE.found(user.name, share, (None, most), text, do, inputs=inputs, case=case)


def _drops(plan: Plan, user: User, case: str, side: str) -> list[float]:
    """The largest loss to any module, at each end of what is not given. [V]"""

    values = []
    for each in (each for row in plan.steadies for each in row):
        solution = each.case(case)
        at_user = solution.voltage(user.name)
        at_modules = [solution.voltage(module.name) for module in plan.bank.modules]
        gaps = [at - at_user if side == "discharge" else at_user - at for at in at_modules]
        values.append(max(gaps))
    return values


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


CHECKS = (drop_at_full_power,)
