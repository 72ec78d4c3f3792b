"""Cards: a label over its value, or a value over its label, in letters of another hand, again and again.

Gives: carded().
Takes: the lines of cells of a page.
Limits: short values; where the two hands meet fewer than four times there are no cards. A table under bold headings is
none: its headings stand over many lines.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from bankwright.sheets.columns import is_value
from bankwright.sheets.grid import joined
from bankwright.sheets.row import Cell

__all__ = ["carded"]

FEWEST = 4  # cards of a page
NEAR = 4.0  # points: cells of one card begin at one x, or are centred alike
LONGEST = 60  # letters of a value
MOST = 3  # lines of a label or a value
Line = tuple[Cell, ...]
Hand = tuple[int, bool]


@dataclass
class _Card:
    upper: list[Cell]
    lower: list[Cell]


def carded(lines: Sequence[Line]) -> list[Line]:
    """The same lines, where each card is a line of a label and a value."""
    cells = sorted((cell for line in lines for cell in line), key=lambda c: (c.top, c.x0))
    under = {id(cell): below for cell in cells if (below := _below(cell, cells))}
    met = Counter((_hand(c), _hand(under[id(c)])) for c in cells if id(c) in under)
    pairs = [hands for hands, often in met.items() if hands[0] != hands[1] and often >= FEWEST]
    for hands in sorted(pairs, key=lambda hands: -met[hands]):
        cards = _cards(cells, under, hands)
        labels = _labels(cards)
        if labels and len(cards) >= FEWEST and _scattered(cards):
            return _with_cards(lines, cards, labels == "upper")
    return list(lines)


def _hand(cell: Cell) -> Hand:
    return (round(2 * cell.size), cell.bold)


def _below(cell: Cell, cells: Sequence[Cell]) -> Cell | None:
    """The nearest cell that stands right under another: at its left edge or its middle."""
    found = [
        c
        for c in cells
        if c is not cell
        and -0.3 * cell.size < c.top - cell.bottom < 0.9 * max(cell.size, c.size)
        and (abs(c.x0 - cell.x0) < NEAR or abs(c.x0 + c.x1 - cell.x0 - cell.x1) < 2 * NEAR)
    ]
    return min(found, key=lambda c: (c.top, abs(c.x0 - cell.x0)), default=None)


def _cards(cells: Sequence[Cell], under: dict[int, Cell], hands: tuple[Hand, Hand]) -> list[_Card]:
    """Runs of cells of the first hand with those of the second right under them."""
    lower_ids = {id(below) for key, below in under.items()}
    cards = []
    for cell in cells:
        above_same = id(cell) in lower_ids and any(
            under.get(id(c)) is cell and _hand(c) == hands[0] for c in cells if _hand(c) == hands[0]
        )
        if _hand(cell) != hands[0] or above_same:
            continue
        upper, at = [cell], under.get(id(cell))
        while at is not None and _hand(at) == hands[0]:
            upper.append(at)
            at = under.get(id(at))
        lower: list[Cell] = []
        while at is not None and _hand(at) == hands[1]:
            lower.append(at)
            at = under.get(id(at))
        if lower and len(upper) <= MOST and len(lower) <= MOST:
            cards.append(_Card(upper, lower))
    return cards


def _scattered(cards: Sequence[_Card]) -> bool:
    """Whether cards stand at several heights, most with one line each: what heads a table stands at one."""
    heights = {round(card.upper[0].top) for card in cards}
    single = sum(len(card.lower) == 1 for card in cards)
    return len(heights) >= 2 and single >= 0.7 * len(cards)


def _labels(cards: Sequence[_Card]) -> str:
    """Which half of the cards holds the labels; empty where they are no cards."""
    if not cards:
        return ""
    upper = [joined(card.upper).text for card in cards]
    lower = [joined(card.lower).text for card in cards]
    for name, labels, values in (("upper", upper, lower), ("lower", lower, upper)):
        told = sum(is_value(text) or bool(re.search(r"\d", text)) for text in values)
        short = sum(len(text) <= LONGEST for text in values)
        worded = sum(not is_value(text) and bool(re.search(r"[^\W\d_]{3}", text)) for text in labels)
        if told >= 0.6 * len(cards) and short >= 0.9 * len(cards) and worded >= 0.8 * len(cards):
            return name
    return ""


def _with_cards(lines: Sequence[Line], cards: Sequence[_Card], upper: bool) -> list[Line]:
    gone = {id(cell) for card in cards for cell in (*card.upper, *card.lower)}
    out: list[Line] = [left for line in lines if (left := tuple(c for c in line if id(c) not in gone))]
    for card in cards:
        label, value = joined(card.upper if upper else card.lower), joined(card.lower if upper else card.upper)
        top, bottom = min(label.top, value.top), max(label.bottom, value.bottom)
        beside = label.x1 + 8
        value = replace(value, x0=beside, x1=beside + value.x1 - value.x0, top=top, bottom=bottom, size=label.size)
        out.append(
            (
                replace(label, top=top, bottom=bottom, bold=False, fixed=True),
                replace(value, bold=False, fixed=True),
            )
        )
    return sorted(out, key=lambda line: (round(min(cell.bottom for cell in line)), line[0].x0))
