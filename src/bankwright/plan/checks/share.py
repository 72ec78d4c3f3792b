"""Sharing: does every module stay inside its limits, as designed, inside the tolerances, and with one module away?

Gives: CHECKS (P-SHARE-1 to P-SHARE-4). Limits of all: true for the minutes after a load step from equal states of
charge; later the states of charge decide (run over time).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from bankwright.bank.asks import asking, wanted
from bankwright.bank.model import Module
from bankwright.circuit.scatter.scatter import COUNT
from bankwright.forms.card import Card
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Computed, Source
from bankwright.forms.toleranced import Toleranced
from bankwright.forms.trace import Traced, amperes, computed, given
from bankwright.forms.wording import Figure, Say, say
from bankwright.physics.sharing import knee_bound
from bankwright.plan.context import Plan
from bankwright.plan.ends.stand_in import range_of
from bankwright.plan.figures.corners import corners_of
from bankwright.plan.figures.limits import Side, continuous_limit, limit_input, side_of, trip_input

__all__ = ["CHECKS"]

LAWS = Source("circuit laws; closed forms of a ladder of modules", how_known="derived")
KNEE = (
    0.5 / 16
)  # V a cell between modules near full and near empty, for 2 points of charge; it rises 17-30 mV a percent
SAME = 1e-6  # of a current: what the solver leaves open decides nothing
EVEN = say("Give every module its own lead of equal length to a bar, feed from opposite ends, or add a module.")
LESS = say("Even an equal share is too much: add a module, or take less power from the bank.")
SLOWER = say("Even an equal share is too much: set the chargers lower, or add a module.")
_ONE = Card("P-SHARE-1", "Every module stays inside its continuous limit", "max |I_k| < I_cont", LAWS)
_TWO = Card("P-SHARE-2", "Sharing inside the tolerances", "99 % quantile of max |I_k| / I_cont < 1", LAWS)
_THREE = Card("P-SHARE-3", "Sharing with one module away", "max |I_k| < I_cont, each module away, tolerances in", LAWS)
_FOUR = Card("P-SHARE-4", "Sharing near full and near empty", "|I_k| + dE (1 - 1/N) / R_30 < limit", LAWS)


def _bases(plan: Plan, side: Side) -> tuple[str, ...]:
    return tuple(case for case in plan.bases if side_of(case) == side)


def _sides(plan: Plan) -> tuple[Side, ...]:
    return tuple(dict.fromkeys(side_of(case) for case in plan.bases))


@check(_ONE.code, _ONE.title)
def share_as_designed(plan: Plan) -> Iterator[Finding]:
    """Every module carries less than its continuous limit: max |I_k| < I_cont,k, discharge and charge apart.

    Cases: full discharge at the lowest input voltage; full charge; all modules on, nominal resistance, links hot.
    Why: over the limit but under the trip nothing opens, and the module ages or overheats.
    Not seen here: tolerances (P-SHARE-2), a module away (P-SHARE-3), later drift of charge (P-SHARE-4).
    Source: circuit laws, closed forms of the ladder (derived).
    """

    def one(module: Module) -> Iterator[Finding]:
        for side in _sides(plan):
            try:
                limit = limit_input(plan.bank, module, side)
                worst = plan.worst(module.name, _bases(plan, side))
            except NeedsValue as error:
                yield _ONE.unknown(module.name, error.missing)
                continue
            yield _against(plan, _ONE, module, worst, limit)

    yield from _ONE.over(plan.bank.modules, one)


def _advice(plan: Plan, worst: Traced, limit: float) -> Say:
    """Other wiring helps only where an even share would stay inside the limit."""
    import numpy as np

    columns = [plan.place(module.name) for module in plan.bank.modules]
    flows = plan.currents(worst.case or "")[..., columns]
    sharing = np.maximum((np.abs(flows) > 1e-6).sum(axis=-1), 1)
    if float((np.abs(flows.sum(axis=-1)) / sharing).max()) < limit * (1.0 - SAME):
        return EVEN
    return LESS if side_of(worst.case or "") == "discharge" else SLOWER


def _against(plan: Plan, card: Card, module: Module, worst: Traced, limit: Input) -> Finding:
    assert isinstance(limit.figure, Figure)
    text = say(
        "{module} carries {current}; its continuous limit is {limit}",
        module=module.name,
        current=worst.figure,
        limit=limit.figure,
    )
    return card.found(
        module.name,
        worst.figure,
        (None, limit.figure.value),
        text,
        _advice(plan, worst, limit.figure.value),
        inputs=(computed("I_k", f"current of {module.name}", worst), limit, *worst.inputs),
        case=worst.case,
        missing=worst.missing,
    )


def _need_tolerance(plan: Plan) -> None:
    """C02 wants a tolerance; its absence is not zero."""
    for module in plan.bank.modules:
        dc = wanted(module.kind.resistance.dc, f"{module.kind.path}.resistance.dc")
        if dc.is_exact:
            lacks = f"the resistance of {module.kind.name} is given without its tolerance"
            raise NeedsValue(asking(f"{module.kind.path}.resistance", lacks=lacks))
    if plan.stood.metal:
        raise NeedsValue(*(item.settle for item in plan.stood.metal if item.settle is not None))


@check(_TWO.code, _TWO.title)
def share_inside_tolerances(plan: Plan) -> Iterator[Finding]:
    """In 99 of 100 banks built inside the tolerances no module passes its limit: q99 of max |I_k|/I_cont,k < 1.

    Cases: as P-SHARE-1, over 8,192 variants; the rack's gradient is one common cause. Equal open-circuit voltage
    assumed.
    Why: the tolerance of a module's resistance is often a hundred times the resistance of its links.
    Not seen here: the corner of all tolerances at once, which is stated beside it.
    Source: derived; sampling of tolerances, JCGM 100:2008, 4.3.7 [from memory].
    """

    def one(case: str) -> Finding:
        _need_tolerance(plan)
        side = side_of(case)
        limits = {module.name: continuous_limit(module, side) for module in plan.bank.modules}
        plan.currents(case)
        return _quantile(plan, case, side, limits)

    names = tuple(module.name for module in plan.bank.modules)
    if len(names) < 2:
        return
    for finding in _TWO.over(plan.bases, one):
        yield finding if finding.figure is not None else _TWO.unknown(names[:1], finding.missing)


def _quantile(plan: Plan, case: str, side: Side, limits: dict[str, float]) -> Finding:
    import numpy as np

    scatter = plan.scatter
    ratios = scatter.ratios(case, limits)
    q = float(np.quantile(ratios, 0.99))
    columns = [scatter.network.edge_index[name] for name in limits]
    each = np.abs(scatter.currents(case)[:, columns]) / np.array(list(limits.values()))
    top = list(limits)[int(np.bincount(each[ratios >= q].argmax(axis=1)).argmax())]
    module, limit = plan.bank.module(top), limits[top]
    corner = float(np.abs(np.diag(corners_of(plan, case)[0])[list(limits).index(top)]))
    nominal = abs(plan.steady.case(case).current(top))
    alone = scatter.dominant(case, ratios, len(scatter.causes_of(case)))
    causes = ", ".join(f"{name} {share:.0%}" for name, share in alone[:3] if share >= 0.02)
    rest = max(1.0 - sum(share for _, share in alone), 0.0)  # which cause is worst depends on the others
    text = say(
        "In 99 of 100 banks no module carries more than {current} (equal open-circuit voltage assumed); "
        "the limit is {limit}. "
        "Worst corner of all tolerances: {corner}. The scatter comes from: {causes}; {rest} from several at once",
        current=amperes(q * limit),
        limit=amperes(limit),
        corner=amperes(corner),
        causes=causes or "nothing that dominates",
        rest=f"{rest:.0%}",
    )
    figure = Figure(q * limit, "current", min(nominal, q * limit), q * limit)
    do = say("See which cause dominates before changing the wiring: it may be the modules.")
    inputs = _quantile_inputs(plan, module, side, q * limit, case)
    return _TWO.found(top, figure, (None, limit), text, do, inputs=inputs, case=case)


def _quantile_inputs(plan: Plan, module: Module, side: Side, current: float, case: str) -> tuple[Input, ...]:
    key = f"{module.kind.path}.resistance"
    dc = wanted(module.kind.resistance.dc, f"{key}.dc")
    what, how = f"99 % quantile of the largest module current, {case}", Computed(f"{COUNT} variants, {case}")
    return (
        Input("q99", what, amperes(current), how),
        given("R_30", f"resistance of {module.kind.name}", dc, "resistance", plan.bank.key(key)),
        limit_input(plan.bank, module, side),
    )


@check(_THREE.code, _THREE.title)
def share_with_one_away(plan: Plan) -> Iterator[Finding]:
    """With any one module away the others stay inside their limits: max |I_k| < I_cont,k, worst corner of tolerances.

    Cases: each module open; charge blocked but discharging; discharge blocked but charging; full discharge, full
    charge.
    Why: modules open by themselves (temperature, cell voltage), and the chargers and loads do not know it.
    Not seen here: links, posts and bars in these cases; they are checked with their own design currents.
    Source: derived.
    """

    def one(module: Module) -> Iterator[Finding]:
        for side in _sides(plan):
            cases = tuple(c for c in plan.aways if side_of(c) == side)
            try:
                limit = limit_input(plan.bank, module, side)
                worst = plan.worst(module.name, cases)
            except NeedsValue as error:
                yield _THREE.unknown(module.name, error.missing)
                continue
            yield _against(plan, _THREE, module, _with_corner(plan, module, worst), limit)

    if len(plan.bank.modules) > 1:
        yield from _THREE.over(plan.bank.modules, one)


def _with_corner(plan: Plan, module: Module, worst: Traced) -> Traced:
    """The band up to the corner, in the case that is worst at nominal resistance."""
    dc = module.kind.resistance.dc
    if dc is None or dc.is_exact or worst.case is None or worst.missing:
        return worst
    row = [each.name for each in plan.bank.modules].index(module.name)
    corner = max(abs(float(each[row, row])) for each in corners_of(plan, worst.case))
    figure = Figure(worst.value, "current", worst.low, max(corner, worst.high))
    return Traced(figure, worst.inputs, worst.missing, worst.case)


@check(_FOUR.code, _FOUR.title)
def share_near_the_knee(plan: Plan) -> Iterator[Finding]:
    """Near full and near empty no module trips: |I_k| + dE (1 - 1/N)/R_30 < I_trip, low end; against I_cont a
    caution.

    Cases: last 5 % of charge, last 10 % of discharge; R at its low end; dE = 0.5 V for 16 cells assumed.
    Why: at the knee 2 points of charge are 0.5 to 1 V for 16 cells, and one module takes most of the current.
    Not seen here: the true course over time; this is a bound, and tapering lowers the charge case.
    Source: derived; 17 to 30 mV a cell and percent at 95 to 98 % (own fit of open measured data).
    """

    def one(module: Module) -> Iterator[Finding]:
        for side in _sides(plan):
            try:
                yield from _near(plan, module, side)
            except NeedsValue as error:
                yield _FOUR.unknown(module.name, error.missing)

    if len(plan.bank.modules) > 1:
        yield from _FOUR.over(plan.bank.modules, one)


def _resistance(plan: Plan, module: Module) -> tuple[Toleranced, Input]:
    """R_30 of a module, or its published range; NeedsValue where there is neither."""
    key = f"{module.kind.path}.resistance.dc"
    if module.kind.resistance.dc is not None:
        value = module.kind.resistance.dc
        return value, given("R_30", f"resistance of {module.kind.name}", value, "resistance", plan.bank.key(key))
    found = wanted(range_of(module.kind, "dc"), key)
    return found, next(
        item for item in plan.stood.resistances["dc"] if item.settle is not None and item.settle.key == key
    )


def _near(plan: Plan, module: Module, side: Side) -> Iterator[Finding]:
    worst = plan.worst(module.name, _bases(plan, side))
    dc, ohmic = _resistance(plan, module)
    count, knee = len(plan.bank.modules), KNEE * module.kind.cells
    value = float(knee_bound(worst.high, knee, count, dc.low))
    assumed = module.kind.resistance.dc is None
    least = float(knee_bound(worst.low, knee, count, dc.high if assumed else dc.low))
    figure = Figure(value, "current", least, value) if assumed or worst.inputs else amperes(value)
    apart = Figure(knee, "voltage_drop")
    base: tuple[Input, ...] = (
        computed("I_k", f"current of {module.name}", worst),
        ohmic,
        Input(
            "dE",
            "difference of open-circuit voltage, assumed",
            apart,
            Computed("2 points of charge, 0.5 V for 16 cells"),
        ),
        Input("N", "modules", Figure(count, "count"), Computed("modules of the bank")),
        *worst.inputs,
    )
    trip, limit = trip_input(plan.bank, module, side), limit_input(plan.bank, module, side)
    yield _near_limit(module, side, worst, figure, trip, base=base, word="it trips at", ends="fail")
    yield _near_limit(module, side, worst, figure, limit, base=base, word="its continuous limit is", ends="caution")


def _near_limit(
    module: Module, side: Side, worst: Traced, figure: Figure, limit: Input, *, base: tuple[Input, ...], word: str,
    ends: Literal["fail", "caution"],
) -> Finding:  # fmt: skip
    assert isinstance(limit.figure, Figure)
    where = "last 10 % of discharge" if side == "discharge" else "last 5 % of charge"
    return _FOUR.found(
        module.name,
        figure,
        (None, limit.figure.value),
        say(
            "{module} may carry {current} in the {where}, for {apart} between modules assumed; " + word + " {limit}",
            apart=Figure(KNEE * module.kind.cells, "voltage_drop"),
            module=module.name,
            current=amperes(figure.value),
            where=where,
            limit=limit.figure,
        ),
        say("Bring the modules to the same state of charge before joining, and let the chargers taper."),
        inputs=(*base, limit),
        case=f"{worst.case}, {where}",
        missing=worst.missing,
        ends_at=ends,
    )


CHECKS = (share_as_designed, share_inside_tolerances, share_with_one_away, share_near_the_knee)
