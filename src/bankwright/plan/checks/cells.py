"""Temperature of cells: too cold to charge or to discharge, too hot for either.

Gives: CHECKS (P-CHARGE-2, P-CHARGE-3). Limits: the rise inside the module itself is not known.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.model import Module
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say
from bankwright.plan.air import hottest_cells
from bankwright.plan.asks import asking, wanted
from bankwright.plan.checks.frame import Card
from bankwright.plan.context import Plan
from bankwright.plan.trace import given, words

__all__ = ["CHECKS"]

SHEET = Source("the module's data sheet", how_known="read")
WINDOW = Source(
    "data sheets of LFP cells, several",
    "",
    "charging from 0 degC, up to 45 to 60 degC; discharging -20 to 60 degC",
    "published range",
)
_ONE = Card(
    "P-CHARGE-2",
    "No charging of cells that are too cold",
    "T_low > lowest charge temperature, or the module inhibits or heats; T_low > lowest discharge temperature",
    SHEET,
)
_TWO = Card("P-CHARGE-3", "Cells stay cool enough", "T_high < highest charge temperature", SHEET)
COLD_DO = say(
    "Warm the room, take modules that inhibit or heat themselves, or stop charging below the limit. "
    "Slow charging does not make it right."
)


def _kinds(plan: Plan) -> tuple[Module, ...]:
    """One module of each kind."""
    return tuple({module.kind.path: module for module in reversed(plan.bank.modules)}.values())


@check(_ONE.code, _ONE.title)
def cells_warm_enough_to_charge(plan: Plan) -> Iterator[Finding]:
    """The coldest cells are above the lowest charge temperature, or the module stops charging itself, or is heated;
    and above the lowest discharge temperature, where the sheet gives one.

    Case: lowest ambient, soaked for a day: a module lags the air by many hours, then it is as cold.
    Why: lithium plates out below the limit at any current; the other modules charge a low one when joined. Below the
    lowest discharge temperature a module opens, and the bank is gone on the coldest night.
    Not seen here: where the charger's own sensor hangs.
    Source: the module's sheet; window of published cell sheets where it is silent.
    """

    def one(module: Module) -> Iterator[Finding]:
        yield charging(module)
        if module.kind.discharge.lowest_degc is not None:
            yield _discharging(plan, module, module.kind.discharge.lowest_degc)

    def charging(module: Module) -> Finding:
        kind, path = module.kind, module.kind.path
        low = wanted(plan.bank.site.ambient_low_degc, "site.ambient")
        room = given("T_low", "lowest temperature of the room", low, "temperature_degc", plan.bank.key("site.ambient"))
        if kind.charge.inhibits or kind.charge.heated:
            how = "stops charging itself when too cold" if kind.charge.inhibits else "heats its cells"
            text = say(
                "The room falls to {low}; {kind} {how}", low=Figure(low, "temperature_degc"), kind=kind.name, how=how
            )
            key = plan.bank.key(f"{path}.charge." + ("inhibits" if kind.charge.inhibits else "heated"))
            return _ONE.found(
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
            return _ONE.found(
                module.name,
                Figure(low, "temperature_degc"),
                (None, None),
                text,
                COLD_DO,
                (room, item),
                "lowest ambient",
                missing,
            )
        return _ONE.found(
            module.name, Figure(low, "temperature_degc"), (value, None), text, COLD_DO, (room, item), "lowest ambient"
        )

    yield from _ONE.over(_kinds(plan), one)


def _discharging(plan: Plan, module: Module, limit: float) -> Finding:
    """The coldest cells against the lowest temperature they may be discharged at."""
    kind = module.kind
    low = wanted(plan.bank.site.ambient_low_degc, "site.ambient")
    least = Figure(limit, "temperature_degc")
    room = Figure(low, "temperature_degc")
    key = plan.bank.key(f"{kind.path}.discharge.lowest")
    inputs = (
        given("T_low", "lowest temperature of the room", low, "temperature_degc", plan.bank.key("site.ambient")),
        given("T_min", f"lowest discharge temperature of {kind.name}", limit, "temperature_degc", key),
    )
    text = say(
        "The room falls to {low}; {kind} may be discharged from {limit} on", low=room, kind=kind.name, limit=least
    )
    do = say("Warm the room, or take modules that may be discharged at its lowest temperature.")
    return _ONE.found(module.name, room, (limit, None), text, do, inputs, "lowest ambient")


@check(_TWO.code, _TWO.title)
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
                    yield _TWO.unknown(module.name, (asking(key),))
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
            yield _TWO.found(
                module.name, hot.figure, (None, value), text, do, (*hot.inputs, item), "highest ambient", hot.missing
            )

    yield from _TWO.over(_kinds(plan), one)


CHECKS = (cells_warm_enough_to_charge, cells_cool_enough)
