"""Where devices sit: every direction that feeds a fault meets one, and no unearthed pole is left out.

Gives: CHECKS (P-REACH-1, P-REACH-2). Limits: a module's own device is not counted for the wiring.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import bankwright.plan.walks.lines as lines
from bankwright.bank.asks import asking, wanted
from bankwright.bank.model import (
    Charger,
    Inverter,
    Load,
)
from bankwright.forms.card import Card, Forced
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input, Missing, by_name
from bankwright.forms.origin import Source
from bankwright.forms.trace import words
from bankwright.forms.wording import Figure, say
from bankwright.plan.context import (
    Plan,
)
from bankwright.plan.walks.feeding import bare_ways
from bankwright.plan.zones.charged import charged
from bankwright.plan.zones.tails import MOST_BARE, Shared, Tail, shared_of, tails_of
from bankwright.plan.zones.taps import tap

__all__ = ["CHECKS"]

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


@check(_ONE.code, _ONE.title)
def fault_meets_a_device(plan: Plan) -> Iterator[Finding]:
    """How much conductor lies bare between a module's post and the first overcurrent device that its current meets: of
    one module 1.5 m passes, longer is a caution; what two or more modules reach with no device between fails.

    Case: every stretch of the protected pole, links, joints and bars counted together; modules to come are sources too.
    A module's own breaker that counts leaves nothing bare. A conductor that becomes thinner needs its device where it
    becomes so (NEC book: 10 ft, or 25 ft with a third of the ampacity; IEC: 3 m). A charger, or an inverter that
    charges, is a source for what carries less than it can send: 1.5 m of it pass, longer fails.
    Why: in a row with only a main fuse, a short in a link is fed by its neighbours with nothing between; a device at
    the far end of a cable protects nothing before it.
    Not seen here: heat of a long tail (P-CLEAR-1); taps for meters that the file does not name.
    Source: 1.5 m is common practice, not found in any text read; NEC 240.21(B), (H), 706.31(F) [from memory].
    """
    for shared in shared_of(plan):
        yield from _ONE.over(shared.links, partial(_shared, plan, shared))
    for tail in tails_of(plan):
        yield from _ONE.over((tail.links[0] if tail.links else tail.module,), partial(_tail, plan, tail))
    yield from _ONE.over(plan.bank.links, partial(tap, plan, card=_ONE))
    yield from _ONE.over(plan.bank.links, partial(charged, plan, card=_ONE))


def _shared(plan: Plan, shared: Shared, link: str) -> Finding:
    """Conductor that several modules reach bare: fail; unknown where only missing data is against their breakers."""
    count = len(shared.modules) + shared.to_come
    known = [standing for standing in shared.standings if standing.counts == "no"]
    missing = () if known else tuple(dict.fromkeys(m for s in shared.standings for m in s.missing))
    why = next((standing.why for standing in known if standing.device is not None), "")
    text = say(
        "A short on {link} is fed by {count} modules with no device between{why}",
        link=link,
        count=str(count),
        why=f": their own breaker does not count, {why}" if why else "",
    )
    key = plan.bank.key(plan.bank.link(link).origin.path)
    return _ONE.found(
        link,
        None,
        (None, None),
        text,
        say("Put a fuse at each post that feeds {link}, as near to it as it goes.", link=link),
        inputs=(words("device", f"between the modules and {link}", why or "none", key),),
        case=f"short on {link}",
        missing=missing,
        forced=None if missing else "fail",
        source=plan.book.source("source_end"),
    )


def _tail(plan: Plan, tail: Tail, at: str) -> Finding:
    """Conductor that one module feeds bare."""
    source, key = plan.book.source("source_end"), plan.bank.key(plan.bank.module(tail.module).origin.path)
    inputs = (words("device", f"first on the way from {tail.module}", tail.device or "none", key),)
    if tail.ends_at or not tail.device:
        end = tail.ends_at or "the end of its line"
        text = say("From {module} to {end} there is no device", module=tail.module, end=end)
        do = say("Put a fuse at the post of {module}, as near to it as it goes.", module=tail.module)
        return _ONE.found(at, None, (None, None), text, do, inputs=inputs, forced="fail", source=source)
    longest, missing = _how_long(plan, tail)
    text = say(
        "{module} feeds {length} of conductor before its current meets {device}; 1.5 m is common practice",
        module=tail.module,
        length=Figure(longest, "length"),
        device=tail.device,
    )
    return _ONE.found(
        at,
        Figure(longest, "length", longest, None) if missing else Figure(longest, "length"),
        (None, MOST_BARE),
        text,
        say("Put {device} nearer to the post of {module}.", device=tail.device, module=tail.module),
        inputs=inputs,
        case=f"short on {at}",
        missing=missing,
        source=source,
        ends_at="caution",
    )


def _how_long(plan: Plan, tail: Tail) -> tuple[float, tuple[Missing, ...]]:
    """Length of a tail, and what is missing; a device that may sit anywhere counts at the far end of its cable."""
    missing = tuple(asking(f"{plan.bank.link(name).origin.path}.length") for name in tail.unmeasured)
    if not tail.unplaced:
        return tail.longest, missing
    most = tail.longest + max(plan.bank.link(device.on).length or 0.0 for device in tail.unplaced)
    if most <= MOST_BARE and not missing:
        return most, ()
    return tail.longest, (*missing, *(asking(f"{device.origin.path}.at") for device in tail.unplaced))


@check(_TWO.code, _TWO.title)
def unearthed_poles_protected(plan: Plan) -> Iterator[Finding]:
    """Each unearthed pole has an overcurrent device and is opened by the disconnect; floating: both poles.

    Case: every way from a module to an inverter, charger or load.
    Why: with a first earth fault on the other pole, the pole without a device feeds the second fault freely.
    A sense or control wire that stays live behind the open switch is a caution; its overcurrent device is asked.
    A device in the earthed pole alone opens the wrong wire; a fuse there opens alone whatever it is called.
    Not seen here: the curve of the device, and whether it clears (P-CLEAR-3).
    Source: NEC 240.22 [from memory]; 240.15(A), (B) [read];
    IEC 60364-4-43 431 [from memory]; 46 CFR 111.15-25 by analogy [read].
    """
    try:
        pole = wanted(plan.bank.site.earthing.pole, "site.earthing.pole")
        plan.book.source("unearthed")
    except NeedsValue as error:
        names = [user.name for user in plan.users] or [module.name for module in plan.bank.modules]
        yield _TWO.unknown(min(names, key=by_name), error.missing)
        return
    unearthed = {"none": "+-", "minus": "+", "plus": "-"}[pole]
    earthed = words("pole", "earthed pole", pole, plan.bank.key("site.earthing"))
    for user in plan.users:
        for sign in unearthed:
            for what, types in NEEDED:
                yield _pole_protected(plan, user, sign, what, types, earthed=earthed)
    yield from _alone_in_earthed(plan, pole, earthed)


NEEDED = (("overcurrent device", ("fuse", "breaker")), ("disconnect", ("disconnect", "breaker")))


def _pole_protected(
    plan: Plan, user: Inverter | Charger | Load, sign: str, what: str, types: tuple[str, ...], *, earthed: Input
) -> Finding:
    """One pole of one that is fed, and every way to it from the modules."""
    post, name = user.posts[0 if sign == "+" else 1], {"+": "positive", "-": "negative"}[sign]
    bare = bare_ways(plan, post, types)
    ways, key = f"from the modules to {post} without one", plan.bank.key(user.origin.path)
    inputs = (earthed, words("ways", ways, ", ".join(bare) or "none", key))
    source = plan.book.source("unearthed")
    if not bare:
        text = say("The {pole} pole of {user} has its {what}", pole=name, user=user.name, what=what)
        return _TWO.found(post, None, (None, None), text, say("Nothing to do."), inputs=inputs, source=source)
    text = say(
        "The {pole} pole of {user} has no {what} towards {modules}",
        pole=name,
        user=user.name,
        what=what,
        modules=", ".join(bare),
    )
    do = say("Put one into the {pole} pole too; one handle may open both.", pole=name)
    stays = what == "disconnect" and user not in plan.powered  # a sense wire that is not switched
    forced: Forced = "caution" if stays else "fail"
    return _TWO.found(post, None, (None, None), text, do, inputs=inputs, forced=forced, source=source)


def _alone_in_earthed(plan: Plan, pole: str, earthed: Input) -> Iterator[Finding]:
    if pole == "none":
        return
    sign = "-" if pole == "minus" else "+"
    for device in lines.in_line(plan):
        poles = {plan.bank.link(name).pole for name in (device.on, *device.also_on)}
        fuses = device.kind.type == "fuse" and sign in poles
        if poles == {sign} or fuses:
            text = say(
                "{device} lies in the earthed pole, and a fuse has no handle: it may open alone"
                if fuses
                else "{device} opens the earthed pole alone",
                device=device.name,
            )
            do = say("Take {device} out of the earthed pole.", device=device.name)
            yield _TWO.found(
                device.name,
                None,
                (None, None),
                text,
                do,
                inputs=(earthed,),
                forced="fail",
                source=plan.book.source("unearthed"),
            )


CHECKS = (fault_meets_a_device, unearthed_poles_protected)
