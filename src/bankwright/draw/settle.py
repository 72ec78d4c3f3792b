"""Settling currents after joining: time on a log scale, both stops as walls, a band where the values have one.

Gives: Curve, settle(), settle_volts(). Curves are told apart by their dash, which stands beside the
name with the words "gives" or "takes"; over four modules the dashes come again and a name stands on each curve.
Limits: draws what it is given; the currents are computed elsewhere.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from bankwright.draw.paint.currents import amperes
from bankwright.draw.pen.paper import Drawing, sheet
from bankwright.draw.pen.svg import Markup, box, element, group, joined, line, points, words

__all__ = ["Curve", "settle", "settle_volts"]

MARKS = (
    (0.1, "0.1 s"),
    (1.0, "1 s"),
    (10.0, "10 s"),
    (60.0, "1 min"),
    (600.0, "10 min"),
    (3600.0, "1 h"),
    (36000.0, "10 h"),
)
LEFT, TOP, FOOT, DASHES, COLUMNS = 66.0, 22.0, 48.0, 4, 6
Said = Callable[[float], str]


@dataclass(frozen=True, slots=True)
class Curve:
    """One module over time: current, positive gives, negative takes [A], or voltage [V]; its band where it is known."""

    name: str
    current: tuple[float, ...]
    low: tuple[float, ...] = ()
    high: tuple[float, ...] = ()


class _Plot:
    """From time and amperes to places."""

    def __init__(self, times: Sequence[float], floor: float, roof: float, width: float, height: float) -> None:
        self.left, self.right, self.top, self.low = LEFT, width - 16, TOP, height - FOOT
        self.first, self.last = math.log10(min(times)), math.log10(max(times))
        self.floor, self.roof = floor, roof

    def x(self, time: float) -> float:
        part = (math.log10(time) - self.first) / (self.last - self.first or 1.0)
        return self.left + (self.right - self.left) * part

    def y(self, value: float) -> float:
        return self.low - (self.low - self.top) * (value - self.floor) / (self.roof - self.floor)


def _volts(value: float) -> str:
    return f"{value:.2f} V"


def _signed(value: float) -> str:
    return "0 A" if value == 0 else f"{'+' if value > 0 else ''}{amperes(value)}"


def _step(span: float) -> float:
    size = 10.0 ** math.floor(math.log10(max(span, 1e-6) / 6.0))
    return next(s * size for s in (1.0, 2.0, 2.5, 5.0, 10.0, 20.0) if span / (s * size) <= 6.0)


def _grid(plot: _Plot, stops: tuple[float | None, float | None], said_of: Said = _signed) -> list[Markup]:
    painted = [box(plot.left, plot.top, plot.right - plot.left, plot.low - plot.top, "plot")]
    for time, said in MARKS:
        if plot.first - 1e-9 <= math.log10(time) <= plot.last + 1e-9:
            x = plot.x(time)
            painted += [line(x, plot.top, x, plot.low, "hair"), words(x, plot.low + 18, said, "d mid")]
    step = _step(plot.roof - plot.floor)
    for k in range(math.ceil(plot.floor / step), math.floor(plot.roof / step) + 1):
        value, y = k * step, plot.y(k * step)
        if all(stop is None or abs(y - plot.y(stop)) > 15 for stop in stops):
            painted += [
                line(plot.left, y, plot.right, y, "hair" if k else "thin"),
                words(plot.left - 8, y + 4.5, said_of(value), "d end"),
            ]
    return painted


def _walls(plot: _Plot, stops: tuple[float | None, float | None], hatch: str) -> list[Markup]:
    painted: list[Markup] = []
    for stop, said in zip(stops, ("takes", "gives"), strict=True):
        if stop is not None:
            y, edge = plot.y(stop), plot.top if said == "gives" else plot.low
            painted += [
                box(plot.left, min(y, edge), plot.right - plot.left, abs(edge - y), "hatch", fill=hatch),
                line(plot.left, y, plot.right, y, "stop"),
                words(plot.left - 8, y + 4.5, _signed(stop), "d b end"),
                words(plot.right - 8, y + (15 if said == "gives" else -7), f"limit, {said}", "d b end halo"),
            ]
    return painted


def _curves(
    plot: _Plot, times: Sequence[float], curves: Sequence[Curve], said: Callable[[Curve], str] | None = None
) -> list[Markup]:
    painted: list[Markup] = []
    for k, curve in enumerate(curves):
        parts: list[Markup] = []
        if curve.low and curve.high:
            there = [(plot.x(t), plot.y(v)) for t, v in zip(times, curve.high, strict=True)]
            back = [(plot.x(t), plot.y(v)) for t, v in zip(times, curve.low, strict=True)]
            parts.append(element("path", d=_polyline([*there, *reversed(back)]) + "Z", cls="band"))
        path = [(plot.x(t), plot.y(v)) for t, v in zip(times, curve.current, strict=True)]
        parts.append(element("path", d=_polyline(path), cls=f"curve c{k % DASHES}"))
        painted.append(group(*parts, title=(said or _said)(curve), data_place=curve.name))
    return painted


def _on_curves(plot: _Plot, times: Sequence[float], curves: Sequence[Curve]) -> list[Markup]:
    """A name on each curve where more curves than dashes are drawn; neighbours stand in different columns."""
    if len(curves) <= DASHES:
        return []
    painted: list[Markup] = []
    rows = sorted(curves, key=lambda curve: -curve.current[0])
    for k, curve in enumerate(rows):
        x = plot.left + 26 + (k % COLUMNS) * 44
        nearest = min(range(len(times)), key=lambda n: abs(plot.x(times[n]) - x))
        painted.append(words(x, plot.y(curve.current[nearest]) + 4.5, curve.name, "d b mid halo"))
    return painted


def _hull(curves: Sequence[Curve]) -> list[Curve]:
    """One band for all where many would only darken each other."""
    if len(curves) <= 2 or not all(curve.low and curve.high for curve in curves):
        return list(curves)
    low = tuple(min(values) for values in zip(*(curve.low for curve in curves), strict=True))
    high = tuple(max(values) for values in zip(*(curve.high for curve in curves), strict=True))
    first, *rest = curves
    return [replace(first, low=low, high=high), *(replace(curve, low=(), high=()) for curve in rest)]


def _polyline(path: list[tuple[float, float]]) -> str:
    return points("M", *path[0], *(part for point in path[1:] for part in ("L", *point)))


def _said(curve: Curve) -> str:
    first = curve.current[0]
    return f"{curve.name} {'gives' if first >= 0 else 'takes'} {amperes(abs(first))}"


def _names(curves: Sequence[Curve], width: float, y: float, said: Callable[[Curve], str] | None = None) -> list[Markup]:
    """Names under the plot, each beside its own dash, in columns."""
    across = max(1, int((width - LEFT) // 150))
    painted: list[Markup] = []
    for k, curve in enumerate(curves):
        x, row = LEFT + (k % across) * 150, y + (k // across) * 18
        painted += [
            line(x, row - 4.5, x + 26, row - 4.5, f"curve c{k % DASHES}"),
            words(x + 32, row, (said or _said)(curve), "d b"),
        ]
    return painted


def settle(
    times: Sequence[float],
    curves: Sequence[Curve],
    stops: tuple[float | None, float | None] = (None, None),
    *,
    width: float = 560,
    height: float = 330,
    embedded: bool = True,
    prefix: str = "t",
) -> Drawing:
    """Draw currents over time (s, above 0); `stops`: most that a module may take (negative) and give. [A]"""
    values = [v for c in curves for v in (*c.current, *c.low, *c.high)] + [s for s in stops if s is not None] + [0.0]
    margin = 0.12 * (max(values) - min(values) or 1.0)
    plot = _Plot(times, min(values) - margin, max(values) + margin, width, height)
    rows = math.ceil(len(curves) / max(1, int((width - LEFT) // 150)))
    painted = [*_grid(plot, stops), *_walls(plot, stops, f"url(#{prefix}-hatch)"), *_curves(plot, times, curves)]
    painted += _on_curves(plot, times, curves)
    painted.append(
        words((plot.left + plot.right) / 2, height - 8, "time after the last breaker is closed", "d soft mid")
    )
    painted += _names(curves, width, height + 18)
    desc = "; ".join(map(_said, curves)) + " at first"
    return sheet(
        width,
        height + 12 + 18 * rows,
        "Settling currents",
        desc,
        prefix,
        body=joined(painted),
        cls="settle",
        embedded=embedded,
    )


def _said_volts(curve: Curve) -> str:
    return f"{curve.name} {_volts(curve.current[0])}"


def settle_volts(
    times: Sequence[float],
    curves: Sequence[Curve],
    *,
    width: float = 560,
    height: float = 330,
    embedded: bool = True,
    prefix: str = "tv",
) -> Drawing:
    """Draw voltages at the modules' posts over time (s, above 0); over two modules one band for all. [V]"""
    values = [v for c in curves for v in (*c.current, *c.low, *c.high)]
    margin = 0.12 * (max(values) - min(values) or 0.1)
    plot = _Plot(times, min(values) - margin, max(values) + margin, width, height)
    rows = math.ceil(len(curves) / max(1, int((width - LEFT) // 150)))
    painted = [*_grid(plot, (None, None), _volts), *_curves(plot, times, _hull(curves), _said_volts)]
    axis = words((plot.left + plot.right) / 2, height - 8, "time after the last breaker is closed", "d soft mid")
    painted += [axis, *_names(curves, width, height + 18, _said_volts)]
    desc = "; ".join(map(_said_volts, curves)) + " at first"
    return sheet(
        width,
        height + 12 + 18 * rows,
        "Settling voltages",
        desc,
        prefix,
        body=joined(painted),
        cls="settle",
        embedded=embedded,
    )
