"""From a sample of a foreign file to a mapping, with the reason of each decision and what is left open.

Gives: proposed().
Limits: nothing is converted here; the whole file is read by pass_over.py.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np

from bankwright.forms.faults import Fault
from bankwright.forms.quantities import quantity
from bankwright.logbook.elsewhere.asked import Asked
from bankwright.logbook.elsewhere.by_module import found_by, rows_of_one
from bankwright.logbook.elsewhere.candidates import Candidate, candidates, placed, refuse_unknown
from bankwright.logbook.elsewhere.checks import checked
from bankwright.logbook.elsewhere.clock import Clock, TimeOf
from bankwright.logbook.elsewhere.decimals import with_numbers
from bankwright.logbook.elsewhere.facts import Facts
from bankwright.logbook.elsewhere.headings import Meaning, meaning_of
from bankwright.logbook.elsewhere.layout import Layout
from bankwright.logbook.elsewhere.learned import Learned, learned_from
from bankwright.logbook.elsewhere.mapping import EACH, Long, Mapping, Take
from bankwright.logbook.elsewhere.numbers import numbers_in
from bankwright.logbook.elsewhere.scale import Scaled, scaled
from bankwright.logbook.elsewhere.signs import with_signs
from bankwright.logbook.elsewhere.source import Source
from bankwright.logbook.elsewhere.table import found_table
from bankwright.logbook.elsewhere.times import found_time
from bankwright.logbook.elsewhere.told import NotUnderstood, Told

__all__ = ["proposed"]

_ITEMS = 600  # most items of a long file; design choice


def proposed(source: Source, facts: Facts, asked: Asked, told: Told) -> Mapping:
    """Propose a mapping; NotUnderstood where there is no table, `told.stopped` where nothing can be converted yet."""
    sample = source.sample()
    layout = found_table(source.path, sample, asked, told)
    rows = learned_from(sample, layout)
    if not len(rows):
        words = "no row is as wide as its headings"
        raise NotUnderstood(Fault(source.path.name, "no-rows", words, hint="--header LINE, --delimiter MARK"))
    meanings = [meaning_of(name) for name in layout.names]
    layout = with_numbers(layout, meanings, rows, asked, facts, told=told)
    by = found_by(layout, meanings, rows, facts, asked, told=told)
    if by is not None:
        rows, asked = rows_of_one(rows, layout, by), replace(asked, module=by.modules[0][1])
    long = _long(layout, meanings, rows, told)
    items = [] if long is None else _distinct(rows, layout.names.index(long.item))
    refuse_unknown(asked, [*layout.names, *items])
    time, step = found_time(source.path, layout, meanings, rows, layout.numbers, asked=asked, told=told)
    columns = _items(layout, long, rows) if long is not None else _columns(layout, meanings, rows, time)
    columns = {name: column for name, column in columns.items() if by is None or name != by.column}
    found = candidates(columns, asked, facts, told)
    if not found:
        left = "; ".join(f"{each.what}: {each.why}" for each in told.left[:4])
        hint = '--take "HEADING=voltage at M1 in mV" says what a column is'
        raise NotUnderstood(Fault(source.path.name, "nothing-to-take", f"no column can be taken. {left}", hint=hint))
    takes = _judged(placed(found, asked, facts, told), _seconds(time, rows, layout), facts, asked, told)
    takes, middle = _with_middle(takes, told)
    finest = tuple(_with_step(s, layout, long, rows) for s in takes)
    mapping = Mapping(source.encoding, layout, time, finest, long, middle, step, by)
    return mapping if by is None else _of_each(mapping, by.modules[0][1])


def _of_each(mapping: Mapping, name: str) -> Mapping:
    """Places of the first module as places of each."""

    def of_each(at: str) -> str:
        return EACH + at.removeprefix(name) if at.split(".")[0] == name else at

    takes = tuple(replace(take, at=of_each(take.at)) for take in mapping.takes)
    middle = mapping.middle
    if middle is not None:
        middle = (of_each(middle[0]), of_each(middle[1]), of_each(middle[2]))
    return replace(mapping, takes=takes, middle=middle)


def _judged(found: list[Candidate], seconds: np.ndarray, facts: Facts, asked: Asked, told: Told) -> list[Scaled]:
    """Scales, signs and cross-checks."""
    return with_signs(checked(scaled(found, facts, told), told), seconds, asked, told)


def _columns(
    layout: Layout, meanings: list[Meaning], rows: Learned, time: TimeOf
) -> dict[str, tuple[Meaning, np.ndarray]]:
    return {
        name: (meanings[k], rows.values(k, layout.numbers))
        for k, name in enumerate(layout.names)
        if k not in time.columns and name
    }


def _seconds(time: TimeOf, rows: Learned, layout: Layout) -> np.ndarray:
    """Times of the first rows, s."""
    texts = [rows.columns[k][: rows.head] for k in time.columns]
    read = Clock(replace(time, zone="", order=time.order or "dmy"), layout.numbers).read(texts)
    return np.where(read.why == 0, read.ms / 1000, 0.0)


def _long(layout: Layout, meanings: list[Meaning], rows: Learned, told: Told) -> Long | None:
    """One quantity a row: a column of few repeated names, one of numbers, one of times."""
    items = [k for k, meaning in enumerate(meanings) if meaning.long == "item" and _names_repeat(rows, k)]
    values = [k for k, meaning in enumerate(meanings) if meaning.long == "value" and not meaning.quantity]
    if not items:  # a meter's file: its units are all that names the quantity
        items = [k for k, meaning in enumerate(meanings) if meaning.long == "unit" and _names_repeat(rows, k)]
    if not items or not values or any(m.quantity and k not in values for k, m in enumerate(meanings)):
        return None
    item = max(items, key=lambda k: sum(bool(meaning_of(name).quantity) for name in _distinct(rows, k)))
    names = _distinct(rows, item)
    why = f"{layout.names[item]} names {len(names)}, {layout.names[values[0]]} holds their values"
    told.settle("form", "long: one quantity a row", why)
    return Long(layout.names[item], layout.names[values[0]])


def _distinct(rows: Learned, column: int) -> list[str]:
    return [name for name, _ in Counter(text for text, _ in rows.said(column, 12_000)).most_common(_ITEMS)]


def _names_repeat(rows: Learned, column: int) -> bool:
    texts = [text for text, _ in rows.said(column)]
    names = set(texts)
    letters = [name for name in names if any(c.isalpha() for c in name)]
    return bool(texts) and len(letters) >= 0.9 * len(names) and (len(names) <= max(len(texts) / 2, 1))


def _items(layout: Layout, long: Long, rows: Learned) -> dict[str, tuple[Meaning, np.ndarray]]:
    """Items of a long file like columns; a column of units says their units."""
    item, value = layout.names.index(long.item), layout.names.index(long.value)
    units = next((k for k, name in enumerate(layout.names) if meaning_of(name).long == "unit"), None)
    found = {}
    names = np.array(rows.columns[item])
    for name in _distinct(rows, item):
        which = np.flatnonzero(names == name)
        unit = rows.columns[units][which[0]] if units is not None and units != item and len(which) else ""
        counts = numbers_in([rows.columns[value][k] for k in which], layout.numbers)[0]
        meaning = replace(meaning_of(f"{name} [{unit}]" if unit else name), text=name, time="", long="", by="")
        found[name] = (meaning, _held(counts, which, len(rows)))
    return found


def _held(counts: np.ndarray, which: np.ndarray, rows: int) -> np.ndarray:
    """An item's values at every row of the sample, each held until the next; NaN before the first."""
    last = np.zeros(rows, np.int64)
    last[which] = np.arange(1, len(which) + 1)
    held: np.ndarray = np.r_[np.nan, counts][np.maximum.accumulate(last)]
    return held


