"""Where the bank may stand, and how much energy may stand there.

Gives: CHECKS (P-PLACE-1 to P-PLACE-4). Limits: the adopted code, its amendments and the inspector have the last word.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.model import Module
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import Cited, Computed, Source
from bankwright.forms.wording import Figure, say
from bankwright.handbook.storage import Ground, StorageRules, known_storage_rules, storage_rules
from bankwright.plan.asks import asking, wanted
from bankwright.plan.checks.frame import Card
from bankwright.plan.context import Plan
from bankwright.plan.trace import given, words

__all__ = ["CHECKS"]

RULES = Source("storage rules", how_known="read")
_ONE = Card("P-PLACE-1", "Energy in one place", "sum of nameplate kWh <= limit of the place", RULES, "code")
_TWO = Card("P-PLACE-2", "Energy of one unit", "nameplate kWh of one unit <= limit", RULES, "code")
_THREE = Card("P-PLACE-3", "The place is allowed", "place in the edition's list", RULES, "code")
_FOUR = Card("P-PLACE-4", "Units stand apart", "distance >= limit", RULES, "code")
ABROAD = "No rules on storing energy of your country are in the handbook: ask the building authority and the insurer."
ELSEWHERE = say("Divide the bank over places, take fewer modules, or plan it under the fire code with the authority.")


def rules_of(plan: Plan) -> StorageRules:
    """The edition; NeedsValue where none is named or it is not known."""
    if plan.bank.storage_rules is None and plan.bank.book == "iec-60364":
        raise NeedsValue(Missing("storage_rules", ABROAD, "decide", ABROAD))
    name = wanted(plan.bank.storage_rules, "storage_rules")
    if name not in known_storage_rules():
        raise NeedsValue(asking("storage_rules", f"Known editions: {', '.join(known_storage_rules())}."))
    return storage_rules(name)


def energy_of(plan: Plan, module: Module) -> tuple[float, Input]:
    """Nameplate energy; not given: capacity times nominal voltage, marked assumed."""
    kind, key = module.kind, f"{module.kind.path}.energy"
    if kind.energy_kwh is not None:
        return kind.energy_kwh, given(
            "kWh", f"nameplate of {kind.name}", kind.energy_kwh, "energy_kwh", plan.bank.key(key)
        )
    capacity = wanted(kind.capacity_ah, f"{kind.path}.capacity")
    value = capacity * kind.nominal_voltage / 1000
    return value, Input(
        "kWh",
        f"capacity x nominal voltage of {kind.name}",
        Figure(value, "energy_kwh"),
        Computed("nameplate not given"),
        True,
        asking(key),
    )


def _exempt(plan: Plan, rules: StorageRules) -> bool:
    return rules.exemption is not None and rules.listing in plan.bank.site.listing


def _ground(plan: Plan, rules: StorageRules) -> Ground:
    place = wanted(plan.bank.site.place, "site.place")
    found = rules.place(place)
    if found is None:
        raise NeedsValue(
            asking("site.place", f'{rules.title} lists no "{place}"; it knows: {", ".join(rules.place_words())}.')
        )
    return found


def _first(plan: Plan) -> str:
    return plan.bank.modules[0].name


@check(_ONE.code, _ONE.title)
def energy_in_one_place(plan: Plan) -> Iterator[Finding]:
    """The sum of nameplate energies in one place is inside the edition's limit, 40 or 80 kWh.

    Why: above it the installation goes under the fire code or the commercial chapters.
    Not seen here: amendments; the 2018 edition has no limits; the exemption holds only with the system's listing
    given.
    Source: IRC 2021 R328, NFPA 855 chapter 15 [read or memory per row].
    """
    try:
        rules = rules_of(plan)
        ground = _ground(plan, rules)
        parts = [energy_of(plan, module) for module in plan.bank.modules]
    except NeedsValue as error:
        yield _ONE.unknown(_first(plan), error.missing)
        return
    total = sum(value for value, _ in parts)
    house = total + (plan.bank.site.other_energy_kwh or 0.0)
    inputs = (
        *(item for _, item in parts),
        words("place", "where it stands", plan.bank.site.place or "", plan.bank.key("site.place")),
    )
    if ground.sum is None or _exempt(plan, rules):
        why = (
            "the listing of the whole system lifts the limits"
            if ground.sum is not None
            else "this edition sets no sum for it"
        )
        text = say(
            "{energy} in one place ({house} in the house); {why}",
            energy=Figure(total, "energy_kwh"),
            house=Figure(house, "energy_kwh"),
            why=why,
        )
        yield _ONE.found(
            _first(plan), Figure(total, "energy_kwh"), (None, None), text, ELSEWHERE, inputs, source=ground.source
        )
        return
    text = say(
        "{energy} stand in one place ({house} in the house); {place} may hold {limit}",
        energy=Figure(total, "energy_kwh"),
        house=Figure(house, "energy_kwh"),
        place=plan.bank.site.place or "",
        limit=Figure(ground.sum.value, "energy_kwh"),
    )
    yield _ONE.found(
        _first(plan),
        Figure(total, "energy_kwh"),
        (None, ground.sum.value),
        text,
        ELSEWHERE,
        inputs,
        source=_source(ground.sum),
    )


def _source(found: Cited) -> Source:
    return found.origin if isinstance(found.origin, Source) else RULES


@check(_TWO.code, _TWO.title)
def energy_of_one_unit(plan: Plan) -> Iterator[Finding]:
    """A single unit is inside 20 kWh; a whole rack, taken as one unit, is a caution above it.

    Why: whether a rack of modules is one unit or several is decided by the listing and the inspector; both are shown.
    Not seen here: editions without a limit.
    Source: IRC 2021 R328.5, NFPA 855 15.7 [read].
    """
    try:
        rules = rules_of(plan)
        parts = {module.name: energy_of(plan, module) for module in plan.bank.modules}
    except NeedsValue as error:
        yield _TWO.unknown(_first(plan), error.missing)
        return
    if rules.unit is None or _exempt(plan, rules):
        return
    for module in plan.bank.modules:
        value, item = parts[module.name]
        text = say(
            "{module} holds {energy}; one unit may hold {limit}",
            module=module.name,
            energy=Figure(value, "energy_kwh"),
            limit=Figure(rules.unit.value, "energy_kwh"),
        )
        yield _TWO.found(
            module.name,
            Figure(value, "energy_kwh"),
            (None, rules.unit.value),
            text,
            ELSEWHERE,
            (item,),
            source=_source(rules.unit),
        )
    for rack in {module.rack for module in plan.bank.modules}:
        inside = [module.name for module in plan.bank.modules if module.rack == rack]
        total = sum(parts[name][0] for name in inside)
        place = rack or inside[0]
        text = say(
            "Taken as one unit, the rack holds {energy}; one unit may hold {limit}. Listing and inspector decide",
            energy=Figure(total, "energy_kwh"),
            limit=Figure(rules.unit.value, "energy_kwh"),
        )
        do = say("Ask the inspector whether a rack counts as one unit.")
        yield _TWO.found(
            place,
            Figure(total, "energy_kwh"),
            (None, rules.unit.value),
            text,
            do,
            tuple(parts[name][1] for name in inside),
            source=_source(rules.unit),
            ends_at="caution",
        )


@check(_THREE.code, _THREE.title)
def place_is_allowed(plan: Plan) -> Iterator[Finding]:
    """The place is one of those that the edition allows; what else it asks of the place is told.

    Why: habitable rooms, sleeping rooms and closets that open into them are not allowed.
    Not seen here: walls, ceilings and vehicle barriers themselves.
    Source: IRC 2021 R328.4, NFPA 855 15.3 [read].
    """
    try:
        ground = _ground(plan, rules_of(plan))
    except NeedsValue as error:
        yield _THREE.unknown(_first(plan), error.missing)
        return
    inputs = (words("place", "where it stands", plan.bank.site.place or "", plan.bank.key("site.place")),)
    needs = f"; it asks: {ground.needs}" if ground.needs else ""
    verdict = "is allowed" if ground.allowed else "is not allowed"
    text = say("The place, {place}, " + verdict + "{needs}", place=plan.bank.site.place or "", needs=needs)
    do = say("Choose another place: a detached structure, a separated garage, outdoors, or a utility space.")
    yield _THREE.found(
        _first(plan),
        None,
        (None, None),
        text,
        do,
        inputs,
        forced=None if ground.allowed else "fail",
        source=ground.source,
    )


@check(_FOUR.code, _FOUR.title)
def units_stand_apart(plan: Plan) -> Iterator[Finding]:
    """Units stand at least 0.914 m (3 ft) apart; outdoors as far from doors and windows.

    Why: smaller distances only with fire-test evidence that the authority accepts.
    Not seen here: one rack alone, which has nothing to stand apart from.
    Source: IRC 2021 R328.3.1, R328.4; NFPA 855 15.5 [read].
    """
    try:
        rules = rules_of(plan)
        ground = _ground(plan, rules)
    except NeedsValue as error:
        yield _FOUR.unknown(_first(plan), error.missing)
        return
    site = plan.bank.site
    several = len({module.rack for module in plan.bank.modules}) > 1 or (site.other_energy_kwh or 0.0) > 0
    wanted_places = [
        ("spacing", site.spacing, rules.spacing, several),
        ("door", site.door, rules.door, ground.outdoors),
    ]
    for key, value, limit, asked in wanted_places:
        if not asked or limit is None or _exempt(plan, rules):
            continue
        if value is None:
            yield _FOUR.unknown(_first(plan), (asking(f"site.{key}"),))
            continue
        what = "between units" if key == "spacing" else "to the nearest door or window"
        text = say(
            "{distance} {what}; at least {limit}",
            distance=Figure(value, "length"),
            what=what,
            limit=Figure(limit.value, "length"),
        )
        inputs = (given("distance", what, value, "length", plan.bank.key(f"site.{key}")),)
        yield _FOUR.found(
            _first(plan),
            Figure(value, "length"),
            (limit.value, None),
            text,
            say("Move them apart."),
            inputs,
            source=_source(limit),
        )


CHECKS = (energy_in_one_place, energy_of_one_unit, place_is_allowed, units_stand_apart)
