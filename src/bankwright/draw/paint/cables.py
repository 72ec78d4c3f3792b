"""Paints the cables beside the racks: links, leads, bars, what sits in them, and their letters.

Gives: painted_cables(), painted_bars(), painted_letters(). Letters stand in their own column, never on a cable.
Limits: what stands above the racks is in painted_head.
"""

from __future__ import annotations

from itertools import pairwise

from bankwright.bank.model import Device, Link
from bankwright.draw.arrange.lanes import spread
from bankwright.draw.arrange.layout import Layout, ordered_devices
from bankwright.draw.arrange.paths import corners, rounded
from bankwright.draw.arrange.sizes import label_room
from bankwright.draw.arrange.topology import Run
from bankwright.draw.paint.currents import amperes
from bankwright.draw.paint.look import (
    Look,
    balloon_at,
    cable,
    has_current,
    link_words,
    pretty,
    rating_words,
    titled,
    width_of,
)
from bankwright.draw.pen.letters import fitted, room
from bankwright.draw.pen.svg import Markup, box, circle, element, group, joined, line, words
from bankwright.draw.pen.symbols import DEVICE_WORDS, device, polarity

__all__ = ["painted_bars", "painted_cables", "painted_letters"]


def painted_cables(lay: Layout, look: Look) -> Markup:
    """All cables, the ones that go farthest first."""
    order = {"trunk": 0, "cross": 1, "top": 2, "lead": 3, "loop": 4}
    runs = sorted(lay.topology.runs, key=lambda run: order[run.way])
    return joined(cable(lay, look, run.link.name, run.link.pole, rounded(corners(lay, run))) for run in runs)


def painted_bars(lay: Layout, look: Look) -> Markup:
    """Bars beside the racks; a bar of several columns is drawn bent, over or under the racks."""
    painted: list[Markup] = []
    for bar in dict.fromkeys(strip.bar for strip in lay.plan.strips):
        parts = [strip for strip in lay.plan.strips if strip.bar == bar]
        pole = parts[0].pole
        cls = f"bar {polarity(pole)}" if look.is_made(bar) else f"planned {polarity(pole)}"
        xs = [lay.x(s.column, pole, lay.plan.sides[(s.column, pole)].bar[bar]) for s in parts]
        shapes: list[Markup] = []
        level = lay.level(bar, pole) if len(parts) > 1 else None
        for strip, x in zip(parts, xs, strict=True):
            top = level if level is not None and pole == "+" else strip.top
            bottom = level if level is not None and pole == "-" else strip.bottom
            shapes.append(box(x - 6, top, 12, bottom - top, cls))
        if level is not None:
            shapes.append(box(min(xs) - 6, level - 6, max(xs) - min(xs) + 12, 12, cls))
            if pole == "-":  # open the corners of the hollow bar
                shapes += [box(x - 5, level - 5, 10, 10, "blank") for x in xs]
        painted.append(group(*shapes, title=titled(look, bar, "bar"), cls="busbar", data_place=bar))
        painted.append(_bar_name(lay, look, bar, pole, xs))
    return joined(painted)


def _bar_name(lay: Layout, look: Look, bar: str, pole: str, xs: list[float]) -> Markup:
    strips = [s for s in lay.plan.strips if s.bar == bar]
    bottom = strips[0].bottom
    x = xs[0] - 10 * lay.out(pole)
    cls = "d soft" if pole == "+" else "d soft end"
    name = fitted(pretty(bar), 60, lay.size.letter)
    at = x - lay.out(pole) * (room(name, lay.size.letter) + 14)
    return joined([words(x, bottom + 22, name, cls), balloon_at(look, bar, at, bottom + 17)])


def _named(link: Link, space: float, letter: float) -> str:
    """What a link is called, with what it is where it is no cable and that fits."""
    full = link_words(link)
    return full if room(full, letter) <= space else fitted(pretty(link.name), space, letter)


def _lines(lay: Layout, look: Look, run: Run) -> list[list[tuple[str, str]]]:
    """The letters of a link, line by line: (text, class)."""
    name, space = run.link.name, label_room(lay.size)
    strong = "b" if look.made is not None and look.is_made(name) else "soft"
    if not has_current(look, name):
        lines = [[(_named(run.link, space, lay.size.letter), strong)]]
    else:
        amps = amperes(abs(look.current(name) or 0.0))
        if lay.size.two_lines:
            lines = [[(_named(run.link, space, lay.size.letter), "soft")], [(amps, "b")]]
        else:
            short = _named(run.link, space - room(amps, lay.size.letter, True) - 4, lay.size.letter)
            lines = [[(short, "soft"), (amps, "b")]]
    for item in ordered_devices(lay.bank, run.link):
        text = item.name if lay.size.two_lines else f"{item.name} {rating_words(item)}"
        lines.append([(fitted(text, space, lay.size.letter), "soft")])
    return lines


