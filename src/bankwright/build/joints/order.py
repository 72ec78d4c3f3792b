"""In which order the power cables are bolted, and which end of each first.

Gives: Bolting, bolting_order(), stack_of(), unterminated(). Invariant: after no step is an unterminated conductor
connected to a source; every module counts as a source, off or not, every device as closed.
Rules: one cable a step, both ends. The end away from the modules first, so that a main hangs on nothing live while
it is bolted. One pole whole before the other: the earthed pole first, minus where none is. On a post with several
lugs the largest current lies next to the post; the cable that lies lower comes first, so that no torqued nut is
opened again. Where no post forces it, mains and branches to inverters come last.
Sources: order of work common practice, no source; taking apart is the reverse (unearthed pole first).
"""

from __future__ import annotations

import heapq
from collections import defaultdict, deque
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from bankwright.bank.model import Bank, Joint, Link, Pole

__all__ = ["Bolting", "bolting_order", "first_pole", "stack_of", "unterminated"]


@dataclass(frozen=True, slots=True)
class Bolting:
    """One step: a link, its joints in the order in which they are bolted, and the posts whose stack it completes."""

    link: str
    joints: tuple[str, ...]
    completes: tuple[str, ...]  # posts that hold all their lugs after this step: now they are torqued


def first_pole(bank: Bank) -> Pole:
    """The pole that is bolted first: the earthed one, minus where none is."""
    return "+" if bank.site.earthing.pole == "plus" else "-"


def _distances(bank: Bank) -> dict[str, int]:
    """Steps of wiring from each post to the nearest module post."""
    sources = [post.name for post in bank.posts if post.owner_kind == "module"]
    return _steps_from(sources, (*_pieces(bank), *((link.a, link.b) for link in bank.links)))


def _from_feed(bank: Bank) -> dict[str, int]:
    """Links between each post and the nearest feed post, along the bank."""
    ends = [post for pole in bank.feed_posts for post in pole]
    ends += [p for link in bank.links for p in (link.a, link.b) if link.name in ends]
    ways = ((link.a, link.b) for link in bank.links if link.role in ("link", "lead"))
    return _steps_from([post for post in ends if post in bank], (*_pieces(bank), *ways))


def _pieces(bank: Bank) -> tuple[tuple[str, str], ...]:
    return tuple((piece.a, piece.b) for piece in bank.pieces)


def _steps_from(sources: Sequence[str], ways: Sequence[tuple[str, str]]) -> dict[str, int]:
    """Steps along the ways from the nearest source to each post that can be reached."""
    near: dict[str, set[str]] = defaultdict(set)
    for a, b in ways:
        near[a].add(b)
        near[b].add(a)
    far = dict.fromkeys(sources, 0)
    waiting = deque(far)
    while waiting:
        here = waiting.popleft()
        for other in near[here] - far.keys():
            far[other] = far[here] + 1
            waiting.append(other)
    return far


_ROLE = {"main": 0, "branch": 1, "link": 2, "lead": 3}


def _carried(bank: Bank, currents: Mapping[str, float] | None) -> dict[str, tuple[float, int, int]]:
    """A total order of links by what they carry, largest first: solved current, else mains, then near the feed."""
    far = _from_feed(bank)
    keys = {}
    for number, link in enumerate(bank.links):
        if currents is not None and link.name in currents:
            keys[link.name] = (-abs(currents[link.name]), 0, number)
        else:
            reach = min(far.get(link.a, 10**6), far.get(link.b, 10**6))
            keys[link.name] = (float(_ROLE[link.role]) if currents is None else 0.0, reach, number)
    return keys


def stack_of(bank: Bank, post: str, currents: Mapping[str, float] | None = None) -> tuple[Joint, ...]:
    """Lugs on a post, next to the post first: by falling current."""
    carried = _carried(bank, currents)
    return tuple(sorted((j for j in bank.joints if j.post == post), key=lambda joint: carried[joint.link]))


