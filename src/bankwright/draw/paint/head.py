"""Paints what stands above the racks: heads of the two sides, devices and letters of main cables, bars, consumers.

Gives: painted_head(), consumer_words(). Devices carry name, kind and rating; a trunk carries its name and current.
Limits: the cables themselves are painted with the others (painted_cables).
"""

from __future__ import annotations

from bankwright.bank.model import Charger, Device, Inverter, Load
from bankwright.draw.arrange.head import DEVICE_PITCH, Branch, Consumer, consumers, device_words, is_brief
from bankwright.draw.arrange.layout import Layout, ordered_devices
from bankwright.draw.arrange.topology import Run
from bankwright.draw.paint.currents import amperes, watts
from bankwright.draw.paint.look import Look, balloon_at, has_current, pretty, rating_words, titled, width_of
from bankwright.draw.pen.letters import fitted, room
from bankwright.draw.pen.svg import Markup, box, circle, group, joined, words
from bankwright.draw.pen.symbols import DEVICE_WORDS, POLE_WORDS, converter, device, polarity, post

__all__ = ["consumer_words", "painted_head"]


def _heads(lay: Layout, case: str | None) -> list[Markup]:
    parts = [
        words(lay.edge(pole, 8), 16, text, f"head {polarity(pole)}" + (" end" if pole == "-" else ""))
        for pole, text in POLE_WORDS.items()
    ]
    if case:
        y = 36 if lay.head.case_line else 16
        space = lay.width - 16 if lay.head.case_line else lay.width - 2 * room("negative −", 16) - 40
        parts.append(words(lay.width / 2, y, fitted(case, space, lay.size.letter), "d soft mid"))
    return parts


def _anchor(lay: Layout, pole: str) -> str:
    return "" if lay.out(pole) < 0 else " end"


def _trunk(lay: Layout, look: Look, run: Run) -> list[Markup]:
    """Devices and letters of one main cable, on its inner side."""
    pole, name = run.link.pole, run.link.name
    x, inward = lay.edge(pole, lay.head.zone[name]), -lay.out(pole)
    at = x + inward * 20
    items = ordered_devices(lay.bank, run.link)
    items = items if run.link.a == run.low else items[::-1]
    painted: list[Markup] = []
    for i, item in enumerate(items):
        y = lay.head.first_device + DEVICE_PITCH * (lay.head.most_devices - 1 - i)
        painted += _trunk_device(lay, look, item, name, x, at=at, y=y)
    y, strong = lay.head.label, "b" if look.made is not None and look.is_made(name) else "soft"
    shown = fitted(pretty(name), _letters_room(lay, pole, name), lay.size.letter)
    painted.append(words(at, y, shown, f"d {strong}{_anchor(lay, pole)}"))
    if has_current(look, name):
        cls = "d b" if is_brief(lay.plan, lay.size, pole) else "fig"
        painted.append(words(at, y + 19, amperes(abs(look.current(name) or 0.0)), cls + _anchor(lay, pole)))
    if is_brief(lay.plan, lay.size, pole):
        return [*painted, balloon_at(look, name, at + inward * 10, y + 35)]
    return [*painted, balloon_at(look, name, at + inward * (room(shown, lay.size.letter) + 14), y - 7)]


def _letters_room(lay: Layout, pole: str, link: str) -> float:
    """Room for letters beside a trunk: to the next trunk, or half of the sheet."""
    zone = lay.head.zone
    inner = [zone[other] for other in lay.plan.trunks[pole] if zone[other] > zone[link]]
    behind = lay.width - lay.head.behind["-" if pole == "+" else "+"]
    return (min(inner) if inner else max(behind, lay.width / 2)) - zone[link] - 20 - 10


