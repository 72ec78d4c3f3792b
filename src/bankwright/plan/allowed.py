"""The largest current of all chargers, or of all loads, that every module holds: with all modules, with one away.

Gives: Allowed, allowed(), rebound(). Limit of a module: its continuous current; in charge that at the temperature of
its cells. Its share: the worst over the cases and the corners of the tolerances, as P-CHARGE-1 and P-SHARE-1 count it.
Limits: steady, equal charge; every charger or inverter at its largest alike, in the proportion of its own.
Source: shares of the bank's network scale with the current where the modules are equally charged (derived).
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.bank.asks import asking, wanted
from bankwright.bank.model import Module
from bankwright.circuit.cases import CHARGE, LOWEST, case_of
from bankwright.circuit.errors import CircuitError, NotDeliverable
from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Missing
from bankwright.plan.checks.charge import charge_limit
from bankwright.plan.context import Plan
from bankwright.plan.figures.corners import corners_of
from bankwright.plan.figures.limits import Side, continuous_limit, side_of

__all__ = ["Allowed", "allowed", "rebound"]


@dataclass(frozen=True, slots=True)
class Allowed:
    """What all together may carry. [A]"""

    side: Side
    total: float | None = None  # what they carry at their largest
    with_all: float | None = None
    one_away: float | None = None
    module: str = ""  # that holds least with one away
    case: str = ""
    missing: tuple[Missing, ...] = ()


def allowed(plan: Plan, side: Side) -> Allowed:
    """The two figures of one side; where something is missing, what it is."""
    base = LOWEST if side == "discharge" else CHARGE
    try:
        if base not in plan.steady.names:
            raise NeedsValue(asking("inverters" if side == "discharge" else "chargers"))
        whole = {module: _worst(plan, module, side, (base,))[0] for module in plan.bank.modules}
        total = _total(plan, base)
        aways = tuple(case for case in plan.aways if side_of(case) == side)
        away = {module: _worst(plan, module, side, aways) for module in plan.bank.modules} if aways else {}
        held = {module: _limit(plan, module, side) for module in plan.bank.modules}
    except NeedsValue as error:
        return Allowed(side, missing=error.missing)
    except CircuitError:
        return Allowed(side, missing=(asking("wiring"),))
    factor = min(held[module] / amps for module, amps in whole.items() if amps > 0.0)
    parts = [(held[m] / amps, m.name, case) for m, (amps, case) in away.items() if amps > 0.0]
    if not parts:  # a single module: with it away there is nothing to hold
        return Allowed(side, total, total * factor)
    least, module, case = min(parts)
    return Allowed(side, total, total * factor, total * min(least, factor), module, case)


def _limit(plan: Plan, module: Module, side: Side) -> float:
    if side == "discharge":
        return continuous_limit(module, "discharge")
    site = plan.bank.site
    high = None if site.ambient_high_degc is None else site.ambient_high_degc + (site.rack_rise or 0.0)
    return charge_limit(module.kind, site.ambient_low_degc, high)[0]


def _worst(plan: Plan, module: Module, side: Side, cases: tuple[str, ...]) -> tuple[float, str]:
    """Largest current of a module over the cases, up to the corner of the tolerances, and the case."""
    worst = plan.worst(module.name, cases, "out" if side == "discharge" else "in").known()
    if worst.case is None:
        return worst.high, cases[0]
    row = [each.name for each in plan.bank.modules].index(module.name)
    corner = max(abs(float(each[row, row])) for each in corners_of(plan, worst.case))
    return max(corner, worst.high), worst.case


def _total(plan: Plan, base: str) -> float:
    """Sum of the module currents in a case. [A]"""
    found = plan.currents(base)
    return abs(float(sum(found[0, 0, plan.place(module.name)] for module in plan.bank.modules)))


def rebound(plan: Plan, name: str) -> float:
    """How far the voltage at an inverter rises when its full load ends, one module away, resistances at their high
    end. NeedsValue where the resistance or the load is not given. [V]

    Limits: what the resistance of the sheet holds, seconds into a step; empty cells creep up further for hours.
    """
    for module in plan.bank.modules:
        wanted(module.kind.resistance.dc, f"{module.kind.path}.resistance.dc")
    inverter = next(each for each in plan.bank.inverters if each.name == name)
    wanted(inverter.kind.power, f"{inverter.kind.path}.power")
    cases = tuple(case for case in plan.aways if side_of(case) == "discharge" and case.endswith(" open"))
    worst = max(_sag(plan, case, inverter.posts) for case in cases or (LOWEST,))
    return worst * max(r.high / r.nominal for m in plan.bank.modules if (r := m.kind.resistance.dc) is not None)


def _sag(plan: Plan, case: str, posts: tuple[str, str]) -> float:
    try:
        found = plan.steady.case(case)
    except NotDeliverable:
        found = plan.steady.solved(case_of(plan.bank, case), partly=True)
    plus, minus = (float(found.potential(post)) for post in posts)
    return float(found.emf.max()) - (plus - minus)
