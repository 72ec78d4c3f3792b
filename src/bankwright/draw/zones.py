"""Spread of cells by zone: the same millivolts mean little at the top and much on the flat.

Gives: ZoneGauge, zones(). One gauge a module and zone: bar to the usual spread, bracket to the widest, stop at the
limit of the zone, hatched beyond. A zone that was not visited is a dashed frame and says when it was seen last.
Limits: draws what it is given.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bankwright.draw.pen.letters import fitted, room, wrapped
from bankwright.draw.pen.paper import Drawing, sheet
from bankwright.draw.pen.svg import Markup, box, element, group, joined, line, points, words

__all__ = ["ZoneGauge", "zones"]

DESK = 620.0
ROW, HEAD = 42.0, 44.0


@dataclass(frozen=True, slots=True)
class ZoneGauge:
    """One module in one zone: usual and widest spread, limit; None where the zone was not visited."""

    module: str
    zone: int
    usual: float | None
    widest: float | None
    limit: float
    words: str  # under the gauge: "11 mV, 3 mV to 14 mV", "not seen since 12 October"


def zones(
    names: Sequence[tuple[str, str]],
    gauges: Sequence[ZoneGauge],
    *,
    notes: Sequence[str] = (),
    width: float = 680,
    embedded: bool = True,
    prefix: str = "z",
) -> Drawing:
    """Draw them: zones beside each other on the desk, under each other on a phone; `names`: of the zones, and ends."""
    modules = tuple(dict.fromkeys(gauge.module for gauge in gauges))
    beside = width >= DESK
    name = max((room(module, 14, True) for module in modules), default=0.0) + 18
    across = (width - name - 8) / len(names) if beside else width - name - 8
    block = HEAD + ROW * len(modules)
    painted: list[Markup] = []
    for number, (head, ends) in enumerate(names):
        x, y = (name + across * number, 0.0) if beside else (name, block * number)
        painted += [words(x, y + 18, head, "d b"), words(x, y + 34, ends, "small soft")]
        ones = {gauge.module: gauge for gauge in gauges if gauge.zone == number}
        most = max((max(one.limit, one.widest or 0.0) for one in ones.values()), default=1.0) * 1.15
        for row, module in enumerate(modules):
            low = y + HEAD + ROW * row
            if number == 0 or not beside:
                painted.append(words(8, low + 16, fitted(module, name - 12, 14, True), "d b"))
            if module in ones:
                hatch = f"url(#{prefix}-hatch)"
                painted.append(_gauge(ones[module], (x, low, across - 18), most, hatch))
    y = block * (1 if beside else len(names)) + 8
    for text in (part for note in notes for part in wrapped(note, width - 16, 13)):
        y += 17
        painted.append(words(8, y, text, "d soft"))
    desc = "; ".join(f"{one.module}, {names[one.zone][0]}: {one.words}" for one in gauges)
    body = joined(painted)
    return sheet(width, y + 14, "Spread of cells by zone", desc, prefix, body=body, cls="zones", embedded=embedded)


def _gauge(one: ZoneGauge, place: tuple[float, float, float], most: float, hatch: str) -> Markup:
    x, y, wide = place
    scale = wide / most
    stop = x + one.limit * scale
    parts = [line(x, y + 18, x + wide, y + 18, "hair2")]
    if one.usual is None or one.widest is None:
        parts.append(box(x, y + 5, min(wide, stop - x), 12, "gapbox"))
    else:
        parts.append(box(stop, y + 5, x + wide - stop, 13, "hatch", fill=hatch))
        inside = min(one.usual, one.limit)
        parts.append(box(x, y + 7, max(inside * scale, 1.0), 11, "fill"))
        if one.usual > one.limit:
            parts.append(box(stop, y + 7, (one.usual - one.limit) * scale, 11, "fill over"))
        end = x + one.widest * scale
        parts.append(_bracket(x + one.usual * scale, end, y + 3))
    parts += [line(stop, y + 2, stop, y + 20, "stop2")]
    parts.append(words(x, y + 33, fitted(one.words, wide + 14, 12), "small"))
    return group(*parts, title=f"{one.module}: {one.words}", data_place=one.module)


def _bracket(low: float, high: float, y: float) -> Markup:
    path = points("M", low, y + 4, "V", y, "H", high, "V", y + 4)
    return element("path", d=path, cls="range")