def bolting_order(bank: Bank, currents: Mapping[str, float] | None = None) -> tuple[Bolting, ...]:
    """All links, one a step. `currents`: solved currents by link, for the stacks."""
    carried = _carried(bank, currents)
    after: dict[str, set[str]] = {link.name: set() for link in bank.links}
    for post in bank.posts:
        stack = sorted({j.link for j in bank.joints if j.post == post.name}, key=lambda name: carried[name])
        for lower, upper in pairwise(stack):
            after[upper].add(lower)
    ordered = _sorted(bank, after)
    return _steps(bank, ordered)


def _sorted(bank: Bank, after: Mapping[str, set[str]]) -> list[Link]:
    """Lowest rank first among the links whose lower neighbours are bolted (a total order underlies: no circle)."""
    ranks = _ranks(bank, after)
    links = {link.name: link for link in bank.links}
    done: set[str] = set()
    queue = [(ranks[name], name) for name, lower in after.items() if not lower]
    heapq.heapify(queue)
    ordered: list[Link] = []
    while queue:
        _, name = heapq.heappop(queue)
        done.add(name)
        ordered.append(links[name])
        for other, lower in after.items():
            if name in lower and lower <= done and other not in done:
                heapq.heappush(queue, (ranks[other], other))
    return ordered


def _ranks(bank: Bank, after: Mapping[str, set[str]]) -> dict[str, tuple[int, int, int]]:
    """Pole, then links and leads, mains, branches; a main below a link on a post comes with that pole's links."""
    forced: set[str] = set()
    waiting = [link.name for link in bank.links if link.role in ("link", "lead")]
    while waiting:
        for lower in after[waiting.pop()] - forced:
            forced.add(lower)
            waiting.append(lower)
    first = first_pole(bank)
    ranks = {}
    for number, link in enumerate(bank.links):
        turn = 0 if link.pole == first else 1
        if link.role in ("link", "lead") or link.name in forced:
            phase = turn
        else:
            phase = (2 if link.role == "main" else 4) + turn
        ranks[link.name] = (phase, {"main": 0, "branch": 1}.get(link.role, 2), number)
    return ranks


def _steps(bank: Bank, ordered: Sequence[Link]) -> tuple[Bolting, ...]:
    distance = _distances(bank)
    waiting: dict[str, set[str]] = defaultdict(set)
    for joint in bank.joints:
        if joint.post is not None:
            waiting[joint.post].add(joint.name)
    steps = []
    for link in ordered:
        joints = list(link.joints)
        near, far = distance.get(link.a, 10**6), distance.get(link.b, 10**6)
        if near <= far:  # `a` is nearer to a source: begin at `b`
            joints.reverse()
        completes = []
        for post in dict.fromkeys((link.b, link.a) if near <= far else (link.a, link.b)):
            waiting[post] -= set(joints)
            if not waiting[post]:
                completes.append(post)
        steps.append(Bolting(link.name, tuple(joints), tuple(completes)))
    return tuple(steps)


def unterminated(bank: Bank, attached: Collection[str]) -> tuple[str, ...]:
    """Links that are connected to a source and hang free at an end, when just these joints are bolted.

    Every module counts as a source, every device as closed, so that a link is one conductor from end to end.
    """
    bolted = set(attached)
    live = {post.name for post in bank.posts if post.owner_kind == "module"}
    conductors = [(j.post, j.link) for j in bank.joints if j.post is not None and j.name in bolted]
    metal = [(piece.a, piece.b) for piece in bank.pieces]
    changed = True
    live_links: set[str] = set()
    while changed:
        changed = False
        for a, b in metal:
            if (a in live) != (b in live):
                live |= {a, b}
                changed = True
        for post, link in conductors:
            if (post in live) != (link in live_links):
                live.add(post)
                live_links.add(link)
                changed = True
    hanging = {joint.link for joint in bank.joints if joint.name not in bolted}
    return tuple(link.name for link in bank.links if link.name in live_links & hanging)
