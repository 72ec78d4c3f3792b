"""Charts in the manner of the gauge: shares of the modules, charge that readings allow, pieces to cut.

Gives: shares(), charge_ranges(), cut_plan(); each takes plain values. One ruled line a row, one stop through all where
all have the same limit. No legend boxes; the numbers stand in the chart and belong in a table beneath it.
Limits: settling currents are in settle; the gauge of a finding is in gauge.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from bankwright.bank.model import Bank
from bankwright.draw.paint.assumed import HIGH, assumed_lines, painted_assumed
from bankwright.draw.paint.currents import Currents, amperes, reading
from bankwright.draw.pen.letters import fitted, room
from bankwright.draw.pen.paper import Drawing, sheet
from bankwright.draw.pen.svg import Markup, box, element, group, joined, line, points, words
from bankwright.forms.wording import amount_text

__all__ = ["ChargeRange", "Cut", "charge_ranges", "cut_plan", "shares"]

ROW = 34.0


def _bracket(low: float, high: float, y: float) -> Markup:
    """Bracket over a row: from the lowest to the highest value."""
    path = points("M", low, y, "v", 7.0, "m", 0.0, -3.5, "H", high, "m", 0.0, -3.5, "v", 7.0)
    return element("path", d=path, cls="range")


def _share_row(
    name: str,
    amount: float,
    limit: float | None,
    band: tuple[float, float] | None,
    y: float,
    *,
    left: float,
    scale: float,
    w: float,
) -> Markup:
    over = limit is not None and amount > limit
    inside = min(amount, limit) if limit is not None else amount
    parts = [words(8, y, fitted(name, left - 14, 16, True), "mod"), line(left, y, w - 66, y, "hair2")]
    parts.append(box(left, y - 11, inside * scale, 11, "fill"))
    if over and limit is not None:
        parts.append(box(left + limit * scale, y - 11, (amount - limit) * scale, 11, "fill over"))
    if band is not None and band[1] > band[0]:
        parts.append(_bracket(left + band[0] * scale, left + band[1] * scale, y - 20))
    parts.append(words(w - 8, y, amperes(amount), "fig end"))
    said = "limit not given" if limit is None else f"limit {amperes(limit)}"
    return group(*parts, title=f"{name}: {amperes(amount)}, {said}", data_place=name)


def _stops(
    limits: Sequence[float | None], top: float, left: float, scale: float, edge: float, *, hatch: str
) -> list[Markup]:
    """The wall: one stop through all rows, or one a row; rows without a limit have an empty dashed frame."""
    common = set(limits)
    if len(common) == 1 and None not in common:
        x = left + (limits[0] or 0.0) * scale
        low = top + len(limits) * ROW
        wall = box(x, top - 8, edge - x, low - top + 8, "hatch", fill=hatch)
        label = words(x, low + 22, f"limit {amperes(limits[0] or 0.0)}", "d b mid")
        return [wall, line(x, top - 10, x, low + 6, "stop"), label]
    painted: list[Markup] = []
    for row, limit in enumerate(limits):
        y = top + row * ROW + 4
        if limit is None:
            painted.append(box(edge - 60, y + 4, 60, 16, "gapbox"))
            continue
        x = left + limit * scale
        painted += [box(x, y, edge - x, 20, "hatch", fill=hatch), line(x, y - 2, x, y + 22, "stop2")]
    return painted


def shares(
    bank: Bank,
    solution: Currents | Mapping[str, float],
    bands: Mapping[str, tuple[float, float]] | None = None,
    *,
    width: float = 560,
    embedded: bool = True,
    prefix: str = "s",
) -> Drawing:
    """Draw the current of each module against its limit, the lowest slot lowest; `bands`: its range."""
    current = reading(solution)
    rows = [(m, value) for m in reversed(bank.modules) if (value := current(m.name)) is not None]
    limits = [m.kind.charge.continuous if value < 0 else m.kind.discharge.continuous for m, value in rows]
    most = max([abs(v) for _, v in rows] + [1.25 * limit for limit in limits if limit is not None] + [1.0])
    left, top, edge = 52.0, 24.0, width - 66
    scale = (edge - left) / max(most, 1.02 * max([abs(v) for _, v in rows] + [0.0]))
    painted = _stops(limits, top, left, scale, edge, hatch=f"url(#{prefix}-hatch)")
    for row, ((module, value), limit) in enumerate(zip(rows, limits, strict=True)):
        band = (bands or {}).get(module.name)
        span = None if band is None else (min(map(abs, band)), max(map(abs, band)))
        y = top + row * ROW + 24
        painted.append(_share_row(module.name, abs(value), limit, span, y, left=left, scale=scale, w=width))
    low = top + len(rows) * ROW
    painted.append(words(left, low + 22, "0 A", "d soft mid"))
    desc = "; ".join(f"{m.name} {'takes' if v < 0 else 'gives'} {amperes(abs(v))}" for m, v in rows)
    said = assumed_lines(solution, bank.units, width - 16)
    painted += painted_assumed(said, 8, low + 44)
    desc = " ".join([desc, *said])
    high = low + 32 + HIGH * len(said)
    return sheet(
        width, high, "Share of each module", desc, prefix, body=joined(painted), cls="shares", embedded=embedded
    )


@dataclass(frozen=True, slots=True)
class ChargeRange:
    """What a reading allows: lowest and highest state of charge 0..1; None: it allows nothing to be said."""

    name: str
    low: float | None
    high: float | None
    words: str


def charge_ranges(
    rows: Sequence[ChargeRange], *, width: float = 560, embedded: bool = True, prefix: str = "r"
) -> Drawing:
    """Draw what each reading allows: a bracket, and nothing more likely inside it than is known."""
    left = 52.0
    longest = max((room(row.words, 13) for row in rows), default=0.0)
    edge = width - min(longest + 20, width / 2)
    painted: list[Markup] = []
    for k, row in enumerate(rows):
        y = 30 + k * 30.0
        parts = [words(8, y, fitted(row.name, left - 14, 16, True), "mod"), line(left, y, edge, y, "hair2")]
        parts.append(words(width - 8, y, fitted(row.words, width - edge - 12, 13), "d end"))
        if row.low is None or row.high is None:
            parts.append(box(left, y - 13, edge - left, 12, "gapbox"))
        else:
            a, b = (left + (edge - left) * part for part in (row.low, row.high))
            parts += [
                box(a, y - 12, max(b - a, 1.0), 12, "may"),
                line(a, y - 14, a, y, "range"),
                line(b, y - 14, b, y, "range"),
            ]
        painted.append(group(*parts, title=f"{row.name}: {row.words}", data_place=row.name))
    low = 20 + len(rows) * 30.0
    for part in (0.0, 0.25, 0.5, 0.75, 1.0):
        x = left + (edge - left) * part
        painted += [line(x, low - 10, x, low - 3, "hair2"), words(x, low + 14, f"{part * 100:.0f} %", "d soft mid")]
    desc = "; ".join(f"{row.name}: {row.words}" for row in rows)
    return sheet(
        width,
        low + 24,
        "Charge that each reading allows",
        desc,
        prefix,
        body=joined(painted),
        cls="ranges",
        embedded=embedded,
    )


@dataclass(frozen=True, slots=True)
class Cut:
    """One length bought and the pieces cut from it: (name, length in m)."""

    name: str
    length: float
    pieces: tuple[tuple[str, float], ...]


def cut_plan(
    rows: Sequence[Cut], *, units: str = "metric", width: float = 600, embedded: bool = True, prefix: str = "c"
) -> Drawing:
    """Draw lengths and their pieces to one scale; what is left over stays open at the end."""
    left = 16.0
    longest = max((row.length for row in rows), default=1.0)
    scale = (width - 2 * left) / longest
    painted: list[Markup] = []
    for k, row in enumerate(rows):
        y = 44 + k * 74.0
        rest = row.length - sum(length for _, length in row.pieces)
        whole, over = (amount_text(value, "length", units) for value in (row.length, max(rest, 0.0)))
        head = f"{row.name}, {whole}, {over} left over"
        painted.append(words(left, y - 8, fitted(head, width - 2 * left, 13, True), "b"))
        painted.append(box(left, y, row.length * scale, 30, "free"))
        painted += _pieces(row, left, y, scale, units)
    desc = "; ".join(f"{row.name}: {', '.join(name for name, _ in row.pieces)}" for row in rows)
    return sheet(
        width,
        40 + len(rows) * 74.0,
        "Cut plan, to scale",
        desc,
        prefix,
        body=joined(painted),
        cls="cuts",
        embedded=embedded,
    )


def _pieces(row: Cut, left: float, y: float, scale: float, units: str) -> list[Markup]:
    """The pieces of one length; a name that does not fit is left to the title."""
    painted, x = [], left
    for name, length in row.pieces:
        said, across = amount_text(length, "length", units), length * scale
        parts = [box(x, y, across, 30, "face")]
        if room(name, 13, True) <= across - 4:
            parts.append(words(x + across / 2, y + 20, name, "b mid"))
        if room(said, 12) <= across - 2:
            parts.append(words(x + across / 2, y + 45, said, "small soft mid"))
        painted.append(group(*parts, title=f"{name}, {said}", data_place=name))
        x += across
    return painted
