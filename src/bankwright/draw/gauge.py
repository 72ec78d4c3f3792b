"""The rule and the stop of a finding: one gauge, stretched to its column.

Gives: gauge() of a finding, rule() of plain values. Filled bar to the nominal, thin upright at the nominal, bracket for
the range, stop at the limit, the forbidden side hatched. "At least" mirrors it. No limit given: an empty dashed frame.
Places are per cent, letters px: the drawing fits 290 to 520 px.
Limits: one figure, one quantity; the sentence above it is forms/finding_text.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bankwright.draw.pen.letters import room
from bankwright.draw.pen.paper import Drawing, sheet
from bankwright.draw.pen.svg import Markup, element, joined
from bankwright.forms.finding import Finding
from bankwright.forms.finding_text import against, verdict_text
from bankwright.forms.wording import Figure, amount_text, shown_unit, unit_text

__all__ = ["gauge", "rule"]

HIGH, GROUND = 54.0, 30.0
NARROW = 290.0  # px, the least width that the drawing has to fit
STEPS = (1.0, 2.0, 2.5, 5.0)


@dataclass(frozen=True, slots=True)
class _Axis:
    """From a value to a place in per cent."""

    start: float
    full: float

    def at(self, value: float) -> float:
        """Place of a value, inside the ruled line."""
        inside = min(max(value, self.start), self.full)
        return 3.0 + 94.0 * (inside - self.start) / (self.full - self.start)


@dataclass(frozen=True, slots=True)
class _Label:
    """Words under the line, with the room they need in the narrowest column."""

    words: str
    place: float
    anchor: str
    bold: bool = True

    def meets(self, other: _Label) -> bool:
        """True when the two would touch in a column of the least width."""
        return self._left < other._right and other._left < self._right

    @property
    def width(self) -> float:
        """Part of the narrowest column, in per cent."""
        return (room(self.words, 13, self.bold) + 6) / NARROW * 100

    @property
    def _left(self) -> float:
        return self.place - {"start": 0.0, "mid": 0.5, "end": 1.0}[self.anchor] * self.width

    @property
    def _right(self) -> float:
        return self._left + self.width


def _line(a: float, y1: float, b: float, y2: float, cls: str) -> Markup:
    return element("line", x1=f"{a:.1f}%", y1=y1, x2=f"{b:.1f}%", y2=y2, cls=cls)


def _bar(a: float, b: float, y: float, height: float, cls: str, *, fill: str | None = None) -> Markup:
    return element("rect", x=f"{min(a, b):.1f}%", y=y, width=f"{abs(b - a):.1f}%", height=height, cls=cls, fill=fill)


def _say(a: float, y: float, words: str, cls: str) -> Markup:
    return element("text", words, x=f"{a:.1f}%", y=y, cls=cls)


def _axis(figure: Figure, least: float | None, most: float | None) -> _Axis:
    ends = [figure.value if end is None else end for end in (figure.low, figure.high)]
    values = [v for v in (figure.value, *ends, least, most) if v is not None and math.isfinite(v)]
    low, high = min(values), max(values)
    span = high - low or abs(high) or 1.0
    if low < 0 or figure.quantity.startswith("temperature"):
        return _Axis(low - 0.15 * span, high + 0.2 * span)
    start = 0.0 if least is None else min(least * 0.8, low * 0.97)
    full = high + 0.15 * (high - start)
    if most is not None:
        full = max(full, most * 1.25 if least is None else most + 0.12 * span)
    elif least is None:
        full = high * 1.75
    return _Axis(start, full if full > start else start + 1.0)


def _step(axis: _Axis, factor: float) -> float:
    """A round step in the printed unit that leaves at most six parts."""
    width = (axis.full - axis.start) / factor
    size = 10.0 ** math.floor(math.log10(width / 6.0))
    return next(s * size for s in (*STEPS, 10.0, 20.0) if width / (s * size) <= 6.0)


def _ticks(axis: _Axis, figure: Figure, units: str, labels: list[_Label]) -> list[Markup]:
    unit = shown_unit(figure.value or axis.full, figure.quantity, units)
    step = _step(axis, unit.factor)
    first = math.ceil((axis.start - unit.offset) / unit.factor / step - 1e-9)
    last = math.floor((axis.full - unit.offset) / unit.factor / step + 1e-9)
    painted: list[Markup] = []
    named = f" {unit_text(unit.symbol)}".rstrip()  # the first number carries the unit
    for k in range(first, last + 1):
        place = axis.at(k * step * unit.factor + unit.offset)
        painted.append(_line(place, GROUND, place, GROUND + 7, "hair2"))
        written = _Label(f"{k * step:.6g}{named}".replace("-", "−"), place, _anchor(place), bold=False)
        if not any(written.meets(label) for label in labels):
            painted.append(_say(place, GROUND + 20, written.words, f"d soft {written.anchor}"))
            named = ""
    return painted


def _anchor(place: float) -> str:
    return "start" if place < 8 else "end" if place > 92 else "mid"


def _fills(axis: _Axis, value: float, least: float | None, most: float | None) -> list[Markup]:
    """The bar: from the left, or from the right where there is only a least value; what lies beyond its stop apart."""
    at = axis.at
    if most is None and least is not None:
        parts = [_bar(at(max(value, least)), 97, GROUND - 12, 12, "fill")]
        return [*parts, _bar(at(value), at(least), GROUND - 12, 12, "fill over")] if value < least else parts
    stop = math.inf if most is None else most
    parts = [_bar(3, at(min(value, stop)), GROUND - 12, 12, "fill")]
    if value > stop:
        parts.append(_bar(at(stop), at(value), GROUND - 12, 12, "fill over"))
    if least is not None and value < least:
        parts.append(_bar(at(value), at(least), GROUND - 12, 12, "fill over"))
    return parts


def _labels(axis: _Axis, figure: Figure, least: float | None, most: float | None, units: str) -> list[_Label]:
    """What stands under the stops; of two, one at each end of the line, so that they fit the narrowest column."""
    found = []
    for limit, word, end in ((least, "at least", "start"), (most, "limit", "end")):
        if limit is not None:
            place = axis.at(limit)
            words = f"{word} {amount_text(limit, figure.quantity, units)}"
            half = _Label(words, place, "mid").width / 2
            anchor = end if least is not None and most is not None else "mid"
            if anchor == "mid" and not 1 <= place - half < place + half <= 99:
                anchor = "start" if place < 50 else "end"
            found.append(_Label(words, {"start": 3.0, "end": 97.0, "mid": place}[anchor], anchor))
    return found


def _walls(axis: _Axis, least: float | None, most: float | None, hatch: str) -> list[Markup]:
    painted = []
    for limit, edge in ((least, 3.0), (most, 97.0)):
        if limit is not None:
            place = axis.at(limit)
            painted.append(_bar(place, edge, 5, GROUND - 5, "hatch", fill=hatch))
            painted.append(_line(place, 2, place, GROUND + 9, "stop"))
    return painted


def _range(axis: _Axis, figure: Figure) -> list[Markup]:
    low, high = figure.low, figure.high
    if low is None or high is None or not low < high:
        return []
    a, b, at = axis.at(low), axis.at(high), axis.at(figure.value)
    return [
        _line(a, 10, b, 10, "range"),
        _line(a, 6, a, 14, "range"),
        _line(b, 6, b, 14, "range"),
        _line(at, 4, at, GROUND, "nominal"),
    ]


def rule(
    figure: Figure,
    limits: tuple[float | None, float | None],
    verdict: str,
    words: str,
    *,
    units: str = "metric",
    prefix: str = "g",
    embedded: bool = True,
) -> Drawing:
    """Draw a figure against its limits (at least, at most); `words` is the whole line for the ear."""
    least, most = (None if limit is None or not math.isfinite(limit) else limit for limit in limits)
    axis, hatch = _axis(figure, least, most), f"url(#{prefix}-hatch)"
    labels = _labels(axis, figure, least, most, units)
    parts = [_line(3, GROUND, 97, GROUND, "thin"), *_walls(axis, least, most, hatch)]
    parts += [_say(label.place, GROUND + 21, label.words, f"d b {label.anchor}") for label in labels]
    parts += _ticks(axis, figure, units, labels)
    parts += _fills(axis, figure.value, least, most)
    if not labels:
        ends = [end for end in (figure.value, figure.low, figure.high) if end is not None]
        left = min(axis.at(max(ends)) + 4.0, 62.0)
        parts += [_bar(left, 97, 5, GROUND - 5, "gapbox"), _say((left + 97) / 2, 22, "limit not given", "d b mid")]
    parts += _range(axis, figure)
    return sheet(
        300, HIGH, words, "", prefix, body=joined(parts), cls=f"rule {verdict}", embedded=embedded, stretch=True
    )


def gauge(finding: Finding, *, units: str = "metric", prefix: str = "g", embedded: bool = True) -> Drawing | None:
    """Draw the rule and the stop of a finding; None where it has no figure to draw."""
    figure = finding.figure
    if figure is None or not math.isfinite(figure.value):
        return None
    words = f"{against(finding, units)}: {verdict_text(finding.verdict)}"
    return rule(figure, finding.limits, finding.verdict, words, units=units, prefix=prefix, embedded=embedded)
