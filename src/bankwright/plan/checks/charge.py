"""Charging: current at the cells' temperature, and whether a charger can be set to the end of charge.

Gives: CHECKS (P-CHARGE-1, P-CHARGE-4). Limits: a limit that exists only as a message on the data bus is not counted;
temperatures are in checks/cells.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from bankwright.bank.asks import asking, needs, wanted
from bankwright.bank.model import Bank, Charger, Module
from bankwright.bank.model_kinds import ModuleKind
from bankwright.circuit.cases import CHARGE
from bankwright.forms.card import Card
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Source
from bankwright.forms.trace import Traced, amperes, computed, given, volts, words
from bankwright.forms.wording import Figure, say
from bankwright.handbook.cells import cell_voltage
from bankwright.plan.context import Plan, plan_of
from bankwright.plan.figures.corners import corners_of
from bankwright.plan.figures.limits import side_of
from bankwright.plan.figures.voltages import full_voltage

__all__ = ["CHECKS", "charge_limit"]

SHEET = Source("the module's data sheet", how_known="read")
_ONE = Card(
    "P-CHARGE-1",
    "Charging current stays inside each module's limit",
    "sum of all chargers x worst share < limit at the cells' temperature",
    SHEET,
)
_TWO = Card(
    "P-CHARGE-4",
    "A charger can be set to the end of charge",
    "low end of the range <= cells x end of charge <= its ceiling",
    SHEET,
    "code",
)


def charge_limit(kind: ModuleKind, low_degc: float | None, high_degc: float | None) -> tuple[float, str]:
    """Least charge limit over the temperatures the cells may have while charging is allowed at all; and why."""
    if not kind.charge.by_temperature:
        return wanted(kind.charge.continuous, f"{kind.path}.charge.continuous"), "one value for all temperatures"
    table = sorted(kind.charge.by_temperature)
    if low_degc is None or high_degc is None:
        raise needs("site.ambient")
    lowest = max(low_degc, table[0][0] if kind.charge.lowest_degc is None else kind.charge.lowest_degc)
    inside = [
        amps
        for i, (degc, amps) in enumerate(table)
        if degc <= max(high_degc, lowest) and (i + 1 == len(table) or table[i + 1][0] > lowest)
    ]
    inside = [amps for amps in inside if amps > 0] or [table[0][1]]
    least = min(inside)
    if kind.charge.continuous is not None:
        least = min(least, kind.charge.continuous)
    return least, f"least of the table from {lowest:g} to {high_degc:g} °C"


@check(_ONE.code, _ONE.title)
def charge_current_inside_limit(plan: Plan) -> Iterator[Finding]:
    """All chargers at once times the worst share stay under each module's charge limit at the temperature of its
    cells, also with the control message lost.

    Case: full charge, all modules, and with any one away in its three ways; the worst corner of tolerances.
    Chargers at their largest current; where site.control_message says that they obey the modules' message, at what
    each gives without it (without_message, the largest current where that is not given).
    Why: the message may be lost, and a solar charger, an inverter and a generator do not know of each other.
    Not seen here: bands of a published cell sheet (0.2C under 15 degC), which are a hint only.
    Source: the module's sheet; shares derived.
    """
    if not plan.bank.chargers:
        names = plan.bank.modules[0].name
        yield _ONE.unknown(names, (asking("chargers"),))
        return
    obeyed = plan.bank.site.control_message is True
    lost = plan_of(_without_message(plan.bank)) if obeyed else plan
    yield from _ONE.over(plan.bank.modules, lambda module: _inside_limit(plan, lost, module, obeyed))


def _inside_limit(plan: Plan, lost: Plan, module: Module, obeyed: bool) -> Finding:
    """One module's charging current; `lost` is the bank without its control message."""
    site, kind = plan.bank.site, module.kind
    high = None if site.ambient_high_degc is None else site.ambient_high_degc + (site.rack_rise or 0.0)
    limit, why = charge_limit(kind, site.ambient_low_degc, high)
    worst, figure = _charging(lost, module)
    held = _held_by_message(plan, module, limit)
    head = "Without the control message all chargers give {total}" if obeyed else "With all chargers at {total}"
    words_of_it = ". At their full current {module} rests on a limit that exists only as a message" if held else ""
    key = f"{kind.path}.charge." + ("by_temperature" if kind.charge.by_temperature else "continuous")
    return _ONE.found(
        module.name,
        figure,
        (None, limit),
        say(
            head + ", {module} takes {current}; it may take {limit} ({why})" + words_of_it,
            total=amperes(_together(lost.bank)),
            module=module.name,
            current=amperes(worst.value),
            limit=amperes(limit),
            why=why,
        ),
        say("Set the chargers lower, so that they keep inside the limit with a module away and without the message."),
        inputs=(
            computed("I_k", f"charging current of {module.name}", worst),
            given("limit", f"charge limit of {kind.name}, {why}", limit, "current", plan.bank.key(key)),
            *(_message_inputs(plan) if obeyed else ()),
            *worst.inputs,
        ),
        case=worst.case,
        missing=worst.missing,
        caution_limits=(None, 0.0) if held else None,  # a limit that is only a message is never better than caution
    )


