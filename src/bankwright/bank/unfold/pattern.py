"""The patterns chain and busbar with all feeds, unfolded to named links, and the cables beyond them.

Gives: add_chain(), add_busbar(), add_feed(). Links `L1+ L1- L2+ ...`, mains `main+ main-` (at both ends also `main+b
main-b`), branch cables `I1+lead`; where the mains end and several cables start, junctions `J+ J-` or a bar
(bank/unfold/hubs).
Feeds: same end, both poles at the first module; opposite ends, plus at the last and minus at the first, or plus first;
both ends, a main a pole at each. Without wiring.main the leads of inverters, chargers and loads start at the bank.
"""

from __future__ import annotations

from bankwright.bank.file.spans import Path
from bankwright.bank.model import Pole
from bankwright.bank.model_kinds import PostSpec
from bankwright.bank.unfold.conductors import Layers
from bankwright.bank.unfold.draft import POLES, Consumer, Draft, LinkDraft
from bankwright.bank.unfold.hubs import Hub, hub_of, is_hub
from bankwright.bank.unfold.posts import add_bar
from bankwright.bank.written.wiring import BarW

__all__ = ["add_busbar", "add_chain", "add_feed"]

LINK: Path = ("wiring", "link")
MAIN: Path = ("wiring", "main")
BRANCH: Path = ("wiring", "branch")
FIRST, LAST = 0, -1


def _feed_ends(feed: str | None, pole: Pole) -> list[int]:
    """Which ends of the row the mains of a pole meet."""
    if feed == "both ends":
        return [FIRST, LAST]
    far = {"opposite ends": "+", "opposite ends, plus first": "-"}
    return [LAST] if far.get(feed or "") == pole else [FIRST]


def add_chain(draft: Draft) -> None:
    """Links from module to module; with two pairs of posts a link leaves by the second and arrives at the first."""
    wiring = draft.told.written.wiring
    conductor = Layers(((wiring.link, LINK),))
    for k in range(len(draft.modules) - 1):
        here, there = draft.modules[k], draft.modules[k + 1]
        for pole in POLES:
            a = _upper(draft, here.name, pole)
            draft.add_link(LinkDraft(f"L{k + 1}{pole}", a, f"{there.name}{pole}", pole, "link", conductor, LINK, "L"))
    for pole in POLES:
        for end in _feed_ends(wiring.feed, pole):
            name = draft.modules[end].name
            draft.feed_posts[pole].append(f"{name}{pole}" if end == FIRST else _upper(draft, name, pole))


def _upper(draft: Draft, module: str, pole: Pole) -> str:
    second = f"{module}{pole}b"
    return second if second in draft.posts else f"{module}{pole}"


def add_busbar(draft: Draft) -> None:
    """A lead from every module to its stud of the bar of each pole."""
    wiring = draft.told.written.wiring
    conductor = Layers(((wiring.link, LINK),))
    for pole in POLES:
        bars = ((p, bar) for p, bar in draft.told.entries("bars") if bar.pole == pole and not is_hub(draft.told, bar))
        path, w = next(bars, (("wiring",), None))
        studs = w.studs if w is not None and w.studs is not None else _studs(draft, pole)
        name = w.name if w is not None else f"bar{pole}"
        posts = add_bar(draft, name, pole, w, path, count=len(studs))
        seats = [(who, post) for post, on_it in zip(posts, studs, strict=True) for who in on_it]
        _seat_modules(draft, pole, conductor, seats, (*path, "studs"))
        _seat_feed(draft, pole, seats, w, path)


def _studs(draft: Draft, pole: Pole) -> tuple[tuple[str, ...], ...]:
    """Order where the file gives none: the modules in theirs, the feed at the end that `feed` names."""
    wiring = draft.told.written.wiring
    rest = ["main"] if wiring.main is not None else [consumer.name for consumer in draft.consumers]
    ends = _feed_ends(wiring.feed, pole)
    row = [module.name for module in draft.modules]
    order = [*(rest if FIRST in ends else []), *row, *(rest if LAST in ends else [])]
    return tuple((name,) for name in order)


