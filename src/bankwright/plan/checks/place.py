"""Where the bank may stand, and how much energy may stand there.

Gives: CHECKS (P-PLACE-1 to P-PLACE-4). Limits: the adopted code, its amendments and the inspector have the last word.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking, wanted
from bankwright.bank.model import Module
from bankwright.forms.card import Card
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Cited, Computed, Source
from bankwright.forms.trace import given, words
from bankwright.forms.wording import Figure, say
from bankwright.handbook.storage import Ground, StorageRules, known_storage_rules, storage_rules
from bankwright.plan.context import Plan

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
        raise NeedsValue(asking("storage_rules", ABROAD))
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
    """Whether the listing lifts the limits: the whole system's, and marked for use in dwelling units (R328.1)."""
    marked = any("dwelling" in each.lower() for each in plan.bank.site.listing)
    listed = any(str(rules.listing).lower() in each.lower() for each in plan.bank.site.listing)
    return rules.exemption is not None and listed and marked


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
    Not seen here: amendments; the 2018 edition has no limits;
    the exemption holds only with the system's listing given.
    Source: IRC 2021 R328, NFPA 855 chapter 15 [read or memory per row].
    """
    try:
        rules = rules_of(plan)
        ground = _ground(plan, rules)
        parts = [energy_of(plan, module) for module in plan.bank.modules]
    except NeedsValue as error:
        yield _ONE.unknown(_first(plan), error.missing)
        return
    yield _sum(plan, rules, ground, parts)


def _sum(plan: Plan, rules: StorageRules, ground: Ground, parts: list[tuple[float, Input]]) -> Finding:
    """All that stands in one place, against what the place may hold; no limit where the listing lifts it."""
    total = sum(value for value, _ in parts)
    place, energy = plan.bank.site.place or "", Figure(total, "energy_kwh")
    house = Figure(total + (plan.bank.site.other_energy_kwh or 0.0), "energy_kwh")
    inputs = (*(item for _, item in parts), words("place", "where it stands", place, plan.bank.key("site.place")))
    if ground.sum is None or _exempt(plan, rules):
        lifted = "the listing of the whole system, marked for dwelling units, lifts the limits"
        why = "this edition sets no sum for it" if ground.sum is None else lifted
        text = say("{energy} in one place ({house} in the house); {why}", energy=energy, house=house, why=why)
        return _ONE.found(_first(plan), energy, (None, None), text, ELSEWHERE, inputs=inputs, source=ground.source)
    most = ground.sum.value
    text = say(
        "{energy} stand in one place ({house} in the house); {place} may hold {limit}",
        energy=energy,
        house=house,
        place=place,
        limit=Figure(most, "energy_kwh"),
    )
    return _ONE.found(_first(plan), energy, (None, most), text, ELSEWHERE, inputs=inputs, source=_source(ground.sum))


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
        yield _module_alone(module, *parts[module.name], rules.unit)
    for rack in {module.rack for module in plan.bank.modules}:
        inside = [module.name for module in plan.bank.modules if module.rack == rack]
        yield _rack_as_one(rack or inside[0], [parts[name] for name in inside], rules.unit)


def _module_alone(module: Module, value: float, item: Input, most: Cited) -> Finding:
    energy, limit = Figure(value, "energy_kwh"), Figure(most.value, "energy_kwh")
    words = "{module} holds {energy}; one unit may hold {limit}"
    text = say(words, module=module.name, energy=energy, limit=limit)
    return _TWO.found(module.name, energy, (None, most.value), text, ELSEWHERE, inputs=(item,), source=_source(most))


def _rack_as_one(place: str, parts: list[tuple[float, Input]], most: Cited) -> Finding:
    energy, limit = Figure(sum(value for value, _ in parts), "energy_kwh"), Figure(most.value, "energy_kwh")
    words = "Taken as one unit, the rack holds {energy}; one unit may hold {limit}. Listing and inspector decide"
    return _TWO.found(
        place,
        energy,
        (None, most.value),
        say(words, energy=energy, limit=limit),
        say("Ask the inspector whether a rack counts as one unit."),
        inputs=tuple(item for _, item in parts),
        source=_source(most),
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
        inputs=inputs,
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
        yield _apart(plan, key, value, limit)


def _apart(plan: Plan, key: str, value: float, limit: Cited) -> Finding:
    what = "between units" if key == "spacing" else "to the nearest door or window"
    shown, least = Figure(value, "length"), Figure(limit.value, "length")
    text = say("{distance} {what}; at least {limit}", distance=shown, what=what, limit=least)
    inputs = (given("distance", what, value, "length", plan.bank.key(f"site.{key}")),)
    do = say("Move them apart; less is allowed only on fire-test evidence (UL 9540A) that the authority accepts.")
    tested = key == "spacing" and any("9540a" in each.lower() for each in plan.bank.site.listing)
    return _FOUR.found(
        _first(plan), shown, (limit.value, None), text, do, inputs=inputs, source=_source(limit),
        ends_at="caution" if tested else "fail",
    )  # fmt: skip


CHECKS = (energy_in_one_place, energy_of_one_unit, place_is_allowed, units_stand_apart)