def _trunk_device(lay: Layout, look: Look, item: Device, link: str, x: float, *, at: float, y: float) -> list[Markup]:
    pole = lay.bank.link(link).pole
    letter, space = lay.size.letter, _letters_room(lay, pole, link)
    word = DEVICE_WORDS[item.kind.type]
    space_first = space - (22 if item.name in look.marks else 0)
    first = fitted(device_words(item, is_brief(lay.plan, lay.size, pole)), space_first, letter, True)
    second = (rating_words(item) if item.on == link else "same handle") + look.stands(item)
    mark = [box(x - 16, y - 22, 32, 44, "face marked")] if item.name in look.marked else []
    drawn = group(
        *mark,
        device(item.kind.type, x, y, mirrored=pole == "+", closed=look.is_closed(item.name)),
        title=f"{item.name} {word}, {second}, in {pretty(link)}",
        data_place=item.name,
    )
    inward = -lay.out(pole)
    beside = at + inward * (room(first, letter, True) + 14)
    return [
        drawn,
        words(at, y - 3, first, "d b" + _anchor(lay, pole)),
        words(at, y + 13, fitted(second, space, letter), "d soft" + _anchor(lay, pole)),
        balloon_at(look, item.name, beside, y - 8) if item.on == link else Markup(""),
    ]


def _node(lay: Layout, look: Look, pole: str, name: str) -> list[Markup]:
    """A bar, or the point where several cables meet: upright, with a foot where several main cables come in."""
    bars = {bar.name for bar in lay.bank.bars}
    half = 6.0 if name in bars else 4.0
    x, (top, bottom) = lay.edge(pole, lay.head.node[name]), lay.head.node_span[name]
    cls = f"bar {polarity(pole)}" if look.is_made(name) else f"planned {polarity(pole)}"
    shapes = [box(x - half, top, 2 * half, bottom - top, cls)]
    feet = [
        lay.edge(pole, lay.head.zone[run.link.name])
        for run in lay.topology.of(pole, "trunk")
        if lay.topology.owner[run.high] == name
    ]
    if len(feet) > 1:
        shapes.append(box(min(feet) - half, bottom - half, max(feet) - min(feet) + 2 * half, 2 * half, cls))
        if pole == "-":
            shapes.append(box(x - half + 1, bottom - half + 1, 2 * half - 2, 2 * half - 2, "blank"))
    word = "bar" if name in bars else "where cables meet"
    inward = -lay.out(pole)
    y = bottom + 18 if feet else top - 8
    shown = fitted(pretty(name), 70, lay.size.letter)
    label = words(x + inward * 14, y, shown, "d soft" + _anchor(lay, pole))
    beside = x + inward * (14 + room(shown, lay.size.letter) + 13)
    drawn = group(*shapes, title=titled(look, name, word), cls="busbar", data_place=name)
    return [drawn, label, balloon_at(look, name, beside, y - 5)]


def _branch(lay: Layout, look: Look, pole: str, branch: Branch) -> list[Markup]:
    """Letters and devices of a cable between a bar up there and what it feeds."""
    run, name = branch.run, branch.run.link.name
    a = lay.edge(pole, lay.head.node[branch.near]) - lay.out(pole) * 8
    far = lay.head.node.get(branch.far)
    b = lay.edge(pole, lay.head.box[pole] if far is None else far)
    y = lay.head.inlet[(name, branch.far)] if far is None else lay.head.node_span[branch.far][0] + 8
    middle, space = (a + b) / 2, abs(b - a) - 6
    amps = amperes(abs(look.current(name) or 0.0)) if has_current(look, name) else ""
    letter = lay.size.letter
    balloon_room = 24 if name in look.marks else 0
    full = f"{pretty(name)} {amps}".strip()
    whole = not lay.size.two_lines and room(full, letter, True) <= space - balloon_room
    shown = full if whole else amps or fitted(full, space - balloon_room, letter, True)
    up = y - max(width_of(lay, look, name) / 2 + 4, 13 if run.link.devices else 0)
    x = middle - lay.out(pole) * balloon_room / 2
    beside = x + lay.out(pole) * (room(shown, letter, True) / 2 + 13)
    strong = "b" if amps or (look.made is not None and look.is_made(name)) else "soft"
    painted = [words(x, up, shown, f"d {strong} mid"), balloon_at(look, name, beside, up - 5)]
    items = ordered_devices(lay.bank, run.link)
    items = items if lay.topology.owner[run.link.a] == branch.near else items[::-1]
    step = (b - a) / max(len(items), 1)
    for i, item in enumerate(items):
        painted += _branch_device(lay, look, item, a + step * (i + 0.5), y, space=abs(step))
    return painted


