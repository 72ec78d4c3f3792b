"""Direct loads against the voltage that is left for them.

Gives: CHECKS (P-VOLTS-4). Limits: loads whose lowest voltage is not given (lowest_input) are named under what is not
checked; the highest voltage is in checks/volts.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.model import Load
from bankwright.circuit.cases import LOWEST, SURGE
from bankwright.circuit.errors import CircuitError
from bankwright.forms.card import Card
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Computed, Source
from bankwright.forms.trace import given
from bankwright.forms.wording import Figure, say
from bankwright.handbook.cells import cell_voltage
from bankwright.plan.context import Plan

__all__ = ["CHECKS"]

SAME = 1e-3  # V within which the ends of what is not given are one
_FOUR = Card(
    "P-VOLTS-4",
    "A direct load works over the discharge",
    "lowest input + drop to it <= cells x 3.2 V (caution above cells x 3.0 V); V in a surge >= lowest input",
    Source("the load's data sheet", how_known="read"),
    "code",
)


@check(_FOUR.code, _FOUR.title)
def load_works_over_the_discharge(plan: Plan) -> Iterator[Finding]:
    """A direct load still works where the cells are low, its cable's drop counted: lowest input + drop <= cells x 3.2
    V, caution above 3.0 V; and in a surge of the inverters the volts at it stay above its lowest input.

    Case: full discharge at the lowest voltage; surge, coldest cells. The modules with the fewest cells.
    Why: a contactor that drops out in the surge, or a pump that stops at half charge, is found out on the worst day.
    Not seen here: loads whose lowest voltage is not given.
    Source: the sheets; 3.2 and 3.0 V a cell: common practice, no source.
    """
    loads = [load for load in plan.bank.loads if load.lowest_input is not None]
    yield from _FOUR.over(loads, lambda load: _over_the_discharge(plan, load))
    if SURGE in plan.steady.names and plan.bank.inverters:
        yield from _FOUR.over(loads, lambda load: _in_a_surge(plan, load))


def _lowest(plan: Plan, load: Load) -> Input:
    key = plan.bank.key(f"{load.origin.path}.lowest_input")
    return given("V_min", f"lowest input of {load.name}", load.lowest_input or 0.0, "voltage", key)


def _over_the_discharge(plan: Plan, load: Load) -> Finding:
    module = min(plan.bank.modules, key=lambda each: each.kind.cells)
    cells, lowest = module.kind.cells, load.lowest_input or 0.0
    least, drop = _drops(plan, load)
    assumed = (*plan.stood.resistances["dc"], *plan.stood.voltages) if drop - least > SAME else ()
    top, steps = module.kind.nominal_voltage, (None, cells * cell_voltage("low working").value)
    text = say(
        "{load} works from {lowest} on and {drop} is lost on the way: {cell} a cell of {module}",
        load=load.name,
        lowest=Figure(lowest, "voltage"),
        drop=Figure(drop, "voltage_drop"),
        cell=f"{(lowest + drop) / cells:.2f} V",
        module=module.name,
    )
    fallen = Input("dV", f"drop to {load.name}", Figure(drop, "voltage_drop"), Computed(f"solved network, {LOWEST}"))
    do = say("Take a load for {cells} cells, or a larger cable to it.", cells=str(cells))
    needs = lowest + drop
    figure = Figure(needs, "voltage", lowest + least, needs) if assumed else Figure(needs, "voltage")
    inputs = (_lowest(plan, load), fallen, *assumed)
    return _FOUR.found(load.name, figure, (None, top), text, do, inputs=inputs, case=LOWEST, caution_limits=steps)


def _drops(plan: Plan, load: Load) -> tuple[float, float]:
    """Volts lost from the module that stands highest to a load: least and most over the ends of what is not given."""
    found = []
    for ends in (each for row in plan.steadies for each in row):
        try:
            solution = ends.case(LOWEST)
        except CircuitError:
            continue  # what cannot be delivered has its own finding
        posts = [[next(p for p in m.posts if p.endswith(pole)) for pole in "+-"] for m in plan.bank.modules]
        highest = max(float(solution.potential(p)) - float(solution.potential(q)) for p, q in posts)
        found.append(highest - float(solution.voltage(load.name)))
    return min(found, default=0.0), max(found, default=0.0)


def _in_a_surge(plan: Plan, load: Load) -> Finding | None:
    lowest, found = load.lowest_input or 0.0, []
    for ends in (each for row in plan.steadies for each in row):
        try:
            found.append(float(ends.case(SURGE).voltage(load.name)))
        except CircuitError:
            return None  # said by P-DROP-2
    low, high = min(found), max(found)
    assumed = plan.surge_assumed if high - low > SAME else ()
    figure = Figure(low, "voltage", low, high) if assumed else Figure(low, "voltage")
    text = say(
        "In a surge {load} sees {voltage}; it works from {lowest} on",
        load=load.name,
        voltage=figure,
        lowest=Figure(lowest, "voltage"),
    )
    volts = Input("V", f"volts at {load.name}", figure, Computed(f"solved network, {SURGE}"))
    inputs = (_lowest(plan, load), volts, *assumed)
    do = say("Add modules, limit what starts together, or feed {load} from its own converter.", load=load.name)
    return _FOUR.found(load.name, figure, (lowest, None), text, do, inputs=inputs, case=SURGE)


CHECKS = (load_works_over_the_discharge,)
