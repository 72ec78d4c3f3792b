"""Temperature of cells: too cold to charge or to discharge, too hot for either.

Gives: CHECKS (P-CHARGE-2, P-CHARGE-3). Limits: the rise inside the module itself is not known.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking, wanted
from bankwright.bank.model import Module
from bankwright.bank.model_kinds import ModuleKind
from bankwright.forms.card import Card
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Source
from bankwright.forms.trace import (
    Traced,
    given,
    words,
)
from bankwright.forms.wording import Figure, say
from bankwright.plan.context import Plan
from bankwright.plan.figures.air import hottest_cells

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
        yield _charging(plan, module)
        if module.kind.discharge.lowest_degc is not None:
            yield _discharging(plan, module, module.kind.discharge.lowest_degc)

    yield from _ONE.over(_kinds(plan), one)


def _charging(plan: Plan, module: Module) -> Finding:
    kind, path = module.kind, module.kind.path
    low = wanted(plan.bank.site.ambient_low_degc, "site.ambient")
    room = given("T_low", "lowest temperature of the room", low, "temperature_degc", plan.bank.key("site.ambient"))
    if kind.charge.inhibits or kind.charge.heated:
        return _looks_after_itself(plan, module, room)
    value = 0.0 if kind.charge.lowest_degc is None else kind.charge.lowest_degc
    lowest = Figure(value, "temperature_degc")
    text = say(
        "The room falls to {low}; {kind} may be charged from {limit} on",
        low=Figure(low, "temperature_degc"),
        kind=kind.name,
        limit=lowest,
    )
    missing = (asking(f"{path}.charge.inhibits"),) if kind.charge.inhibits is None and low <= value else ()
    return _ONE.found(
        module.name,
        Figure(low, "temperature_degc"),
        (None if missing else value, None),
        text,
        COLD_DO,
        inputs=(room, _lowest(plan, kind, lowest)),
        case="lowest ambient",
        missing=missing,
    )


def _looks_after_itself(plan: Plan, module: Module, room: Input) -> Finding:
    """A module that stops charging itself when cold, or that heats its cells."""
    kind = module.kind
    how = "stops charging itself when too cold" if kind.charge.inhibits else "heats its cells"
    assert isinstance(room.figure, Figure)
    text = say("The room falls to {low}; {kind} {how}", low=room.figure, kind=kind.name, how=how)
    key = plan.bank.key(f"{kind.path}.charge." + ("inhibits" if kind.charge.inhibits else "heated"))
    inputs = (room, words("inhibits", kind.name, how, key))
    return _ONE.found(module.name, room.figure, (None, None), text, COLD_DO, inputs=inputs, case="lowest ambient")


def _lowest(plan: Plan, kind: ModuleKind, limit: Figure) -> Input:
    """The lowest charge temperature: the sheet's, or the window of published cells."""
    key = f"{kind.path}.charge.lowest"
    if kind.charge.lowest_degc is None:
        return Input("T_min", "lowest charge temperature of LFP cells", limit, WINDOW, True, asking(key))
    words = f"lowest charge temperature of {kind.name}"
    return given("T_min", words, limit.value, "temperature_degc", plan.bank.key(key))


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
    return _ONE.found(module.name, room, (limit, None), text, do, inputs=inputs, case="lowest ambient")


@check(_TWO.code, _TWO.title)
def cells_cool_enough(plan: Plan) -> Iterator[Finding]:
    """The hottest cells (room plus the rack's rise) stay under the highest charge and discharge temperature.

    Case: highest ambient, plus the air in the loaded rack.
    Why: a module that is too hot opens by itself, in the hours when the bank is worked hardest.
    Not seen here: the rise inside the module itself.
    Source: the module's sheet; window of published cell sheets where it is silent.
    """

    yield from _TWO.over(_kinds(plan), lambda module: _cells_cool_enough_at(plan, module))


# side, and the ends of published windows of its highest temperature where the sheet is silent [degC]
HOT_ENDS = (
    ("charge", (45.0, 60.0)),
    ("discharge", (60.0, 60.0)),
)
NEAR = 5.0  # K under the lower end, from where on the sheet has to say it


def _cells_cool_enough_at(plan: Plan, module: Module) -> Iterator[Finding]:
    kind = module.kind
    hot = hottest_cells(plan)
    if plan.bank.site.ambient_high_degc is None:
        raise NeedsValue(*hot.missing)
    for side, ends in HOT_ENDS:
        limit, key = getattr(kind, side).highest_degc, f"{kind.path}.{side}.highest"
        if limit is None and ends[0] - NEAR <= hot.value < ends[1]:
            yield _TWO.unknown(module.name, (asking(key),))
            continue
        if limit is None:
            value = Figure(ends[1] if hot.value >= ends[1] else ends[0], "temperature_degc")
            item = Input("T_max", f"highest {side} temperature of LFP cells", value, WINDOW, True, asking(key))
        else:
            words = f"highest {side} temperature of {kind.name}"
            value = Figure(limit, "temperature_degc")
            item = given("T_max", words, limit, "temperature_degc", plan.bank.key(key))
        yield _hot(module, side, hot, value, item)


def _hot(module: Module, side: str, hot: Traced, limit: Figure, item: Input) -> Finding:
    least = "at least " if hot.missing else ""
    return _TWO.found(
        module.name,
        hot.figure,
        (None, limit.value),
        say(
            f"The cells may lie in air of {least}{{hot}}; {{kind}} may {side} up to {{limit}}",
            hot=hot.figure,
            kind=module.kind.name,
            limit=limit,
        ),
        say("Ventilate the rack and the room, or charge in the cooler hours."),
        inputs=(*hot.inputs, item),
        case="highest ambient",
        missing=hot.missing,
    )


CHECKS = (cells_warm_enough_to_charge, cells_cool_enough)
