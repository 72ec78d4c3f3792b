"""What a single-phase inverter adds to the heating of conductors: k_r, the ratio of RMS to mean current.

Gives: heating_factor() of a link as a Traced ratio, loop_of() (resistance and inductance seen by an inverter),
owners().
A single-phase inverter draws, on top of the mean, an alternating part at twice line frequency; the battery carries
the
share a = |Zc / (Zc + R + jwL)| of it, Zc = 1/(jwC) and the capacitors' own resistance, w = 2 pi 2f; k_r = sqrt(1 +
a^2/2).
Limits: one common loop; own leads of an inverter take its own k_r, balanced three phases leave 1 on common edges.
Source: derived, checked by numeric integration.
"""

from __future__ import annotations

import math

from bankwright.bank.model import Inverter, Link
from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Input
from bankwright.forms.origin import Computed
from bankwright.forms.wording import Figure
from bankwright.physics.conductor import loop_inductance
from bankwright.physics.heat import heating_factor as rms_over_mean
from bankwright.physics.heat import ripple_share, worst_heating_factor
from bankwright.plan.asks import asking
from bankwright.plan.context import Plan
from bankwright.plan.trace import Traced

__all__ = ["heating_factor", "loop_of", "owners"]

USUAL_SPACING = 0.05  # m, where the file is silent; common practice, no source


def loop_of(plan: Plan, inverter: Inverter) -> tuple[float, float]:
    """Resistance and inductance of the loop from the bank to an inverter."""
    key = ("loop", inverter.name)
    if key not in plan.kept:
        plan.kept[key] = plan.bank_resistance(inverter), _inductance(plan, inverter)
    found: tuple[float, float] = plan.kept[key]
    return found


def _inductance(plan: Plan, inverter: Inverter) -> float:
    links = [link for link in plan.bank.links if link.role in ("main", "branch") and link.pole == "+"]
    own = [link for link in links if inverter.posts[0] in (link.a, link.b)]
    common = [link for link in links if not any(post in plan.inverter_of_post for post in (link.a, link.b))]
    total = 0.0
    for link in (*own, *common):
        if link.cable is not None and link.length is not None:
            radius = math.sqrt(link.cable.area / math.pi)
            total += float(loop_inductance(link.length, max(link.cable.spacing or USUAL_SPACING, radius), radius))
    return total


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
    if common and _balanced(inverters):
        return _told(1.0, "single-phase inverters on three phases balance on what they share", inverters)
    value = max((_own_factor(plan, inverter) for inverter in inverters), default=1.0)
    why = "mean current only" if value == 1.0 else "a single-phase inverter draws at twice line frequency"
    return _told(value, why, inverters)


def _balanced(inverters: tuple[Inverter, ...]) -> bool:
    """Three phases, equally many alike units on each."""
    phases = [inverter.phase for inverter in inverters if inverter.kind.phases != 3]
    counts = {phase: phases.count(phase) for phase in phases}
    return len(counts) == 3 and None not in counts and len(set(counts.values())) == 1


def _told(value: float, why: str, inverters: tuple[Inverter, ...]) -> Traced:
    origin = Computed(f"{why}; {', '.join(i.name for i in inverters) or 'no inverter'}")
    return Traced(Figure(value, "ratio"), (Input("k_r", "RMS over mean current", Figure(value, "ratio"), origin),))
