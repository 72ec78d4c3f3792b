"""Which mark is the decimal one, from all columns of numbers together.

Gives: with_numbers().
Limits: proofs first (a number that can be read one way only), then the sizes that headings allow; else it is asked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from bankwright.forms.faults import Fault
from bankwright.logbook.elsewhere.asked import Asked
from bankwright.logbook.elsewhere.facts import Facts
from bankwright.logbook.elsewhere.headings import Meaning
from bankwright.logbook.elsewhere.layout import Layout
from bankwright.logbook.elsewhere.learned import Learned
from bankwright.logbook.elsewhere.moments import shape_of
from bankwright.logbook.elsewhere.numbers import Evidence, NumberForm, evidence
from bankwright.logbook.elsewhere.told import NotUnderstood, Told

__all__ = ["with_numbers"]

_POINT, _COMMA = NumberForm(".", ","), NumberForm(",", ".")
_SIZES = {"cell_voltage": (1.5, 4.5), "voltage": (8.0, 120.0), "temperature_degc": (-40.0, 100.0), "soc": (0.0, 100.0)}


def with_numbers(
    layout: Layout, meanings: Sequence[Meaning], rows: Learned, asked: Asked, facts: Facts, *, told: Told
) -> Layout:
    """The layout with the decimal mark that the numbers prove."""
    if asked.decimal is not None:
        form = {"point": _POINT, "comma": _COMMA}.get(asked.decimal)
        if form is None:
            raise NotUnderstood(Fault("--decimal", "wrong-option", f"found {asked.decimal!r}", hint="point or comma"))
        told.settle("decimal mark", asked.decimal, "as told")
        return replace(layout, numbers=_without(form, layout))
    if layout.rejoin:
        return layout
    seen = {k: evidence(text for text, _ in rows.said(k, 1000)) for k in _numbers(layout, rows)}
    point = next((one.point for one in seen.values() if one.point), "")
    comma = next((one.comma for one in seen.values() if one.comma), "")
    if point and comma:
        words = f"{point} has a decimal point and {comma} a decimal comma"
        told.ask("decimal mark", words, "--decimal point or --decimal comma", stops=True)
        return layout
    if point or comma:
        told.settle("decimal mark", "point" if point else "comma", f"{point or comma} can be read no other way")
        return replace(layout, numbers=_without(_POINT if point else _COMMA, layout))
    return _of_both(layout, meanings, rows, seen, facts, told=told)


def _without(form: NumberForm, layout: Layout) -> NumberForm:
    """A mark that parts the columns may only stand in quotes; it is kept as a thousands mark there."""
    return form if layout.delimiter != form.thousands or layout.quoted else replace(form, thousands="")


def _numbers(layout: Layout, rows: Learned) -> list[int]:
    """Columns that hold numbers, no times."""
    found = []
    for k in range(len(layout.names)):
        texts = [text for text, _ in rows.said(k, 60)]
        times = sum(
            1 for text in texts if not text.replace(",", "").replace(".", "").isdigit() and shape_of(text.strip())
        )
        if texts and times < len(texts) / 2:
            found.append(k)
    return found


def _of_both(
    layout: Layout, meanings: Sequence[Meaning], rows: Learned, seen: dict[int, Evidence], facts: Facts, *, told: Told
) -> Layout:
    """Numbers like 1.299 or 1,299 alone: by what the headings allow."""
    doubtful = {k: one.both for k, one in seen.items() if one.both}
    if not doubtful:
        return layout
    says = []
    for k in doubtful:
        fits = [_fits(meanings[k], rows.values(k, form), facts) for form in (_POINT, _COMMA)]
        says += [".", ","][:1] if fits == [True, False] else [","] if fits == [False, True] else []
    text = next(iter(doubtful.values()))
    if says and len(set(says)) == 1:
        mark = "point" if says[0] == "." else "comma"
        told.settle("decimal mark", mark, f"{text} read the other way fits none of the headings")
        return replace(layout, numbers=_without(_POINT if says[0] == "." else _COMMA, layout))
    if layout.delimiter == "," and "." in text:
        told.settle("decimal mark", "point", f"{text}: the comma parts the columns, so it cannot be the decimal mark")
        return replace(layout, numbers=NumberForm())
    point, comma = text.replace(",", ""), text.replace(".", "").replace(",", ".")
    words = f"{text} in {layout.names[next(iter(doubtful))]} is {point} or {comma}"
    told.ask("decimal mark", words, "--decimal point or --decimal comma", stops=True)
    return layout


def _fits(meaning: Meaning, values: np.ndarray, facts: Facts) -> bool | None:
    """Whether numbers can be what the heading says; None where it says nothing."""
    good = values[~np.isnan(values)]
    unit = meaning.unit
    if not len(good):
        return False
    inside = good * unit.factor + unit.offset if unit is not None else good
    if meaning.quantity == "current" and facts.current:
        return bool(np.max(np.abs(inside)) <= 2 * facts.current)
    if meaning.quantity not in _SIZES:
        return None
    if meaning.quantity == "soc" and unit is not None:
        inside = inside * 100
    low, high = _SIZES[meaning.quantity]
    middle = float(np.median(inside))
    if unit is None and meaning.quantity == "voltage":  # a cell, or a pack
        return 1.5 <= middle <= 120
    return low <= middle <= high
