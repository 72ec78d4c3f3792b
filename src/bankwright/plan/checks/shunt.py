"""The shunt that measures the bank: everything crosses it, and it carries the current.

Gives: CHECKS (P-SHUNT-1, P-SHUNT-2). Limits: no shunt, no finding. Its sign is a matter of the first power-up.
"""

from __future__ import annotations

from collections.abc import Iterator

import bankwright.plan.walks.lines as lines
from bankwright.bank.asks import wanted
from bankwright.bank.model import Device
from bankwright.forms.card import Card
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.trace import PRACTICE, amperes, computed, given, words
from bankwright.forms.wording import Figure, say
from bankwright.plan.context import Plan
from bankwright.plan.figures.ripple import heating_factor
from bankwright.plan.walks.feeding import past

__all__ = ["CHECKS", "CONTINUOUS"]

CONTINUOUS = 0.67  # of a shunt's rating; common practice, no source
_ONE = Card(
    "P-SHUNT-1",
    "Every load and charger is behind the shunt",
    "no way of the shunt's pole around it (cut of the graph)",
    Source("graph of the bank", how_known="derived"),
    "code",
)
_TWO = Card(
    "P-SHUNT-2", "A shunt carries its current", "k_r Ib < rating; caution above 0.67 x rating", PRACTICE, "code"
)


@check(_ONE.code, _ONE.title)
def everything_crosses_the_shunt(plan: Plan) -> Iterator[Finding]:
    """Every way between the modules and a load or charger, on the shunt's pole, crosses the shunt.

    Sense and control wires (`sense_wire` of a load) need not.
    Why: what by-passes it is not counted, and the state of charge drifts away from day to day.
    Not seen here: shunts in one module's or one inverter's lead, which are meant for that one.
    Source: graph of the bank (derived).
    """

    def one(device: Device) -> Finding:
        pole = plan.bank.link(device.on).pole
        shunts = {d.on for d in lines.in_line(plan, ("shunt",)) if plan.bank.link(d.on).pole == pole}
        around = [user.name for user in plan.powered if past(plan, user.posts[0 if pole == "+" else 1], shunts)]
        inputs = (
            words("around", "loads and chargers with a way around it", ", ".join(around) or "none", device.origin),
        )
        if around:
            text = say("{users} by-pass {shunt}", users=", ".join(around), shunt=device.name)
            return _ONE.found(
                device.name,
                None,
                (None, None),
                text,
                say("Move them, or the shunt, so that all of the current crosses it."),
                inputs=inputs,
                forced="fail",
            )
        text = say("Every load and charger is behind {shunt}", shunt=device.name)
        return _ONE.found(device.name, None, (None, None), text, say("Nothing to do."), inputs=inputs)

    yield from _ONE.over(lines.in_line(plan, ("shunt",)), one)


@check(_TWO.code, _TWO.title)
def shunt_carries_its_current(plan: Plan) -> Iterator[Finding]:
    """A shunt's rating is above the heating current; above two thirds of it a caution: k_r Ib < rating.

    Why: shunts are rated for short times and drift when hot; two thirds is what the trade leaves, no rule.
    Not seen here: its error at small currents.
    Source: common practice, no source.
    """

    def one(device: Device) -> Finding:
        design, factor = plan.design_current(device.on), heating_factor(plan, plan.bank.link(device.on))
        rating = wanted(device.kind.rating, f"{device.kind.path}.rating")
        heating = design.scaled(factor.value)
        text = say(
            "{shunt} is heated as by {current}; two thirds of its {rating} are {limit}",
            shunt=device.name,
            current=amperes(heating.value),
            rating=amperes(rating),
            limit=amperes(CONTINUOUS * rating),
        )
        inputs = (
            computed("Ib", f"design current of {device.on}", design),
            *factor.inputs,
            given("rating", f"rating of {device.name}", rating, "current", plan.bank.key(f"{device.kind.path}.rating")),
            *design.inputs,
        )
        figure = Figure(heating.value, "current", heating.figure.low, heating.figure.high)
        return _TWO.found(
            device.name,
            figure,
            (None, rating),
            text,
            say("Take a larger shunt."),
            inputs=inputs,
            case=design.case,
            missing=design.missing,
            caution_limits=(None, CONTINUOUS * rating),
        )

    yield from _TWO.over(lines.in_line(plan, ("shunt",)), one)


CHECKS = (everything_crosses_the_shunt, shunt_carries_its_current)
