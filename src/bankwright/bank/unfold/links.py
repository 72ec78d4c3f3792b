"""Links listed one by one: the pattern `listed`, further links of a pattern, and what differs in one of its links.

Gives: add_listed(), make_links(): links with their joints.
Posts of bars (`bar+3`) and junctions (`J+`) come from their use.
Limits: devices are put in by bank/unfold/devices between the two.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from bankwright.bank.file.spans import Path
from bankwright.bank.model import Device, Joint, Link
from bankwright.bank.model_kinds import LugKind, PostSpec
from bankwright.bank.unfold.conductors import Layers
from bankwright.bank.unfold.draft import Draft, LinkDraft, Role
from bankwright.bank.unfold.hubs import hubs_of_links, studs_agree
from bankwright.bank.unfold.posts import add_bar
from bankwright.bank.written.wiring import LinkW
from bankwright.forms.nearest import did_you_mean
from bankwright.forms.toleranced import exact

__all__ = ["add_listed", "make_links"]

_JUNCTION = re.compile(r"J[A-Za-z0-9]*[+-]")


def add_listed(draft: Draft) -> None:
    """Add the links of [[links]], or lay them over links of the pattern."""
    entries = list(draft.told.entries("links"))
    _add_bars(draft, [w for _, w in entries])
    wiring = draft.told.written.wiring
    if wiring.pattern == "listed":
        draft.hubs |= hubs_of_links(draft, [w for _, w in entries])
    for path, w in entries:
        known = draft.link(w.name)
        if known is not None:
            _override(draft, known, w, path)
        elif _has_ends(draft, w, path):
            _add(draft, w, path, Layers(((w, path), (wiring.link, ("wiring", "link")))))
    if wiring.pattern == "listed":
        _find_feed(draft)
        studs_agree(draft)


def _override(draft: Draft, link: LinkDraft, w: LinkW, path: Path) -> None:
    if w.from_post is not None or w.to_post is not None:
        key = "from" if w.from_post is not None else "to"
        draft.fault(
            (*path, key),
            "pattern-link",
            f"{link.name} is a link of the pattern; its ends are {link.a} and {link.b}",
            "",
            'Leave the ends out, or write pattern = "listed"',
        )
        return
    draft.replaced_layers(link, w, path)


def _has_ends(draft: Draft, w: LinkW, path: Path) -> bool:
    if w.from_post is not None and w.to_post is not None:
        return True
    known = [link.name for link in draft.links]
    if draft.told.written.wiring.pattern != "listed" and w.from_post is None and w.to_post is None:
        hint = did_you_mean(w.name, known, "Links of the pattern: " + ", ".join(known[:12]))
        draft.fault((*path, "name"), "unknown-name", f'found "{w.name}"; the pattern has no such link', "", hint)
    else:
        key = "from" if w.from_post is None else "to"
        draft.fault(
            path, "key-missing", f'the key "{key}" is missing', "Post where the link ends", f'Write {key} = "M1+"'
        )
    return False


def _add_bars(draft: Draft, links: list[LinkW]) -> None:
    """Bars that no pattern made: as many studs as are listed or used."""
    made = {bar.name for bar in draft.bars}
    for path, w in draft.told.entries("bars"):
        if w.name in made:
            continue
        used = [0]
        for post in (post for link in links for post in (link.from_post, link.to_post) if post):
            number = post.removeprefix(w.name)
            if post.startswith(w.name) and number.isdigit():
                used.append(int(number))
        count = min(max(*used, len(w.studs or ())), 200)
        if count:
            add_bar(draft, w.name, w.pole, w, path, count=count)
        else:
            draft.fault(
                path, "bar-unused", f'nothing sits on "{w.name}"', f'Links end at "{w.name}1", "{w.name}2" and so on'
            )


def _add(draft: Draft, w: LinkW, path: Path, conductor: Layers) -> None:
    ends = [(w.from_post or "", (*path, "from")), (w.to_post or "", (*path, "to"))]
    for post, where in ends:
        if _JUNCTION.fullmatch(post) and post not in draft.posts:
            draft.add_post(post, post, "junction", PostSpec(), where)
    missing = [(post, where) for post, where in ends if post not in draft.posts]
    for post, where in missing:
        _unknown_post(draft, post, where)
    if missing:
        return
    a, b = draft.posts[ends[0][0]], draft.posts[ends[1][0]]
    if a.name == b.name:
        draft.fault(
            ends[1][1], "link-to-itself", f"{w.name} ends where it starts, at {a.name}", "A link joins two posts"
        )
    elif a.pole != b.pole and a.owner == b.owner:
        draft.fault(
            ends[1][1],
            "bridged",
            f"{w.name} bridges {a.owner}: from {a.name} to {b.name} is a short circuit",
            "A link joins posts of one pole",
        )
    elif a.pole != b.pole:
        draft.fault(
            ends[1][1],
            "poles-mixed",
            f"{w.name} runs from {a.name} to {b.name}: two poles",
            "Modules of a bank are in parallel; a link joins posts of one pole",
        )
    else:
        draft.add_link(LinkDraft(w.name, a.name, b.name, a.pole, _role(draft, w.name, a.name, b.name), conductor, path))


def _unknown_post(draft: Draft, post: str, where: Path) -> None:
    if draft.told.holes.excuses(post):
        return
    known = list(draft.posts)
    own = [name for name in known if name.rstrip("+-b") == post.rstrip("+-b")]
    hint = (
        f"Its posts are {', '.join(own)}"
        if len(own) > 1
        else did_you_mean(post, own or known, f"Posts: {', '.join(known[:12])}")
    )
    draft.fault(where, "unknown-post", f'found "{post}"; there is no such post', "", hint)


def _role(draft: Draft, name: str, a: str, b: str) -> Role:
    kinds = {draft.posts[a].owner_kind, draft.posts[b].owner_kind}
    if name.startswith("main"):
        return "main"
    if kinds & {"inverter", "charger", "load"}:
        return "branch"
    to_hub = [draft.posts[post].owner in draft.hubs for post in (a, b)]
    if "junction" in kinds or (any(to_hub) and not all(to_hub)):
        return "main"
    return "lead" if "bar" in kinds else "link"


def _find_feed(draft: Draft) -> None:
    """Where mains meet a listed bank; without mains, where the leads of inverters, chargers and loads do."""
    for role in ("main", "branch"):
        for link in draft.links:
            if link.role != role:
                continue
            nearest = max(draft.nearness(post) for post in (link.a, link.b))
            for post in (link.a, link.b):
                if draft.nearness(post) == nearest > 0 and post not in draft.feed_posts[link.pole]:
                    draft.feed_posts[link.pole].append(post)
        if all(draft.feed_posts.values()):
            return


def make_links(draft: Draft, lugs: dict[str, LugKind]) -> tuple[tuple[Link, ...], tuple[Joint, ...]]:
    """Links of the model with their joints, from the first end to the second."""
    links: list[Link] = []
    joints: list[Joint] = []
    devices = {device.name: device for device in draft.devices}
    for link in draft.links:
        straight = link.conductor.made_of() == "straight"
        if straight:
            _may_be_straight(draft, link)
        own = list(_joints(draft, link, lugs, devices))
        joints += own
        (first, _), (second, _) = link.conductor.lugs()
        links.append(
            Link(
                name=link.name,
                a=link.a,
                b=link.b,
                pole=link.pole,
                role=link.role,
                cable=link.conductor.cable(),
                length=0.0 if straight else link.conductor.value("length"),
                joints=tuple(joint.name for joint in own),
                devices=tuple(link.devices),
                lug_a=lugs.get(first) if first else None,
                lug_b=lugs.get(second) if second else None,
                origin=draft.told.where.key(link.origin),
                colour=link.conductor.value("colour"),
                group=link.group,
                resistance=exact(0.0) if straight else link.conductor.value("resistance"),
                straight=straight,
            )
        )
    return tuple(links), tuple(joints)


def _may_be_straight(draft: Draft, link: LinkDraft) -> None:
    """Straight on the bar is a module's post on a bar, with no device between."""
    path = link.conductor.path("straight")
    owners = {draft.posts[post].owner_kind for post in (link.a, link.b)}
    if owners != {"module", "bar"}:
        found = f"{link.name} joins {link.a} and {link.b}"
        draft.fault(path, "not-straight", found, "Straight on the bar: a module's post on a bar", "Leave straight out")
    elif link.devices:
        found = f"{link.devices[0]} sits in {link.name}, which has no cable: {link.a} is bolted straight on {link.b}"
        draft.fault(path, "not-straight", found, "", "Give the cable, or put the device elsewhere")


