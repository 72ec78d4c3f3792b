"""What a link's cable may carry under the rule book: with factors, and by its terminals.

Gives: carried() (Iz, with factors for air and neighbours, no more than the terminals take), by_terminals() (the
column of the terminals, no factors), least_size(), cables(), Ampacity. Each answer names the table, the conductor
temperature and the air it is for.
Limits: insulation not given: the least column of the book may pass, the best may fail; between them NeedsValue.
Method, or neighbours in a raceway, not given: said only where both ends agree.
No grouping factor under 600 mm (from memory).
Sources: the tables of the book, cited.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from bankwright.bank.asks import asking, wanted
from bankwright.bank.model import Link
from bankwright.bank.model_kinds import CableKind, StrapKind
from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Input, Missing
from bankwright.forms.origin import Cited
from bankwright.forms.trace import given
from bankwright.forms.wording import Figure
from bankwright.handbook.ampacity import (
    NoColumn,
    ambient_factor,
    base_ampacity,
    grouping_factor,
    termination_ampacity,
    termination_rating,
)
from bankwright.handbook.densities import density_steps
from bankwright.handbook.tables import OutsideTable, load, source_of
from bankwright.handbook.wires import labels, wire
from bankwright.physics.ampacity import usable
from bankwright.physics.joint import net_section
from bankwright.plan.context import Plan
from bankwright.plan.figures.air import hottest_air, terminal_ratings

__all__ = ["HELD", "Ampacity", "by_terminals", "cable_of", "cables", "carried", "least_size", "terminals_degc"]

HELD = "Take a size that the table holds, or have it worked out by an engineer."

LEAST_BUNDLE = 0.6  # m; shorter runs take no grouping factor, NEC 310.15(C)(1) (length from memory)
_AT = {  # where in its table a value stands, in the table's own words
    "rating_degc": "{} °C column",
    "ambient_degc": "air {} °C as the table has it",
    "counted_as": "counted as {}",
    "scaled_from_degc": "scaled from the {} °C column (derived)",
}
WORST_METHOD = "raceway"


@dataclass(frozen=True, slots=True)
class Ampacity:
    """Current in A, how it came about, what is missing for certainty."""

    value: float
    inputs: tuple[Input, ...]
    missing: tuple[Missing, ...] = ()


def cables(plan: Plan) -> tuple[Link, ...]:
    """Links that are cables, chosen or not yet: no straps, which P-BAR-1 judges, and no posts straight on a bar."""
    return tuple(link for link in plan.bank.links if link.is_cable)


def cable_of(link: Link) -> CableKind:
    """The cable, or NeedsValue for its size."""
    return wanted(link.cable, f"{link.origin.path}.cable")


def _table(symbol: str, name: str, found: Cited, quantity: str) -> Input:
    told = ", ".join(words.format(found.at[key]) for key, words in _AT.items() if key in found.at)
    return Input(symbol, f"{name} ({told})" if told else name, Figure(found.value, quantity), found.origin)


def terminals_degc(plan: Plan, link: Link, circuit: float) -> tuple[float, Input]:
    """Lowest rating of what the link is bolted to; not marked: the book's own rule by the circuit's rating."""
    found, missing = terminal_ratings(plan, link)
    ratings = [item.figure.value for item in found if isinstance(item.figure, Figure)]
    if ratings and not missing:
        value = min(ratings)
        return value, next(i for i in found if isinstance(i.figure, Figure) and i.figure.value == value)
    rule = termination_rating(plan.book, circuit)
    if rule is None:
        raise NeedsValue(*missing)
    value = min([rule.value, *ratings])
    note = Input(
        "T_term", "terminals: the book's own value where none is marked", Figure(value, "temperature_degc"), rule.origin
    )
    return value, note


def by_terminals(plan: Plan, link: Link, circuit: float) -> Ampacity:
    """Column of the lowest rating of terminals and conductor (110.14(C)), no factors."""
    cable = cable_of(link)
    degc, rating = terminals_degc(plan, link, circuit)
    if cable.insulation_degc is not None and cable.insulation_degc < degc:
        degc = cable.insulation_degc
        rating = given(
            "T_ins",
            "rating of the insulation",
            degc,
            "temperature_degc",
            plan.bank.key(f"{link.origin.path}.insulation"),
        )
    try:
        found = termination_ampacity(plan.book, cable.size, degc, cable.strands)
    except (OutsideTable, NoColumn) as error:
        raise NeedsValue(asking(cable.size_path, HELD, lacks=str(error))) from error
    return Ampacity(found.value, (_table("I_term", f"{cable.size}, column of the terminals", found, "current"), rating))


def carried(plan: Plan, link: Link, need: float, circuit: float) -> Ampacity:
    """Iz of a link; `need` decides whether the range of an insulation that is not given settles the question."""
    cable = cable_of(link)
    if cable.strap is not None:
        return _strapped(plan, cable, cable.strap, need)
    if cable.method is None and len(_methods(plan)) > 1:
        return _either_way(plan, link, cable, need, circuit)
    return _laid(plan, link, cable, need, circuit)


def _strapped(plan: Plan, cable: CableKind, strap: StrapKind, need: float) -> Ampacity:
    """A strap by its rating, else by the density up to which a bar passes; beyond that, and for brass, unknown."""
    if strap.rating is not None:
        key = plan.bank.key(f"{strap.path}.rating")
        return Ampacity(strap.rating, (given("Iz", f"rating of {cable.size}", strap.rating, "current", key),))
    hole = wanted(strap.hole, f"{strap.path}.hole")
    passes, table = density_steps(cable.area, strap.material)[0], load("busbar/density")
    row = table.row("nec aluminium" if strap.material == "aluminium" else "nec copper")
    section = float(net_section(strap.width, strap.thickness, hole))
    allowed = passes * section
    if need > allowed or strap.material == "brass":
        how = f"By its density alone it carries {allowed:.0f} A; more only by a rating of its maker."
        raise NeedsValue(asking(f"{strap.path}.rating", how))
    return Ampacity(
        allowed,
        (
            Input("J", "density up to which a bar passes", Figure(passes, "current_density"), source_of(table, row)),
            given("section", f"section of {cable.size} less a hole", section, "area", plan.bank.key(strap.path)),
        ),
    )


def _methods(plan: Plan) -> tuple[str, ...]:
    """Ways a cable of a bank may lie, the book having a table for each."""
    return tuple(each for each in ("raceway", "free air") if each in plan.book.methods())


def _either_way(plan: Plan, link: Link, cable: CableKind, need: float, circuit: float) -> Ampacity:
    """How it lies is not given: only where both ways agree on `need` is anything said."""
    both = {each: _laid(plan, link, replace(cable, method=each), need, circuit) for each in _methods(plan)}
    least, best = min(both.values(), key=lambda a: a.value), max(both.values(), key=lambda a: a.value)
    if need <= least.value:
        return least
    if need > best.value:
        return best
    told = ", ".join(f"in {each.replace('free', 'the free')} {amps.value:.0f} A" for each, amps in both.items())
    how = f"It may carry {told.replace('in raceway', 'in a raceway')}: say how it lies."
    raise NeedsValue(asking(f"{link.origin.path}.method", how))


def _laid(plan: Plan, link: Link, cable: CableKind, need: float, circuit: float) -> Ampacity:
    """Iz where the way of laying is known; neighbours in a raceway that nobody counted may pass only at their worst."""
    if not _neighbours_open(link, cable):
        return _insulated(plan, link, cable, need, circuit)
    alone = _insulated(plan, link, replace(cable, bundled=2), need, circuit)
    crowded = _insulated(plan, link, replace(cable, bundled=_most_together(plan)), need, circuit)
    if need <= crowded.value:
        return crowded
    if need > alone.value:
        return alone
    how = f"It carries {alone.value:.0f} A only if no other circuit lies in the raceway: count the conductors in it."
    raise NeedsValue(asking(f"{link.origin.path}.bundled", how), *alone.missing)


def _neighbours_open(link: Link, cable: CableKind) -> bool:
    short = link.length is not None and link.length < LEAST_BUNDLE
    return cable.method == "raceway" and cable.bundled is None and not short


def _most_together(plan: Plan) -> int:
    """Conductors that may lie in one raceway: all of the bank that lie in any, four at the least."""
    laid = [each for each in plan.bank.links if each.cable is not None and _neighbours_open(each, each.cable)]
    return max(4, len(laid))


def _insulated(plan: Plan, link: Link, cable: CableKind, need: float, circuit: float) -> Ampacity:
    """Iz of one way of laying; an insulation that is not given may pass only at its least column."""
    if cable.insulation_degc is not None:
        return _carried(plan, link, cable, cable.insulation_degc, circuit)
    columns = [each.rating for each in plan.book.ampacity if (cable.method or WORST_METHOD) in each.methods]
    best = _carried(plan, link, cable, max(columns), circuit)
    if need > best.value:
        return best
    least = _carried(plan, link, cable, min(columns), circuit)
    if need <= least.value:
        return least
    raise NeedsValue(asking(f"{link.origin.path}.insulation"), *best.missing)


def least_size(plan: Plan, link: Link, need: float, may: Callable[[Link], float]) -> str | None:
    """The smallest size of the book with which a link may carry what is needed; `may` answers for a link."""
    path = f"{link.origin.path}.cable"
    for label in labels(plan.book.sizes):
        known = link.cable or CableKind(label, 0.0, 0.0, path)
        tried = replace(known, size=label, area=wire(label).area)
        try:
            if may(replace(link, cable=tried)) >= need:
                return label
        except NeedsValue:
            continue
    return None


def _carried(plan: Plan, link: Link, cable: CableKind, insulation: float, circuit: float) -> Ampacity:
    book, air = plan.book, hottest_air(plan, link)
    try:
        base = base_ampacity(book, cable.size, insulation, cable.method or WORST_METHOD, cable.strands)
        ambient = _ambient(plan, min(insulation, float(base.at["rating_degc"])), air.value)
        bundle = _bundle(plan, link, cable)
        terminal = by_terminals(plan, link, circuit) if book.termination else None
    except (OutsideTable, NoColumn) as error:
        key = "insulation" if isinstance(error, NoColumn) and "insulation" in error.what else "cable"
        raise NeedsValue(asking(f"{link.origin.path}.{key}", HELD, lacks=str(error))) from error
    top = float("inf") if terminal is None else terminal.value
    value = float(usable(base.value, ambient.value, bundle.value, top))
    method = f"{cable.size}, {cable.method or 'raceway (how it lies is not given: the least column)'}"
    inputs = (
        _table("I_table", method, base, "current"),
        _table("f_air", f"factor for air of {air.value:g} °C", ambient, "ratio"),
        _table("f_bundle", "factor for conductors together", bundle, "ratio"),
        *(() if terminal is None else terminal.inputs),
        *air.inputs,
        *_insulation(plan, link, cable, insulation),
    )
    return Ampacity(value, inputs, air.missing)


def _ambient(plan: Plan, rating: float, air_degc: float) -> Cited:
    """Factor for the air; none of the current is left where the air is as hot as the conductor may be."""
    if air_degc >= rating:
        return Cited(0.0, plan.book.source("ampacity"))
    return ambient_factor(plan.book, rating, air_degc)


def _insulation(plan: Plan, link: Link, cable: CableKind, used: float) -> tuple[Input, ...]:
    key = plan.bank.key(f"{link.origin.path}.insulation")
    name = (
        "rating of the insulation"
        if cable.insulation_degc is not None
        else "insulation not given: the end that decides"
    )
    return (given("T_ins", name, used, "temperature_degc", key),)


def _bundle(plan: Plan, link: Link, cable: CableKind) -> Cited:
    short = link.length is not None and link.length < LEAST_BUNDLE
    return grouping_factor(plan.book, 2 if short or cable.bundled is None else cable.bundled)
