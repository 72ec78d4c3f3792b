"""Busbars and straps: current density between the studs, along a strap.

Gives: CHECKS (P-BAR-1). Limits: drop along a bar is negligible; heating and joints decide.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bankwright.bank.asks import asking, wanted
from bankwright.forms.card import Card
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Source
from bankwright.forms.trace import Traced, amperes, computed, given
from bankwright.forms.wording import Figure, say
from bankwright.handbook.densities import density_steps
from bankwright.handbook.tables import load, source_of
from bankwright.physics.joint import density, net_section
from bankwright.plan.context import Plan
from bankwright.plan.figures.ripple import heating_factor

__all__ = ["CHECKS", "density_steps"]

STEPS = Source(
    "NEC 366.23, BS 159 and published bars; steps between them",
    "",
    "1.55, 2.0 and 3.5 A/mm2",
    "common practice, no source",
)
_ONE = Card(
    "P-BAR-1", "A busbar carries the current between its studs", "k_r I / (section - hole x thickness) < J", STEPS
)
DO = say("Alternate sources and loads along the bar, take a larger section, or feed it in the middle.")


@dataclass(frozen=True, slots=True)
class _Flat:
    """Flat metal that carries a current: a bar between two studs, or a strap."""

    name: str  # what carries
    whole: str  # the bar, or the strap's link
    path: str
    width: float | None
    thickness: float | None
    hole: float | None
    material: str
    rating: float | None
    rated_ambient_degc: float | None


def _flats(plan: Plan) -> Iterator[_Flat]:
    bars = {bar.name: bar for bar in plan.bank.bars}
    for piece in plan.bank.pieces:
        if piece.role == "segment":
            bar = bars[piece.owner]
            size = (bar.width, bar.thickness, bar.hole, bar.material, bar.rating, bar.rated_ambient_degc)
            yield _Flat(piece.name, bar.name, bar.origin.path, *size)
    for link in plan.bank.links:
        strap = None if link.cable is None else link.cable.strap
        if strap is not None:
            flat = (strap.width, strap.thickness, strap.hole, strap.material, strap.rating, strap.rated_ambient_degc)
            yield _Flat(link.name, link.name, strap.path, *flat)


@check(_ONE.code, _ONE.title)
def bar_carries_between_studs(plan: Plan) -> Iterator[Finding]:
    """In every segment between studs, and in every strap, the density is inside its limit: k_r I/(gross - hole width x
    thickness) < J.

    Brass fails where copper of that size would, and is otherwise unknown until its own rating is given.
    J: stated rating; else pass to 1.55 A/mm2, caution to 3.5 (gross to 100 mm2) or 2.0 (above), then fail.
    Why: the order of the studs sets the segment's current; a bar of brass has 3.6 times the resistance of copper.
    Not seen here: bars rated for another ambient than this one (unknown then).
    Source: NEC 366.23, BS 159, published bars [read]; steps: common practice, no source.
    """

    def one(flat: _Flat) -> Finding:
        link = plan.bank.link(flat.name) if flat.name == flat.whole else None
        worst = plan.worst(flat.name) if link is None else plan.design_current(flat.name)
        factor = heating_factor(plan) if link is None else heating_factor(plan, link)
        heating = worst.scaled(factor.value)
        base = (computed("I", f"current of {flat.name}", worst), *factor.inputs, *worst.inputs)
        judged = _by_rating if flat.rating is not None else _by_density
        return judged(plan, flat, heating, base)

    yield from _ONE.over(_flats(plan), one)


def _by_rating(plan: Plan, bar: _Flat, heating: Traced, base: tuple[Input, ...]) -> Finding:
    rating = wanted(bar.rating, f"{bar.path}.rating")
    hot = plan.bank.site.ambient_high_degc
    missing = heating.missing
    if bar.rated_ambient_degc is not None and hot is not None and hot > bar.rated_ambient_degc:
        missing = (
            *missing,
            asking(f"{bar.path}.rated_ambient", f"Ask for the rating of {bar.whole} in air of {hot:g} °C."),
        )
    text = say(
        "{piece} is heated as by {current}; {bar} is rated {rating}",
        piece=bar.name,
        current=amperes(heating.value),
        bar=bar.whole,
        rating=amperes(rating),
    )
    inputs = (*base, given("J", f"rating of {bar.whole}", rating, "current", plan.bank.key(f"{bar.path}.rating")))
    return _ONE.found(
        bar.name, heating.figure, (None, rating), text, DO, inputs=inputs, case=heating.case, missing=missing
    )


def _by_density(plan: Plan, bar: _Flat, heating: Traced, base: tuple[Input, ...]) -> Finding:
    path = bar.path
    width, thickness = wanted(bar.width, f"{path}.width"), wanted(bar.thickness, f"{path}.thickness")
    hole = wanted(bar.hole, f"{path}.hole")
    section = float(net_section(width, thickness, hole))
    passes, ends = density_steps(width * thickness, bar.material)
    brass = "brass" in bar.material
    if brass and float(density(heating.low, section)) < ends:
        raise NeedsValue(
            asking(f"{path}.rating", "Brass has 3.6 times the resistance of copper: ask for the rating of this bar.")
        )
    values = [float(density(i, section)) for i in (heating.value, heating.low, heating.high)]
    banded = heating.inputs != base and heating.figure.low is not None
    figure = Figure(values[0], "current_density", *(values[1:] if banded else ()))
    text = say(
        "{piece} carries {density} ({current} over {section}); {passes} passes, {ends} is the end"
        + (" even of copper" if brass else ""),
        piece=bar.name,
        density=figure,
        current=amperes(heating.value),
        section=Figure(section, "area"),
        passes=Figure(passes, "current_density"),
        ends=Figure(ends, "current_density"),
    )
    inputs = (*base, *_density_inputs(plan, bar, section, passes, ends))
    return _ONE.found(
        bar.name,
        figure,
        (None, ends),
        text,
        DO,
        inputs=inputs,
        case=heating.case,
        missing=heating.missing,
        caution_limits=(None, passes),
    )


def _density_inputs(plan: Plan, bar: _Flat, section: float, passes: float, ends: float) -> tuple[Input, ...]:
    table, row = load("busbar/density"), "nec aluminium" if bar.material == "aluminium" else "nec copper"
    key = plan.bank.key(bar.path)
    return (
        given("section", f"section of {bar.whole} less a hole", section, "area", key),
        Input("J", "passes up to", Figure(passes, "current_density"), source_of(table, table.row(row))),
        Input("J_end", "caution up to", Figure(ends, "current_density"), STEPS),
    )


CHECKS = (bar_carries_between_studs,)
