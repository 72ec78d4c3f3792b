"""A conductor that becomes smaller: how far it may run before its own device, by the lengths of its book.

Gives: tap(), the finding of one cable, None where it is no tap. A tap is a cable to a load, charger or inverter whose
ampacity is below what the devices that feed it add up to, modules' breakers that count among them, and whose own device
sits away from the end that is fed.
Limits: indoors, not over 25 ft. IEC 433.2.2 a), which lets an overload device lie further along where another clears
the shorts, is not taken: the device belongs to where the cable begins.
Sources: NEC 240.21(B)(1): 10 ft, ampacity at least a tenth of the device ahead and at least its own device; (B)(2):
25 ft, at least a third; in a raceway, a caution where it is not; IEC 60364-4-43 433.2.1, 433.2.2 b), 434.2.1: 3 m
[all from memory].
"""

from __future__ import annotations

import bankwright.plan.walks.lines as lines
from bankwright.bank.asks import asking
from bankwright.bank.model import Device, Link
from bankwright.forms.card import Card, Forced
from bankwright.forms.checks import NeedsValue
from bankwright.forms.constants import FOOT, INCH
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.trace import amperes, words
from bankwright.forms.wording import Figure, say
from bankwright.plan.context import Plan
from bankwright.plan.figures.carried import carried
from bankwright.plan.zones.breakers import standing_of
from bankwright.plan.zones.guarding import guarding_of

__all__ = ["AT_ONCE", "tap"]

AT_ONCE = 7 * INCH  # m of conductor in which a device still sits at the connection: ABYC E-11 [from memory]
SHORT, LONG = 10 * FOOT, 25 * FOOT
ANYWHERE = 3.0  # m without a branch, IEC 60364-4-43 433.2.2 b), 434.2.1 [from memory]
IEC_TAPS = Source("IEC 60364-4-43", "2008", "433.2.1, 433.2.2 b), 434.2.1: 3 m", "from memory")
TAPS = Source("NEC (NFPA 70)", "2023", "240.21(B)(1), (B)(2)", "from memory")


def tap(plan: Plan, link: Link, *, card: Card) -> Finding | None:
    """The tap rule for one cable; None where it is no tap or its device sits at the end that is fed."""
    found = _device(plan, link) if link.is_cable and link.pole == plan.protected_pole else None
    if found is None:
        return None
    device, before, ahead = found
    ratings = [each.kind.rating for each in ahead]
    total = sum(value for value in ratings if value is not None)
    allowed = carried(plan, link, total, total)
    if allowed.value >= total:
        return None
    if link.length is None or device.distance is None:
        raise NeedsValue(
            asking(f"{device.origin.path}.at" if device.distance is None else f"{link.origin.path}.length")
        )
    limit, enough = _lengths(plan, before, allowed.value / total)
    enough &= allowed.value >= (device.kind.rating or 0.0)
    bare = plan.bank.book == "nec-2023" and link.cable is not None and link.cable.method in ("free air", "rack")
    text = say(
        "{link} carries {allowed}, {ahead} ahead of it {total}; its device {device} comes after {length}"
        + (" of cable that is not in a raceway" if bare else ""),
        link=link.name,
        allowed=amperes(allowed.value),
        ahead=" + ".join(each.name for each in ahead[:2]) + (" ..." if len(ahead) > 2 else ""),
        total=amperes(total),
        device=device.name,
        length=Figure(before, "length"),
    )
    inputs = (
        words("ahead", "devices that feed it", ", ".join(each.name for each in ahead), ahead[0].origin),
        words("device", "its own device", device.name, device.origin),
        *allowed.inputs,
    )
    do = say("Put {device} at the end of {link} that is fed.", device=device.name, link=link.name)
    figure, case = Figure(before, "length"), f"short on {link.name}"
    forced: Forced | None = "fail" if not enough else "caution" if bare and before <= limit else None
    source = TAPS if plan.bank.book == "nec-2023" else IEC_TAPS
    return card.found(
        link.name, figure, (None, limit), text, do, inputs=inputs, case=case, source=source, forced=forced
    )


def _lengths(plan: Plan, before: float, share: float) -> tuple[float, bool]:
    """How far the device may lie, and whether the cable carries its part of what the devices ahead let through."""
    if plan.bank.book != "nec-2023":
        return ANYWHERE, True
    limit = LONG if before > SHORT or share >= 1 / 3 else SHORT
    return limit, share >= (1 / 3 if before > SHORT else 1 / 10)


def _device(plan: Plan, link: Link) -> tuple[Device, float, tuple[Device, ...]] | None:
    """The first device of a user's cable, the conductor before it, and the devices that feed the cable."""
    users = {post for user in plan.users for post in user.posts}
    ends = [end for end in (link.a, link.b) if end not in users]
    own = [d for d in plan.bank.devices_on(link.name) if lines.is_guard(d)]
    if len(ends) != 1 or not own:
        return None
    zone = guarding_of(plan).all_zones.of_place[ends[0]]
    ahead = tuple(b.device for b in guarding_of(plan).all_zones.feeding(zone) if b.device not in own)
    for module in zone.bare:
        standing = standing_of(plan, plan.bank.module(module))
        if standing.counts != "yes" or standing.device is None:
            return None  # what is bare, or not known to count, has its own finding
        ahead = (*ahead, standing.device)
    whole = link.length or 0.0
    far = {d.name: (d.distance or 0.0) if ends[0] == link.a else whole - (d.distance or 0.0) for d in own}
    first = min(own, key=lambda d: far[d.name])
    if not ahead or far[first.name] <= AT_ONCE:
        return None
    return first, far[first.name], ahead
