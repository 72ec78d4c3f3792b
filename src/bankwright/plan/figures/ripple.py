"""What a single-phase inverter adds to the heating of conductors: k_r, the ratio of RMS to mean current.

Gives: heating_factor() of a link as a Traced ratio, loop_inputs(), loop_of() (resistance and inductance seen by an
inverter), owners(), balanced().
A single-phase inverter draws, on top of the mean, an alternating part at twice line frequency; the battery carries
the
share a = |Zc / (Zc + R + jwL)| of it, Zc = 1/(jwC) and the capacitors' own resistance, w = 2 pi 2f;
k_r = sqrt(1 + a^2/2).
Limits: one common loop; own leads of an inverter take its own k_r, balanced three phases leave 1 on common edges.
Source: derived, checked by numeric integration.
"""

from __future__ import annotations

from dataclasses import replace

from bankwright.bank.asks import asking
from bankwright.bank.model import Inverter, Link
from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Input
from bankwright.forms.origin import Computed
from bankwright.forms.trace import Traced, given
from bankwright.forms.wording import Figure
from bankwright.physics.heat import heating_factor as rms_over_mean
from bankwright.physics.heat import ripple_share, worst_heating_factor
from bankwright.plan.context import Plan
from bankwright.plan.figures.loops import loop_henry
from bankwright.plan.once import once

__all__ = ["balanced", "heating_factor", "loop_inputs", "loop_of", "owners"]


def loop_of(plan: Plan, inverter: Inverter) -> tuple[float, float]:
    """Resistance and inductance of the loop from the bank to an inverter."""
    return _loop(plan, inverter.name)


@once
def _loop(plan: Plan, name: str) -> tuple[float, float]:
    inverter = next(each for each in plan.bank.inverters if each.name == name)
    return plan.bank_resistance(inverter), loop_henry(plan, inverter)


def loop_inputs(plan: Plan, inverter: Inverter) -> tuple[Input, ...]:
    """What the ripple of an inverter follows from: resistance and inductance of its loop, capacitors, line."""
    kind = inverter.kind
    if kind.phases == 3:
        return ()
    resistance, inductance = loop_of(plan, inverter)
    lines = (kind.frequency,) if kind.frequency is not None else (50.0, 60.0)
    solved = Computed("solved network: fall of the volts at the inverter for 1 A more, ohmic resistances")
    each = Computed("lengths, sections and spacing of the main and its lead, both poles")
    found = [
        Input("R_loop", f"resistance that {inverter.name} sees", Figure(resistance, "resistance"), solved),
        Input("L_loop", f"inductance that {inverter.name} sees", Figure(inductance, "inductance"), each),
    ]
    for line in lines:
        origin = plan.bank.key(f"{kind.path}.frequency")
        found.append(Input("f", f"line frequency of {kind.name}", Figure(line, "frequency"), origin))
    if kind.capacitance is not None:
        origin = plan.bank.key(f"{kind.path}.capacitance")
        found.append(given("C", f"input capacitors of {kind.name}", kind.capacitance, "capacitance", origin))
        held = kind.capacitor_resistance or 0.0
        key = plan.bank.key(f"{kind.path}.capacitor_resistance")
        found.append(Input("R_C", "resistance of the capacitors", Figure(held, "resistance"), key))
    return tuple(found)


def _own_factor(plan: Plan, inverter: Inverter) -> float:
    kind = inverter.kind
    if kind.phases is None:
        raise NeedsValue(asking(f"{kind.path}.phases"))
    if kind.phases == 3:
        return 1.0
    resistance, inductance = loop_of(plan, inverter)
    lines = (kind.frequency,) if kind.frequency is not None else (50.0, 60.0)
    if kind.capacitance is None:
        return max(worst_heating_factor(resistance, inductance, line) for line in lines)
    return max(
        float(rms_over_mean(ripple_share(resistance, inductance, c, line, kind.capacitor_resistance or 0.0)))
        for line in lines
        for c in (kind.capacitance.low, kind.capacitance.nominal, kind.capacitance.high)
    )


def owners(plan: Plan, link: Link | None) -> tuple[Inverter, ...]:
    """Inverters whose own lead a link is; all of the bank's for a common conductor."""
    if link is None:
        return plan.bank.inverters
    own = [plan.inverter_of_post[post] for post in (link.a, link.b) if post in plan.inverter_of_post]
    foreign = {post for c in plan.bank.chargers if c.of is None for post in c.posts} | {
        p for each in plan.bank.loads for p in each.posts
    }
    if not own and foreign & {link.a, link.b}:
        return ()
    return tuple(own) or plan.bank.inverters


def heating_factor(plan: Plan, link: Link | None = None) -> Traced:
    """k_r of a link, or (None) of what all inverters share; NeedsValue where the phases are not known."""
    inverters = owners(plan, link)
    common = len(inverters) > 1
    if common and balanced(inverters):
        return _told(1.0, "single-phase inverters on three phases balance on what they share", inverters)
    each = [(_own_factor(plan, inverter), inverter) for inverter in inverters]
    value, worst = max(each, key=lambda pair: pair[0], default=(1.0, None))
    why = "mean current only" if value == 1.0 else "a single-phase inverter draws at twice line frequency"
    told = _told(value, why, inverters)
    return told if worst is None else replace(told, inputs=(*told.inputs, *loop_inputs(plan, worst)))


def balanced(inverters: tuple[Inverter, ...]) -> bool:
    """Three phases, equally many alike units on each."""
    phases = [inverter.phase for inverter in inverters if inverter.kind.phases != 3]
    counts = {phase: phases.count(phase) for phase in phases}
    return len(counts) == 3 and None not in counts and len(set(counts.values())) == 1


def _told(value: float, why: str, inverters: tuple[Inverter, ...]) -> Traced:
    origin = Computed(f"{why}; {', '.join(i.name for i in inverters) or 'no inverter'}")
    return Traced(Figure(value, "ratio"), (Input("k_r", "RMS over mean current", Figure(value, "ratio"), origin),))