def _branch_device(lay: Layout, look: Look, item: Device, x: float, y: float, *, space: float) -> list[Markup]:
    word, rating = DEVICE_WORDS[item.kind.type], rating_words(item)
    mark = [box(x - 22, y - 16, 44, 32, "face marked")] if item.name in look.marked else []
    drawn = group(
        *mark,
        device(item.kind.type, x, y, True, closed=look.is_closed(item.name)),
        title=f"{item.name} {word}, {rating}{look.stands(item)}",
        data_place=item.name,
    )
    letter = lay.size.letter
    if lay.size.two_lines:  # no rating is lettered here: a balloon takes its line, and the whole name stands
        name = words(x, y + 24, fitted(item.name, space, letter, True), "d b mid")
        return [drawn, name, balloon_at(look, item.name, x, y + 38)]
    first = fitted(item.name, space - (22 if item.name in look.marks else 0), letter, True)
    aside = 11 if item.name in look.marks else 0
    painted = [drawn, words(x - aside, y + 24, first, "d b mid")]
    short = rating if room(rating, letter) <= space else "not given"
    painted.append(words(x, y + 38, fitted(short, space, letter), "d soft mid"))
    return [*painted, balloon_at(look, item.name, x - aside + room(first, letter, True) / 2 + 12, y + 17)]


def consumer_words(item: Consumer) -> tuple[str, str]:
    """Kind and rating of what the bank feeds."""
    if isinstance(item, Inverter):
        power = item.kind.power
        return "inverter", "power not given" if power is None else watts(power) + " out"
    if isinstance(item, Charger):
        current = item.kind.current
        return "charger", "current not given" if current is None else amperes(current)
    if isinstance(item, Load) and item.power is not None:
        return "load", watts(item.power)
    return "load", "size not given" if item.current is None else amperes(item.current)


def _consumer(lay: Layout, look: Look, item: Consumer) -> Markup:
    y = lay.head.row[item.name]
    x0, x1 = lay.edge("+", lay.head.box["+"]), lay.edge("-", lay.head.box["-"])
    word, rating = consumer_words(item)
    marked = " marked" if item.name in look.marked else ""
    wide = x1 - x0 > 190
    at = x0 + (58 if wide else 48)
    letter, space = lay.size.letter, x1 - 12 - at
    first = fitted(f"{item.name} {word}" if wide else item.name, space - 22, letter, True)
    parts = [
        box(x0, y - 23, x1 - x0, 46, f"frame face{marked}"),
        converter(x0 + (32 if wide else 27), y, word),
        words(at, y - 2, first, "d b"),
        words(at, y + 14, fitted(rating if wide else rating.removesuffix(" out"), space, letter), "d soft"),
    ]
    for (link, owner), height in lay.head.inlet.items():
        if owner == item.name:
            pole = lay.bank.link(link).pole
            parts.append(post(x0 if pole == "+" else x1, height, pole, 5.0))
    mark = balloon_at(look, item.name, at + room(first, letter, True) + 13, y - 7)
    return group(*parts, mark, title=f"{item.name} {word}, {rating}", cls="consumer", data_place=item.name)


def _meetings(lay: Layout, pole: str) -> list[Markup]:
    """Dots where branches leave a meeting point that is no bar."""
    bars = {bar.name for bar in lay.bank.bars}
    found = []
    for branch in lay.head.branches[pole]:
        if branch.near not in bars and (branch.run.link.name, branch.far) in lay.head.inlet:
            y = lay.head.inlet[(branch.run.link.name, branch.far)]
            found.append(circle(lay.edge(pole, lay.head.node[branch.near]), y, 4.0, "dot"))
    return found


def painted_head(lay: Layout, look: Look, case: str | None) -> Markup:
    """Everything above the racks but the cables."""
    painted = _heads(lay, case)
    for pole in "+-":
        for name in lay.head.node:
            if any(lay.topology.owner[p] == name for run in lay.topology.runs if run.link.pole == pole
                   for p in (run.low, run.high)):  # fmt: skip
                painted += _node(lay, look, pole, name)
        for run in lay.topology.of(pole, "trunk"):
            painted += _trunk(lay, look, run)
        for branch in lay.head.branches[pole]:
            painted += _branch(lay, look, pole, branch)
        painted += _meetings(lay, pole)
    painted += [_consumer(lay, look, item) for item in consumers(lay.bank)]
    return joined(painted)
