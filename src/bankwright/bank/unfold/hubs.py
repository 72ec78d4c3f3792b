"""Bars that the mains end at and from which inverters, chargers and loads are fed: told by their studs.

Gives: is_hub(), Hub, hub_of(), hubs_of_links(), studs_agree(). A bar whose studs name no module is a hub; in the
pattern `listed` without studs it is a bar from which no link leads to a module.
Limits: a hub a pole; the bar that the modules sit on is in bank/unfold/pattern.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from bankwright.bank.file.spans import Path
from bankwright.bank.model import Pole
from bankwright.bank.unfold.draft import Draft
from bankwright.bank.unfold.posts import add_bar
from bankwright.bank.written.told import Told
from bankwright.bank.written.wiring import BarW, LinkW

__all__ = ["Hub", "hub_of", "hubs_of_links", "is_hub", "studs_agree"]

MAIN = "main"
Wrong = tuple[str, str, str, str]  # code, found, expected, hint


def is_hub(told: Told, bar: BarW) -> bool:
    """True when things sit on the bar's studs by name, and no module is among them."""
    modules = {module.name for module in told.written.modules}
    named = [name for stud in bar.studs or () for name in stud]
    return bool(named) and not modules & set(named)


@dataclass(frozen=True, slots=True)
class Hub:
    """A hub with its posts: where the mains end, where each lead starts."""

    name: str
    path: Path
    posts: tuple[str, ...]
    mains: tuple[str, ...]
    leads: dict[str, str]  # inverter, charger or load -> post


def hub_of(draft: Draft, pole: Pole) -> Hub | None:
    """Add the hub of a pole with its studs; None when the file has none. What is wrong on its studs is told."""
    found = next(((p, w) for p, w in draft.told.entries("bars") if w.pole == pole and is_hub(draft.told, w)), None)
    if found is None:
        return None
    path, w = found
    studs = w.studs or ()
    posts = add_bar(draft, w.name, pole, w, path, count=len(studs))
    draft.hubs.add(w.name)
    seats = [(who, post) for post, on_it in zip(posts, studs, strict=True) for who in on_it]
    mains = tuple(post for who, post in seats if who == MAIN)
    hub = Hub(w.name, path, tuple(posts), mains, {who: post for who, post in seats if who != MAIN})
    for fault in _wrong(draft, hub, seats):
        draft.fault((*path, "studs"), *fault)
    return hub


def _wrong(draft: Draft, hub: Hub, seats: list[tuple[str, str]]) -> Iterator[Wrong]:
    has_main = draft.told.written.wiring.main is not None
    known = [consumer.name for consumer in draft.consumers]
    who_sit = ", ".join([*([MAIN] if has_main else []), *known])
    for who in dict.fromkeys(who for who, _ in seats if who != MAIN):
        if who not in known and not draft.told.holes.excuses(who):
            yield "unknown-name", f'found "{who}" on a stud of {hub.name}', f"On its studs sit: {who_sit}", ""
        elif sum(1 for other, _ in seats if other == who) > 1:
            yield "stud-twice", f'"{who}" is on more than one stud of {hub.name}', "A lead starts at one stud", ""
    if not has_main:
        hint = "Write [wiring] main = { cable = ..., length = ... }: the cable from the bank to this bar"
        yield "main-missing", f"no main leads to {hub.name}, because wiring.main is not given", "", hint
    elif not hub.mains:
        yield "stud-missing", f"the main has no stud on {hub.name}", "", 'Write "main" where it sits'
    if set(hub.leads) - set(known):
        return  # one of the names is probably meant for who has no stud
    for who in known:
        if who not in hub.leads and not _has_lead(draft, who, hub.name[-1]):
            yield "stud-missing", f"{who} has no stud on {hub.name}", "", f'Write "{who}" where its lead starts'


def _has_lead(draft: Draft, who: str, pole: str) -> bool:
    return any(link.name == f"{who}{pole}lead" for link in draft.links)


def hubs_of_links(draft: Draft, links: Iterable[LinkW]) -> set[str]:
    """Hubs of a listed bank: by their studs; where those are not given, bars from which no link leads to a module."""
    beside: set[str] = set()
    for link in links:
        ends = [draft.posts[post] for post in (link.from_post, link.to_post) if post in draft.posts]
        if any(end.owner_kind == "module" for end in ends):
            beside |= {end.owner for end in ends if end.owner_kind == "bar"}
    bars = [w for _, w in draft.told.entries("bars")]
    return {w.name for w in bars if (is_hub(draft.told, w) if w.studs is not None else w.name not in beside)}


def studs_agree(draft: Draft) -> None:
    """In a listed bank: a link leads from each stud to what is said to sit on it."""
    for path, w in draft.told.entries("bars"):
        for k, named in enumerate(w.studs or (), 1):
            for who in named:
                fault = _stray(draft, w, f"{w.name}{k}", who)
                if fault is not None:
                    draft.fault((*path, "studs"), *fault)


def _stray(draft: Draft, w: BarW, post: str, who: str) -> Wrong | None:
    owners: dict[str, Any] = {p.owner: p for p in draft.posts.values() if p.owner_kind not in ("bar", "junction")}
    if who not in owners and who != MAIN:
        if draft.told.holes.excuses(who):
            return None
        return "unknown-name", f'found "{who}" on a stud', f"On studs sit: {', '.join([*owners, MAIN])}", ""
    far = [link.b if link.a == post else link.a for link in draft.links_at(post)]
    mains = [link for link in draft.links_at(post) if link.role == "main"]
    if (who == MAIN and mains) or any(draft.posts[other].owner == who for other in far):
        return None
    to = "the bank" if who == MAIN else f"{who}{w.pole}"
    found = f'found "{who}" on {post}, but no link leads from there to {to}'
    return "not-joined", found, "", f'Write a [[links]] block with an end at "{post}", or another name on the stud'