def _text(x: float, y: float, parts: list[tuple[str, str]], cls: str) -> Markup:
    if len(parts) == 1:
        return words(x, y, parts[0][0], f"d {parts[0][1]}{cls}")
    spans = [element("tspan", text, cls=kind, dx=4.0 if i else None) for i, (text, kind) in enumerate(parts)]
    return element("text", *spans, x=float(x), y=float(y), cls=f"d{cls}")


def _width(parts: list[tuple[str, str]], size: float) -> float:
    return sum(room(text, size, kind == "b") for text, kind in parts) + 4.0 * (len(parts) - 1)


def _loop_letters(lay: Layout, look: Look, column: int, pole: str) -> list[Markup]:
    """Letters of the links of one side, spread so that none lies on another or on a cable going out."""
    side = lay.plan.sides[(column, pole)]
    runs = [run for run in lay.topology.of(pole, "loop") if run.link.name in side.loop_lane]
    if not runs:
        return []
    lines = [_lines(lay, look, run) for run in runs]
    ends = [[lay.heights.end[(run.link.name, p)] for p in (run.low, run.high)] for run in runs]
    step = lay.size.letter
    middles = spread(
        [sum(e) / 2 for e in ends], [len(text) * step for text in lines], _blocked(lay, look, column, pole)
    )
    many = len(set(side.loop_lane.values())) > 1
    x = lay.x(column, pole, side.loop_edge + 4)
    painted: list[Markup] = []
    for run, text, y, end in zip(runs, lines, middles, ends, strict=True):
        painted += _one_label(lay, look, run.link.name, pole, x, y=y, lines=text)
        if many:
            lane = lay.x(column, pole, side.loop_lane[run.link.name])
            near = min(max(y, min(end) + 6), max(end) - 6)
            painted += [line(x - lay.out(pole) * 1.5, y, lane, near, "lead"), circle(lane, near, 2.2, "dot")]
        painted += _loop_devices(lay, look, run, column)
    return painted


def _one_label(
    lay: Layout, look: Look, name: str, pole: str, x: float, *, y: float, lines: list[list[tuple[str, str]]]
) -> list[Markup]:
    step, out = lay.size.letter, lay.out(pole)
    cls = " end" if out < 0 else ""
    first = y - (len(lines) - 1) * step / 2 + lay.size.letter * 0.34
    painted = [_text(x, first + i * step, parts, cls) for i, parts in enumerate(lines)]
    widest = max(_width(parts, lay.size.letter) for parts in lines)
    return [*painted, balloon_at(look, name, x + out * (widest + 13), y)]


def _blocked(lay: Layout, look: Look, column: int, pole: str) -> list[tuple[float, float]]:
    """Heights at which cables pass through the column of letters of one side."""
    found = []
    for run in lay.topology.of(pole, "lead", "trunk", "cross"):
        for post in (run.low, run.high):
            place = lay.topology.place.get(lay.topology.owner[post])
            if place and place[0] == column and (run.link.name, post) in lay.heights.end:
                half = width_of(lay, look, run.link.name) / 2 + 1
                y = lay.heights.end[(run.link.name, post)]
                found.append((y - half, y + half))
    return found


def _loop_devices(lay: Layout, look: Look, run: Run, column: int) -> list[Markup]:
    items = ordered_devices(lay.bank, run.link)
    if not items:
        return []
    x = lay.x(column, run.link.pole, lay.plan.sides[(column, run.link.pole)].loop_lane[run.link.name])
    a, b = (lay.heights.end[(run.link.name, post)] for post in (run.link.a, run.link.b))
    inside = abs(b - a) - 12
    scale = min(1.0, inside / (36.0 * len(items)))
    step = (b - a) / len(items)
    return [
        group(
            device(item.kind.type, x, a + step * (i + 0.5), scale=scale, closed=look.is_closed(item.name)),
            title=f"{item.name} {DEVICE_WORDS[item.kind.type]}, {rating_words(item)}",
            data_place=item.name,
        )
        for i, item in enumerate(items)
    ]


