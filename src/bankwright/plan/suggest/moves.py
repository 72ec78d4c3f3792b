"""Changes that Plan may try on a bank file: cable sizes, another device of the file, feed, branch fuses, stud order,
bars instead of a chain.

Gives: moves_for(), smaller_cables(). A move is a list of edits with words; a lug that does not take the new
cable is exchanged with it for one of the file's kinds that does.
Limits: only kinds that the file holds and sizes of the standard table; nothing is invented. What a move does is
found by checking the changed bank, never assumed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import permutations
from typing import Any

from bankwright.bank.file.document import Document
from bankwright.bank.model import Bank, Link
from bankwright.forms.finding import Finding
from bankwright.handbook.wires import System, labels, wire
from bankwright.plan.suggest.move import Edit, Move
from bankwright.plan.suggest.to_bars import to_bars

__all__ = ["moves_for", "smaller_cables"]

_FEEDS = ("opposite ends", "both ends")
_LUGS = ("lug", "lug_from", "lug_to")
_MOST_STEPS, _WITHOUT_LUG = 6, 3  # sizes looked at upward: those with a lug in the file, or else the next three
_LEAST_AREA = 13e-6  # m2; below that no cable of a bank is looked at (6 AWG; our choice)


def moves_for(bank: Bank, document: Document, findings: Iterable[Finding]) -> tuple[Move, ...]:
    """Changes that might cure what fails, each tried apart; those that touch a failing place."""
    findings = tuple(findings)
    failing = [finding for finding in findings if finding.verdict == "fail"]
    places = {place for finding in failing for place in (*finding.at, *finding.more)}
    moves = [
        *_larger_cables(bank, document, places),
        *_other_devices(bank, document, places),
        *_feeds(document, bank),
        *_branch_fuses(bank, document),
        *_stud_orders(document),
        *to_bars(bank, document, findings),
    ]
    return tuple({move.words: move for move in moves}.values())


def _links_of(bank: Bank, places: set[str]) -> Iterator[Link]:
    """Links that a place lies on: itself, its joints, its posts, the devices in it."""
    for link in bank.links:
        if places & {link.name, link.a, link.b, *link.joints, *link.devices}:
            yield link


def _groups(links: Iterable[Link]) -> dict[str, Link]:
    """Links by the file key of their size: they change together."""
    return {link.cable.size_path: link for link in links if link.cable is not None and link.is_cable}


def _system(size: str) -> System:
    return wire(size).system


def _stepped(size: str, steps: int) -> str | None:
    known = labels(_system(size))
    place = known.index(size) + steps
    if 0 <= place < len(known) and wire(known[place]).area >= _LEAST_AREA:
        return known[place]
    return None


def _larger_cables(bank: Bank, document: Document, places: set[str]) -> Iterator[Move]:
    touched = _groups(_links_of(bank, places))
    for path, link in touched.items():
        assert link.cable is not None
        sizes = [size for steps in range(1, _MOST_STEPS + 1) if (size := _stepped(link.cable.size, steps)) is not None]
        with_lug = [size for size in sizes if _has_lugs(bank, document, path.rsplit(".", 1)[0], size)]
        for size in with_lug or sizes[:_WITHOUT_LUG]:
            yield _cable(bank, document, path, link.cable.size, size)


def _has_lugs(bank: Bank, document: Document, table: str, size: str) -> bool:
    """True when the file holds lugs for a size at both ends of a conductor, or names no lugs there."""
    for key in _LUGS:
        if document.has(f"{table}.{key}"):
            old = bank.lug_kinds.get(document.value(f"{table}.{key}"))
            if old is None or not (size in old.cables or _lug_for(bank, old.name, size)):
                return False
    return True


def smaller_cables(bank: Bank, document: Document) -> tuple[Move, ...]:
    """One step down for every group of links, to find the smallest that still passes."""
    moves = []
    for path, link in _groups(bank.links).items():
        assert link.cable is not None
        smaller = _stepped(link.cable.size, -1)
        if smaller is not None:
            moves.append(_cable(bank, document, path, link.cable.size, smaller))
    return tuple(moves)


def _cable(bank: Bank, document: Document, path: str, size: str, to: str) -> Move:
    edits = [Edit(path, to)]
    table = path.rsplit(".", 1)[0]
    words = f"{table}: cable {size} -> {to}"
    for key in _LUGS:
        lug_path = f"{table}.{key}"
        if not document.has(lug_path):
            continue
        other = _lug_for(bank, document.value(lug_path), to)
        if other is not None:
            edits.append(Edit(lug_path, other))
            words += f", {key} {other}"
    return Move(words, tuple(edits), path)


def _lug_for(bank: Bank, name: str, size: str) -> str | None:
    """Another lug of the file for the same stud, listed for the size; None when the old one will do, or none does."""
    old = bank.lug_kinds.get(name)
    if old is None or size in old.cables:
        return None
    fits = [kind.name for kind in bank.lug_kinds.values() if kind.stud == old.stud and size in kind.cables]
    return fits[0] if fits else None


def _entries(document: Document) -> Iterator[tuple[int, dict[str, Any]]]:
    yield from enumerate(document.data.get("devices", []))


def _stem(name: str, entry: dict[str, Any]) -> bool:
    return name == entry["name"] or name.startswith(f"{entry['name']}-")


def _other_devices(bank: Bank, document: Document, places: set[str]) -> Iterator[Move]:
    concerned = places | {name for link in _links_of(bank, places) for name in link.devices}
    for place, entry in _entries(document):
        if not any(_stem(name, entry) for name in concerned):
            continue
        old = bank.device_kinds[entry["kind"]]
        for kind in bank.device_kinds.values():
            if kind.type == old.type and kind.name != old.name:
                words = f"{entry['name']}: {old.name} -> {kind.name}"
                yield Move(words, (Edit(f"devices[{place}].kind", kind.name),), str(entry["name"]))


def _feeds(document: Document, bank: Bank) -> Iterator[Move]:
    for feed in _FEEDS:
        if feed == "opposite ends" and (bank.feed or "").startswith(feed):
            continue  # the other diagonal is no better
        if bank.pattern != "listed" and bank.feed not in (None, feed) and document.has("wiring.feed"):
            yield Move(f'wiring.feed: "{bank.feed}" -> "{feed}"', (Edit("wiring.feed", feed),), "feed")


def _branch_fuses(bank: Bank, document: Document) -> Iterator[Move]:
    """A fuse in every module's lead, where each module has leads of its own (a bar): in one pole, or in both."""
    leads = [link for link in bank.links if link.role == "lead"]
    if not leads or any(link.devices for link in leads):
        return
    names = {entry["name"] for _, entry in _entries(document)}
    stem = next(f"B{n}" for n in range(1, len(names) + 2) if f"B{n}" not in names)
    for kind in bank.device_kinds.values():
        if kind.type != "fuse":
            continue
        plus = Edit("devices", {"name": stem, "kind": kind.name, "on": "each module +", "at": "module end"}, True)
        minus = Edit(
            "devices", {"name": f"{stem}n", "kind": kind.name, "on": "each module -", "at": "module end"}, True
        )
        yield Move(f"a {kind.name} in the positive lead of every module", (plus,), "branch fuses")
        yield Move(f"a {kind.name} in both leads of every module", (plus, minus), "branch fuses")


