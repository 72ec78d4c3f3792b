"""Modules side by side: are they alike, and are there too many.

Gives: CHECKS (P-UNLIKE-1, P-NUMBER-1). Limits: age changes resistance more than capacity;
a measured factor goes into the file.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking, wanted
from bankwright.bank.model import Module
from bankwright.forms.card import Card
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Source
from bankwright.forms.trace import given, words
from bankwright.forms.wording import Figure, say
from bankwright.physics.sharing import unlike
from bankwright.plan.context import Plan

__all__ = ["CHECKS", "MOST_UNLIKE"]

MOST_UNLIKE = 0.10  # of the mean of R Q; common practice, no source
SHARES = Source("shares of unlike cells in parallel, arXiv 2211.04961", "", "R Q equal: no drift of charge", "read")
_ONE = Card(
    "P-UNLIKE-1",
    "Modules in parallel are alike",
    "|R_i Q_i / mean - 1| <= 0.10; cells, chemistry and voltage limits equal",
    SHARES,
    "physical",
    "caution",
)
_TWO = Card(
    "P-NUMBER-1",
    "No more modules than may be paralleled and addressed",
    "N <= stated number, N <= addresses",
    Source("the module's data sheet", how_known="read"),
    "code",
)


@check(_ONE.code, _ONE.title)
def modules_are_alike(plan: Plan) -> Iterator[Finding]:
    """Cells in series, chemistry and voltage limits are equal; resistance times capacity lies within 10 % of the
    mean, else a caution.

    Why: another number of cells is another voltage; unequal R Q lets the states of charge drift apart under load.
    Not seen here: what the unlike shares do to the currents (P-SHARE-1 to P-SHARE-4).
    Source: R Q equal, no drift [read: arXiv 2211.04961, abstract and code]; 10 %: common practice, no source.
    """
    modules = plan.bank.modules
    kinds = {module.kind.path for module in modules}
    special = any(m.resistance_factor is not None or m.capacity_ah is not None for m in modules)
    if len(kinds) == 1 and not special:
        text = say("All modules are of one kind, {kind}", kind=modules[0].kind.name)
        inputs = (words("kind", "kind of every module", modules[0].kind.name, plan.bank.key(modules[0].kind.path)),)
        yield _ONE.found(modules[0].name, None, (None, None), text, say("Nothing to do."), inputs=inputs)
        return
    yield from _differing(plan)
    yield from _ONE.over(modules[:1], lambda _: _products(plan))


def _differing(plan: Plan) -> Iterator[Finding]:
    """Modules that differ from the first in cells, chemistry or voltage limits: they may not be joined."""
    first = plan.bank.modules[0]
    for module in plan.bank.modules[1:]:
        a, b = first.kind, module.kind
        pairs = [
            ("cells in series", a.cells, b.cells),
            ("chemistry", a.chemistry, b.chemistry),
            ("end of charge", a.charge.cell_full, b.charge.cell_full),
            ("over-voltage trip", a.charge.cell_trip, b.charge.cell_trip),
        ]
        what = [name for name, x, y in pairs if x is not None and y is not None and x != y]
        if what:
            text = say(
                "{module} differs from {first} in {what}", module=module.name, first=first.name, what=", ".join(what)
            )
            inputs = (words("differs", f"{module.name} against {first.name}", ", ".join(what), plan.bank.key(b.path)),)
            yield _ONE.found(
                (module.name, first.name),
                None,
                (None, None),
                text,
                say("Do not join them on one bus."),
                inputs=inputs,
                forced="fail",
                ends_at="fail",
            )


def _origins(plan: Plan, module: Module, ohm: float, ah: float) -> tuple[Input, ...]:
    """Resistance and capacity of a module, each from the line that gives it: its own entry, or its kind."""
    own, kind, by = module.origin.path, module.kind.path, module.resistance_factor
    name, path = f"resistance of {module.name}", plan.bank.key(f"{kind}.resistance.dc")
    told = [given("R_i", name, ohm, "resistance", path)]
    if by is not None:
        factor = plan.bank.key(f"{own}.resistance_factor")
        told = [given("R_i", f"{name}: {ohm / by.nominal:.4g} ohm of its kind times k_i", ohm, "resistance", path)]
        told.append(given("k_i", f"resistance of {module.name} over that of its kind", by, "ratio", factor))
    key = f"{kind if module.capacity_ah is None else own}.capacity"
    return (*told, given("Q_i", f"capacity of {module.name}", ah, "capacity_ah", plan.bank.key(key)))


def _products(plan: Plan) -> Iterator[Finding]:
    modules = plan.bank.modules
    resistances = [
        wanted(m.kind.resistance.dc, f"{m.kind.path}.resistance.dc").nominal
        * (m.resistance_factor.nominal if m.resistance_factor else 1.0)
        for m in modules
    ]
    capacities = [wanted(m.capacity_ah or m.kind.capacity_ah, f"{m.kind.path}.capacity") for m in modules]
    for module, part, ohm, ah in zip(modules, unlike(resistances, capacities), resistances, capacities, strict=True):
        figure = Figure(abs(float(part)), "share")
        text = say(
            "Resistance times capacity of {module} lies {part} from the mean; {limit} is usual",
            module=module.name,
            part=figure,
            limit=Figure(MOST_UNLIKE, "share"),
        )
        inputs = _origins(plan, module, ohm, ah)
        do = say("Read the shares (P-SHARE-1 to P-SHARE-4) before joining them; a run over time shows the drift.")
        yield _ONE.found(
            module.name, figure, (None, None), text, do, inputs=inputs, caution_limits=(None, MOST_UNLIKE * (1 + 1e-9))
        )


@check(_TWO.code, _TWO.title)
def number_in_parallel(plan: Plan) -> Iterator[Finding]:
    """No more modules, those to come included, than the sheet allows in parallel and than there are addresses.

    Why: beyond it the maker has tested nothing, and the bus master does not hear the rest.
    Not seen here: a limit that depends on the bus master.
    Source: the module's sheet.
    """
    kinds = {module.kind.path: module for module in reversed(plan.bank.modules)}
    yield from _TWO.over(tuple(kinds.values()), lambda module: _enough(plan, module))


def _enough(plan: Plan, module: Module) -> Iterator[Finding]:
    kind, path = module.kind, module.kind.path
    count, come = len(plan.bank.modules) + plan.bank.site.extension, plan.bank.site.extension
    modules = given(
        "N", "modules and planned extension", count, "count", plan.bank.key("site.extension" if come else "modules")
    )
    for limit, key, what in (
        (kind.parallel_most, f"{path}.parallel.most", "may be in parallel"),
        (_addresses(module), f"{path}.address.switches", "can be addressed"),
    ):
        if limit is None:
            yield _TWO.unknown(module.name, (asking(key),))
            continue
        yield _TWO.found(
            module.name,
            Figure(count, "count"),
            (None, limit),
            say("{count} modules, those to come included; {limit} " + what, count=str(count), limit=str(limit)),
            say("Divide the bank, or ask the maker for a larger number."),
            inputs=(modules, given("limit", what, limit, "count", plan.bank.key(key))),
        )


def _addresses(module: Module) -> int | None:
    """Addresses there are: by the last one in use and by what the switches can say; one kept for a leader is gone."""
    address, found = module.kind.address, []
    first, kept = address.first, address.reserved
    if address.most is not None:
        found.append((1 if first is None else first, address.most))
    if address.switches is not None:
        base = address.base or 0
        found.append((max(first or 0, base), base + int(2**address.switches) - 1))
    counts = [last - low + 1 - (kept is not None and low <= kept <= last) for low, last in found]
    return max(min(counts), 0) if counts else None


CHECKS = (modules_are_alike, number_in_parallel)
