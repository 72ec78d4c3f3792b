"""Devices put into their conductors: where they sit, and one entry for every module's lead.

Gives: add_devices(). `on` names a link, a main, a post that one link lands on, both poles for one handle, or `each
module +`. `at` names an end or a distance from the link's first end.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.file.quantity_text import QuantityFault, parse
from bankwright.bank.file.spans import Path
from bankwright.bank.model import Device, Pole
from bankwright.bank.model_kinds import DeviceKind
from bankwright.bank.unfold.draft import POLES, Draft, LinkDraft
from bankwright.bank.unfold.sets import members
from bankwright.bank.written.bank_file import DeviceEntry
from bankwright.forms.nearest import did_you_mean

__all__ = ["add_devices"]

_ENDS = {
    "module end": ("module",), "bar end": ("bar",), "inverter end": ("inverter",), "charger end": ("charger",),
    "load end": ("load",), "junction end": ("junction",), "bank end": ("module", "bar"),
}  # fmt: skip
_EACH = ("each module", "each inverter", "each charger", "each main")


def add_devices(draft: Draft, kinds: dict[str, DeviceKind]) -> None:
    """Add all devices; the links keep them in order from their first end."""
    placed: dict[str, list[tuple[float, Device]]] = {}
    for path, w in draft.told.entries("devices"):
        for name, links in _seats(draft, w, path):
            device = _device(draft, w, path, name, links, kind=kinds[w.kind])
            draft.devices.append(device)
            for link in links:
                placed.setdefault(link.name, []).append((_order(draft, link, w.at, device), device))
    for link in draft.links:
        row = sorted(placed.get(link.name, []), key=lambda pair: pair[0])
        link.devices = [device.name for _, device in row]


def _seats(draft: Draft, w: DeviceEntry, path: Path) -> Iterator[tuple[str, list[LinkDraft]]]:
    """The device's names, each with the links that its handle opens."""
    word = w.on[0]
    each = next((e for e in _EACH if word == e or word in (f"{e} +", f"{e} -")), None)
    if each is None:
        links = [link for on in w.on if (link := _link(draft, on, (*path, "on"))) is not None]
        if links and len({link.name for link in links}) < len(links):
            draft.fault((*path, "on"), "double-name", f"found {links[0].name} twice")
        elif len(links) == len(w.on) and _alone(draft, links, (*path, "on")):
            yield w.name, links
        return
    if len(w.on) > 1:
        draft.fault((*path, "on"), "not-allowed", f'found "{word}" in a list', f'Write on = "{word}" alone')
        return
    poles: list[Pole] = [pole for pole in POLES if word == each or word.endswith(pole)]
    for owner in _owners(draft, each):
        links = [link for pole in poles if (link := _lead_of(draft, each, owner, pole, (*path, "on"))) is not None]
        if len(links) == len(poles) and _alone(draft, links, (*path, "on")):
            yield f"{w.name}-{owner}", links


def _alone(draft: Draft, links: list[LinkDraft], path: Path) -> bool:
    """Whether none of these cables is one of a set: a device in one of several alike guards nothing."""
    several = next((link for link in links if members(link) > 1), None)
    if several is not None:
        hint = "End the set at a bar and lead one cable through the device, or name each cable under [[links]]"
        draft.fault(path, "in-a-set", f"{several.name} is a set of {members(several)} cables", "A single cable", hint)
    return several is None


def _owners(draft: Draft, each: str) -> list[str]:
    if each == "each main":
        return sorted({link.name.replace("+", "").replace("-", "") for link in draft.links if link.role == "main"})
    if each == "each module":
        return [module.name for module in draft.modules]
    return [c.name for c in draft.consumers if f"each {c.kind}" == each]


