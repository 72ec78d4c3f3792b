"""What a link's cable may carry under the rule book: with factors, and by its terminals.

Gives: carried() (Iz, with factors for air and neighbours, no more than the terminals take), by_terminals() (the
column of the terminals, no factors), least_size(), Ampacity. Each answer names the table, the conductor temperature
and the air it is for.
Limits: insulation not given: the least column of the book may pass, the best may fail; between them NeedsValue.
Method not given: raceway, the least. No grouping factor under 600 mm (from memory).
Sources: the tables of the book, cited.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from bankwright.bank.model import Link
from bankwright.bank.model_kinds import CableKind
from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Input, Missing
from bankwright.forms.origin import Cited
from bankwright.forms.wording import Figure
from bankwright.handbook.ampacity import (
    NoColumn,
    ambient_factor,
    base_ampacity,
    grouping_factor,
    termination_ampacity,
    termination_rating,
)
from bankwright.handbook.tables import OutsideTable
from bankwright.handbook.wires import labels, wire
from bankwright.physics.ampacity import usable
from bankwright.plan.air import hottest_air, terminal_ratings
from bankwright.plan.asks import asking, wanted
from bankwright.plan.context import Plan
from bankwright.plan.trace import given

__all__ = ["Ampacity", "by_terminals", "cable_of", "carried", "least_size", "terminals_degc"]

LEAST_BUNDLE = 0.6  # m; shorter runs take no grouping factor, NEC 310.15(C)(1) (length from memory)
WORST_METHOD = "raceway"


@dataclass(frozen=True, slots=True)
class Ampacity:
    """Current in A, how it came about, what is missing for certainty."""

    value: float
    inputs: tuple[Input, ...]
    missing: tuple[Missing, ...] = ()


def cable_of(link: Link) -> CableKind:
    """The cable, or NeedsValue for its size."""
    return wanted(link.cable, f"{link.origin.path}.cable")


def _table(symbol: str, name: str, found: Cited, quantity: str) -> Input:
    conditions = {k: v for k, v in found.at.items() if k in ("rating_degc", "ambient_degc", "counted_as", "column")}
    told = ", ".join(f"{key.replace('_', ' ')} {value}" for key, value in conditions.items())
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
    """Column of the terminals' rating, no factors."""
    cable = cable_of(link)
    degc, rating = terminals_degc(plan, link, circuit)
    try:
        found = termination_ampacity(plan.book, cable.size, degc, cable.strands)
    except (OutsideTable, NoColumn) as error:
        raise NeedsValue(asking(cable.size_path, str(error))) from error
    return Ampacity(found.value, (_table("I_term", f"{cable.size}, column of the terminals", found, "current"), rating))


def carried(plan: Plan, link: Link, need: float, circuit: float) -> Ampacity:
    """Iz of a link; `need` decides whether the range of an insulation that is not given settles the question."""
    cable = cable_of(link)
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
        raise NeedsValue(asking(f"{link.origin.path}.{key}", f"{error}.")) from error
    top = float("inf") if terminal is None else terminal.value
    value = float(usable(base.value, ambient.value, bundle.value, top))
    method = f"{cable.size}, {cable.method or 'raceway (how it lies is not given: the least column)'}"
    inputs = (
        _table("I_table", method, base, "current"),
        _table("f_air", f"factor for air of {air.value:g} degC", ambient, "ratio"),
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