def _without_message(bank: Bank) -> Bank:
    """The bank with every charger at what it gives when the control message is lost."""
    if all(charger.kind.without_message is None for charger in bank.chargers):
        return bank
    made = []
    for charger in bank.chargers:
        own = charger.kind.without_message
        kind = charger.kind if own is None else replace(charger.kind, current=own)
        made.append(replace(charger, kind=kind))
    return bank.replaced(chargers=tuple(made))


def _together(bank: Bank) -> float:
    return sum(charger.kind.current or 0.0 for charger in bank.chargers)


def _charging(plan: Plan, module: Module) -> tuple[Traced, Figure]:
    """Worst charging current of a module with its case, and the figure up to the corner of tolerances."""
    worst = plan.worst(module.name, (CHARGE, *(c for c in plan.aways if side_of(c) == "charge")), "in")
    if worst.missing or worst.case is None:
        return worst, worst.figure
    row = [each.name for each in plan.bank.modules].index(module.name)
    corner = max(abs(float(each[row, row])) for each in corners_of(plan, worst.case))
    return worst, Figure(worst.value, "current", worst.low, max(corner, worst.high))


def _held_by_message(plan: Plan, module: Module, limit: float) -> bool:
    """True when only the control message keeps the chargers' full current inside a module's limit."""
    if plan.bank.site.control_message is not True:
        return False
    try:
        return _charging(plan, module)[0].value > limit
    except NeedsValue:
        return False


def _message_inputs(plan: Plan) -> tuple[Input, ...]:
    """That the chargers obey the message, and what each gives without it."""
    found = [words("message", "chargers obey the modules' message", "yes", plan.bank.key("site.control_message"))]
    for charger in plan.bank.chargers:
        kind, own = charger.kind, charger.kind.without_message
        key, name = f"{kind.path}.without_message", f"{charger.name} without the message"
        if own is not None:
            found.append(given("I", name, own, "current", plan.bank.key(key)))
        elif kind.current is not None:
            found.append(
                given("I", f"{name}: not given, so its largest", kind.current, "current", plan.bank.key(kind.path))
            )
    return tuple(found)


@check(_TWO.code, _TWO.title)
def charger_reaches_end_of_charge(plan: Plan) -> Iterator[Finding]:
    """The range a charger can be set to holds the modules' end of charge: low end <= cells x end of charge <= ceiling.

    Why: a charger whose whole range lies below never fills the bank: it is never balanced, and its state of charge
    never set right. One that cannot be set as low drives every charge into the over-voltage trip.
    Not seen here: the setting itself, which is changed later than the range; a ceiling above what other things
    stand (P-VOLTS-1). A ceiling that is too low ends at caution.
    Source: data sheets of module and charger; the end of charge of published cell sheets where the sheet is silent.
    """

    def one(charger: Charger) -> Finding:
        kind, key = charger.kind, f"{charger.kind.path}.voltage"
        low, high = wanted(kind.voltage_low, key), wanted(kind.voltage_high, key)
        module = min(plan.bank.modules, key=full_voltage)
        full = full_voltage(module)
        text = say(
            "{charger} can be set from {low} to {high}; {kind} is full at {full}",
            charger=charger.name,
            low=volts(low),
            high=volts(high),
            kind=module.kind.name,
            full=volts(full),
        )
        ranged = f"{low:g} V to {high:g} V"
        inputs = (_full_input(plan, module), words("range", f"range of {charger.name}", ranged, plan.bank.key(key)))
        do = say("Take a charger whose range holds the modules' end of charge.")
        ends = "caution" if full > high else "fail"
        return _TWO.found(
            charger.name,
            volts(full),
            (low, high),
            text,
            do,
            inputs=inputs,
            case="full charge",
            ends_at=ends,  # type: ignore[arg-type]
        )

    yield from _TWO.over(plan.bank.chargers, one)


def _full_input(plan: Plan, module: Module) -> Input:
    """End of charge of a module, from its sheet or from published ones."""
    kind, key = module.kind, f"{module.kind.path}.charge.cell_full"
    name = f"{kind.cells} cells of {kind.name} at their end of charge"
    if kind.charge.cell_full is not None:
        return given("V", name, full_voltage(module), "voltage", plan.bank.key(key))
    return Input("V", name, volts(full_voltage(module)), cell_voltage("full").origin, True, asking(key))


CHECKS = (charge_current_inside_limit, charger_reaches_end_of_charge)
