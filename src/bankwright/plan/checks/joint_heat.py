"""Heat of joints: watts in each, and how far it comes to lie above its own conductor.

Gives: CHECKS (P-JOINT-4). Limits: steady heat; a joint that grows is the logbook's matter.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking
from bankwright.bank.model import Joint, Link
from bankwright.circuit.of_bank.network import stand_in
from bankwright.forms.card import Card, Forced
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import Computed, Source
from bankwright.forms.trace import computed, given
from bankwright.forms.wording import Figure, say
from bankwright.physics.joint import heat, led_away
from bankwright.plan.context import Plan
from bankwright.plan.figures.carried import cable_of
from bankwright.plan.figures.ripple import heating_factor

__all__ = ["CHECKS", "paths_of"]

MOST_WATTS = 2.0  # W in one joint; common practice, no source
MOST_KELVIN = 15.0  # K above its like: ANSI/NETA ATS-2003, 100.18 [read], no later edition seen
PATHS = Computed("sum of sqrt(h p k A)")
KINDER = 1.5  # the path may lead half as much again away
COAT = 0.0022  # m of insulation on a conductor, where the outer diameter is not given; common practice, no source
CABLE, BAR = 10.0, 6.0  # W/(m2 K) to the air, of a cable and of a flat bar [derived]
_ONE = Card(
    "P-JOINT-4",
    "A joint stays cool",
    "(k_r Ib)^2 r <= 2 W; rise (k_r Ib)^2 r / G < 15 K",
    Source("ANSI/NETA ATS-2003", "2003", "100.18, 15 K over its like", "read"),
    "physical",
)


@check(_ONE.code, _ONE.title)
def joint_stays_cool(plan: Plan) -> Iterator[Finding]:
    """A joint makes little heat of its own: (k_r Ib)^2 r <= 2 W, and lies less than 15 K above its conductor, P/G.

    Case: worst end of its tolerance, ripple counted; the hottest joint of each cable. Over 2 W, or over 15 K at the
    nominal path of heat: caution; over 15 K also where the path leads half as much again away: fail.
    Why: a bad joint heats, loosens and grows, and no fuse feels it.
    Not seen here: joints that grow later (logbook); contact of washers in the wrong order.
    Source: 2 W: common practice; 15 K: ANSI/NETA ATS-2003 100.18 [read, no later edition seen]; G = sum of
    sqrt(h p k A), +-50 % [derived].
    """
    yield from _ONE.over((link for link in plan.bank.links if link.joints), lambda link: _hottest(plan, link))


def paths_of(plan: Plan, link: Link, joint: Joint) -> float:
    """Heat led away from a joint for each kelvin: along its cable, and along what it is bolted to. [W/K]"""
    total = _cable(link)
    if joint.device is not None:
        return 2 * total  # the cable goes on behind the device
    ends = {link.a, link.b} if link.straight else {joint.post}
    bar = next((each for each in plan.bank.bars if ends & set(each.posts)), None)
    if bar is not None and bar.width is not None and bar.thickness is not None:
        ways = 1 if ends & {bar.posts[0], bar.posts[-1]} else 2
        return total + ways * float(led_away(2 * (bar.width + bar.thickness), bar.width * bar.thickness, BAR))
    others = [each for each in plan.links_at(joint.post or "") if each.name != link.name and each.cable is not None]
    return total + sum(_cable(each) for each in others)


def _cable(link: Link) -> float:
    if link.straight:
        return 0.0
    cable = cable_of(link)
    return float(led_away(cable.around(COAT), cable.area, CABLE if cable.strap is None else BAR))


def _hottest(plan: Plan, link: Link) -> Finding:
    design, factor = plan.design_current(link.name), heating_factor(plan, link)
    rms = design.scaled(factor.value)
    rows = [_row(plan, link, joint, rms.value) for joint in plan.bank.joints_of(link.name)]
    watts, path, joint, high, inputs, missing = max(rows, key=lambda row: row[0] / row[1])
    rise = watts / path
    text = say(
        "{joint} makes {watts} at {high} and comes to lie about {rise} above its cable",
        joint=joint.name,
        watts=Figure(watts, "power"),
        high=Figure(high, "resistance"),
        rise=Figure(rise, "temperature_difference"),
    )
    trace = (
        computed("Ib", f"design current of {link.name}", design),
        *factor.inputs,
        *inputs,
        Input("G", f"heat led away from {joint.name}, W/K, +-50 %", f"{path:.3f} W/K", PATHS),
        *design.inputs,
    )
    grade: Forced | None = "fail" if rise / KINDER > MOST_KELVIN else None
    if grade is None and (watts > MOST_WATTS or rise > MOST_KELVIN):
        grade = "caution"
    do = say(
        "Clean the faces, set the bolt of {joint} to its torque, measure millivolts at a known current.",
        joint=joint.name,
    )
    asked = missing if grade is not None else ()
    return _ONE.found(
        link.name,
        Figure(watts, "power"),
        (None, None),
        text,
        do,
        inputs=trace,
        case=design.case,
        missing=(*design.missing, *asked),
        forced=None if asked else grade,
    )


def _row(
    plan: Plan, link: Link, joint: Joint, rms: float
) -> tuple[float, float, Joint, float, tuple[Input, ...], tuple[Missing, ...]]:
    """Watts, path, resistance at its high end, trace and what is missing, of one joint."""
    value, key = joint.resistance, plan.bank.key(joint.origin.path)
    if value is not None:
        inputs: tuple[Input, ...] = (
            given("r", f"resistance of {joint.name}, high end counts", value, "resistance", key),
        )
        return float(heat(rms, value.high)), paths_of(plan, link, joint), joint, value.high, inputs, ()
    found, origin = stand_in("joint")
    figure = Figure(found.nominal, "resistance", found.low, found.high)
    asked = asking(joint.origin.path)
    inputs = (Input("r", f"resistance of {joint.name}, not given", figure, origin, True, asked),)
    return float(heat(rms, found.high)), paths_of(plan, link, joint), joint, found.high, inputs, (asked,)


CHECKS = (joint_stays_cool,)
