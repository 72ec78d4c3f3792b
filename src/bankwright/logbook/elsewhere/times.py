"""Which columns hold the time, and how it is told.

Gives: found_time(). Prefers a moment with date over counts, and counts since 1970 over an elapsed time.
Limits: texts are read by moments.py; what is not settled is asked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from bankwright.forms.faults import Fault
from bankwright.forms.nearest import did_you_mean
from bankwright.logbook.elsewhere.asked import Asked
from bankwright.logbook.elsewhere.clock import Clock, Kind, TimeOf
from bankwright.logbook.elsewhere.date_order import Ordered, order_of
from bankwright.logbook.elsewhere.headings import Meaning
from bankwright.logbook.elsewhere.layout import Layout
from bankwright.logbook.elsewhere.learned import Learned
from bankwright.logbook.elsewhere.moments import ORDERS, moments, shape_of
from bankwright.logbook.elsewhere.numbers import NumberForm, is_missing
from bankwright.logbook.elsewhere.told import NotUnderstood, Told
from bankwright.logbook.elsewhere.zones import zone_named

__all__ = ["found_time", "usual_step"]

_EPOCHS = ((1e9, 4.2e9, 1.0, "s"), (1e12, 4.2e12, 1e-3, "ms"), (1e15, 4.2e15, 1e-6, "us"), (1e18, 4.2e18, 1e-9, "ns"))
_START = '--start "2026-03-01 10:00"'
_ZONE = "--zone Europe/Berlin (or UTC, +01:00)"


@dataclass(frozen=True, slots=True)
class _Kind:
    """What the texts of a column are, as times."""

    column: int
    kind: str  # whole | date | clock | epoch | sheet | count | ""
    unit: float = 1.0
    words: str = ""


def found_time(
    path: Path,
    layout: Layout,
    meanings: Sequence[Meaning],
    rows: Learned,
    form: NumberForm,
    *,
    asked: Asked,
    told: Told,
) -> tuple[TimeOf, float]:
    """How the time is told, and the usual step from row to row, s."""
    told_columns = [
        layout.names.index(name) for name, take in asked.takes.items() if take == "time" and name in layout.names
    ]
    free = [k for k, name in enumerate(layout.names) if name not in asked.takes]
    kinds = [_kind_of(k, meanings[k], rows, form) for k in (told_columns or free)]
    chosen = _chosen(kinds, meanings)
    if chosen is None:
        named = [layout.names[k] for k, meaning in enumerate(meanings) if meaning.time]
        words = f"no column holds a time{f' ({named[0]} does not read as one)' if named else ''}"
        hint = '--take "HEADING=time" names the column; a log without times cannot be brought'
        raise NotUnderstood(Fault(path.name, "no-time", words, hint=hint))
    columns, kind, how = chosen
    names = ", ".join(layout.names[k] or f"column {k + 1}" for k in columns)
    told.settle("time", names, how.words)
    time = TimeOf(columns, kind, unit=how.unit, start=asked.start)
    time = _with_order(time, rows, asked, told)
    time = _with_zone(time, meanings, rows, asked, told)
    if kind == "elapsed":
        time = _with_elapsed(time, meanings, rows, form, asked, told=told)
    if kind in ("elapsed", "clock"):
        _ask_start(time, asked, told)
    return time, usual_step(time, rows, form)


def usual_step(time: TimeOf, rows: Learned, form: NumberForm) -> float:
    """Median of the steps forward between rows of the beginning, s; a minute where there is none."""
    texts = [rows.columns[k][: rows.head] for k in time.columns]
    order = time.order or "dmy"
    read = Clock(replace(time, zone="", order=order, start=time.start or ()), form).read(texts)
    step = np.diff(read.ms[read.why == 0])
    step = step[step > 0]
    return float(np.median(step)) / 1000 if len(step) else 60.0


def _kind_of(column: int, meaning: Meaning, rows: Learned, form: NumberForm) -> _Kind:
    texts = [text.strip() for text, _ in rows.said(column, 400)]
    if not texts or meaning.long == "item":
        return _Kind(column, "")
    shapes = [shape_of(text) for text in texts]
    good = [shape for shape in shapes if shape is not None]
    if len(good) >= 0.9 * len(texts):
        dated, timed = sum(1 for s in good if s.date), sum(1 for s in good if s.clock)
        if dated >= 0.9 * len(good):
            return _Kind(column, "whole" if timed >= 0.5 * len(good) else "date", words=f"texts like {texts[0]}")
        return _Kind(column, "clock", words=f"texts like {texts[0]}")
    if meaning.quantity and not meaning.time:
        return _Kind(column, "")
    if all(len(text) == 6 and text.isdigit() for text in texts) and meaning.time in ("date", "clock", "moment"):
        told = "date" if meaning.time == "date" else "digits of a clock"
        return _Kind(column, told, words=f"six digits like {texts[0]}")
    return _kind_of_numbers(column, meaning, rows.values(column, form))


def _kind_of_numbers(column: int, meaning: Meaning, values: np.ndarray) -> _Kind:
    values = values[~np.isnan(values)]
    if len(values) < 1:
        return _Kind(column, "")
    low, high = float(np.percentile(values, 5)), float(np.percentile(values, 95))
    for least, most, unit, name in _EPOCHS:
        if least <= low and high <= most:
            return _Kind(column, "epoch", unit, f"counts of {name} since 1970, {values[0]:.0f} is the first")
    if low > 30_000 and high < 60_000 and meaning.time in ("moment", "date") and np.any(values != np.floor(values)):
        return _Kind(column, "sheet", words=f"days of a spreadsheet, {values[0]:g} is the first")
    falls = int((np.diff(values) < 0).sum())
    if meaning.time and falls <= 0.05 * len(values):
        return _Kind(column, "count", words=f"counts from {values[0]:g} on")
    return _Kind(column, "")


def _chosen(kinds: Sequence[_Kind], meanings: Sequence[Meaning]) -> tuple[tuple[int, ...], Kind, _Kind] | None:
    names = ("whole", "date", "clock", "epoch", "sheet", "count", "digits of a clock")
    of = {name: [k for k in kinds if k.kind == name] for name in names}
    of["clock"] += of["digits of a clock"] if of["date"] else []
    if of["whole"]:
        best = min(of["whole"], key=lambda k: (meanings[k.column].zone == "", not meanings[k.column].time, k.column))
        return (best.column,), "moment", best
    if of["date"] and of["clock"]:
        date, clock = of["date"][0], of["clock"][0]
        words = f"date and clock in two columns; {date.words} and {clock.words.removeprefix('texts like ')}"
        return (date.column, clock.column), "moment", _Kind(date.column, "whole", words=words)
    for name, kind in (("epoch", "epoch"), ("sheet", "sheet days"), ("date", "moment")):
        if of[name]:
            return (of[name][0].column,), kind, of[name][0]  # type: ignore[return-value]
    if of["clock"]:
        elapsed = meanings[of["clock"][0].column].time == "elapsed"
        return (of["clock"][0].column,), "elapsed" if elapsed else "clock", of["clock"][0]
    if of["count"]:
        return (of["count"][0].column,), "elapsed", of["count"][0]
    return None


def _with_order(time: TimeOf, rows: Learned, asked: Asked, told: Told) -> TimeOf:
    if time.kind != "moment":
        return time
    if asked.dates is not None:
        if asked.dates not in ORDERS:
            words = f"found {asked.dates!r}"
            raise NotUnderstood(
                Fault("--dates", "wrong-option", words, hint=did_you_mean(asked.dates, ORDERS, ", ".join(ORDERS)))
            )
        told.settle("dates", asked.dates, "as told")
        return replace(time, order=ORDERS[asked.dates])
    texts = [
        (" ".join(rows.columns[k][row].strip() for k in time.columns), rows.lines[row])
        for row in range(len(rows))
        if not is_missing(rows.columns[time.columns[0]][row])
    ]
    found: Ordered = order_of(texts)
    if found.order:
        told.settle("dates", found.words, found.why)
        return replace(time, order=found.order)
    option = " or ".join(f"--dates {word.replace(' ', '-')}" for word in found.words.split(" or "))
    told.ask("dates", f"{found.words}: {found.why}", option, stops=True)
    return replace(time, order="")


def _with_zone(time: TimeOf, meanings: Sequence[Meaning], rows: Learned, asked: Asked, told: Told) -> TimeOf:
    if asked.zone is not None and zone_named(asked.zone) is None:
        hint = "Write UTC, +01:00, or a name of the IANA list: Europe/Berlin, America/New_York"
        raise NotUnderstood(Fault("--zone", "wrong-option", f"there is no zone {asked.zone!r}", hint=hint))
    if time.kind == "epoch":
        told.settle("zone", "UTC", "counts since 1970 are of UTC" + (", whatever --zone says" if asked.zone else ""))
        return replace(time, zone="UTC")
    texts = [" ".join(rows.columns[k][row].strip() for k in time.columns) for row in range(min(len(rows), 500))]
    if time.kind == "moment":
        found = moments(texts, time.order or "dmy")
        good = found.offset[~found.bad]
        if len(good) and not np.isnan(good).any():
            shown = texts[int(np.flatnonzero(~found.bad)[0])]
            told.settle("zone", "in every text", f"{shown} says it" + (", whatever --zone says" if asked.zone else ""))
            return replace(time, zone=asked.zone or "")
    if asked.zone is not None:
        told.settle("zone", asked.zone, "as told")
        return replace(time, zone=asked.zone)
    zone = next((meanings[k].zone for k in time.columns if meanings[k].zone), "") or _zone_column(meanings, rows)
    if zone:
        told.settle("zone", zone, "a heading, or a column of its own, says so")
        return replace(time, zone=zone)
    unknown = next((s.unknown_zone for s in map(shape_of, texts) if s is not None and s.unknown_zone), "")
    words = f"{unknown.upper()} means several zones" if unknown else "the times name no zone"
    told.ask("zone", f"{words}; until it is told they are shown as they stand", _ZONE)
    return time


def _zone_column(meanings: Sequence[Meaning], rows: Learned) -> str:
    """A column of its own that says the zone, the same in every row."""
    for column, meaning in enumerate(meanings):
        if meaning.text.strip().lower() in ("tz", "zone", "timezone", "time zone", "utc offset", "offset", "zeitzone"):
            texts = {text.strip() for text, _ in rows.said(column)}
            if len(texts) == 1 and zone_named(next(iter(texts))) is not None:
                return next(iter(texts))
    return ""


def _with_elapsed(
    time: TimeOf, meanings: Sequence[Meaning], rows: Learned, form: NumberForm, asked: Asked, *, told: Told
) -> TimeOf:
    column = time.columns[0]
    meaning = meanings[column]
    values = rows.values(column, form)
    values = values[~np.isnan(values)]
    if not len(values):  # 12:34:56
        return time
    unit = meaning.unit if meaning.unit is not None and meaning.unit.quantity == "time" else None
    if asked.units.get(meaning.text):
        from bankwright.logbook.elsewhere.units import written_unit

        unit = written_unit(asked.units[meaning.text])
    plain = meaning.text.lower()
    if unit is None and ("milli" in plain or plain == "ms"):
        factor, why = 1e-3, "the heading says milliseconds"
    elif unit is None and ("sec" in plain or plain.endswith("_s")):
        factor, why = 1.0, "the heading says seconds"
    elif unit is None:
        told.ask(
            "time's unit",
            f"{meaning.text} counts from {values[0]:g} to {values[-1]:g}, in what?",
            f'--unit "{meaning.text}=s" (ms, min, h)',
        )
        return time
    else:
        factor, why = unit.factor, f"the unit of its heading is {unit}"
    wraps = 2.0**32 if factor == 1e-3 else 0.0
    if factor == 1.0 and 0.9 * 2**16 < values.max() < 2**16 and (np.diff(values) < -0.8 * 2**16).any():
        wraps = 2.0**16
    anew = int(((np.diff(values) < 0) & (values[1:] < 0.5 * values[:-1])).sum())
    told.settle(
        "elapsed time",
        f"{factor:g} s a count",
        why + (f"; it begins anew {anew} times in the sample" if anew and not wraps else ""),
    )
    return replace(time, unit=factor, wraps=wraps)


def _ask_start(time: TimeOf, asked: Asked, told: Told) -> None:
    what = "an elapsed time" if time.kind == "elapsed" else "a clock without a date"
    if not asked.start:
        told.ask("start", f"the rows have {what}; when was the first row's beginning?", _START)
        return
    found = moments(list(asked.start), "ymd")
    if found.bad.any() or not found.has_date:
        wrong = asked.start[int(np.flatnonzero(found.bad)[0])] if found.bad.any() else asked.start[0]
        raise NotUnderstood(Fault("--start", "wrong-option", f"found {wrong!r}", hint=f"Write {_START}"))
    told.settle("start", ", ".join(asked.start), "as told")
