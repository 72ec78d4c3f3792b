"""Rows of a foreign file into columns of telemetry, by a mapping.

Gives: Converter, Converted, Once. Rows keep the order of the file; what is not kept is counted with its reason and
its line.
Limits: storing is bring.py; a value that cannot be is kept as missing, one that is merely unlikely is kept and marked.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from collections.abc import Mapping as Table
from dataclasses import dataclass, field

import numpy as np

from bankwright.forms.quantities import quantity
from bankwright.forms.readings import GOOD, NOT_AVAILABLE, OUTSIDE, TIME_UNSURE, Columns
from bankwright.logbook.elsewhere.clock import Clock, Read
from bankwright.logbook.elsewhere.facts import BELIEVABLE, PLAUSIBLE_CELL, Facts
from bankwright.logbook.elsewhere.layout import Layout, rejoined, rows_of
from bankwright.logbook.elsewhere.mapping import EACH, Mapping, Take, steps_of
from bankwright.logbook.elsewhere.numbers import numbers_in
from bankwright.logbook.elsewhere.quick import Column, quick_columns
from bankwright.logbook.elsewhere.source import Chunk
from bankwright.logbook.elsewhere.tally import Tally
from bankwright.logbook.elsewhere.zones import Night

__all__ = ["Converted", "Converter", "Once"]

_FLOWS, _FAILED = 1.0, 1.0  # A that flow, V that all cells lie below: a failed reading; our choice
_MISSES = 4  # pieces after which the quick way is not tried any more; our choice
_MOST = 1.3e8  # steps that the store keeps
Once = frozenset[tuple[str, int]]  # module text, hour that comes twice and was passed through once
_Values = Table[tuple[str, str], tuple[np.ndarray, np.ndarray]]  # (quantity, at) -> values, quality


@dataclass(frozen=True, slots=True)
class Converted:
    """What one piece of the file came to."""

    columns: tuple[Columns, ...]
    lines: np.ndarray  # (row,) of the kept rows
    ms: np.ndarray  # (row,)
    parts: tuple[Converted, ...] = ()  # of each module, where rows name their module


@dataclass(slots=True)
class Converter:
    """Reads piece after piece by a mapping; carries a clock for each module that rows name, and the tally."""

    mapping: Mapping
    facts: Facts
    once: Once = frozenset()
    clocks: dict[str, Clock] = field(default_factory=dict)
    tally: Tally = field(default_factory=Tally)
    misses: int = 0  # pieces that could not be read the quick way
    _key: str = ""  # of the group that is being read
    _name: str = ""
    _steps: Table[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Look the storage steps up once."""
        self._steps = steps_of(self.mapping)

    def read(self, chunk: Chunk) -> Converted:
        """Convert one piece."""
        layout = self.mapping.layout
        quick = quick_columns(chunk, self.mapping) if self.misses < _MISSES else None
        if quick is not None:
            count = len(quick[self.mapping.time.columns[0]])
            self.tally.rows += count
            first = max(chunk.first_line, layout.first)
            return self._group(quick, np.arange(first, first + count), "", "")
        self.misses += 1
        rows, lines = _fitting(*rows_of(chunk.lines, chunk.first_line, layout), layout, self.tally)
        if not rows:
            return Converted((), np.empty(0, np.int64), np.empty(0, np.int64))
        where = np.array(lines)
        if self.mapping.by is None:
            return self._group(list(zip(*rows, strict=True)), where, "", "")
        done = [
            self._group(list(zip(*(rows[k] for k in which), strict=True)), where[which], text, name)
            for text, name, which in self._groups(rows, where)
        ]
        order = np.argsort(np.concatenate([d.lines for d in done]), kind="stable")
        lines_, ms = (np.concatenate([getattr(d, part) for d in done])[order] for part in ("lines", "ms"))
        return Converted(tuple(table for d in done for table in d.columns), lines_, ms, tuple(done))

    def _groups(self, rows: Sequence[Sequence[str]], lines: np.ndarray) -> Iterator[tuple[str, str, list[int]]]:
        """Rows of each module; those that name none are counted."""
        assert self.mapping.by is not None
        column, names = self.mapping.column(self.mapping.by.column), dict(self.mapping.by.modules)
        places: dict[str, list[int]] = {text: [] for text in names}
        for k, row in enumerate(rows):
            text = row[column].strip()
            if text in places:
                places[text].append(k)
            else:
                self.tally.reject(f"{self.mapping.by.column} names no module", [int(lines[k])], text)
        yield from ((text, names[text], which) for text, which in places.items())

    def _group(self, texts: Sequence[Column], lines: np.ndarray, key: str, name: str) -> Converted:
        """Rows that are of one module, or of all alike."""
        if not len(lines):
            return Converted((), lines, np.empty(0, np.int64))
        clock = self.clocks.get(key) or self.clocks.setdefault(key, self._clock(key))
        read = clock.read([texts[k] for k in self.mapping.time.columns])
        self._reject_times(read, lines, texts)
        self._key, self._name = key, name
        if self.mapping.long is not None:
            return self._long(texts, read, lines)
        return self._wide(texts, read, lines)

    def _clock(self, key: str) -> Clock:
        known = frozenset(window for text, window in self.once if text == key)
        night = Night(step=self.mapping.step * 1000, known_once=known)
        return Clock(self.mapping.time, self.mapping.layout.numbers, night)

    def _at(self, place: str) -> str:
        return self._name + place.removeprefix(EACH) if place.startswith(EACH) else place

    def _reject_times(self, read: Read, lines: np.ndarray, texts: Sequence[Column]) -> None:
        reasons = {
            1: "its time cannot be read",
            2: "its time is not known since the count began anew",
            3: "its time is before 2000-01-02: the logger's clock was not set",
        }
        for code, reason in reasons.items():
            wrong = np.flatnonzero(read.why == code)
            if len(wrong):
                shown = " ".join(str(texts[k][wrong[0]]) for k in self.mapping.time.columns)
                self.tally.reject(reason, lines[wrong].tolist(), shown)

    # --- wide

    def _wide(self, texts: Sequence[Column], read: Read, lines: np.ndarray) -> Converted:
        values = self._values(texts, lines)
        good = read.why == 0
        failed = good & self._failed(values)
        self.tally.reject(
            "all cells far below their range while current flows: a failed reading", lines[failed].tolist()
        )
        empty = np.all([np.isnan(value) for value, _ in values.values()], axis=0)
        nothing = good & ~failed & empty
        self.tally.reject("no value in any column that is taken", lines[nothing].tolist())
        kept = np.flatnonzero(good & ~failed & ~nothing)
        return self._kept(values, read, lines, kept)

    def _kept(self, values: _Values, read: Read, lines: np.ndarray, kept: np.ndarray) -> Converted:
        ms, unsure = read.ms[kept], read.unsure[kept]
        self.tally.kept += len(kept)
        self.tally.unsure += int(unsure.sum())
        self.tally.times(ms, self.mapping.step, self._key)
        taken = {
            key: (value[kept], np.where(unsure & (mark[kept] == GOOD), TIME_UNSURE, mark[kept]))
            for key, (value, mark) in values.items()
        }
        for (name, at), (value, _) in taken.items():
            self.tally.range_of(f"{name} {at}", value)
            if name in ("current", "power"):
                self.tally.flow(f"{name} {at}", ms, value, self.mapping.step)
        return Converted(_columns(taken, ms), lines[kept], ms)

    def _values(
        self, texts: Sequence[Column], lines: np.ndarray
    ) -> dict[tuple[str, str], tuple[np.ndarray, np.ndarray]]:
        by_heading = {
            take.heading: self._counts(take, texts[self.mapping.column(take.heading)], lines)
            for take in self.mapping.takes
        }
        found: dict[tuple[str, str], tuple[np.ndarray, np.ndarray]] = {}
        for take in self.mapping.takes:
            value = by_heading[take.heading]
            if take.less:
                value = value - by_heading[take.less]
            key = (take.quantity, self._at(take.at))
            if key in found:  # charge and discharge in two columns: one flow, with its sign
                both = np.stack([found[key][0], value])
                value = np.where(np.isnan(both).all(axis=0), np.nan, np.nansum(both, axis=0))
            found[key] = self._judged(take, value, lines)
        return self._with_middle(found)

    def _counts(self, take: Take, texts: Column, lines: np.ndarray) -> np.ndarray:
        """Values in the unit inside, NaN where there is none."""
        counts, bad = numbers_in(texts, self.mapping.layout.numbers)
        if bad.any():
            row = int(np.flatnonzero(bad)[0])
            self.tally.mark(
                f"{take.heading}: no number ({str(texts[row]).strip()[:20]})", int(bad.sum()), int(lines[row])
            )
        if take.missing:
            none = np.isin(counts, take.missing)
            if none.any():
                shown = ", ".join(f"{count:g}" for count in take.missing)
                self.tally.mark(
                    f"{take.heading}: sentinel {shown}", int(none.sum()), int(lines[np.flatnonzero(none)[0]])
                )
                counts = np.where(none, np.nan, counts)
        if take.signed:
            counts = np.where(counts >= 2.0 ** (take.signed - 1), counts - 2.0**take.signed, counts)
        return counts * take.factor + take.offset

    def _judged(self, take: Take, value: np.ndarray, lines: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """What cannot be is missing; what is unlikely is kept and marked."""
        low, high = BELIEVABLE.get(take.quantity, (-np.inf, np.inf))
        if take.quantity == "voltage":
            low, high = -5.0, 5.0 * max(self.facts.cells, 24)
        step = self._steps.get(take.quantity) or quantity(take.quantity).step or 1e-3
        missing = np.isnan(value)
        beyond = ~missing & ~((value >= low) & (value <= high) & (np.abs(value) <= _MOST * step))
        if beyond.any():
            row = int(np.flatnonzero(beyond)[0])
            self.tally.mark(f"{take.heading}: beyond what can be ({value[row]:g})", int(beyond.sum()), int(lines[row]))
            value = np.where(beyond, np.nan, value)
        mark = np.where(missing | beyond, NOT_AVAILABLE, GOOD).astype(np.uint8)
        if take.quantity == "cell_voltage":
            odd = ~missing & ~beyond & ~((value >= PLAUSIBLE_CELL[0]) & (value <= PLAUSIBLE_CELL[1]))
            mark[odd] = OUTSIDE
        return value, mark

    def _with_middle(
        self, found: dict[tuple[str, str], tuple[np.ndarray, np.ndarray]]
    ) -> dict[tuple[str, str], tuple[np.ndarray, np.ndarray]]:
        if self.mapping.middle is None:
            return found
        low, high, at = map(self._at, self.mapping.middle)
        (least, mark_low), (most, mark_high) = found["voltage", low], found["voltage", high]
        return {**found, ("voltage", at): ((least + most) / 2, np.maximum(mark_low, mark_high))}

    def _failed(self, values: _Values) -> np.ndarray:
        """Rows in which all cells of a module lie near nought while current flows."""
        count = len(next(iter(values.values()))[0])
        failed = np.zeros(count, bool)
        for owner in dict.fromkeys(at.split(".")[0] for _, at in values):
            cells = [
                value
                for (name, at), (value, _) in values.items()
                if name == "cell_voltage" and at.startswith(f"{owner}.c")
            ]
            flow = values.get(("current", owner))
            if len(cells) >= 2 and flow is not None:
                low = np.stack([np.nan_to_num(cell, nan=-1.0) for cell in cells])
                all_low = (low < _FAILED).all(axis=0) & (low >= 0).any(axis=0)
                failed |= all_low & (np.abs(np.nan_to_num(flow[0])) > _FLOWS)
        return failed

    # --- long

    def _long(self, texts: Sequence[Column], read: Read, lines: np.ndarray) -> Converted:
        long = self.mapping.long
        assert long is not None
        layout = self.mapping.layout
        names, said = (
            np.array([t.strip() for t in texts[layout.names.index(long.item)]]),
            texts[layout.names.index(long.value)],
        )
        columns: list[Columns] = []
        good, taken = read.why == 0, np.zeros(len(names), bool)
        for take in self.mapping.takes:
            rows = np.flatnonzero((names == take.heading) & good)
            if len(rows):
                taken[rows] = True
                columns += self._item(take, [said[k] for k in rows.tolist()], read, rows, lines[rows])
        other = good & ~taken
        self.tally.marked["rows of items that are not taken"] += int(other.sum())
        self.tally.kept += int(taken.sum())
        self.tally.unsure += int(read.unsure[taken].sum())
        kept = np.flatnonzero(taken)
        self.tally.span(read.ms[kept])
        return Converted(tuple(columns), lines[kept], read.ms[kept])

    def _item(
        self, take: Take, texts: Sequence[str], read: Read, rows: np.ndarray, lines: np.ndarray
    ) -> tuple[Columns, ...]:
        value, mark = self._judged(take, self._counts(take, texts, lines), lines)
        ms, unsure = read.ms[rows], read.unsure[rows]
        mark = np.where(unsure & (mark == GOOD), TIME_UNSURE, mark)
        at = self._at(take.at)
        self.tally.range_of(f"{take.quantity} {at}", value)
        self.tally.hold(f"{take.heading} {self._key}", take.quantity, at, ms, value)
        return _columns({(take.quantity, at): (value, mark)}, ms)


def _columns(values: _Values, ms: np.ndarray) -> tuple[Columns, ...]:
    """One table a quantity."""
    if not len(ms):
        return ()
    out = []
    for name in dict.fromkeys(name for name, _ in values):
        at = tuple(place for other, place in values if other == name)
        value = np.stack([values[name, place][0] for place in at], axis=1)
        mark = np.stack([values[name, place][1] for place in at], axis=1).astype(np.uint8)
        out.append(Columns(name, at, ms / 1000.0, value, mark))
    return tuple(out)


def _fitting(
    rows: list[list[str]], lines: list[int], layout: Layout, tally: Tally
) -> tuple[list[list[str]], list[int]]:
    """Rows as wide as the headings; repeated headings and others are counted."""
    tally.rows += len(rows)
    width = len(layout.names)
    if not layout.rejoin and all(len(row) == width for row in rows):
        fine = [k for k, row in enumerate(rows) if not _is_heading(row, layout)]
        if len(fine) == len(rows):
            return rows, lines
    kept, where = [], []
    for row, line in zip(rows, lines, strict=True):
        whole = _made_to_fit(row, layout)
        if _is_heading(row, layout):
            tally.reject("the headings again", [line])
        elif whole is None:
            tally.reject(f"other than {layout.width} fields", [line], ",".join(row))
        else:
            kept.append(whole)
            where.append(line)
    return kept, where


def _made_to_fit(row: list[str], layout: Layout) -> list[str] | None:
    """The row as wide as the headings, where only empty fields are missing or too many at its end."""
    if layout.rejoin:
        return rejoined(row, layout)
    width = len(layout.names)
    if len(row) == width:
        return row
    if len(row) > width and not any(field.strip() for field in row[width:]):
        return row[:width]
    if len(row) == width - 1 and layout.names[-1] == "":
        return [*row, ""]
    return None


def _is_heading(row: Sequence[str], layout: Layout) -> bool:
    first = layout.names[0]
    return (
        bool(row)
        and row[0].strip().strip('"') == first
        and first != ""
        and len(row) > 1
        and row[1].strip().strip('"') in (layout.names[1], layout.names[1].split(" [")[0])
    )
