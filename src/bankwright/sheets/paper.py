"""A PDF as lines of cells: words that stand together, ruled lines, places on the page.

Gives: PagePlan, NotReadable, read_pages().
Takes: the path of a PDF; pdfplumber (extra `sheets`) reads it.
Limits: text only. A page that is a picture has none: the caller says so. No text recognition.
"""

from __future__ import annotations

import itertools
import logging
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from bankwright.sheets.bands import settled
from bankwright.sheets.bullets import BEGINS, without_bullets
from bankwright.sheets.cards import carded
from bankwright.sheets.colons import hung, is_list, parts_here
from bankwright.sheets.grid import boxed
from bankwright.sheets.letters import usual
from bankwright.sheets.lone import parted_rows
from bankwright.sheets.row import Cell

__all__ = ["NotReadable", "PagePlan", "read_pages"]

MOST_PAGES = 60  # a data sheet has a few; a book is not read
GAP = 0.85  # of the letter size: wider than the blank between two words, narrower than between two columns
SAME_LINE = 0.55  # share of a word's height that overlaps


_FOOTNOTE = re.compile(r"^\(?(?:\d+|[a-f])\)?$")
_POWER = re.compile(r"(?:[mAI]|Hz|V)$")  # a raised two or three after it is a power


class NotReadable(Exception):
    """A file that no value can be read from; the message says why and what would help."""


@dataclass(frozen=True, slots=True)
class PagePlan:
    """One page: its lines of cells from top to bottom, and its ruled lines."""

    number: int
    lines: tuple[tuple[Cell, ...], ...]
    across: tuple[tuple[float, float, float], ...]  # (y, x0, x1)
    upright: tuple[tuple[float, float, float], ...]  # (x, top, bottom)
    turned: tuple[Cell, ...] = ()  # text that runs up or down
    over: Cell | None = None  # heading of a part of a page that stands beside it or above its neighbour


def read_pages(path: Path) -> tuple[PagePlan, ...]:
    """Read the pages of a PDF.

    Raises NotReadable when it is no PDF, is locked, is too long, or has no text.
    """
    plumber = _library()
    try:
        with plumber.open(path) as document:
            if len(document.pages) > MOST_PAGES:
                raise NotReadable(f"It has {len(document.pages)} pages; a data sheet of at most {MOST_PAGES} is read")
            plans = tuple(_plan(number, page) for number, page in enumerate(document.pages, 1))
    except NotReadable:
        raise
    except Exception as error:
        locked = "password" in type(error).__name__.lower() or "password" in str(error).lower()
        why = "It is locked with a password" if locked else "It is no PDF that can be read"
        raise NotReadable(f"{why}; copy the text from a viewer and paste it instead") from error
    letters = sum(len(cell.text) for plan in plans for line in plan.lines for cell in line)
    if letters < 40 * max(1, len(plans)) and letters < 200:
        raise NotReadable(
            "The sheet is only a picture (a scan or an image): it holds no text that could be read. "
            "Type the values, or ask the maker for a sheet with text"
        )
    return plans


def _library() -> Any:
    try:
        import pdfplumber
    except ImportError as error:
        raise NotReadable(
            "Reading a PDF needs the extra `sheets`: pip install 'bankwright[sheets]'. Or paste the sheet's text"
        ) from error
    logging.getLogger("pdfminer").setLevel(logging.ERROR)  # fonts without a box are no news for the person
    return pdfplumber


def _plan(number: int, page: Any) -> PagePlan:
    level = page.filter(lambda thing: thing.get("object_type") != "char" or thing["upright"])
    words = level.extract_words(
        x_tolerance_ratio=0.16,
        y_tolerance=2,
        keep_blank_chars=False,
        extra_attrs=["size", "fontname"],
        use_text_flow=False,
    )
    across = tuple(
        (e["top"], e["x0"], e["x1"]) for e in page.edges if e["orientation"] == "h" and e["x1"] - e["x0"] > 8
    )
    upright = tuple(
        (e["x0"], e["top"], e["bottom"]) for e in page.edges if e["orientation"] == "v" and e["bottom"] - e["top"] > 4
    )
    worded = [without_bullets(line) for line in _lines(words)]
    listed = is_list(worded)
    lines = [line for words_of in worded if (line := tuple(_cells(words_of, upright, listed=listed)))]
    lines = hung(lines) if listed else lines
    lines = carded(boxed(parted_rows(lines), across, upright))
    turned = tuple(_turned([c for c in page.chars if not c["upright"]]))
    return PagePlan(number, settled(lines, across), across, upright, turned)


