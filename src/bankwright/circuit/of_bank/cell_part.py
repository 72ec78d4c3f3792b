"""Resistance of a module for a question, at a temperature: metal part constant, cell part times f(T).

Gives: temperature_factor(), module_resistance(), lasting(). Questions: "dc" sharing (30 s), "surge", "ohmic" faults
(first ms).
The metal part is dc - cells and is in all three; with `cells` not given the whole is taken as cell part, which is the
worse end both cold (too high) and hot (too low).
Limits: between the points of the table ln f is a straight line over temperature; beyond its ends the end holds.
Source: handbook table lfp/resistance-temperature: current steps on one 26650 LFP cell, at -25 ... 45 degC; one small
cell stands for all.
"""

from __future__ import annotations

from functools import cache
from typing import Literal

import numpy as np

from bankwright.bank.model import Module
from bankwright.bank.model_kinds import ModuleKind
from bankwright.circuit.network import Array
from bankwright.forms.toleranced import Toleranced
from bankwright.handbook.tables import load
from bankwright.physics.cell import resistance_factor

__all__ = ["HOW_TO_GET", "REFERENCE_DEGC", "cell_share", "lasting", "module_resistance", "temperature_factor"]

Question = Literal["dc", "surge", "ohmic"]
REFERENCE_DEGC = 25.0
_STEP = "or measure: step of voltage over step of current."
HOW_TO_GET = {
    "dc": f"Ask the maker for the resistance post to post, 30 s into a load step; {_STEP}",
    "surge": f"Ask the maker for the resistance post to post at the surge's duration; {_STEP}",
    "ohmic": "Ask the maker for the ohmic (1 kHz) resistance post to post; or measure it with a four-wire AC meter.",
}


def temperature_factor(temperature_degc: float | Array) -> Array:
    """f(T), resistance of the cell part over that at 25 degC. [-]"""
    degc, factor = _table()
    return resistance_factor(np.clip(temperature_degc, degc[0], degc[-1]), degc, factor)


@cache
def _table() -> tuple[Array, Array]:
    table = load("lfp/resistance-temperature")
    pairs = [(table.value(row, "temperature"), table.value(row, "factor")) for row in table.rows]
    degc, factor = np.array(pairs, dtype=np.float64).T
    return degc, factor


def cell_share(kind: ModuleKind, question: Question) -> float:
    """Part of a module's resistance that lies in the cells. [-]"""
    whole, dc, cells = getattr(kind.resistance, question), kind.resistance.dc, kind.resistance.cells
    if whole is None or dc is None or cells is None or whole.nominal == 0.0:
        return 1.0
    metal = max(dc.nominal - cells.nominal, 0.0)
    return float(max(1.0 - metal / whole.nominal, 0.0))


def lasting(kind: ModuleKind, surge_time: float | None) -> Question:
    """The resistance that a surge of this length asks for: "dc" where it lasts longer than `surge` holds.

    Resistance grows with time into a step, so that the later value is never better than the true one between the two.
    """
    given = kind.resistance
    if surge_time is None or given.surge is None or given.surge_after is None or surge_time <= given.surge_after:
        return "surge"
    return "dc" if given.dc is None or given.dc.nominal >= given.surge.nominal else "surge"


def module_resistance(module: Module, question: Question, temperature_degc: float | None) -> Toleranced | None:
    """Resistance with its limits at a cell temperature; None when the kind does not give it."""
    given: Toleranced | None = getattr(module.kind.resistance, question)
    if given is None:
        return None
    if module.resistance_factor is not None:
        by = module.resistance_factor
        given = Toleranced(given.nominal * by.nominal, given.low * by.low, given.high * by.high)
    if temperature_degc is None or temperature_degc == REFERENCE_DEGC:
        return given
    share = cell_share(module.kind, question)
    return given.scaled(1.0 - share + share * float(temperature_factor(temperature_degc)))
