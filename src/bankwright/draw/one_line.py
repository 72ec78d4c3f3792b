"""The one-line diagram: what is in series with what, without place or length.

Gives: one_line(). Positive rail above, negative below; modules as cells with their breaker, devices in line, loads.
Over six modules: first, second, "... more", last. The long thin plate of a cell is positive and is up; no conductor is
drawn between the plates.
Limits: chain and bar look alike here (wiring tells them apart); devices of modules that are left out are not drawn.
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.bank.model import Bank, Device, Link, Module
from bankwright.draw.arrange.head import Consumer, consumers
from bankwright.draw.arrange.layout import ordered_devices
from bankwright.draw.arrange.topology import Topology, topology
from bankwright.draw.paint.head import consumer_words
from bankwright.draw.paint.look import rating_words
from bankwright.draw.pen.letters import room
from bankwright.draw.pen.paper import Drawing, sheet
from bankwright.draw.pen.svg import Markup, circle, group, joined, line, words
from bankwright.draw.pen.symbols import DEVICE_WORDS, cells, converter, device, wire

__all__ = ["one_line"]

UP, STEP, STACK, CELLS, LANE = 52.0, 84.0, 52.0, 44.0, 70.0
MOST = 6


@dataclass(frozen=True, slots=True)
class _Frame:
    """Heights of the diagram."""

    cells: float  # upper plate of the cells, upper edge of boxes about here
    low: float  # negative rail


def _on_way(bank: Bank, found: Topology, owner: str, pole: str) -> tuple[Device, ...]:
    """Devices between a rail and one module or consumer of its own, from the rail."""
    ways = ("lead",) if owner in found.place else ("top", "trunk")
    for run in found.runs:
        if run.link.pole == pole and run.way in ways and owner in (found.owner[run.low], found.owner[run.high]):
            near = run.low if found.owner[run.high] == owner else run.high
            if not _shared(bank, found, run.link):
                items = ordered_devices(bank, run.link)
                return items if run.link.a == near else items[::-1]
    return ()


def _shared(bank: Bank, found: Topology, link: Link) -> bool:
    """True for a main cable that everything above hangs on: it meets others, or only one thing is fed."""
    run = next(r for r in found.runs if r.link is link)
    fed = consumers(bank)
    return run.way == "trunk" and (found.owner[run.high] not in {f.name for f in fed} or len(fed) == 1)


def _series(bank: Bank, found: Topology, pole: str) -> list[tuple[Device, ...]]:
    """Devices of each shared main cable, from the bank."""
    series = []
    for run in found.of(pole, "trunk"):
        if _shared(bank, found, run.link):
            items = ordered_devices(bank, run.link)
            series.append(items if run.link.a == run.low else items[::-1])
    return series or [()]


def _shown(modules: tuple[Module, ...]) -> list[Module | None]:
    return list(modules) if len(modules) <= MOST else [modules[0], modules[1], None, modules[-1]]


def _stack(items: list[tuple[str, str, str]], x: float, start: float, down: bool) -> list[Markup]:
    """Devices over each other in an upright line, with their names beside them: (kind, name, rating)."""
    painted = []
    for i, (kind, name, rating) in enumerate(items):
        y = start + (24 + STACK * i) * (1 if down else -1)
        painted += [
            group(
                device(kind, x, y), title=f"{name} {DEVICE_WORDS[kind]}, {rating}".strip(", "), data_place=name or None
            ),
            words(x + 14, y - 1, name, "b"),
            words(x + 14, y + 13, rating.removesuffix(" not given") if "not given" in rating else rating, "small soft"),
        ]
    return painted


def _parts(items: tuple[Device, ...]) -> list[tuple[str, str, str]]:
    return [(item.kind.type, item.name, rating_words(item)) for item in items]


def _module_parts(bank: Bank, found: Topology, module: Module) -> list[tuple[str, str, str]]:
    """What is between the positive rail and the cells: lead devices, then the module's own breaker."""
    parts = _parts(_on_way(bank, found, module.name, "+"))
    breaker = module.kind.breaker
    if breaker is not None:
        rating = "" if breaker.rating is None else f"{breaker.rating:g} A"
        parts.append((breaker.type, "", rating))
    return parts


def _dots(x: float, low: float) -> list[Markup]:
    return [circle(x, UP, 4.0, "dot"), circle(x, low, 4.0, "dot")]


def _module(bank: Bank, found: Topology, module: Module, x: float, frame: _Frame) -> Markup:
    above, below = _module_parts(bank, found, module), _parts(_on_way(bank, found, module.name, "-"))
    parts = [line(x, UP, x, frame.cells), line(x, frame.cells + CELLS, x, frame.low)]
    parts += _stack(above, x, UP + 4, True)
    parts += _stack(below, x, frame.low - 4, False)
    parts += [cells(x, frame.cells), words(x, frame.low + 24, module.name, "mod low mid"), *_dots(x, frame.low)]
    slot = "" if module.slot is None else f", slot {module.slot}"
    return group(*parts, title=f"{module.name}{slot}", data_place=module.name)


