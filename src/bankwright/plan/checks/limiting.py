"""What kind of overcurrent device may stand where: current-limiting at the bank, none side by side.

Gives: CHECKS (P-DEVICE-6, P-DEVICE-7), both of the NEC book. Limits: what is built into a listed system answers for
itself; its listing is told by nobody here.
"""

from __future__ import annotations

from collections.abc import Iterator

import bankwright.plan.walks.lines as lines
from bankwright.bank.asks import asking
from bankwright.bank.model import Charger, Device, Inverter, Link, Load
from bankwright.bank.model_kinds import DeviceKind
from bankwright.forms.card import Card
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.origin import Source
from bankwright.forms.trace import words
from bankwright.forms.wording import say
from bankwright.handbook.tables import load
from bankwright.plan.context import Plan
from bankwright.plan.walks.side_by_side import side_by_side

__all__ = ["CHECKS", "limits_current"]

_SIX = Card(
    "P-DEVICE-6",
    "A current-limiting device stands at the bank",
    "on every way from the modules: marked current-limiting, or a fuse of such a class",
    Source("NEC (NFPA 70)", "2020", "706.31(D)", "from memory"),
    "code",
    "caution",
)
_SEVEN = Card(
    "P-DEVICE-7",
    "No fuses or breakers side by side",
    "one overcurrent device in one line",
    Source("NEC (NFPA 70)", "2023", "240.8", "from memory"),
    "code",
)


def limits_current(kind: DeviceKind) -> bool | None:
    """Whether a device limits current: as marked, else by the class of a fuse; None where neither tells."""
    if kind.current_limiting is not None:
        return kind.current_limiting
    name = (kind.device_class or "").lower().removeprefix("class ").strip()
    for row in load("ul-248/classes").rows:
        own = str(row["fuse_class"]).lower()
        if kind.type == "fuse" and (name == own or (own == "r" and name.startswith("rk"))):
            return {"yes": True, "no": False}.get(str(row["current_limiting"]))
    return None


@check(_SIX.code, _SIX.title, books=("nec-2023",))
def limiting_device_at_the_bank(plan: Plan) -> Iterator[Finding]:
    """On every way from the modules stands a device that limits current: a fuse of class T, J or R, or what is so
    marked. Ends at caution.

    Case: every inverter, charger and load, the pole that must be protected.
    Why: a fuse that limits cuts a short off within a few milliseconds, before its full current flows.
    Not seen here: a device inside a listed system; classes that the table does not hold ask for the marking.
    Source: NEC 706.31(D) 2020 [from memory]; classes: UL 248 [read or memory per row].
    """
    yield from _SIX.over((*plan.users,), lambda user: _at_the_bank(plan, user))


def _at_the_bank(plan: Plan, user: Inverter | Charger | Load) -> Finding | None:
    post = user.posts[0 if plan.protected_pole == "+" else 1]
    guards = [d for d in lines.in_line(plan, ("fuse", "breaker")) if _on_the_way(plan, post, d)]
    if not guards:
        return None  # P-REACH-1 and P-REACH-2 say so
    known = {device.name: limits_current(device.kind) for device in guards}
    sure = {name for name, limiting in known.items() if limiting}
    perhaps = {name for name, limiting in known.items() if limiting is not False}
    inputs = tuple(words("device", d.name, d.kind.device_class or d.kind.type, d.origin) for d in guards)
    if not _open_way(plan, post, sure):
        text = say(
            "On every way from the modules to {user} a device limits the current: {devices}",
            user=user.name,
            devices=_few(sorted(sure)),
        )
        return _SIX.found(user.name, None, (None, None), text, say("Nothing to do."), inputs=inputs)
    missing: tuple[Missing, ...] = ()
    if not _open_way(plan, post, perhaps):
        asked = [d.kind for d in guards if known[d.name] is None]
        missing = tuple(asking(f"{k.path}.{'class' if k.device_class is None else 'current_limiting'}") for k in asked)
    text = say(
        "From the modules to {user} no device is known to limit the current ({devices})",
        user=user.name,
        devices=_few([d.name for d in guards]),
    )
    do = say("Take a fuse of class T, J or R at the bank, beside what switches it.")
    forced = None if missing else "caution"
    return _SIX.found(user.name, None, (None, None), text, do, inputs=inputs, missing=missing, forced=forced)  # type: ignore[arg-type]


