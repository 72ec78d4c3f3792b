"""The rows of a sheet as the rules look at them: with their ideas, their direction and their measured values.

Gives: Hit, Look, Seen, view().
Takes: a Sheet; one model of it where it holds several.
Limits: a row that speaks of charge and of discharge is looked at as two.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import chain

from bankwright.sheets.answer import Said, Spot, Value
from bankwright.sheets.apart import told_apart
from bankwright.sheets.clauses import parts_of
from bankwright.sheets.columns import HEAD_WORDS, is_unit, is_value, looks_like_models, models_in
from bankwright.sheets.concepts import direction, ideas, plain
from bankwright.sheets.crossed import crossed
from bankwright.sheets.figures import figures
from bankwright.sheets.measures import Marks, Measure, marks_of, measures
from bankwright.sheets.paragraphs import two_sentences
from bankwright.sheets.prose import Told, told_of
from bankwright.sheets.row import Row, Sheet
from bankwright.sheets.split import runs_on
from bankwright.sheets.unit_cell import with_unit_cell

__all__ = ["Hit", "Look", "Seen", "models_of", "view"]

_CLAUSE = re.compile(r";|,(?=\s*[^\W\d_]{3})|\s/\s(?=[^\W\d_]{3})|\s{3,}|(?<=[\dCFVA%℃])\.?\s+(?=[^\W\d_]{5,}[\s:])")
FEWEST = 2  # rows under the names of models
PROSE = 90  # letters: a longer row without a value is running text
_NOTHING = re.compile(r"\s*(?:[—–-]|n/?a)\s*", re.IGNORECASE)
_TIMES = re.compile(r"(?<=\d)\s*[x*×X]\s*(?=\d)")
_CONDITIONS = re.compile(
    r"condition|bedingung|condicion|condizion|voorwaard|remark|bemerkung|remarque|observac|\bnote|opmerking|hinweis|test\b|条件"
)
_UNIT_AT_END = re.compile(
    r"(?<=[^\d\s])\s((?:mm|cm|in|ft|kg|g|lbs?|Ah|kWh|Wh|m?Ω|µΩ|mF|µF|°C|°F|V|mV|A|mA|kA|k?W|k?VA|k?A²s|A2s|ms|s|min|h"
    r"|in[-·]lb|ft[-·]lb|N ?·?m|Hz|%)(?: ?[DA]C)?)\s*$"
)
_TOLERANCE = re.compile(r"±\s*(\d+(?:[.,]\d+)?)\s*%")
_UNIT_IN_LABEL = re.compile(r"[\[(,]\s*([^\s\[\](),]{1,6}(?: ?[·.] ?m)?)\s*[\])]?\s*$")
_TWO_UNITS = re.compile(r"(?<!\S)([^\s\d()\[\],]{1,6})\s*[(\[]\s*([^\s\d()\[\],]{1,6})\s*[)\]]\s*$")
_UNIT_WITHIN = re.compile(r"[\[(]\s*([^\s\[\](),\d]{1,3}[²2]?[^\s\[\](),\d]{0,3})\s*[\])]")


@dataclass(frozen=True, slots=True)
class Seen:
    """One row, or one half of it: ideas of its label, of what stands around it, of all of it."""

    row: Row
    label: frozenset[str]
    around: frozenset[str]
    value: frozenset[str]
    direction: str  # charge, discharge, or empty
    text: str  # value, or the whole line where label and value are not apart
    measured: tuple[Measure, ...]
    side: str = ""  # heading over the value

    @property
    def own(self) -> frozenset[str]:
        """Ideas of label and value."""
        return self.label | self.value

    @property
    def every(self) -> frozenset[str]:
        """Ideas of the row and of what stands around it."""
        return self.label | self.value | self.around

    @property
    def spot(self) -> Spot:
        """Where it is printed."""
        return Spot(self.row.line, self.row.page, self.row.line_no)

    def of(self, *dimensions: str) -> tuple[Measure, ...]:
        """Measured values of these dimensions."""
        return tuple(m for m in self.measured if m.dimension in dimensions)

    def said(self, value: Value) -> Said:
        """A value that this row says."""
        return Said(value, self.spot)


@dataclass(frozen=True, slots=True)
class Hit:
    """A measured value in its row."""

    seen: Seen
    measure: Measure

    @property
    def said(self) -> Said:
        """As an answer."""
        return Said(self.measure.text(), self.seen.spot)

    @property
    def after(self) -> str:
        """What follows it up to the next value of its dimension."""
        later = [
            m.start for m in self.seen.measured if m.dimension == self.measure.dimension and m.start > self.measure.end
        ]
        return self.seen.text[self.measure.end : min(later, default=len(self.seen.text))]

    @property
    def before(self) -> str:
        """What leads to it from the value of its dimension before."""
        earlier = [
            m.end for m in self.seen.measured if m.dimension == self.measure.dimension and m.end <= self.measure.start
        ]
        return self.seen.text[max(earlier, default=0) : self.measure.start]


@dataclass(frozen=True)
class Look:
    """All rows that are looked at."""

    rows: tuple[Seen, ...]
    sheet: Sheet
    marks: Marks = field(default_factory=Marks)
    model: str = ""
    kind: str = ""

    def where(self, *need: str, none: Sequence[str] = (), way: str = "") -> Iterator[Seen]:
        """Rows that hold every idea of `need` ("a|b": one of them) and none of `none`, of one direction if given."""
        for seen in self.rows:
            have = seen.every
            if way and seen.direction != way:
                continue
            if all(any(one in have for one in idea.split("|")) for idea in need) and not have & set(none):
                yield seen

    def stacked(self) -> Iterator[tuple[Seen, Seen]]:
        """Each row with the one above it under the same section: columns of a page stand apart."""
        last: dict[tuple[int | None, str], Seen] = {}
        for seen in self.rows:
            place = (seen.row.page, seen.row.section)
            if place in last:
                yield last[place], seen
            last[place] = seen

    def hits(self, dimension: str, *need: str, none: Sequence[str] = (), way: str = "") -> list[Hit]:
        """Measured values of a dimension in such rows."""
        return [Hit(seen, m) for seen in self.where(*need, none=none, way=way) for m in seen.of(dimension)]


def models_of(sheet: Sheet) -> tuple[str, ...]:
    """Names of the models that a sheet gives in columns; empty for one model."""
    for row in sheet.rows:
        names = models_in(row.values) if not row.label else ()
        names = names or (tuple(row.values) if row.label and looks_like_models(row.values) else ())
        if names and sum(bool(set(names) & set(other.heads)) for other in sheet.rows) >= FEWEST:
            return names
    return _plain_names(sheet)


def _plain_names(sheet: Sheet) -> tuple[str, ...]:
    """Names of models without figures, "Basic" and "Plus": the same headings, of no known word, over several rows."""
    told = Counter(row.heads for row in sheet.rows if len(row.heads) == len(row.values) >= 2 and all(row.heads))
    heads, often = told.most_common(1)[0] if told else ((), 0)
    strange = len(set(heads)) == len(heads) and not any(ideas(h) or HEAD_WORDS.search(h) for h in heads)
    return heads if often >= 4 and strange and not any(is_value(h) or len(h) > 25 for h in heads) else ()


def view(sheet: Sheet, model: str = "", kind: str = "") -> Look:
    """Every row with its ideas; of one model, where the sheet holds several; of a kind, with what its sentences say.

    Output of a module or a charger is DC.
    """
    marks, known = marks_of(sheet.text), models_of(sheet)
    lines = sheet.text.splitlines()
    rows: list[Seen] = []
    made: list[Seen] = []
    notes = {note for row in sheet.rows for note in (*row.notes, *row.own_notes) if note}
    for row in chain.from_iterable(map(told_apart, crossed(sheet.rows, known, marks))):
        bound = any(note in row.label for note in notes) and not two_sentences(row.label)  # a footnote of a value
        told = told_of(row, marks, kind) if kind and is_prose(row) else []
        told = [one for one in told if not bound or (kind == "device" and "smallest" in ideas(one.row.label))]
        rows += [_left(seen, told) for seen in _seen(row, model, marks, known)]
        made += [
            seen for one in told if one.row.label for seen in _seen(_placed(one.row, row, lines), model, marks, known)
        ]
    rows = [_on_dc(seen) for seen in rows + made] if kind in ("module", "charger") else rows + made
    return Look(tuple(_directed(rows)), sheet, marks, model, kind)


def _placed(told: Row, row: Row, lines: Sequence[str]) -> Row:
    """A row made of a sentence with the line that this sentence begins on."""
    at, n = max(0, row.label.find(told.line)), row.line_no
    if n is None:
        return told
    while n <= len(lines) and at > len(lines[n - 1].strip()):
        at -= len(lines[n - 1].strip()) + bool(lines[n - 1].strip())
        n += 1
    return replace(told, line_no=min(n, len(lines)))


def is_prose(row: Row) -> bool:
    """Whether a row is running text."""
    return not row.values and (len(row.label) > PROSE or runs_on(row.label))


def _left(seen: Seen, told: Sequence[Told]) -> Seen:
    """A clause without the values that its sentence gave to rows of their own."""
    gone = {one.taken for one in told if seen.text.strip(" .") in one.sentence} if told else set()
    return (
        replace(seen, measured=tuple(m for m in seen.measured if (m.dimension, m.text()) not in gone)) if gone else seen
    )


def _on_dc(seen: Seen) -> Seen:
    """A row whose output is that of the battery side: the word alone makes it no AC one."""
    less = {"ac"} if "ac" in seen.every and "line" not in seen.every else set()
    return replace(seen, label=seen.label - less, around=seen.around - less, value=seen.value - less)


def _seen(row: Row, model: str, marks: Marks, known: tuple[str, ...]) -> Iterator[Seen]:
    chosen = _of_model(with_unit_cell(row), model, known)
    if chosen is None:
        return
    chosen = with_unit_cell(_with_conditions(chosen))
    label = chosen.label if chosen.values else ""
    around = ideas(chosen.group) | ideas(chosen.section)
    texts = tuple(_TIMES.sub(" × ", text) for text in chosen.values or (chosen.label,))
    sides = chosen.heads if len(chosen.heads) == len(texts) and not model else ("",) * len(texts)
    if len(set(sides)) <= 1 and len(texts) > 1:
        texts, sides = ("   ".join(texts),), (sides[0],)
    if is_prose(chosen):
        chosen = replace(chosen, label=figures(chosen.label))
        for clause in parts_of(chosen.label):
            yield _one(chosen, "", clause, "", around, marks=marks, way=direction(clause))
        return
    for text, side in zip(texts, sides, strict=True):
        yield from _halves(chosen, label, text, side, around, marks=marks)


def _with_conditions(row: Row) -> Row:
    """Cells under a heading of conditions go to the label."""
    if len(row.heads) != len(row.values) or not any(_CONDITIONS.search(plain(head)) for head in row.heads):
        return row
    told = [(head, value) for head, value in zip(row.heads, row.values, strict=True)]
    said = [value for head, value in told if _CONDITIONS.search(plain(head))]
    rest = [(head, value) for head, value in told if not _CONDITIONS.search(plain(head))]
    label = ", ".join((row.label, *said))
    return replace(row, label=label, heads=tuple(h for h, _ in rest), values=tuple(v for _, v in rest)) if rest else row


def _of_model(row: Row, model: str, known: tuple[str, ...]) -> Row | None:
    if model and row.label in known and row.label != model:
        return None
    if not model or not row.heads or len(row.heads) != len(row.values) or model not in row.heads:
        others = any(head in known and head != model for head in row.heads)
        return None if model and others and len(row.values) == 1 else _with_all_notes(row)
    n = row.heads.index(model)
    if _NOTHING.fullmatch(row.values[n]):
        return None  # of this model the row says nothing
    own = row.own_notes[n : n + 1]
    return _with_all_notes(replace(row, values=(row.values[n],), heads=("",), own_notes=own))


def _with_all_notes(row: Row) -> Row:
    """The footnotes of the values are those of the row."""
    return replace(row, notes=(*row.notes, *(note for note in row.own_notes if note)), own_notes=())


def _halves(row: Row, label: str, text: str, side: str, around: frozenset[str], *, marks: Marks) -> Iterator[Seen]:
    """The row, or its halves where it speaks of charge and discharge."""
    clauses = [(direction(part), part) for part in _CLAUSE.split(text)]
    ways = {way for way, _ in clauses if way}
    leads = direction(label) if ways and not clauses[0][0] else ""  # "charge: 0 to 50 °C / discharge -10 to 50 °C"
    if len(ways | ({leads} - {""})) == 2:
        way = leads
        for found, part in clauses:
            way = found or way
            yield _one(row, label, part, side, around, marks=marks, way=way)
        return
    both = {"charge", "discharge"} <= ideas(label)
    parts = re.split(r"\s/\s|/(?=\s*\d)|;|\s{3,}", text)
    first = _first_of(label)
    if both and len(parts) == 2 and all(measures(p, marks) for p in parts):
        united = measures(parts[1], marks)[-1]
        yield _one(row, label, _with_unit(parts[0], united, marks), side, around, marks=marks, way=first)
        yield _one(
            row, label, parts[1], side, around, marks=marks, way="charge" if first == "discharge" else "discharge"
        )
        return
    if both and not ways:
        for way in ("charge", "discharge"):
            yield _one(row, label, text, side, around, marks=marks, way=way)
        return
    yield _one(row, label, text, side, around, marks=marks, way=direction(label) or next(iter(ways), ""))


def _with_unit(part: str, united: Measure, marks: Marks) -> str:
    """`50 / 100 A`: the first bears the unit of the second."""
    bare = all(m.dimension == "count" for m in measures(part, marks))
    return f"{part.strip()} {united.unit}" if bare and united.unit else part


def _first_of(label: str) -> str:
    halves = re.split(r"/|\bund\b|\band\b|\bet\b|\by\b|\be\b|\ben\b|&|\+|-\s", label, maxsplit=1)
    return direction(halves[0]) or "charge"


def _one(row: Row, label: str, text: str, side: str, around: frozenset[str], *, marks: Marks, way: str) -> Seen:
    found = _with_label_unit(label, measures(text, marks))
    way = way or direction(row.group) or direction(row.section)
    bound = ideas(side) & {"most", "least", "typical", "rated"}  # headings Min, Typ, Max
    return Seen(row, ideas(label) | bound, around | ideas(side), ideas(text), way, text, found, side)


def _with_label_unit(label: str, found: tuple[Measure, ...]) -> tuple[Measure, ...]:
    """Bare numbers bear the unit that stands in the label: "Mass (kg)", "Current [A]", "Mass, lb (kg)" of two."""
    twice = _with_two_units(label, found)
    if twice:
        return twice
    label, printed = " ".join(_TOLERANCE.sub(" ", label).split()), label
    unit = _UNIT_IN_LABEL.search(label) or _UNIT_AT_END.search(label) or _UNIT_WITHIN.search(label)
    unit = unit or (re.fullmatch(r"\s*(\S+)\s*", label) if is_unit(label) else None)
    named = measures(f"1 {unit[1]}", Marks()) if unit else ()
    if not named or named[0].dimension == "count":
        return found
    band = _TOLERANCE.search(printed)
    about = f"{band[1].replace(',', '.')} %" if band else ""
    return tuple(
        replace(m, dimension=named[0].dimension, unit=named[0].unit, tolerance=m.tolerance or about)
        if m.dimension == "count"
        else m
        for m in found
    )


def _with_two_units(label: str, found: tuple[Measure, ...]) -> tuple[Measure, ...]:
    """Two bare numbers, the second in brackets as its unit is: "Mass, lb (kg)" and "24.3 (11.0)"; empty for others."""
    told = _TWO_UNITS.search(label)
    if not told or len(found) != 2 or any(m.dimension != "count" or m.ranges for m in found):
        return ()
    named = [measures(f"1 {unit}", Marks())[0] for unit in told.groups()]
    if named[0].dimension != named[1].dimension or named[0].dimension == "count" or found[0].end >= found[1].start:
        return ()
    return tuple(replace(m, dimension=n.dimension, unit=n.unit) for m, n in zip(found, named, strict=True))


def _directed(rows: list[Seen]) -> Iterator[Seen]:
    """Rows that do not say their direction take that of their neighbours, or the other one when they come again."""
    known: dict[str, str] = {}
    for n, seen in enumerate(rows):
        way = seen.direction
        if not way and seen.row.values:
            way = _from_neighbours(rows, n, known)
        if way and seen.row.values and not seen.direction:
            seen = replace(seen, direction=way)
        if way:
            known.setdefault(seen.row.label, way)
        yield seen


def _from_neighbours(rows: list[Seen], n: int, known: dict[str, str]) -> str:
    if not rows[n].row.near:
        return ""
    above = next((s.direction for s in reversed(rows[max(0, n - 4) : n]) if s.direction), "")
    below = next((s.direction for s in rows[n + 1 : n + 5] if s.direction), "")
    again = known.get(rows[n].row.label, "")
    if again:
        return "charge" if again == "discharge" else "discharge"
    return below if not above or above == below else ""
