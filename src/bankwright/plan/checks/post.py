"""Posts and terminals: current that passes through them, temperature that they reach.

Gives: CHECKS (P-POST-1, P-POST-2). Limits: lugs and holes are in checks/joint.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking, wanted
from bankwright.bank.model import Link, Module
from bankwright.forms.card import Card
from bankwright.forms.checks import BeyondTable, NeedsValue, check
from bankwright.forms.finding import (
    Finding,
    Input,
    Missing,
)
from bankwright.forms.origin import Source
from bankwright.forms.trace import (
    Traced,
    amperes,
    computed,
    given,
)
from bankwright.forms.wording import Figure, say
from bankwright.handbook.ampacity import base_ampacity
from bankwright.physics.ampacity import conductor_temperature
from bankwright.plan.context import Plan
from bankwright.plan.figures.air import hottest_air, terminal_ratings
from bankwright.plan.figures.carried import HELD, by_terminals, cable_of, cables
from bankwright.plan.figures.ripple import heating_factor
from bankwright.plan.figures.through import through

__all__ = ["CHECKS"]

_ONE = Card(
    "P-POST-1", "Current through a module's posts", "I_through <= rating", Source("rule book", how_known="read"), "code"
)
_TWO = Card(
    "P-POST-2",
    "Terminals stay inside their temperature rating",
    "T_air + (T_col - 30)(k_r Ib / I_col)^2 < T_term",
    Source("heat law of the correction tables", how_known="derived"),
    "physical",
    "caution",
)


@check(_ONE.code, _ONE.title)
def through_current_of_posts(plan: Plan) -> Iterator[Finding]:
    """What enters a module at one post of a pole and leaves at the other (or is stacked on one) stays inside its
    rating.

    Case: continuous set, each module away in its three ways.
    The inner bar between two posts is an edge of the network.
    Why: in a chain the posts near the feed carry the whole bank's current, whatever their own module gives.
    Not seen here: the temperature of the lugs (P-POST-2).
    Not given: ask the maker, or give every module its own lead.
    Source: circuit; equipment is used as its instructions say, NEC 110.3(B) [read].
    """

    yield from _ONE.over(plan.bank.modules, lambda module: _through_current_of_posts_at(plan, module))


def _through_current_of_posts_at(plan: Plan, module: Module) -> Iterator[Finding]:
    for pole in "+-":
        posts = tuple(post for post in module.posts if post.removeprefix(module.name).startswith(pole))
        passing = through(plan, posts)
        if passing is not None:
            yield _passing(plan, module, pole, posts, passing)


def _passing(plan: Plan, module: Module, pole: str, posts: tuple[str, ...], passing: Traced) -> Finding:
    """What passes through one pole of a module, against its rating; a rating that lacks is asked for."""
    key, rating = f"{module.kind.path}.posts.through", module.kind.posts.through
    head, own = "{current} passes through the {pole} posts of {module}; ", "give every module its own lead to a bar"
    gaps: dict[str, Figure | str] = {"current": amperes(passing.value), "pole": pole, "module": module.name}
    if rating is None:
        text, do = say(head + "their rating is not given", **gaps), say(f"Ask the maker, or {own}.")
        inputs: tuple[Input, ...] = (computed("I_through", "through current", passing),)
    else:
        text = say(head + "they may carry {limit}", limit=amperes(rating), **gaps)
        do = say(f"G{own[1:]}, or feed from both ends.")
        name = f"through rating of {module.kind.name}"
        inputs = (
            computed("I_through", f"through {', '.join(posts)}", passing),
            given("rating", name, rating, "current", plan.bank.key(key)),
        )
    return _ONE.found(
        posts[0],
        passing.figure,
        (None, rating),
        text,
        do,
        inputs=(*inputs, *passing.inputs),
        case=passing.case,
        missing=passing.missing if rating is not None else (*passing.missing, asking(key)),
        source=plan.book.source("instructions"),
    )


@check(_TWO.code, _TWO.title)
def temperature_of_terminals(plan: Plan) -> Iterator[Finding]:
    """Estimated temperature of the terminals: T_air + (T_col - 30)(k_r Ib/I_col)^2 < lowest rating of lug, post,
    device.

    Case: hottest air; ends at caution. T_col and I_col: column of the terminals, or (IEC) of the insulation.
    Why: the lug, the post and the device share one temperature, and the lowest rating of the three rules.
    Not seen here: heat that a fuse itself makes; the cable is its heat sink.
    Source: heat law of NEC 310.15(B)(1) (derived); 110.14(C) [read].
    """

    yield from _TWO.over(cables(plan), lambda link: _temperature_of_terminals_at(plan, link))


def _temperature_of_terminals_at(plan: Plan, link: Link) -> Finding:
    found, missing = terminal_ratings(plan, link)
    if not found:
        raise NeedsValue(*(missing or (asking(f"{link.origin.path}.lug"),)))
    lowest = min(found, key=lambda item: item.figure.value if isinstance(item.figure, Figure) else 1e9)
    assert isinstance(lowest.figure, Figure)
    design, factor, air = plan.design_current(link.name), heating_factor(plan, link), hottest_air(plan, link)
    column, column_degc, extra = _column(plan, link, lowest.figure.value)
    ends = [
        float(conductor_temperature(factor.value * i, column, column_degc, air.value))
        for i in (design.low, design.high)
    ]
    value = max(ends)
    banded = design.high > design.low
    figure = Figure(value, "temperature_degc", ends[0], ends[1]) if banded else Figure(value, "temperature_degc")
    text = say(
        "The terminals of {link} may reach {value} in air of {air}; the rating of {what} is {limit}",
        link=link.name,
        value=figure,
        air=air.figure,
        what=lowest.name.removeprefix("rating of "),
        limit=lowest.figure,
    )
    inputs = (
        computed("Ib", f"design current of {link.name}", design),
        *factor.inputs,
        *air.inputs,
        *extra,
        lowest,
        *design.inputs,
    )
    lacking: tuple[Missing, ...] = (*design.missing, *air.missing, *missing)
    do = say("Take a larger cable on {link}, terminals of a higher rating, or cooler air.", link=link.name)
    return _TWO.found(
        link.name, figure, (None, lowest.figure.value), text, do, inputs=inputs, case=design.case, missing=lacking
    )


def _column(plan: Plan, link: Link, rating: float):  # type: ignore[no-untyped-def]
    """Current and temperature of the column to scale from."""
    cable = cable_of(link)
    if plan.book.termination:
        found = by_terminals(plan, link, 1e9)
        degc = min(rating, 60.0) if rating < 75.0 else 75.0 if rating < 90.0 else 90.0
        return found.value, degc, found.inputs
    insulation = wanted(cable.insulation_degc, f"{link.origin.path}.insulation")
    try:
        base = base_ampacity(plan.book, cable.size, insulation, cable.method or "raceway", cable.strands)
    except BeyondTable as error:
        raise NeedsValue(asking(cable.size_path, HELD, lacks=str(error))) from error
    origin = given(
        "I_col",
        f"{cable.size}, column of {base.at['rating_degc']} degC",
        base.value,
        "current",
        plan.bank.key(cable.size_path),
    )
    return base.value, float(base.at["rating_degc"]), (origin,)


CHECKS = (through_current_of_posts, temperature_of_terminals)
