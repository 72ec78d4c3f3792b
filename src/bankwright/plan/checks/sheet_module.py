"""A module's data sheet against itself: figures that cannot all be true, or that no LFP module has.

Gives: CHECKS (P-SHEET-1, P-SHEET-2). Limits: a figure that is wrong and yet likely is not seen; what a file cannot mean
at all is a fault of the file (bank/rules), and is told before anything is planned.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

from bankwright.bank.model import Module
from bankwright.bank.model_kinds import ModuleKind
from bankwright.forms.card import Card
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.trace import PRACTICE, given
from bankwright.forms.wording import Figure, Say, say
from bankwright.handbook.cells import cell_voltage
from bankwright.plan.context import Plan
from bankwright.plan.figures.usual import Usual, alike, typed_wrong

__all__ = ["CHECKS"]

ENERGY = Usual(0.75, 0.93, 1.05, 1.10)  # of capacity times nominal voltage; usable energy is printed as well
MASS = Usual(1 / 250, 1 / 170, 1 / 60, 1 / 30)  # kg a Wh: cells hold up to 210 Wh/kg, cased modules 80 to 150
SPACE = Usual(1 / 450, 1 / 300, 1 / 25, 1 / 8)  # litres a Wh: cells hold up to 400 Wh/l
OUT, IN = Usual(None, None, 3.0, 10.0), Usual(None, None, 1.5, 5.0)  # continuous amperes an ampere-hour
OWN_USE = Usual(None, None, 1 / 168, 1 / 24)  # of the nameplate an hour: empty in a week, in a day
PRODUCT = Usual(2e-3, 8e-3, 0.25, 1.0)  # ohm Ah a cell of the whole module, its metal counted: 0.02 to 0.1 published
JOIN = Usual(None, None, 2.0, 10.0)  # V
MOST_FULL, TOP = 3.8, Usual(None, None, 3.9, 4.1)  # V a cell: end of charge; trip and highest
EMPTY, BOTTOM = Usual(1.9, 2.3, 3.1, 3.25), Usual(1.5, 1.9, 3.1, 3.25)  # V a cell: end of discharge; trip
RESTING, LOW_END = Usual(None, None, 0.1, 0.3), Usual(None, None, 0.4, 0.8)  # V cell spread at rest; near empty
COLD_IN, COLD_OUT = Usual(-45.0, 0.0, None, None), Usual(-60.0, -40.0, None, None)  # degC, lowest
HOT_IN, HOT_OUT = Usual(None, None, 60.0, 80.0), Usual(None, None, 65.0, 90.0)  # degC, highest
_ONE = Card(
    "P-SHEET-1",
    "A module's figures agree",
    "E = Q x cells x 3.2 V; mass, size, currents and resistance as modules of that energy have them",
    PRACTICE,
    "code",
)
_TWO = Card(
    "P-SHEET-2",
    "A module's limits are those of LFP cells",
    "volts a cell and temperatures inside the ends of LFP cells",
    PRACTICE,
    "code",
)
Judged = Iterator[Finding]


def _each(plan: Plan, parts: Iterable[Callable[[Plan, Module], Judged]]) -> Judged:
    """Each kind of module judged once, at the first of its modules; the others are named too."""
    for first, *others in alike((module.name, module.kind.path) for module in plan.bank.modules).values():
        for part in parts:
            for finding in part(plan, plan.bank.module(first)):
                yield replace(finding, more=tuple(others))


def _told(card: Card, module: Module, item: Input, ends: Usual, text: Say, *, also: tuple[Input, ...] = ()) -> Finding:
    """One figure of a sheet between its ends; what goes with it stands in the trace."""
    assert isinstance(item.figure, Figure)
    do = typed_wrong(f"{item.name} of {module.kind.name}")
    return card.found(
        module.name, item.figure, ends.possible, text, do, inputs=(item, *also), caution_limits=ends.steps
    )


def _of(plan: Plan, kind: ModuleKind, named: tuple[str, str], figure: Figure, key: str) -> Input:
    return Input(*named, figure, plan.bank.key(f"{kind.path}.{key}"))


@check(_ONE.code, _ONE.title)
def figures_of_a_module_agree(plan: Plan) -> Iterator[Finding]:
    """Nameplate energy is capacity times cells times 3.2 V: caution outside 93 to 105 %, fail outside 75 to 110 %.
    Mass and size are those of a module of that energy, currents those of its capacity, the resistance that of its
    cells; its own breaker carries the current that the sheet lets it give; its own use leaves it charged for a week.

    Why: one key typed with another module's figure, or in another unit, makes every figure after it wrong, and looks
    like any other.
    Not seen here: which of two figures is the wrong one; a wrong figure that is likely.
    Source: E = Q V [derived]; 3.2 V a cell, and what is usual: common practice, no source.
    """
    parts: tuple[Callable[[Plan, Module], Judged], ...] = (_energy, _mass, _space, _rates, _resistance, _breaker, _rest)
    yield from _each(plan, parts)


def _energy(plan: Plan, module: Module) -> Judged:
    kind = module.kind
    if kind.energy_kwh is None or kind.capacity_ah is None:
        return
    full = kind.capacity_ah * kind.nominal_voltage / 1000.0
    item = _of(plan, kind, ("E", "nameplate energy"), Figure(kind.energy_kwh, "energy_kwh"), "energy")
    text = say(
        "{kind} is given {energy}; {capacity} of {cells} cells are {full}",
        kind=kind.name,
        energy=Figure(kind.energy_kwh, "energy_kwh"),
        capacity=Figure(kind.capacity_ah, "capacity_ah"),
        cells=str(kind.cells),
        full=Figure(full, "energy_kwh"),
    )
    also = (
        _of(plan, kind, ("Q", "capacity"), Figure(kind.capacity_ah, "capacity_ah"), "capacity"),
        _of(plan, kind, ("cells", "cells in series"), Figure(kind.cells, "count"), "cells"),
    )
    yield _told(_ONE, module, item, ENERGY.times(full), text, also=also)


def _mass(plan: Plan, module: Module) -> Judged:
    kind, energy = module.kind, module.kind.energy_or_nominal
    if kind.mass is None or energy is None:
        return
    ends = MASS.times(energy * 1000.0)
    item = _of(plan, kind, ("m", "mass"), Figure(kind.mass, "mass"), "mass")
    text = say(
        "{kind} weighs {mass}; LFP modules of {energy} weigh {low} to {high}",
        kind=kind.name,
        mass=Figure(kind.mass, "mass"),
        energy=Figure(energy, "energy_kwh"),
        low=Figure(ends.low or 0.0, "mass"),
        high=Figure(ends.high or 0.0, "mass"),
    )
    yield _told(_ONE, module, item, ends, text, also=(_plate(plan, kind, energy),))


def _plate(plan: Plan, kind: ModuleKind, energy: float) -> Input:
    return _of(
        plan, kind, ("E", "energy"), Figure(energy, "energy_kwh"), "capacity" if kind.energy_kwh is None else "energy"
    )


def _space(plan: Plan, module: Module) -> Judged:
    kind, energy = module.kind, module.kind.energy_or_nominal
    if not kind.height or not kind.width or not kind.depth or energy is None:
        return
    ends = SPACE.times(energy / (kind.height * kind.width))  # Wh and litres, kWh and m3: the same number
    item = _of(plan, kind, ("depth", "depth"), Figure(kind.depth, "height"), "depth")
    text = say(
        "A box of {height} x {width} x {depth} holds {energy}, {density} Wh a litre",
        height=Figure(kind.height, "height"),
        width=Figure(kind.width, "height"),
        depth=Figure(kind.depth, "height"),
        energy=Figure(energy, "energy_kwh"),
        density=f"{energy / (kind.height * kind.width * kind.depth):.3g}",
    )
    also = (
        _of(plan, kind, ("height", "height"), Figure(kind.height, "height"), "height"),
        _of(plan, kind, ("width", "width"), Figure(kind.width, "height"), "width"),
        _plate(plan, kind, energy),
    )
    yield _told(_ONE, module, item, ends, text, also=also)


def _rates(plan: Plan, module: Module) -> Judged:
    kind, capacity = module.kind, module.kind.capacity_ah
    if capacity is None:
        return
    for side, current, ends in (("discharge", kind.discharge.continuous, OUT), ("charge", kind.charge.continuous, IN)):
        if current is None:
            continue
        item = _of(plan, kind, ("I", f"continuous {side}"), Figure(current, "current"), f"{side}.continuous")
        text = say(
            "{kind} of {capacity} may {side} {current}; up to {high} is usual",
            kind=kind.name,
            capacity=Figure(capacity, "capacity_ah"),
            side=side,
            current=Figure(current, "current"),
            high=Figure((ends.high or 0.0) * capacity, "current"),
        )
        also = (_of(plan, kind, ("Q", "capacity"), Figure(capacity, "capacity_ah"), "capacity"),)
        yield _told(_ONE, module, item, ends.times(capacity), text, also=also)


def _resistance(plan: Plan, module: Module) -> Judged:
    kind, value, capacity = module.kind, module.kind.resistance.dc, module.kind.capacity_ah
    if value is None or not capacity:
        return
    ends = PRODUCT.times(kind.cells / capacity)
    nominal = Figure(value.nominal, "resistance")
    item = Input("R", "resistance", nominal, plan.bank.key(f"{kind.path}.resistance.dc"))
    text = say(
        "{kind} has {value}; modules of {cells} cells of {capacity} have {low} to {high}",
        kind=kind.name,
        value=nominal,
        cells=str(kind.cells),
        capacity=Figure(capacity, "capacity_ah"),
        low=Figure(ends.low or 0.0, "resistance"),
        high=Figure(ends.high or 0.0, "resistance"),
    )
    also = (_of(plan, kind, ("Q", "capacity"), Figure(capacity, "capacity_ah"), "capacity"),)
    yield _told(_ONE, module, item, ends, text, also=also)


def _breaker(plan: Plan, module: Module) -> Judged:
    kind, breaker = module.kind, module.kind.breaker
    current = max((c for c in (kind.discharge.continuous, kind.charge.continuous) if c is not None), default=None)
    if breaker is None or breaker.rating is None or current is None or breaker.type not in ("fuse", "breaker"):
        return
    item = given("I", "continuous current", current, "current", plan.bank.key(f"{kind.path}.discharge.continuous"))
    rating = given("rating", "own breaker", breaker.rating, "current", plan.bank.key(f"{breaker.path}.rating"))
    text = say(
        "{kind} may carry {current}; its own breaker is rated {rating}",
        kind=kind.name,
        current=Figure(current, "current"),
        rating=Figure(breaker.rating, "current"),
    )
    yield _told(_ONE, module, item, Usual(None, None, breaker.rating, None), text, also=(rating,))


def _rest(plan: Plan, module: Module) -> Judged:
    kind, energy = module.kind, module.kind.energy_or_nominal
    if kind.standby_power is not None and energy is not None:
        item = _of(plan, kind, ("P", "own use"), Figure(kind.standby_power, "power"), "standby_power")
        text = say(
            "{kind} uses {power} for itself, which empties its {energy} in {days} days",
            kind=kind.name,
            power=Figure(kind.standby_power, "power"),
            energy=Figure(energy, "energy_kwh"),
            days=f"{energy * 1000.0 / 24.0 / max(kind.standby_power, 1e-9):.2g}",
        )
        ends = OWN_USE.times(energy * 1000.0)
        yield _told(_ONE, module, item, ends, text, also=(_plate(plan, kind, energy),))
    if kind.join_within is not None:
        item = _of(
            plan, kind, ("dU", "joining window"), Figure(kind.join_within, "voltage_drop"), "parallel.join_within"
        )
        text = say("{kind} may be joined within {window}", kind=kind.name, window=Figure(kind.join_within, "voltage"))
        yield _told(_ONE, module, item, JOIN, text)


@check(_TWO.code, _TWO.title)
def limits_are_those_of_lfp(plan: Plan) -> Iterator[Finding]:
    """End of charge (fail above 3.8 V a cell, caution above 3.65 V), trips, end of discharge and temperatures are those
    of LFP cells; charging below 0 degC without a heater is a caution, whatever the sheet says.

    Why: limits of another chemistry in an LFP file set every charger too high, and nothing downstream knows it.
    Not seen here: limits of the maker that are tighter than the usual ones.
    Source: 3.65 V, 2.5 V, no charging below 0 degC: LFP cell specifications [published range]; the ends about
    them: common practice, no source.
    """
    yield from _each(plan, (_volts, _degrees))


def _volts(plan: Plan, module: Module) -> Judged:
    kind, charge, discharge = module.kind, module.kind.charge, module.kind.discharge
    trips = [None if trip is None else trip.nominal for trip in (charge.cell_trip, discharge.cell_trip)]
    for name, value, key, ends in (
        (
            "end of charge",
            charge.cell_full,
            "charge.cell_full",
            Usual(None, None, cell_voltage("full").value, MOST_FULL),
        ),
        ("over-voltage trip", trips[0], "charge.cell_trip", TOP),
        ("highest voltage", charge.highest_voltage, "charge.highest_voltage", TOP.times(kind.cells)),
        ("end of discharge", discharge.cell_empty, "discharge.cell_empty", EMPTY),
        ("under-voltage trip", trips[1], "discharge.cell_trip", BOTTOM),
        ("cell spread at rest", kind.cell_spread, "cell_spread", RESTING),
        ("cell spread near empty", discharge.cell_spread, "discharge.cell_spread", LOW_END),
    ):
        if value is None:
            continue
        quantity = "voltage" if key.endswith("highest_voltage") else "cell_voltage"
        quantity = "cell_spread" if key.endswith("cell_spread") else quantity
        item = _of(plan, kind, ("U", name), Figure(value, quantity), key)
        least = {} if ends.low is None else {"low": Figure(ends.low, quantity)}
        text = say(
            "{kind}: {name} {value}; LFP cells: " + ("{low} to {high}" if least else "up to {high}"),
            kind=kind.name,
            name=name,
            value=Figure(value, quantity),
            high=Figure(ends.high or 0.0, quantity),
            **least,
        )
        yield _told(_TWO, module, item, ends, text)


def _degrees(plan: Plan, module: Module) -> Judged:
    kind, charge, discharge = module.kind, module.kind.charge, module.kind.discharge
    cold = None if charge.heated else charge.lowest_degc
    for name, value, key, ends in (
        ("lowest temperature of charging, without a heater", cold, "charge.lowest", COLD_IN),
        ("highest temperature of charging", charge.highest_degc, "charge.highest", HOT_IN),
        ("lowest temperature of discharging", discharge.lowest_degc, "discharge.lowest", COLD_OUT),
        ("highest temperature of discharging", discharge.highest_degc, "discharge.highest", HOT_OUT),
    ):
        if value is None:
            continue
        item = _of(plan, kind, ("T", name), Figure(value, "temperature_degc"), key)
        usual = ends.low if ends.high is None else ends.high
        text = say(
            "{kind}: {name} {value}; LFP cells: {usual}",
            kind=kind.name,
            name=name,
            value=Figure(value, "temperature_degc"),
            usual=Figure(usual or 0.0, "temperature_degc"),
        )
        yield _told(_TWO, module, item, ends, text)


CHECKS = (figures_of_a_module_agree, limits_are_those_of_lfp)