def _few(names: list[str]) -> str:
    return ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")


def _on_the_way(plan: Plan, post: str, device: Device) -> bool:
    """Whether a device lies in the pole that leads to a post, between the modules and it."""
    links = {link.name: link for link in plan.bank.links}
    own = [links[name] for name in (device.on, *device.also_on) if links[name].pole == plan.protected_pole]
    users = {p for user in plan.users for p in user.posts} - {post}
    return any(not users & {link.a, link.b} for link in own)


def _open_way(plan: Plan, post: str, devices: set[str]) -> bool:
    """Whether a module reaches a post past none of these devices."""
    cut = {name for d in plan.bank.devices if d.name in devices for name in (d.on, *d.also_on)}
    return lines.fed(plan, post, *cut)


@check(_SEVEN.code, _SEVEN.title, books=("nec-2023",))
def none_side_by_side(plan: Plan) -> Iterator[Finding]:
    """Cables from the same place to the same place have no fuse or breaker each: devices side by side in one line are
    not allowed, unless a maker joined and listed them so.

    Case: every group of cables of one pole that lead from one place to one place, and every set of parallel cables.
    Why: the one of less resistance carries more and opens first; the others then break the whole current.
    Not seen here: devices in cables with modules' leads between them, as at both ends of a bar: each has a current of
    its own; sets that a maker joined.
    Source: NEC 240.8 [from memory]. IEC 60364-4-43 434.4 lets each conductor of a set have its own.
    """
    groups = side_by_side(plan)
    for group in groups:
        yield from _SEVEN.over((group[0].name,), lambda _, group=group: _side_by_side(plan, group))  # type: ignore[misc]
    told = {link.name for group in groups for link in group}
    for members in plan.parallel_sets:
        if not told & {link.name for link in members}:
            yield from _SEVEN.over((members[0].name,), lambda _, members=members: _apart(plan, members))  # type: ignore[misc]


def _guards(plan: Plan, link: Link) -> tuple[Device, ...]:
    return tuple(device for device in plan.bank.devices_on(link.name) if lines.is_guard(device))


def _side_by_side(plan: Plan, group: tuple[Link, ...]) -> Finding:
    devices = tuple(dict.fromkeys(device for link in group for device in _guards(plan, link)))
    names = tuple(device.name for device in devices)
    text = say(
        "{devices} lie side by side in {links}; 240.8, from memory, allows that only as a maker's set",
        devices=", ".join(names),
        links=", ".join(link.name for link in group),
    )
    inputs = tuple(words("on", device.name, device.on, device.origin) for device in devices)
    do = say("Take one device for the whole current, with the cables on one terminal each side or on a bar.")
    at, more = (names, ()) if len(names) < 3 else (names[:1], names[1:])
    return _SEVEN.found(at, None, (None, None), text, do, inputs=inputs, forced="fail", more=more)


def _apart(plan: Plan, members: tuple[Link, ...]) -> Finding:
    """No two devices side by side: at most one in the set, or one each with modules' leads between them."""
    guarded = [link for link in members if _guards(plan, link)]
    devices = ", ".join(device.name for link in guarded for device in _guards(plan, link)) or "none"
    inputs = (words("devices", "in the set", devices, plan.bank.key("devices")),)
    links, nothing = ", ".join(link.name for link in members), say("Nothing to do.")
    if len(guarded) < 2:
        text = say("In {links} no two devices lie side by side", links=links)
    else:
        text = say(
            "{devices} in {links} have modules' leads between them: not side by side", devices=devices, links=links
        )
    return _SEVEN.found(members[0].name, None, (None, None), text, nothing, inputs=inputs)


CHECKS = (limiting_device_at_the_bank, none_side_by_side)
