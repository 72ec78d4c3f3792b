"""Where growth of a joint becomes more than something to look at: limits computed for its place in this bank.

Gives: PlaceLimit, limit_of(), carried_with(), whole_cases(). Heat at the largest steady current that the whole bank
gives the element: 2 W, or 15 K above its conductor, whichever comes first; and the modules' currents with the grown
value, solved anew.
Limits: all of a group's growth is taken to sit in one joint; of the ways that lead heat away only its own cable counts,
so that the limit lies rather low.
Sources: 2 W: common practice, no source; 15 K: ANSI/NETA ATS-2003, 100.18 [read, no later edition seen]; long fin of a
cable [stated law].
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bankwright.bank.model import Bank
from bankwright.circuit.cases import case_of
from bankwright.circuit.errors import CircuitError
from bankwright.circuit.solver.solve import solve
from bankwright.circuit.steady import Steady
from bankwright.forms.checks import NeedsValue
from bankwright.physics.joint import led_away

__all__ = ["LACKING", "Carried", "PlaceLimit", "carried_with", "limit_of", "whole_cases"]

LACKING = (CircuitError, NeedsValue)
WATTS, KELVIN = 2.0, 15.0
COAT = 0.0022  # m of insulation, where the outer diameter is not given; common practice, no source


@dataclass(frozen=True, slots=True)
class PlaceLimit:
    """The least growth that is too much at one place [ohm], why, and the current it was computed for [A]."""

    ohms: float
    why: str
    current: float
    case: str


def whole_cases(steady: Steady) -> tuple[str, ...]:
    """Continuous cases in which nothing is away or blocked; none where what draws from the bank is not known."""
    try:
        cases = {name: case_of(steady.bank, name) for name in steady.continuous}
    except LACKING:
        return ()
    return tuple(name for name, case in cases.items() if not case.open and not case.only)


def limit_of(bank: Bank, steady: Steady, names: tuple[str, ...], whole: tuple[str, ...]) -> PlaceLimit | None:
    """Of the element of a group that carries most in the whole cases; None where none can be solved."""
    found = []
    for name in names if whole else ():
        try:
            worst = steady.worst(name, whole)
        except (*LACKING, KeyError):
            continue
        if abs(worst.current) > 1.0:
            found.append((abs(worst.current), name, worst.case))
    if not found:
        return None
    current, name, case = max(found)
    away = _led_away(bank, name)
    by_heat, by_rise = WATTS / current**2, math.inf if away is None else KELVIN * away / current**2
    why = "2 W in one joint" if by_heat <= by_rise else "15 K above its cable"
    return PlaceLimit(min(by_heat, by_rise), why, current, case)


def _led_away(bank: Bank, name: str) -> float | None:
    """Heat that the cable of an element leads away, W/K; None for a bar."""
    link = next((each for each in bank.links if name == each.name or name.partition("@")[0] == each.name), None)
    if link is None or link.cable is None:
        return None
    return float(led_away(link.cable.around(COAT), link.cable.area))


@dataclass(frozen=True, slots=True)
class Carried:
    """The module that comes nearest to its limit with the grown value: current, limit, and the current without."""

    module: str
    current: float
    limit: float
    before: float
    case: str


def _rank(told: Carried) -> tuple[bool, float]:
    """Those whose current the growth raises first, then by how near they come to their limit."""
    return told.current > told.before * (1 + 1e-3), told.current / told.limit


def carried_with(bank: Bank, steady: Steady, name: str, growth: float) -> Carried | None:
    """Solve every continuous case with an element grown; None where no case or no limit is known."""
    worst: Carried | None = None
    for case in whole_cases(steady):
        try:
            before = steady.case(case)
        except LACKING:
            continue
        network = before.network
        ohms = before.resistance.copy()
        ohms[network.element_index[name]] += growth
        try:
            after = solve(network, before.case, ohms, before.emf)
        except CircuitError:
            continue
        for place in network.modules:
            now, was = float(after.edge_current[place]), float(before.edge_current[place])
            kind = bank.module(network.edges[place].name).kind
            limit = kind.discharge.continuous if now > 0 else kind.charge.continuous
            if limit is None:
                continue
            told = Carried(network.edges[place].name, abs(now), float(limit), abs(was), case)
            if worst is None or _rank(told) > _rank(worst):
                worst = told
    return worst
