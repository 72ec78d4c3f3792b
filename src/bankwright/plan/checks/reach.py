"""Where devices sit: every direction that feeds a fault meets one, and no unearthed pole is left out.

Gives: CHECKS (P-REACH-1, P-REACH-2). Limits: a module's own device is not counted for the wiring.
"""

from __future__ import annotations

from collections.abc import Iterator

import bankwright.plan.lines as lines
from bankwright.bank.model import Device, Link
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say
from bankwright.plan.asks import asking, wanted
from bankwright.plan.checks.frame import Card
from bankwright.plan.context import Plan
from bankwright.plan.feeding import bare_ways, unguarded_from
from bankwright.plan.trace import words

__all__ = ["CHECKS", "MOST_BARE"]

MOST_BARE = 1.5  # m; NEC 706.31(F) 2020 from memory, so common practice until read
_ONE = Card(
    "P-REACH-1",
    "A fault on a conductor meets a device on every side",
    "conductor from the feeding posts to the first device <= 1.5 m",
    Source("NEC (NFPA 70)", "2020", "240.21(H), 706.31(F); 1.5 m is practice until read", "from memory"),
    "code",
)
_TWO = Card(
    "P-REACH-2",
    "Each unearthed pole is protected and switched",
    "each unearthed pole has an overcurrent device and opens at the disconnect",
    Source("rule book", how_known="read"),
    "code",
)


def protected_pole(plan: Plan) -> str:
    """The pole whose devices count; minus only where plus is earthed."""
    return "-" if plan.bank.site.earthing.pole == "plus" else "+"


@check(_ONE.code, _ONE.title)
def fault_meets_a_device(plan: Plan) -> Iterator[Finding]:
    """For a short anywhere on a conductor, every direction that feeds it meets a device within 1.5 m of the feeding
    posts.

    Case: shorts at both ends and in the middle of each link of the protected pole.
    Why: in a row with only a main fuse, a short in a link is fed by its neighbours with nothing between.
    Not seen here: a fuse at the bar leaves the lead's module end to the module's own device; taps for meters count
    too.
    Source: NEC 240.21(H), 706.31(F) 2020 [from memory]: 1.5 m is common practice until read.
    """

    def one(link: Link) -> Iterator[Finding]:
        for end in (link.a, link.b):
            way = unguarded_from(plan, link, end)
            if way is not None:
                yield _said(plan, link, end, way)

    yield from _ONE.over((link for link in plan.bank.links if link.pole == protected_pole(plan)), one)


def _said(plan: Plan, link: Link, end: str, before: float) -> Finding:
    """A link that is fed at one end by a way without a device; `before` is the conductor up to there."""
    guards = [device for device in plan.bank.devices_on(link.name) if lines.is_guard(device)]
    do = say("Put a fuse at each post that feeds {link}, as near to it as it goes.", link=link.name)
    source = plan.book.source("source_end")
    if not guards:
        text = say("A short on {link} is fed from {end} with no device between", link=link.name, end=end)
        inputs: tuple[Input, ...] = (
            words("device", f"between the modules and {link.name} at {end}", "none", plan.bank.key(link.origin.path)),
        )
        return _ONE.found(
            link.name, None, (None, None), text, do, inputs, f"short on {link.name}", forced="fail", source=source
        )
    distance = min(_distance(link, end, device, before) for device in guards)
    text = say(
        "A short on {link} is fed from {end}; the first device is {distance} of conductor away",
        link=link.name,
        end=end,
        distance=Figure(distance, "length"),
    )
    inputs = (words("device", f"on {link.name}", ", ".join(device.name for device in guards), guards[0].origin),)
    return _ONE.found(
        link.name,
        Figure(distance, "length"),
        (None, MOST_BARE),
        text,
        do,
        inputs,
        f"short on {link.name}",
        source=source,
    )


def _distance(link: Link, end: str, device: Device, before: float) -> float:
    """Conductor from the feeding post to a device; not placed: the whole link may be bare."""
    if device.distance is None or link.length is None:
        if link.length is not None and before + link.length <= MOST_BARE:
            return before + link.length
        raise NeedsValue(
            asking(f"{device.origin.path}.at" if device.distance is None else f"{link.origin.path}.length")
        )
    return before + (device.distance if end == link.a else link.length - device.distance)


@check(_TWO.code, _TWO.title)
def unearthed_poles_protected(plan: Plan) -> Iterator[Finding]:
    """Each unearthed pole has an overcurrent device and is opened by the disconnect; floating: both poles.

    Case: every way from a module to an inverter, charger or load.
    Why: with a first earth fault on the other pole, the pole without a device feeds the second fault freely.
    Not seen here: a device in the earthed pole alone, which opens the wrong wire and is a fail of its own.
    Source: NEC 240.15(A), (B) [read]; IEC 60364-4-43 431 [from memory]; 46 CFR 111.15-25 by analogy [read].
    """
    try:
        pole = wanted(plan.bank.site.earthing.pole, "site.earthing.pole")
        plan.book.source("unearthed")
    except NeedsValue as error:
        first = (*plan.users, *plan.bank.modules)[0]
        yield _TWO.unknown(first.name, error.missing)
        return
    unearthed = {"none": "+-", "minus": "+", "plus": "-"}[pole]
    earthed = words("pole", "earthed pole", pole, plan.bank.key("site.earthing"))
    for user in plan.users:
        for sign in unearthed:
            post = user.posts[0 if sign == "+" else 1]
            for what, types in (("overcurrent device", ("fuse", "breaker")), ("disconnect", ("disconnect", "breaker"))):
                bare = bare_ways(plan, post, types)
                name = {"+": "positive", "-": "negative"}[sign]
                inputs = (
                    earthed,
                    words(
                        "ways",
                        f"from the modules to {post} without one",
                        ", ".join(bare) or "none",
                        plan.bank.key(user.origin.path),
                    ),
                )
                if bare:
                    text = say(
                        "The {pole} pole of {user} has no {what} towards {modules}",
                        pole=name,
                        user=user.name,
                        what=what,
                        modules=", ".join(bare),
                    )
                    do = say("Put one into the {pole} pole too; one handle may open both.", pole=name)
                    yield _TWO.found(
                        post, None, (None, None), text, do, inputs, forced="fail", source=plan.book.source("unearthed")
                    )
                else:
                    text = say("The {pole} pole of {user} has its {what}", pole=name, user=user.name, what=what)
                    yield _TWO.found(
                        post,
                        None,
                        (None, None),
                        text,
                        say("Nothing to do."),
                        inputs,
                        source=plan.book.source("unearthed"),
                    )
    yield from _alone_in_earthed(plan, pole, earthed)


def _alone_in_earthed(plan: Plan, pole: str, earthed: Input) -> Iterator[Finding]:
    if pole == "none":
        return
    sign = "-" if pole == "minus" else "+"
    for device in lines.in_line(plan):
        poles = {plan.bank.link(name).pole for name in (device.on, *device.also_on)}
        if poles == {sign}:
            text = say("{device} opens the earthed pole alone", device=device.name)
            do = say("Move {device} into the other pole, or let one handle open both.", device=device.name)
            yield _TWO.found(
                device.name,
                None,
                (None, None),
                text,
                do,
                (earthed,),
                forced="fail",
                source=plan.book.source("unearthed"),
            )


CHECKS = (fault_meets_a_device, unearthed_poles_protected)