def _joints(draft: Draft, link: LinkDraft, lugs: dict[str, LugKind], devices: dict[str, Device]) -> Iterator[Joint]:
    (first, _), (second, _) = link.conductor.lugs()
    resistance, origin = link.conductor.value("joint"), draft.told.where.key(link.conductor.path("joint"))
    strap, one = link.conductor.strap(), link.conductor.made_of() == "straight"
    end = None if strap is None else LugKind("end of the strap", strap.path, strap.hole, is_lug=False)

    def at_post(post: str, lug: str | None) -> Joint:
        spec = draft.posts[post].spec
        kind = end or (lugs.get(lug) if lug and not one else None)
        return Joint(f"{link.name}@{post}", link.name, post, None, resistance, spec.stud, spec.torque, kind, origin)

    def at_device(name: str, side: str) -> Joint:
        spec = devices[name].kind.terminals or PostSpec()
        lug = link.conductor.value("lug")
        kind = end or (lugs.get(lug) if lug else None)
        return Joint(
            f"{link.name}@{name}{side}", link.name, None, name, resistance, spec.stud, spec.torque, kind, origin
        )

    if one:  # one bolt, the module's, through the bar
        yield at_post(link.b if draft.posts[link.b].owner_kind == "module" else link.a, first)
        return
    yield at_post(link.a, first)
    for name in link.devices:
        yield at_device(name, "a")
        yield at_device(name, "b")
    yield at_post(link.b, second)
