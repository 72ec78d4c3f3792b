"""Windows of voltage: what chargers are set to and inverters need, against cells times full and empty.

Gives: CHECKS (P-CHARGE-5, P-VOLTS-3). Limits: settings that are changed later; what the bus may reach when something
fails is in checks/volts.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking, wanted
from bankwright.bank.model import Charger, Inverter, Module
from bankwright.forms.card import Card
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Source
from bankwright.forms.trace import given, volts
from bankwright.forms.wording import say
from bankwright.handbook.cells import cell_voltage
from bankwright.plan.context import Plan
from bankwright.plan.figures.voltages import full_voltage

__all__ = ["CHECKS"]

FILLS = 3.40  # V a cell, under which a bank does not come full in hours; common practice, no source
FLAT = 3.10  # V a cell, the low end of the flat part under load; common practice, no source
SHEETS = Source("data sheets of module, charger and inverter", how_known="read")
_ONE = Card(
    "P-CHARGE-5",
    "A charger's setting suits the cells",
    "cells x 3.2 V <= setting <= cells x over-voltage trip, stated maximum; caution outside 3.40 V to end of charge",
    SHEETS,
    "code",
)
_TWO = Card(
    "P-VOLTS-3",
    "An inverter's window suits the cells",
    "rated power from cells x 3.2 V or less; cut-out above cells x under-voltage trip, below cells x 3.2 V",
    SHEETS,
    "code",
)


def _kinds(plan: Plan) -> tuple[Module, ...]:
    """One module of each kind."""
    return tuple({module.kind.path: module for module in plan.bank.modules}.values())


def _most(plan: Plan, module: Module) -> tuple[float, Input] | None:
    """The voltage a charger may not be set above: the low end of the trip, or what the sheet allows, the lower."""
    kind, found = module.kind, []
    if kind.charge.cell_trip is not None:
        value = kind.cells * kind.charge.cell_trip.low
        key = plan.bank.key(f"{kind.path}.charge.cell_trip")
        found.append((value, given("V_trip", f"over-voltage trip of {module.name}, low end", value, "voltage", key)))
    if kind.charge.highest_voltage is not None:
        value = kind.charge.highest_voltage
        key = plan.bank.key(f"{kind.path}.charge.highest_voltage")
        found.append(
            (value, given("V_sheet", f"highest voltage that the sheet of {module.name} allows", value, "voltage", key))
        )
    return min(found, key=lambda pair: pair[0], default=None)


@check(_ONE.code, _ONE.title)
def setting_suits_the_cells(plan: Plan) -> Iterator[Finding]:
    """A charger is set between what fills the cells and what makes them trip: cells x 3.2 V <= setting <= the lower of
    cells x over-voltage trip (low end) and the highest voltage of the module's sheet.

    Case: each kind of module; caution above the end of charge and under 3.40 V a cell (the bank never comes full).
    Without a setting the ceiling of the range counts, and is unknown where it lies too high.
    Why: a setting for sixteen cells on fifteen drives every charge into the trip, on all modules at once.
    Not seen here: a setting that is changed later; the ceiling (P-VOLTS-1).
    Source: the sheets; 3.2 V a cell nominal and 3.40 V: common practice, no source.
    """

    def one(charger: Charger) -> Iterator[Finding]:
        for module in _kinds(plan):
            yield _set(plan, charger, module)

    yield from _ONE.over(plan.bank.chargers, one)


def _set(plan: Plan, charger: Charger, module: Module) -> Finding:
    kind, key = charger.kind, f"{charger.kind.path}.setting"
    most = _most(plan, module)
    top = full_voltage(module) if most is None else most[0]
    if kind.setting is None:
        return _unset(plan, charger, module, top)
    least = module.kind.nominal_voltage
    if most is None and kind.setting > top:
        raise NeedsValue(asking(f"{module.kind.path}.charge.cell_trip"))
    a_cell = kind.setting / module.kind.cells
    text = say(
        "{charger} is set to {setting}, {cell} a cell of {module}; full at {full}, at most {most} (its trip or sheet)",
        charger=charger.name,
        setting=volts(kind.setting),
        cell=f"{a_cell:.2f} V",
        module=module.name,
        full=volts(full_voltage(module)),
        most=volts(top),
    )
    inputs = (
        given("V_set", f"setting of {charger.name}", kind.setting, "voltage", plan.bank.key(key)),
        *(() if most is None else (most[1],)),
    )
    steps = (module.kind.cells * FILLS, full_voltage(module))
    do = say("Set {charger} to between 3.40 V a cell and the end of charge of the sheet.", charger=charger.name)
    at = charger.name
    return _ONE.found(at, volts(kind.setting), (least, top), text, do, inputs=inputs, caution_limits=steps)


def _unset(plan: Plan, charger: Charger, module: Module, top: float) -> Finding:
    """No setting given: the ceiling of the range is judged, and too high a ceiling is not known to be used."""
    high = charger.kind.voltage_high
    missing = (asking(f"{charger.kind.path}.setting"),)
    if high is None or high > top * (1 + 1e-9):
        return _ONE.unknown(charger.name, missing)
    text = say(
        "{charger} cannot be set above {high}; {module} allows {most}",
        charger=charger.name,
        high=volts(high),
        module=module.name,
        most=volts(top),
    )
    key = plan.bank.key(f"{charger.kind.path}.voltage")
    inputs = (given("V", f"ceiling of {charger.name}", high, "voltage", key),)
    do = say("Nothing to do.")
    return _ONE.found(charger.name, volts(high), (None, top), text, do, inputs=inputs)


@check(_TWO.code, _TWO.title)
def window_suits_the_cells(plan: Plan) -> Iterator[Finding]:
    """An inverter gives rated power over the discharge, and stops before the modules do: lowest voltage for rated power
    <= cells x 3.2 V (caution above 3.0 V), cells x under-voltage trip <= cut-out <= cells x 3.2 V (caution above 3.1).

    Case: the modules with the fewest cells. A cut-out under the trip never acts: the modules open first, and the house
    is black until somebody restarts them.
    Why: an inverter for sixteen cells stops at 48 V, which fourteen cells hardly ever give.
    Not seen here: drop in the cables (P-DROP-2); a cut-out that is set elsewhere.
    Source: the sheets; 3.2, 3.1 and 3.0 V a cell: common practice, no source.
    """

    def one(inverter: Inverter) -> Iterator[Finding]:
        module = min(plan.bank.modules, key=lambda each: each.kind.cells)
        yield from _rated(plan, inverter, module)
        yield from _stops(plan, inverter, module)

    yield from _TWO.over(plan.bank.inverters, one)


def _rated(plan: Plan, inverter: Inverter, module: Module) -> Iterator[Finding]:
    kind, cells = inverter.kind, module.kind.cells
    if kind.lowest_voltage is None:
        yield _TWO.unknown(inverter.name, (asking(f"{kind.path}.lowest_voltage"),))
        return
    key = plan.bank.key(f"{kind.path}.lowest_voltage")
    text = say(
        "{inverter} gives rated power from {lowest} on, {cell} a cell of {module}",
        inverter=inverter.name,
        lowest=volts(kind.lowest_voltage),
        cell=f"{kind.lowest_voltage / cells:.2f} V",
        module=module.name,
    )
    yield _TWO.found(
        inverter.name,
        volts(kind.lowest_voltage),
        (None, module.kind.nominal_voltage),
        text,
        say("Take an inverter for {cells} cells, or count on less than its rated power.", cells=str(cells)),
        inputs=(given("V", f"lowest voltage for rated power of {kind.name}", kind.lowest_voltage, "voltage", key),),
        case="rated power",
        caution_limits=(None, cells * cell_voltage("low working").value),
    )


def _stops(plan: Plan, inverter: Inverter, module: Module) -> Iterator[Finding]:
    kind, cells = inverter.kind, module.kind.cells
    cut_out = wanted(kind.cut_out, f"{kind.path}.cut_out")
    key = plan.bank.key(f"{kind.path}.cut_out")
    cut = given("V_cut-out", f"cut-out of {kind.name}", cut_out, "voltage", key)
    text = say(
        "{inverter} stops at {cut}, {cell} a cell of {module}; the flat part of the discharge lies about 3.2 V",
        inverter=inverter.name,
        cut=volts(cut_out),
        cell=f"{cut_out / cells:.2f} V",
        module=module.name,
    )
    do = say("Set the cut-out for {cells} cells, or take an inverter for them.", cells=str(cells))
    steps = (None, cells * FLAT)
    top = module.kind.nominal_voltage
    yield _TWO.found(
        inverter.name, volts(cut_out), (None, top), text, do, inputs=(cut,), case="cut-out", caution_limits=steps
    )
    trips = [(wanted(m.kind.discharge.cell_trip, f"{m.kind.path}.discharge.cell_trip"), m) for m in _kinds(plan)]
    trip, first = max(((t.high * m.kind.cells, m) for t, m in trips), key=lambda pair: pair[0])
    text = say(
        "{inverter} stops at {cut}; the under-voltage trip of {module} opens it at {trip}",
        inverter=inverter.name,
        cut=volts(cut_out),
        module=first.name,
        trip=volts(trip),
    )
    key = plan.bank.key(f"{first.kind.path}.discharge.cell_trip")
    inputs = (
        cut,
        given("V_trip", f"{first.kind.cells} cells at the under-voltage trip, high end", trip, "voltage", key),
    )
    do = say("Set the cut-out above the modules' under-voltage trip.")
    yield _TWO.found(inverter.name, volts(cut_out), (trip, None), text, do, inputs=inputs, case="under-voltage")


CHECKS = (setting_suits_the_cells, window_suits_the_cells)
