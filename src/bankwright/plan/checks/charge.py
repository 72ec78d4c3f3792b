"""Charging: current at the cells' temperature, and temperature itself.

Gives: CHECKS (P-CHARGE-1 to P-CHARGE-3). Limits: a limit that exists only as a message on the data bus is not
counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.model import Module
from bankwright.bank.model_kinds import ModuleKind
from bankwright.circuit.cases import CHARGE
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say
from bankwright.plan.air import hottest_cells
from bankwright.plan.asks import asking, needs, wanted
from bankwright.plan.checks.frame import Card
from bankwright.plan.context import Plan
from bankwright.plan.corners import corners
from bankwright.plan.limits import side_of
from bankwright.plan.trace import amperes, computed, given, words

__all__ = ["CHECKS", "charge_limit"]

SHEET = Source("the module's data sheet", how_known="read")
WINDOW = Source(
    "data sheets of LFP cells, several",
    "",
    "charging from 0 degC, up to 45 to 60 degC; discharging -20 to 60 degC",
    "published range",
)
_ONE = Card(
    "P-CHARGE-1",
    "Charging current stays inside each module's limit",
    "sum of all chargers x worst share < limit at the cells' temperature",
    SHEET,
)
_TWO = Card(
    "P-CHARGE-2",
    "No charging of cells that are too cold",
    "T_low > lowest charge temperature, or the module inhibits or heats",
    SHEET,
)
_THREE = Card("P-CHARGE-3", "Cells stay cool enough", "T_high < highest charge temperature", SHEET)
COLD_DO = say(
    "Warm the room, take modules that inhibit or heat themselves, or stop charging below the limit. "
    "Slow charging does not make it right."
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
    return least, f"least of the table from {lowest:g} to {high_degc:g} degC"


@check(_ONE.code, _ONE.title)
def charge_current_inside_limit(plan: Plan) -> Iterator[Finding]:
    """All chargers at once times the worst share stay under each module's charge limit at the temperature of its
    cells.

    Case: full charge, all modules, and with any one away in its three ways; the worst corner of tolerances;
    chargers at
    their largest current, whatever the control message says.
    Why: the message may be lost, and a solar charger, an inverter and a generator do not know of each other.
    Not seen here: bands of a published cell sheet (0.2C under 15 degC), which are a hint only.
    Source: the module's sheet; shares derived.
    """
    if not plan.bank.chargers:
        names = plan.bank.modules[0].name
        yield _ONE.unknown(names, (asking("chargers"),))
        return
    cases = (CHARGE, *(case for case in plan.aways if side_of(case) == "charge"))

    def one(module: Module) -> Finding:
        site = plan.bank.site
        high = None if site.ambient_high_degc is None else site.ambient_high_degc + (site.rack_rise or 0.0)
        limit, why = charge_limit(module.kind, site.ambient_low_degc, high)
        worst = plan.worst(module.name, cases, "in")
        figure = worst.figure
        if not worst.inputs and not worst.missing and worst.case is not None:
            row = [each.name for each in plan.bank.modules].index(module.name)
            corner = max(abs(float(corners(plan.steady, worst.case)[row, row])), worst.value)
            figure = Figure(worst.value, "current", worst.value, corner)
        total = sum(charger.kind.current or 0.0 for charger in plan.bank.chargers)
        text = say(
            "With all chargers at {total}, {module} takes {current}; it may take {limit} ({why})",
            total=amperes(total),
            module=module.name,
            current=amperes(worst.value),
            limit=amperes(limit),
            why=why,
        )
        key = f"{module.kind.path}.charge." + ("by_temperature" if module.kind.charge.by_temperature else "continuous")
        inputs = (
            computed("I_k", f"charging current of {module.name}", worst),
            given("limit", f"charge limit of {module.kind.name}, {why}", limit, "current", plan.bank.key(key)),
            *worst.inputs,
        )
        do = say(
            "Set the chargers lower, so that they keep inside the limit with a module away and without the message."
        )
        return _ONE.found(module.name, figure, (None, limit), text, do, inputs, worst.case, worst.missing)

    yield from _ONE.over(plan.bank.modules, one)


def _kinds(plan: Plan) -> tuple[Module, ...]:
    """One module of each kind."""
    return tuple({module.kind.path: module for module in reversed(plan.bank.modules)}.values())


@check(_TWO.code, _TWO.title)
def cells_warm_enough_to_charge(plan: Plan) -> Iterator[Finding]:
    """The coldest cells are above the lowest charge temperature, or the module stops charging itself, or is heated.

    Case: lowest ambient, soaked for a day: a module lags the air by many hours, then it is as cold.
    Why: lithium plates out below the limit at any current; the other modules charge a low one when joined.
    Not seen here: where the charger's own sensor hangs.
    Source: the module's sheet; window of published cell sheets where it is silent.
    """

    def one(module: Module) -> Finding:
        kind, path = module.kind, module.kind.path
        low = wanted(plan.bank.site.ambient_low_degc, "site.ambient")
        room = given("T_low", "lowest temperature of the room", low, "temperature_degc", plan.bank.key("site.ambient"))
        if kind.charge.inhibits or kind.charge.heated:
            how = "stops charging itself when too cold" if kind.charge.inhibits else "heats its cells"
            text = say(
                "The room falls to {low}; {kind} {how}", low=Figure(low, "temperature_degc"), kind=kind.name, how=how
            )
            key = plan.bank.key(f"{path}.charge." + ("inhibits" if kind.charge.inhibits else "heated"))
            return _TWO.found(
                module.name,
                Figure(low, "temperature_degc"),
                (None, None),
                text,
                COLD_DO,
                (room, words("inhibits", kind.name, how, key)),
                "lowest ambient",
            )
        limit = kind.charge.lowest_degc
        settle = asking(f"{path}.charge.lowest")
        assumed = limit is None
        value = 0.0 if limit is None else limit
        lowest = Figure(value, "temperature_degc")
        item = (
            Input("T_min", "lowest charge temperature of LFP cells", lowest, WINDOW, True, settle)
            if assumed
            else given(
                "T_min",
                f"lowest charge temperature of {kind.name}",
                value,
                "temperature_degc",
                plan.bank.key(f"{path}.charge.lowest"),
            )
        )
        text = say(
            "The room falls to {low}; {kind} may be charged from {limit} on",
            low=Figure(low, "temperature_degc"),
            kind=kind.name,
            limit=lowest,
        )
        missing = (asking(f"{path}.charge.inhibits"),) if kind.charge.inhibits is None and low <= value else ()
        if missing:
            return _TWO.found(
                module.name,
                Figure(low, "temperature_degc"),
                (None, None),
                text,
                COLD_DO,
                (room, item),
                "lowest ambient",
                missing,
            )
        return _TWO.found(
            module.name, Figure(low, "temperature_degc"), (value, None), text, COLD_DO, (room, item), "lowest ambient"
        )

    yield from _TWO.over(_kinds(plan), one)


@check(_THREE.code, _THREE.title)
def cells_cool_enough(plan: Plan) -> Iterator[Finding]:
    """The hottest cells (room plus the rack's rise) stay under the highest charge and discharge temperature.

    Case: highest ambient, plus the air in the loaded rack.
    Why: a module that is too hot opens by itself, in the hours when the bank is worked hardest.
    Not seen here: the rise inside the module itself.
    Source: the module's sheet; window of published cell sheets where it is silent.
    """

    def one(module: Module) -> Iterator[Finding]:
        kind, path = module.kind, module.kind.path
        hot = hottest_cells(plan)
        if plan.bank.site.ambient_high_degc is None:
            raise NeedsValue(*hot.missing)
        least = "at least " if hot.missing else ""
        for side, limit, ends in (
            ("charge", kind.charge.highest_degc, (45.0, 60.0)),
            ("discharge", kind.discharge.highest_degc, (60.0, 60.0)),
        ):
            key = f"{path}.{side}.highest"
            if limit is None:
                if ends[0] - 5.0 <= hot.value < ends[1]:
                    yield _THREE.unknown(module.name, (asking(key),))
                    continue
                value = ends[1] if hot.value >= ends[1] else ends[0]
                item = Input(
                    "T_max",
                    f"highest {side} temperature of LFP cells",
                    Figure(value, "temperature_degc"),
                    WINDOW,
                    True,
                    asking(key),
                )
            else:
                value = limit
                item = given(
                    "T_max", f"highest {side} temperature of {kind.name}", value, "temperature_degc", plan.bank.key(key)
                )
            text = say(
                f"The cells may lie in air of {least}{{hot}}; {{kind}} may {side} up to {{limit}}",
                hot=hot.figure,
                kind=kind.name,
                limit=Figure(value, "temperature_degc"),
            )
            do = say("Ventilate the rack and the room, or charge in the cooler hours.")
            yield _THREE.found(
                module.name, hot.figure, (None, value), text, do, (*hot.inputs, item), "highest ambient", hot.missing
            )

    yield from _THREE.over(_kinds(plan), one)


CHECKS = (charge_current_inside_limit, cells_warm_enough_to_charge, cells_cool_enough)
