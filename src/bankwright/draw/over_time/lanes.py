"""Lanes: figures over one axis of time, each with its band, its wall and its gaps.

Gives: Series, Point, Flag, lanes(). Grey is the 95 % band, the line what is most likely; a dashed box is a gap, a
dashed frame a stretch in which the band alone can be told; the wall stands at the limit, the forbidden side is hatched;
what lies beyond today is dashed. Flags are numbered boxes on dotted uprights, their words stand below.
Limits: draws what it is given; each lane has a scale of its own, its marks say which.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from bankwright.draw.over_time.axes import TimeAxis, ValueAxis, runs, stretches
from bankwright.draw.pen.letters import fitted, room, wrapped
from bankwright.draw.pen.paper import Drawing, sheet
from bankwright.draw.pen.svg import Markup, box, circle, element, group, joined, line, points, words

__all__ = ["Flag", "Point", "Series", "lanes"]

Said = Callable[[float], str]
DESK = 620.0  # px from which names stand beside the lanes
TOP, FOOT, ROW = 14.0, 30.0, 18.0
HEAD = 24.0  # px of a lane's own line on a phone
LEAST_GAP = 3.0  # px below which a gap is no box


@dataclass(frozen=True, slots=True)
class Point:
    """One value by itself: when, what it gave, between what it lies; a test is a ring and stands out, else a square."""

    time: float
    value: float
    low: float
    high: float
    is_test: bool = False


@dataclass(frozen=True, slots=True)
class Flag:
    """Something happened at a moment; its words stand below the lanes."""

    time: float
    words: str


@dataclass(frozen=True, slots=True)
class Series:
    """One lane. Times in s since 1970; NaN is a gap; `figure` and `under` stand at its end, in words."""

    name: str
    time: tuple[float, ...]
    value: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    wall: float | None = None
    is_least: bool = False  # the wall is a least value: the forbidden side lies below it
    figure: str = ""
    under: str = ""
    points: tuple[Point, ...] = ()
    today: float | None = None  # what comes after is not told but carried on
    ends: tuple[float, float] | None = None  # of the scale, where it is fixed
    marks: tuple[float, ...] = ()  # values on the scale; without them nought and the wall


@dataclass(frozen=True, slots=True)
class _Place:
    """Where lanes stand on a sheet of this width."""

    width: float
    left: float
    right: float
    high: float  # of a plot

    @property
    def beside(self) -> bool:
        """Names and figures stand beside the plot, not above it."""
        return self.width >= DESK


def lanes(
    series: Sequence[Series],
    said: Said,
    title: str,
    *,
    flags: Sequence[Flag] = (),
    span: tuple[float, float] | None = None,
    notes: Sequence[str] = (),
    width: float = 680,
    high: float = 62,
    embedded: bool = True,
    prefix: str = "l",
) -> Drawing:
    """Draw them under each other; `said` prints a value with its unit, `notes` stand below."""
    place = _place(series, said, width, high)
    begin, end = span or _span(series)
    across = TimeAxis(begin, end, place.left, place.right)
    painted: list[Markup] = []
    y = TOP
    for one in series:
        y += 0.0 if place.beside else HEAD
        painted.append(_lane(one, said, across, place, y, hatch=f"url(#{prefix}-hatch)"))
        y += high + ROW
    painted += _across(across, place, y - ROW)
    y += FOOT - ROW
    painted += _flags(flags, across, TOP, y)
    y += 26.0 if flags else 0.0
    told = [f"{number} {flag.words}" for number, flag in enumerate(flags, 1)]
    for text in (*told, *notes):
        for part in wrapped(text, width - 16, 13):
            y += 17.0
            painted.append(words(8, y, part, "d soft" if text in notes else "d"))
    desc = "; ".join(f"{one.name}: {one.figure} {one.under}".strip() for one in series)
    return sheet(width, y + 14, title, desc, prefix, body=joined(painted), cls="lanes", embedded=embedded)


def _place(series: Sequence[Series], said: Said, width: float, high: float) -> _Place:
    marks = [said(v) for one in series for v in _marks(one)]
    axis = max((room(text, 12) for text in marks), default=0.0)
    if width < DESK:
        return _Place(width, axis + 16, width - 10, high)
    name = max((room(one.name, 14, True) for one in series), default=0.0)
    told = max((room(text, 13, True) for one in series for text in (one.figure, one.under)), default=0.0)
    return _Place(width, min(name, 130) + axis + 28, width - min(told, 170) - 18, high)


def _span(series: Sequence[Series]) -> tuple[float, float]:
    times = [time for one in series for time in (*one.time, *(point.time for point in one.points))]
    return (min(times), max(times)) if times else (0.0, 86400.0)


def _marks(one: Series) -> tuple[float, ...]:
    if one.marks:
        return one.marks
    return (0.0,) if one.wall is None else (0.0, one.wall)


def _scale(one: Series, top: float, bottom: float) -> ValueAxis:
    """All that is drawn fits; the wall too."""
    if one.ends is not None:
        return ValueAxis(*one.ends, top, bottom)
    values = [v for column in (one.value, one.low, one.high) for v in column if math.isfinite(v)]
    values += [v for point in one.points for v in (point.low, point.high)]
    values += [*_marks(one), *(() if one.wall is None else (one.wall,))]
    low, high = min(values, default=0.0), max(values, default=1.0)
    edge = 0.04 * (high - low)
    low -= 3 * edge if one.is_least else 0.0  # room for what is forbidden
    return ValueAxis(low - (edge if low < 0 else 0.0), high + edge, top, bottom)


def _lane(one: Series, said: Said, across: TimeAxis, place: _Place, y: float, *, hatch: str) -> Markup:
    up = _scale(one, y, y + place.high)
    parts = [*_named(one, place, y), *_ruled(one, said, up, place, hatch), *_gaps(one, across, y, place.high)]
    parts += [*_band(one, across, up), *_curve(one, across, up), *_points(one, across, up)]
    title = f"{one.name}: {one.figure} {one.under}".strip()
    return group(*parts, title=title, data_place=one.name)


def _named(one: Series, place: _Place, y: float) -> list[Markup]:
    if place.beside:
        x, middle = place.right + 10, y + place.high / 2
        told = [words(x, middle - 2, fitted(one.figure, place.width - x - 6, 13, True), "d b")]
        told.append(words(x, middle + 15, fitted(one.under, place.width - x - 6, 13), "d soft"))
        return [words(8, middle + 5, fitted(one.name, 130, 14, True), "d b"), *told]
    name = words(8, y - 8, fitted(one.name, 104, 14, True), "d b")
    text = f"{one.figure}  {one.under}".strip()
    return [name, words(place.width - 8, y - 8, fitted(text, place.width - 124, 13), "d end")]


def _ruled(one: Series, said: Said, up: ValueAxis, place: _Place, hatch: str) -> list[Markup]:
    """Marks of the scale with their units, and the wall."""
    found: list[Markup] = []
    free = math.inf
    for value in sorted(_marks(one)):
        y = up.at(value)
        found.append(line(place.left, y, place.right, y, "hair2" if value == 0 else "hair"))
        if free - y >= 12:  # a mark too near the one below it keeps its line alone
            found.append(words(place.left - 6, y + 4, said(value), "small soft end"))
            free = y
    if one.wall is None:
        return found
    y = up.at(one.wall)
    edge = up.bottom if one.is_least else up.top
    if abs(edge - y) < 8:
        edge = y + (8 if one.is_least else -8)
    found.append(box(place.left, min(y, edge), place.right - place.left, abs(edge - y), "hatch", fill=hatch))
    return [*found, line(place.left, y, place.right, y, "stop2")]


def _gaps(one: Series, across: TimeAxis, y: float, high: float) -> list[Markup]:
    found = []
    for begin, end in stretches(one.time, one.low, one.high):
        left, right = across.at(begin), across.at(end)
        if right - left >= LEAST_GAP:
            found.append(group(box(left, y + 2, right - left, high - 4, "gapbox"), title="nothing was heard"))
    return found


def _band(one: Series, across: TimeAxis, up: ValueAxis) -> list[Markup]:
    """Grey where a figure is told; a dashed frame where only the band is, or where it is carried on."""
    found = []
    for run in runs(one.time, one.low, one.high):
        for is_told, part in _alike(one, run):
            upper = [c for k in part for c in (across.at(one.time[k]), up.at(one.high[k]))]
            lower = [c for k in reversed(part) for c in (across.at(one.time[k]), up.at(one.low[k]))]
            path = points("M", *upper, "L", *lower, "Z")
            found.append(element("path", d=path, cls="band" if is_told else "may"))
    return found


def _alike(one: Series, run: list[int]) -> list[tuple[bool, list[int]]]:
    """A run cut where the figure begins or ends to be told; both pieces share the place of the cut."""
    pieces: list[tuple[bool, list[int]]] = []
    for k in run:
        is_told = math.isfinite(one.value[k]) and (one.today is None or one.time[k] <= one.today)
        if pieces and pieces[-1][0] == is_told:
            pieces[-1][1].append(k)
        else:
            pieces.append((is_told, [*(pieces[-1][1][-1:] if pieces else []), k]))
    return pieces


def _curve(one: Series, across: TimeAxis, up: ValueAxis) -> list[Markup]:
    found = []
    for run in runs(one.time, one.value):
        told = [k for k in run if one.today is None or one.time[k] <= one.today]
        ahead = [k for k in run if k not in told]
        for part, cls in ((told, "curve"), ([*told[-1:], *ahead] if ahead else [], "curve c1")):
            if len(part) == 1:
                x, y = across.at(one.time[part[0]]), up.at(one.value[part[0]])
                found.append(line(x - 2, y, x + 2, y, cls))
            elif part:
                path = [c for k in part for c in (across.at(one.time[k]), up.at(one.value[k]))]
                found.append(element("path", d=points("M", *path[:2], "L", *path[2:]), cls=cls))
    return found


def _points(one: Series, across: TimeAxis, up: ValueAxis) -> list[Markup]:
    """Tests last, so that they lie on top: a ring, its range ended by bars."""
    found = []
    for point in sorted(one.points, key=lambda each: each.is_test):
        x, y, low, high = across.at(point.time), up.at(point.value), up.at(point.low), up.at(point.high)
        if not point.is_test:
            found += [line(x, low, x, high, "thin"), box(x - 3, y - 3, 6, 6, "dot")]
            continue
        ends = [line(x - 5, end, x + 5, end, "thin") for end in (low, high)]
        ring = circle(x, y, 5.0, "part")
        found.append(group(line(x, low, x, high, "thin"), *ends, ring, title="capacity test"))
    return found


def _across(across: TimeAxis, place: _Place, bottom: float) -> list[Markup]:
    painted = [line(place.left, bottom, place.right, bottom, "plot")]
    edge = -math.inf
    for time, text in across.marks():
        x, half = across.at(time), room(text, 12) / 2
        painted.append(line(x, bottom, x, bottom + 5, "hair2"))
        x = min(x, place.width - 8 - half)
        if x - half > edge:
            painted.append(words(x, bottom + 18, text, "small soft mid"))
            edge = x + half
    return painted


def _flags(flags: Sequence[Flag], across: TimeAxis, top: float, y: float) -> list[Markup]:
    painted = []
    for number, flag in enumerate(flags, 1):
        x = across.at(flag.time)
        parts = [line(x, top, x, y - 2, "hair2 dash"), box(x - 9, y - 2, 18, 18, "part")]
        painted.append(group(*parts, words(x, y + 12, str(number), "d b mid"), title=flag.words))
    return painted