def _lead_of(draft: Draft, each: str, owner: str, pole: Pole, path: Path) -> LinkDraft | None:
    """The one cable of a module, inverter or main at one pole."""
    if each == "each main":
        return draft.link(f"main{pole}{owner.removeprefix('main')}")
    links = draft.links_at(f"{owner}{pole}")
    if each == "each module" and len(links) == 1 and links[0].role == "link":
        links = []
    if len(links) == 1:
        return links[0]
    seen = any(fault.code == "no-own-lead" for fault in draft.faults)
    if not seen:
        found = f"{owner}{pole} has no lead of its own" if not links else f"{len(links)} links land on {owner}{pole}"
        hint = (
            'Modules have leads of their own with pattern = "busbar"; in a chain name the links'
            if each == "each module"
            else "Name the link"
        )
        draft.fault(path, "no-own-lead", found, "", hint)
    return None


def _link(draft: Draft, on: str, path: Path) -> LinkDraft | None:
    link = draft.link(on)
    if link is not None:
        return link
    at_post = draft.links_at(on)
    if len(at_post) == 1:
        return at_post[0]
    if len(at_post) > 1:
        names = ", ".join(other.name for other in at_post)
        draft.fault(path, "unclear", f'found "{on}", where {len(at_post)} links land: {names}', "", "Name one of them")
    elif not draft.told.holes.excuses(on) and not draft.told.holes.has("links"):
        known = [other.name for other in draft.links]
        hint = did_you_mean(on, known, "Conductors: " + ", ".join(known[:14]))
        draft.fault(path, "unknown-conductor", f'found "{on}"; there is no such conductor', "", hint)
    return None


def _device(draft: Draft, w: DeviceEntry, path: Path, name: str, links: list[LinkDraft], *, kind: DeviceKind) -> Device:
    return Device(
        name=name,
        kind=kind,
        on=links[0].name,
        distance=_distance(draft, links[0], w.at, (*path, "at")),
        origin=draft.told.where.key(path),
        also_on=tuple(link.name for link in links[1:]),
        poles_used=w.poles_used,
        at=w.at,
        reach=w.reach,
        labels=tuple(w.labels),
        reversed=w.reversed,
    )


def _end(draft: Draft, link: LinkDraft, at: str) -> str | None:
    """The end that a word names: "a", "b", "both" when it fits both, None when it fits neither."""
    if at == "bank end":
        a, b = draft.nearness(link.a), draft.nearness(link.b)
        return "a" if a > b else "b" if b > a else "both" if a else None
    kinds = _ENDS.get(at)
    first = at == link.a or (kinds is not None and draft.posts[link.a].owner_kind in kinds)
    second = at == link.b or (kinds is not None and draft.posts[link.b].owner_kind in kinds)
    if first and second:
        return "both"
    return "a" if first else "b" if second else None


def _distance(draft: Draft, link: LinkDraft, at: str | None, path: Path) -> float | None:
    """Metres of conductor from the first end; None when it is not given, or the link's length is not."""
    if at is None:
        return None
    length = link.conductor.value("length")
    if at in _ENDS or at in draft.posts:
        end = _end(draft, link, at)
        if end in (None, "both"):
            words = "both ends of it are that" if end else "it has no such end"
            draft.fault(
                path,
                "unclear",
                f'found "{at}" on {link.name}, {link.a} to {link.b}: {words}',
                "",
                f'Write "{link.a}", "{link.b}" or a distance from {link.a}',
            )
            return None
        return 0.0 if end == "a" else length
    try:
        value = parse(at, "length").nominal
    except QuantityFault as fault:
        hint = did_you_mean(at, _ENDS, f'Write "bank end", a post, or a distance such as "200 mm". {fault.hint}')
        draft.fault(path, "not-a-place", f'found "{at}"', "", hint)
        return None
    if value < 0 or (length is not None and value > length):
        draft.fault(
            path,
            "out-of-range",
            f'found "{at}" on {link.name}, which is {length:g} m long' if length else f'found "{at}"',
        )
        return None
    return value


def _order(draft: Draft, link: LinkDraft, at: str | None, device: Device) -> float:
    """Sort key along the link: first end, given distances, second end; not given counts as the first end."""
    if at is None:
        return 0.0
    if at in _ENDS or at in draft.posts:
        return 0.0 if _end(draft, link, at) == "a" else float("inf")
    return device.distance or 0.0