def _lead_letters(lay: Layout, look: Look, run: Run) -> list[Markup]:
    """Name and current over a lead, what sits in it toward the module, its name below."""
    pole, out, name = run.link.pole, lay.out(run.link.pole), run.link.name
    stud = lay.plan.studs[run.high]
    side = lay.plan.sides[(stud.column, pole)]
    bar = lay.x(stud.column, pole, side.bar[lay.topology.owner[run.high]]) - out * 8
    y, half = stud.y, width_of(lay, look, name) / 2
    items = ordered_devices(lay.bank, run.link)
    items = items if run.link.a == run.low else items[::-1]
    scale = lay.size.device_scale
    inner = lay.x(stud.column, pole, max(side.loop_edge, 8.0))
    painted = _lead_devices(lay, look, items, inner, y, out=out)
    near = inner + out * (42 * scale * len(items) + (8 if items else 0))
    amps = amperes(abs(look.current(name) or 0.0)) if has_current(look, name) else ""
    tight = lay.size.two_lines and (lay.heights.pitch < 44 or items) and amps
    has_balloon = name in look.marks
    x, anchor = (near, " end" if out > 0 else "") if has_balloon else ((bar + near) / 2, " mid")
    if has_balloon:
        x, anchor = near + out * 2, "" if out > 0 else " end"
    up, space = y - half - 4, abs(bar - near) - (BALLOON_ROOM if has_balloon else 0)
    letter = lay.size.letter
    shown = _lead_lines(look, run.link, amps, bool(tight), space, letter=letter, two_lines=lay.size.two_lines)
    painted.append(_text(x, up, shown[0], anchor))
    if len(shown) > 1:
        painted.append(_text(x, y + half + 12, shown[1], anchor))
    return [*painted, balloon_at(look, name, bar - out * 11, up - 5)]


BALLOON_ROOM = 22.0


def _lead_lines(
    look: Look, link: Link, amps: str, tight: bool, space: float, *, letter: float, two_lines: bool
) -> list[list[tuple[str, str]]]:
    if not amps:
        strong = "b" if look.made is not None and look.is_made(link.name) else "soft"
        return [[(_named(link, space, letter), strong)]]
    if tight:
        return [[(amps, "b")]]
    if two_lines:
        return [[(_named(link, space, letter), "soft")], [(amps, "b")]]
    short = _named(link, space - room(amps, letter, True) - 4, letter)
    return [[(short, "soft"), (amps, "b")]]


def _lead_devices(
    lay: Layout, look: Look, items: tuple[Device, ...], inner: float, y: float, *, out: int
) -> list[Markup]:
    scale, painted = lay.size.device_scale, []
    for i, item in enumerate(items):
        x = inner + out * (22 + 42 * i) * scale
        title = f"{item.name} {DEVICE_WORDS[item.kind.type]}, {rating_words(item)}"
        painted.append(
            group(
                device(item.kind.type, x, y, True, scale, closed=look.is_closed(item.name)),
                title=title,
                data_place=item.name,
            )
        )
        if lay.size.two_lines and item.name in look.marks:  # no room for both: the finding names the device
            painted.append(balloon_at(look, item.name, x, y + 8 * scale + 13))
            continue
        brief = lay.size.two_lines or len(items) > 1 or lay.heights.pitch < 50
        text = item.name if brief else f"{item.name} {rating_words(item)}"
        at = inner + out * (2 + 42 * scale * i)
        painted.append(words(at, y + 8 * scale + 13, text, "d soft" + (" end" if out < 0 else "")))
        beside = at + out * (room(text, lay.size.letter) + 12)
        painted.append(balloon_at(look, item.name, beside, y + 8 * scale + 9))
    return painted


def _cross_letters(lay: Layout, look: Look, run: Run) -> list[Markup]:
    """Letters of a cable between racks, over its level piece."""
    path = corners(lay, run)
    pairs = [(a, b) for a, b in pairwise(path) if abs(a[1] - b[1]) < 0.1]
    a, b = max(pairs, key=lambda pair: abs(pair[0][0] - pair[1][0]))
    y = a[1] - width_of(lay, look, run.link.name) / 2 - 4
    x = (a[0] + b[0]) / 2
    lines = _lines(lay, look, run)
    flat = [part for parts in lines for part in parts]
    beside = x + _width(flat, lay.size.letter) / 2 + 14
    return [_text(x, y, flat, " mid"), balloon_at(look, run.link.name, beside, y - 5)]


def painted_letters(lay: Layout, look: Look) -> Markup:
    """Letters, devices and balloons of everything beside the racks."""
    painted: list[Markup] = []
    for column in range(lay.topology.columns):
        for pole in "+-":
            painted += _loop_letters(lay, look, column, pole)
    for run in lay.topology.runs:
        if run.way == "lead":
            painted += _lead_letters(lay, look, run)
        if run.way == "cross":
            painted += _cross_letters(lay, look, run)
    return joined(painted)
