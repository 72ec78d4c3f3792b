"""The air where things lie, and the temperature ratings of what a conductor is bolted to.

Gives: hottest_air(), terminal_ratings(), post_key(). Mains and branches lie in the room; links, leads and what sits in
them lie in the loaded rack: room plus the rack's own rise.
Limits: a rack rise that is not given is 0 K and a room 20 degC at its hottest: what rests on them is "at best", and the
finding stays unknown unless it fails even so.
"""

from __future__ import annotations

from bankwright.bank.asks import asking
from bankwright.bank.model import Link, Post
from bankwright.forms.finding import Input, Missing
from bankwright.forms.trace import PRACTICE, Traced, given
from bankwright.forms.wording import Figure
from bankwright.plan.context import Plan

__all__ = ["hottest_air", "hottest_cells", "post_key", "terminal_ratings"]

MILD_DEGC = 20.0  # hottest day of the coolest room thought of; common practice, no source


def _air(plan: Plan, rack: bool) -> Traced:
    site = plan.bank.site
    missing: tuple[Missing, ...] = ()
    if site.ambient_high_degc is None:
        room, missing = MILD_DEGC, (asking("site.ambient"),)
        inputs: tuple[Input, ...] = (
            Input("T_room", "hottest room, at least", Figure(room, "temperature_degc"), PRACTICE),
        )
    else:
        room = site.ambient_high_degc
        inputs = (given("T_room", "hottest room", room, "temperature_degc", plan.bank.key("site.ambient")),)
    if rack and site.rack_rise is None:
        missing = (*missing, asking("site.rack_rise"))
    elif rack:
        rise = site.rack_rise or 0.0
        inputs += (
            given(
                "T_rise",
                "air in the rack above the room",
                rise,
                "temperature_difference",
                plan.bank.key("site.rack_rise"),
            ),
        )
        room += rise
    figure = Figure(room, "temperature_degc", room) if missing else Figure(room, "temperature_degc")
    return Traced(figure, inputs, missing)


def hottest_air(plan: Plan, link: Link) -> Traced:
    """Hottest air around a link."""
    return _air(plan, link.role in ("link", "lead"))


def hottest_cells(plan: Plan) -> Traced:
    """Hottest cells when idle: the air of the loaded rack."""
    return _air(plan, True)


def post_key(plan: Plan, post: Post, what: str) -> str:
    """File key of a property of a post: `kinds.module.M100.posts.rating`."""
    bank = plan.bank
    if post.owner_kind == "module":
        return f"{bank.module(post.owner).kind.path}.posts.{what}"
    if post.owner_kind == "inverter":
        return f"{next(i for i in bank.inverters if i.name == post.owner).kind.path}.terminals.{what}"
    if post.owner_kind == "charger":
        return f"{next(c for c in bank.chargers if c.name == post.owner).kind.path}.terminals.{what}"
    if post.owner_kind == "load":
        return f"{post.origin.path}.terminals.{what}"
    if post.owner_kind == "bar":
        names = {"rating": "temperature_rating", "lugs": "lugs_per_stud"}
        return f"{next(b for b in bank.bars if b.name == post.owner).origin.path}.{names.get(what, what)}"
    return f"{post.origin.path}.{what}"


def terminal_ratings(plan: Plan, link: Link) -> tuple[tuple[Input, ...], tuple[Missing, ...]]:
    """Temperature ratings of everything the link is bolted to: posts, devices, lugs; and those that are not given."""
    bank = plan.bank
    found: list[Input] = []
    missing: list[Missing] = []
    posts = {post.name: post for post in bank.posts}
    for joint in bank.joints_of(link.name):
        if joint.post is not None and posts[joint.post].owner_kind != "junction":
            post = posts[joint.post]
            _collect(
                plan, found, missing, f"post {post.name}", post.spec.rating_degc, key=post_key(plan, post, "rating")
            )
        device = next((d for d in bank.devices if d.name == joint.device), None)
        if device is not None:
            rating = None if device.kind.terminals is None else device.kind.terminals.rating_degc
            _collect(
                plan, found, missing, f"terminals of {device.name}", rating, key=f"{device.kind.path}.terminals.rating"
            )
        if joint.lug is not None and joint.lug.is_lug:
            _collect(
                plan, found, missing, f"lug {joint.lug.name}", joint.lug.rating_degc, key=f"{joint.lug.path}.rating"
            )
    return tuple(dict.fromkeys(found)), tuple(dict.fromkeys(missing))


def _collect(
    plan: Plan, found: list[Input], missing: list[Missing], name: str, value: float | None, *, key: str
) -> None:
    if value is None:
        missing.append(asking(key))
    else:
        found.append(given("T_term", f"rating of {name}", value, "temperature_degc", plan.bank.key(key)))