def _consumer(bank: Bank, found: Topology, item: Consumer, x: float, frame: _Frame) -> Markup:
    word, rating = consumer_words(item)
    middle = frame.cells + CELLS / 2
    parts = [line(x, UP, x, middle - 15), line(x, middle + 15, x, frame.low)]
    parts += _stack(_parts(_on_way(bank, found, item.name, "+")), x, UP + 4, True)
    parts += _stack(_parts(_on_way(bank, found, item.name, "-")), x, frame.low - 4, False)
    parts += [converter(x, middle, word), words(x, frame.low + 24, item.name, "mod low mid")]
    parts += [words(x, frame.low + 40, rating.removesuffix(" out"), "small soft mid"), *_dots(x, frame.low)]
    return group(*parts, title=f"{item.name} {word}, {rating}", data_place=item.name)


def _mains(series: list[tuple[Device, ...]], pole: str, x0: float, x1: float, low: float) -> list[Markup]:
    """Main cables side by side, with their devices in line."""
    inward = 1 if pole == "+" else -1
    rail = UP if pole == "+" else low
    painted: list[Markup] = []
    for lane, items in enumerate(series):
        y = rail + inward * LANE * lane
        if lane:
            painted.append(wire(f"M{x0} {rail}L{x0} {y}L{x1} {y}L{x1} {rail}", 6.0 if pole == "+" else 7.0, pole))
        step = (x1 - x0) / max(len(items), 1)
        for i, item in enumerate(items):
            x = x0 + step * (i + 0.5)
            title = f"{item.name} {DEVICE_WORDS[item.kind.type]}, {rating_words(item)}"
            name_y, rating_y = (y - 28, y - 14) if pole == "+" else (y + 35, y + 48)
            painted.append(group(device(item.kind.type, x, y, True), title=title, data_place=item.name))
            painted.append(words(x, name_y, item.name, "mod low mid"))
            painted.append(
                words(x, rating_y, rating_words(item).replace("rating not given", "not given"), "small soft mid")
            )
    return painted


def one_line(bank: Bank, *, embedded: bool = False, prefix: str = "o") -> Drawing:
    """Draw the one-line diagram of a bank."""
    found = topology(bank)
    shown, fed = _shown(bank.modules), consumers(bank)
    columns = [m for m in shown if m is not None]
    above = max([len(_module_parts(bank, found, m)) for m in columns] + [0])
    above = max([above, *(len(_on_way(bank, found, item.name, "+")) for item in fed)])
    below = max([len(_on_way(bank, found, x.name, "-")) for x in (*columns, *fed)] + [0])
    series = {pole: _series(bank, found, pole) for pole in "+-"}
    lanes = max(len(series["+"]) + len(series["-"]) - 2, 0)
    height = max(STACK * above + 36, LANE * lanes * 0.5 + 20)
    frame = _Frame(UP + height, UP + height + CELLS + max(STACK * below, LANE * lanes * 0.5) + 40)
    painted, x = [], 56.0
    for module in shown:
        if module is None:
            left = len(bank.modules) - len(columns)
            painted.append(words(x + 6, frame.cells + CELLS / 2, f"… {left} more …", "d soft mid"))
        else:
            painted.append(_module(bank, found, module, x, frame))
        x += STEP + (10 if module is None else 0)
    begin = x - STEP + 40
    most = max(len(items) for group_ in series.values() for items in group_)
    end = begin + max(62.0 * most, 30.0)
    rails = [wire(f"M28 {y}L{end + 34 + STEP * max(len(fed) - 1, 0)} {y}", w, pole)
             for y, w, pole in ((UP, 6.0, "+"), (frame.low, 7.0, "-"))]  # fmt: skip
    mains = [part for pole in "+-" for part in _mains(series[pole], pole, begin, end, frame.low)]
    for i, item in enumerate(fed):
        painted.append(_consumer(bank, found, item, end + 34 + STEP * i, frame))
    signs = [words(8, UP + 5, "+", "head pos"), words(8, frame.low + 5, "−", "head neg")]
    width = max(end + 34 + STEP * max(len(fed) - 1, 0) + 70, room(_caption(bank), 13) + 20)
    caption = words(8, frame.low + 66, _caption(bank), "soft")
    body = joined([*rails, *mains, *painted, *signs, caption])
    fed_words = ", ".join(item.name for item in fed) or "nothing"
    desc = (
        f"{len(bank.modules)} modules between a positive and a negative rail; then the main devices; feeds {fed_words}."
    )
    return sheet(width, frame.low + 78, "One-line diagram", desc, prefix, body=body, cls="oneline", embedded=embedded)


def _caption(bank: Bank) -> str:
    kinds: dict[str, int] = {}
    for module in bank.modules:
        capacity = module.capacity_ah if module.capacity_ah is not None else module.kind.capacity_ah
        each = f"{module.kind.cells} cells" + (f", {capacity:g} Ah" if capacity is not None else "")
        kinds[each] = kinds.get(each, 0) + 1
    return "; ".join(f"{count} module{'s' if count > 1 else ''} of {each}" for each, count in kinds.items())