def _seat_modules(draft: Draft, pole: Pole, conductor: Layers, seats: list[tuple[str, str]], path: Path) -> None:
    taken = dict(seats)
    for k, module in enumerate(draft.modules, 1):
        if module.name in taken:
            a = f"{module.name}{pole}"
            draft.add_link(LinkDraft(f"L{k}{pole}", a, taken[module.name], pole, "lead", conductor, LINK, "L"))
        else:
            draft.fault(path, "stud-missing", f"{module.name} has no stud", "Every module sits on a stud of each bar")
    for who, _ in seats:
        count = sum(1 for other, _ in seats if other == who)
        if count > 1 and who != "main":
            draft.fault(
                path, "stud-twice", f'"{who}" is on {count} studs', "Only the main may be on two, with two mains a pole"
            )
            break


def _seat_feed(draft: Draft, pole: Pole, seats: list[tuple[str, str]], w: BarW | None, path: Path) -> None:
    modules = {module.name for module in draft.modules}
    consumers = {consumer.name for consumer in draft.consumers}
    has_main = draft.told.written.wiring.main is not None
    for who, post in seats:
        if who in modules:
            continue
        if who == "main" and has_main:
            draft.feed_posts[pole].append(post)
        elif who in consumers:
            _branch(draft, next(c for c in draft.consumers if c.name == who), pole, post)
        elif who == "main":
            draft.fault(
                (*path, "studs"),
                "main-missing",
                'found "main", but wiring.main is not given',
                "",
                "Write [wiring] main = { cable = ..., length = ... }, or the inverters' names on the studs",
            )
        elif not draft.told.holes.excuses(who):
            known = ", ".join([*modules, *(["main"] if has_main else []), *consumers])
            draft.fault((*path, "studs"), "unknown-name", f'found "{who}" on a stud', f"On studs sit: {known}")
    if has_main and not draft.feed_posts[pole] and w is not None and w.studs is not None:
        draft.fault((*path, "studs"), "stud-missing", "the main has no stud", 'Write "main" where it sits')


def add_feed(draft: Draft) -> None:
    """Mains from the bank, and leads to each inverter, charger and load that has none yet."""
    wiring = draft.told.written.wiring
    for pole in POLES:
        left = [c for c in draft.consumers if not any(link.name == f"{c.name}{pole}lead" for link in draft.links)]
        hub = hub_of(draft, pole)
        if hub is not None:
            _feed_hub(draft, pole, hub, left)
            continue
        if wiring.main is None:
            if left and not draft.feed_posts[pole]:
                return  # nothing to hang them on: told as a fault elsewhere
            for consumer in left:
                _branch(draft, consumer, pole, draft.feed_posts[pole][0])
            continue
        alone = left[0] if len(left) == 1 and left[0].lead is None else None
        end = f"{alone.name}{pole}" if alone else f"J{pole}"
        if alone is None:
            draft.add_post(end, end, "junction", PostSpec(), MAIN)
        _mains(draft, pole, (end,))
        for consumer in left if alone is None else ():
            _branch(draft, consumer, pole, end)


def _mains(draft: Draft, pole: Pole, ends: tuple[str, ...]) -> None:
    """Mains of a pole from the bank to their ends; two mains may share one."""
    main = draft.told.written.wiring.main
    if main is None:
        return  # told as a fault
    conductor = Layers(((main, MAIN),))
    for k, (post, second) in enumerate(zip(draft.feed_posts[pole], ("", "b"), strict=False)):
        end = ends[min(k, len(ends) - 1)]
        draft.add_link(LinkDraft(f"main{pole}{second}", post, end, pole, "main", conductor, MAIN, "main"))


def _feed_hub(draft: Draft, pole: Pole, hub: Hub, left: list[Consumer]) -> None:
    """Mains end at their studs of the hub, and leads start at theirs."""
    mains = draft.feed_posts[pole]
    if len(hub.mains) > max(len(mains), 1):
        found = f'"main" is on {len(hub.mains)} studs of {hub.name}, and {len(mains)} main reaches it'
        draft.fault((*hub.path, "studs"), "stud-twice", found, 'feed = "both ends" has two mains a pole')
    first = hub.posts[0]  # stands in where the file has a fault, so that others are not blamed for it
    _mains(draft, pole, hub.mains or (first,))
    for consumer in left:
        _branch(draft, consumer, pole, hub.leads.get(consumer.name, first))


def _branch(draft: Draft, consumer: Consumer, pole: Pole, start: str) -> None:
    conductor = Layers(((draft.told.written.wiring.branch, BRANCH),)).over(consumer.lead, (*consumer.path, "lead"))
    origin = (*consumer.path, "lead") if consumer.lead is not None else BRANCH
    name = f"{consumer.name}{pole}lead"
    draft.add_link(LinkDraft(name, start, f"{consumer.name}{pole}", pole, "branch", conductor, origin))