def _stud_orders(document: Document) -> Iterator[Move]:
    """Mains between the sources; sources and takers in turn; bars of one order change together."""
    by_order: dict[str, list[int]] = {}
    bars = document.data.get("bars", [])
    for place, bar in enumerate(bars):
        if len(bar.get("studs") or ()) >= 3:
            by_order.setdefault(repr(bar["studs"]), []).append(place)
    for places in by_order.values():
        studs = bars[places[0]]["studs"]
        names = ", ".join(bars[place]["name"] for place in places)
        for order in _orders(studs):
            if order != studs:
                said = ", ".join("+".join(stud) if isinstance(stud, list) else str(stud or "free") for stud in order)
                edits = tuple(Edit(f"bars[{place}].studs", order) for place in places)
                yield Move(f"{names}: studs in the order {said}", edits, "studs")


def _orders(studs: list[Any]) -> Iterator[list[Any]]:
    takers = [stud for stud in studs if not _is_source(stud)]
    sources = [stud for stud in studs if _is_source(stud)]
    if len(studs) <= 4:
        yield from (list(order) for order in permutations(studs))
        return
    middle = len(sources) // 2
    yield [*sources[:middle], *takers, *sources[middle:]]
    mixed: list[Any] = []
    every = max(1, len(sources) // (len(takers) + 1))
    waiting = list(takers)
    for count, source in enumerate(sources, 1):
        mixed.append(source)
        if waiting and count % every == 0:
            mixed.append(waiting.pop(0))
    yield [*mixed, *waiting]


def _is_source(stud: Any) -> bool:
    name = stud[0] if isinstance(stud, list) and stud else stud
    return isinstance(name, str) and name.startswith("M")
