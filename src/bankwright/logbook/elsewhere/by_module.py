"""A column that says which module each row is of: `Address`, `Pack`, `Module`.

Gives: found_by(), rows_of_one(). The rows of each module are then read by themselves: their times, steps and repeats.
Limits: columns whose headings name their module are candidates.py.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from bankwright.logbook.elsewhere.asked import Asked
from bankwright.logbook.elsewhere.candidates import UNKNOWN_PLACE
from bankwright.logbook.elsewhere.facts import Facts
from bankwright.logbook.elsewhere.headings import Meaning
from bankwright.logbook.elsewhere.layout import Layout
from bankwright.logbook.elsewhere.learned import Learned
from bankwright.logbook.elsewhere.mapping import By
from bankwright.logbook.elsewhere.told import Told

__all__ = ["found_by", "rows_of_one"]

_MOST = 64


def found_by(
    layout: Layout, meanings: Sequence[Meaning], rows: Learned, facts: Facts, asked: Asked, *, told: Told
) -> By | None:
    """The column that tells modules apart, and which text is which module; None where there is none."""
    for column, meaning in enumerate(meanings):
        if not meaning.by or meaning.quantity or meaning.unit is not None or asked.takes.get(layout.names[column]):
            continue
        seen = Counter(text.strip() for text, _ in rows.said(column, 12_000))
        texts = sorted(text for text in seen if seen[text] >= 2)
        if 2 <= len(texts) <= _MOST and 2 * len(seen) <= len(rows) and all(_may_name(t, facts) for t in texts):
            return _named(layout.names[column], texts, facts, asked, told)
    return None


def _may_name(text: str, facts: Facts) -> bool:
    return text in facts.modules or (len(text) <= 24 and _number(text) is not None)


def _number(text: str) -> int | None:
    if text[:2].lower() == "0x":
        try:
            return int(text, 16)
        except ValueError:
            return None
    found = re.findall(r"\d+", text)
    return int(found[-1]) if found and len(found[-1]) <= 3 and "." not in text else None


def _named(column: str, texts: Sequence[str], facts: Facts, asked: Asked, told: Told) -> By:
    numbers = [number for text in texts if (number := _number(text)) is not None and text not in facts.modules]
    less = -1 if (asked.count_from == 0 or (asked.count_from is None and numbers and min(numbers) == 0)) else 0
    names = []
    for text in texts:
        name = text if text in facts.modules else facts.module_named((_number(text) or 0) - less)
        names.append(name or UNKNOWN_PLACE)
        if name is None:
            words = f"{column} names {text}; the bank has {len(facts.modules)} modules: {', '.join(facts.modules)}"
            option = "--keep-map FILE, the right name put in there, then --map FILE; or --count-from 0"
            told.ask("modules", words, option)
    shown = ", ".join(f"{text} is {name}" for text, name in zip(texts, names, strict=True))
    told.settle("module of each row", f"by {column}: {shown}", f"{len(texts)} texts that repeat all along the file")
    return By(column, tuple(zip(texts, names, strict=True)))


def rows_of_one(rows: Learned, layout: Layout, by: By) -> Learned:
    """The sample's rows of the first module alone."""
    column = layout.names.index(by.column)
    which = [k for k, text in enumerate(rows.columns[column]) if text.strip() == by.modules[0][0]]
    head = sum(1 for k in which if k < rows.head)
    columns = tuple([texts[k] for k in which] for texts in rows.columns)
    return replace(rows, columns=columns, lines=[rows.lines[k] for k in which], head=head)
