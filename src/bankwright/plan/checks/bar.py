"""Busbars: current density between the studs.

Gives: CHECKS (P-BAR-1). Limits: drop along a bar is negligible; heating and joints decide.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.model import Bar, BarPiece
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say
from bankwright.handbook.tables import load, source_of
from bankwright.physics.joint import density, net_section
from bankwright.plan.asks import asking, wanted
from bankwright.plan.checks.frame import Card
from bankwright.plan.context import Plan
from bankwright.plan.ripple import heating_factor
from bankwright.plan.trace import Traced, amperes, computed, given

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
SMALL = 100e-6  # m2 of gross section
DO = say("Alternate sources and loads along the bar, take a larger section, or feed it in the middle.")


def density_steps(gross: float, material: str = "copper") -> tuple[float, float]:
    """Density up to which a bar passes, and up to which it cautions: copper; aluminium in proportion. [A/m2]"""
    table = load("busbar/density")
    passes = table.value(table.row("nec copper" if material != "aluminium" else "nec aluminium"), "density")
    row = "caution to, up to 100 mm2" if gross <= SMALL else "caution to, above 100 mm2"
    ends, copper = table.value(table.row(row), "density"), table.value(table.row("nec copper"), "density")
    assert passes is not None
    assert ends is not None
    assert copper is not None
    return passes, ends * passes / copper


@check(_ONE.code, _ONE.title)
def bar_carries_between_studs(plan: Plan) -> Iterator[Finding]:
    """In every segment between studs the density is inside its limit: k_r I/(gross - hole width x thickness) < J.

    J: stated rating; else pass to 1.55 A/mm2, caution to 3.5 (gross to 100 mm2) or 2.0 (above), then fail.
    Why: the order of the studs sets the segment's current; a bar of brass has 3.6 times the resistance of copper.
    Not seen here: bars rated for another ambient than this one (unknown then).
    Source: NEC 366.23, BS 159, published bars [read]; steps: common practice, no source.
    """
    bars = {bar.name: bar for bar in plan.bank.bars}

    def one(piece: BarPiece) -> Finding:
        bar = bars[piece.owner]
        worst, factor = plan.worst(piece.name), heating_factor(plan)
        heating = worst.scaled(factor.value)
        base = (computed("I", f"current of {piece.name}", worst), *factor.inputs, *worst.inputs)
        return (
            _by_rating(plan, bar, piece, heating, base)
            if bar.rating is not None
            else _by_density(plan, bar, piece, heating, base)
        )

    yield from _ONE.over((piece for piece in plan.bank.pieces if piece.role == "segment"), one)


def _by_rating(plan: Plan, bar: Bar, piece: BarPiece, heating: Traced, base: tuple[Input, ...]) -> Finding:
    rating = wanted(bar.rating, f"{bar.origin.path}.rating")
    hot = plan.bank.site.ambient_high_degc
    missing = heating.missing
    if bar.rated_ambient_degc is not None and hot is not None and hot > bar.rated_ambient_degc:
        missing = (
            *missing,
            asking(f"{bar.origin.path}.rated_ambient", f"Ask for the rating of {bar.name} in air of {hot:g} degC."),
        )
    text = say(
        "{piece} is heated as by {current}; {bar} is rated {rating}",
        piece=piece.name,
        current=amperes(heating.value),
        bar=bar.name,
        rating=amperes(rating),
    )
    inputs = (*base, given("J", f"rating of {bar.name}", rating, "current", plan.bank.key(f"{bar.origin.path}.rating")))
    return _ONE.found(piece.name, heating.figure, (None, rating), text, DO, inputs, heating.case, missing)


def _by_density(plan: Plan, bar: Bar, piece: BarPiece, heating: Traced, base: tuple[Input, ...]) -> Finding:
    path = bar.origin.path
    width, thickness = wanted(bar.width, f"{path}.width"), wanted(bar.thickness, f"{path}.thickness")
    hole = wanted(bar.hole, f"{path}.hole")
    if "brass" in bar.material:
        raise NeedsValue(
            asking(f"{path}.rating", "Brass has 3.6 times the resistance of copper: ask for the rating of this bar.")
        )
    section = float(net_section(width, thickness, hole))
    passes, ends = density_steps(width * thickness, bar.material)
    values = [float(density(i, section)) for i in (heating.value, heating.low, heating.high)]
    figure = (
        Figure(values[0], "current_density", values[1], values[2])
        if heating.inputs != base and heating.figure.low is not None
        else Figure(values[0], "current_density")
    )
    text = say(
        "{piece} carries {density} ({current} over {section}); {passes} passes, {ends} is the end",
        piece=piece.name,
        density=figure,
        current=amperes(heating.value),
        section=Figure(section, "area"),
        passes=Figure(passes, "current_density"),
        ends=Figure(ends, "current_density"),
    )
    table, row = load("busbar/density"), "nec aluminium" if bar.material == "aluminium" else "nec copper"
    inputs = (
        *base,
        given("section", f"section of {bar.name} less a hole", section, "area", plan.bank.key(path)),
        Input("J", "passes up to", Figure(passes, "current_density"), source_of(table, table.row(row))),
        Input("J_end", "caution up to", Figure(ends, "current_density"), STEPS),
    )
    return _ONE.found(piece.name, figure, (None, ends), text, DO, inputs, heating.case, heating.missing, (None, passes))


CHECKS = (bar_carries_between_studs,)