def _with_step(one: Scaled, layout: Layout, long: Long | None, rows: Learned) -> Take:
    """The take with the step of its texts, where that is finer than the store's own; long tails are of means."""
    if long is None:
        texts = rows.columns[layout.names.index(one.take.heading)]
    else:
        names, said = (rows.columns[layout.names.index(name)] for name in (long.item, long.value))
        texts = [text for name, text in zip(names, said, strict=True) if name == one.take.heading]
    own = quantity(one.take.quantity).step or 1e-3
    digits = max(
        (len(text.partition(layout.numbers.decimal)[2]) for text in texts[:2000] if text[-1:].isdigit()), default=0
    )
    step = abs(one.take.factor) * 10.0**-digits
    if step >= 0.99 * own:
        return one.take
    return replace(one.take, step=float(f"{step if digits <= 5 else own / 10:.3g}"))


def _with_middle(found: list[Scaled], told: Told) -> tuple[list[Scaled], tuple[str, str, str] | None]:
    """Lowest and highest of one voltage, and nothing else of it: the middle stands for the stretch."""
    at = {s.take.at: s for s in found if s.take.quantity == "voltage"}
    for place, low in at.items():
        owner = place.removesuffix(".min")
        if place.endswith(".min") and f"{owner}.max" in at and owner not in at:
            headings = f"{low.candidate.heading} and {at[f'{owner}.max'].candidate.heading}"
            why = "lowest and highest of a stretch are all there is of this voltage"
            told.settle(headings, f"lowest, highest, and their middle as voltage at {owner}", why)
            return found, (place, f"{owner}.max", owner)
    return found, None
