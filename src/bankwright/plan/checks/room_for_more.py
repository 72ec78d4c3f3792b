"""Places for modules to come.

Gives: CHECKS (P-NUMBER-2). Limits: bars and racks; whether mains, devices and room carry more is computed wherever
modules to come count.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import wanted
from bankwright.bank.model import Bar, Rack
from bankwright.forms.card import Card
from bankwright.forms.checks import check
from bankwright.forms.constants import RACK_UNIT
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.trace import given
from bankwright.forms.wording import Figure, say
from bankwright.plan.context import Plan

__all__ = ["CHECKS"]

_TWO = Card(
    "P-NUMBER-2",
    "There are places for the modules to come",
    "free studs of each bar >= modules to come; free rack units >= their height",
    Source("counted", how_known="derived"),
    "code",
    "caution",
)


@check(_TWO.code, _TWO.title)
def places_for_modules_to_come(plan: Plan) -> Iterator[Finding]:
    """Each bar that modules sit on has a free place for the lead of each module to come, the last module of a chain a
    free place at each pole for the link on, and the racks have free units. Ends at caution.

    Case: modules to come are given (site.extension). An earthing point takes a place of its stud.
    Why: a full bar is found out when the new module stands there, and then two lugs share a stud.
    Not seen here: length left beside the last hole to drill one more.
    Source: counted.
    """
    count = plan.bank.site.extension
    if not count:
        return
    modules = set(plan.module_of_post)
    beside = {post for link in plan.bank.links for post in (link.a, link.b) if {link.a, link.b} & modules}
    bars = [bar for bar in plan.bank.bars if beside & set(bar.posts)]
    yield from _TWO.over(bars, lambda bar: _studs(plan, bar, count))
    if plan.bank.pattern == "chain":
        yield from _TWO.over("+-", lambda sign: _posts(plan, sign, count))
    yield from _TWO.over(plan.bank.racks[:1], lambda _: _units(plan, plan.bank.racks, count))


def _studs(plan: Plan, bar: Bar, count: int) -> Finding:
    takes = bar.lugs_per_stud or 1
    earthed = plan.bank.site.earthing.at
    taken = {post: len(plan.links_at(post)) + (post in earthed) for post in bar.posts}
    free = sum(max(takes - used, 0) for used in taken.values())
    text = say(
        "{bar} has {free} free for {count} to come ({studs} studs, {takes} a stud)",
        bar=bar.name,
        free="no place" if not free else "one place" if free == 1 else f"{free} places",
        count="one module" if count == 1 else f"{count} modules",
        studs=str(len(bar.posts)),
        takes="one lug" if takes == 1 else f"{takes} lugs",
    )
    inputs = (
        given("N", "modules to come", count, "count", plan.bank.key("site.extension")),
        given("free", f"places left on {bar.name}", free, "count", plan.bank.key(f"{bar.origin.path}.studs")),
    )
    do = say("Take a longer bar now, with a stud for each module to come.")
    return _TWO.found(bar.name, Figure(free, "count"), (count, None), text, do, inputs=inputs)


def _posts(plan: Plan, sign: str, count: int) -> Finding:
    """Places at the last module of a chain, for the link to the next one."""
    last = plan.bank.modules[-1]
    posts = [post for post in last.posts if post.removeprefix(last.name).startswith(sign)]
    takes, earthed = last.kind.posts.lugs or 1, plan.bank.site.earthing.at
    free = sum(max(takes - len(plan.links_at(post)) - (post in earthed), 0) for post in posts)
    text = say(
        "The {sign} posts of {module} have {free} free for the link to the next module",
        sign={"+": "plus", "-": "minus"}[sign],
        module=last.name,
        free="no place" if not free else "one place" if free == 1 else f"{free} places",
    )
    inputs = (
        given("N", "modules to come", count, "count", plan.bank.key("site.extension")),
        given("free", f"places left at {posts[0]}", free, "count", plan.bank.key(f"{last.kind.path}.posts.lugs")),
    )
    do = say("Plan for the main to move on to the new last module, or feed the row at its first one.")
    return _TWO.found(posts[-1], Figure(free, "count"), (1, None), text, do, inputs=inputs)


def _units(plan: Plan, racks: tuple[Rack, ...], count: int) -> Finding:
    whole = sum(wanted(rack.kind.units, f"{rack.kind.path}.units") for rack in racks)
    heights = [wanted(module.kind.height, f"{module.kind.path}.height") for module in plan.bank.modules]
    used = sum(_in_units(height) for height in heights)
    need = count * _in_units(heights[-1])
    free = max(whole - used, 0)
    text = say(
        "{free} of {whole} rack units are free; the modules to come take {need}",
        free=str(free),
        whole=str(whole),
        need=str(need),
    )
    inputs = (
        given("N", "modules to come", count, "count", plan.bank.key("site.extension")),
        given("units", "rack units", whole, "count", plan.bank.key(f"{racks[0].kind.path}.units")),
    )
    do = say("Take a taller rack, or a second one, for the modules to come.")
    return _TWO.found(racks[0].name, Figure(free, "count"), (need, None), text, do, inputs=inputs)


def _in_units(height: float) -> int:
    """Whole rack units that a module takes."""
    return int(-(-round(height / RACK_UNIT, 3) // 1))


CHECKS = (places_for_modules_to_come,)