def _lines(words: Iterable[dict[str, Any]]) -> list[list[dict[str, Any]]]:
    """Words whose heights overlap stand on one line; large letters first, so that raised ones join them."""
    lines: list[list[dict[str, Any]]] = []
    for word in sorted(words, key=lambda w: (-round(w["size"]), w["top"])):
        home = next((line for line in lines if _beside(line[0], word)), None)
        if home is None:
            lines.append([word])
        else:
            home.append(word)
    for line in lines:
        line.sort(key=lambda w: w["x0"])
    return sorted(lines, key=lambda line: min(w["bottom"] for w in line))


def _beside(first: dict[str, Any], word: dict[str, Any]) -> bool:
    shared = min(first["bottom"], word["bottom"]) - max(first["top"], word["top"])
    return bool(shared > SAME_LINE * min(first["bottom"] - first["top"], word["bottom"] - word["top"]))


def _cells(
    line: list[dict[str, Any]], upright: tuple[tuple[float, float, float], ...], *, listed: bool
) -> Iterator[Cell]:
    """Words of a line that stand together; a wide gap, a ruled line, a row of dots or a label's colon parts them.

    What dots join stands on one line and is wrapped onto none.
    """
    held: list[dict[str, Any]] = []
    led = False
    for n, word in enumerate(line):
        if set(word["text"]) <= set(".…_·") and len(word["text"]) > 2:  # leaders
            if held:
                yield replace(_cell(held), fixed=True)
            held, led = [], True
            continue
        if held and (BEGINS in word or _parted(held[-1], word, upright) or (listed and parts_here(held, line[n:]))):
            yield _cell(held)
            held = []
        held.append(word)
    if held:
        yield replace(_cell(held), fixed=True) if led else _cell(held)


def _parted(left: dict[str, Any], right: dict[str, Any], upright: tuple[tuple[float, float, float], ...]) -> bool:
    if right["x0"] - left["x1"] > GAP * max(left["size"], right["size"]):
        return True
    middle = (right["top"] + right["bottom"]) / 2
    return any(left["x1"] - 1 <= x <= right["x0"] + 1 and top <= middle <= bottom for x, top, bottom in upright)


def _cell(words: list[dict[str, Any]]) -> Cell:
    size = max(w["size"] for w in words)
    text = words[0]["text"]
    for left, right in itertools.pairwise(words):
        touching = right["x0"] - left["x1"] < 0.08 * size
        raised = right["size"] < 0.88 * size and _FOOTNOTE.match(right["text"]) and _is_mark(left, right, touching)
        text += ("\u2060" + _mark(right["text"])) if raised else ("" if touching else " ") + right["text"]
    return Cell(
        usual(text.replace("I2t", "I²t")),
        min(w["x0"] for w in words),
        max(w["x1"] for w in words),
        min(w["top"] for w in words if w["size"] >= 0.8 * size),
        max(w["bottom"] for w in words if w["size"] >= 0.8 * size),
        size,
        all("bold" in w["fontname"].lower() or "semi" in w["fontname"].lower() for w in words),
        BEGINS in words[0],
    )


def _is_mark(left: dict[str, Any], right: dict[str, Any], touching: bool) -> bool:
    """Whether a small figure is a mark: apart from its word, or raised and no power."""
    if not touching:
        return True
    power = right["text"] in "23" and _POWER.search(left["text"])
    return bool(right["bottom"] < left["bottom"] - 0.1 * left["size"] and not power)


def _turned(chars: list[dict[str, Any]]) -> Iterator[Cell]:
    """Text that runs up or down the page: letters of one column, in the order in which they are read."""
    for up in (True, False):
        mine = [c for c in chars if (c["matrix"][1] > 0) == up]
        mine.sort(key=lambda c: (round(c["x0"]), -c["bottom"] if up else c["top"]))
        held: list[dict[str, Any]] = []
        for char in [*mine, None]:
            if held and (char is None or _apart(held[-1], char)):
                yield _turned_cell(held)
                held = []
            held += [char] if char else []


def _apart(last: dict[str, Any], char: dict[str, Any]) -> bool:
    gap = max(last["top"], char["top"]) - min(last["bottom"], char["bottom"])
    return bool(abs(last["x0"] - char["x0"]) > 2 or gap > 1.2 * (char["x1"] - char["x0"]))


def _turned_cell(chars: list[dict[str, Any]]) -> Cell:
    text = "".join(c["text"] for c in chars).strip()
    x0, x1 = min(c["x0"] for c in chars), max(c["x1"] for c in chars)
    return Cell(usual(text), x0, x1, min(c["top"] for c in chars), max(c["bottom"] for c in chars), x1 - x0)


def _mark(digits: str) -> str:
    """A raised figure apart from its word points to a footnote."""
    return f"[{digits.strip('()')}]"
