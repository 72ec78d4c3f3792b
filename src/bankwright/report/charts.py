"""Charts of Watch as drawings: growth of joints, state of charge, cells by zone, capacity, whatever has lanes.

Gives: Chart, charts(), DESK, PHONE. Each comes at two widths, each drawn at its own.
Limits: figures are those of the sections; nothing is computed here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

from bankwright.draw.over_time.lanes import Flag, Point, Series, lanes
from bankwright.draw.pen.paper import Drawing
from bankwright.draw.zones import ZoneGauge, zones
from bankwright.forms.wording import Figure, amount_text
from bankwright.job.charting import (
    CONTRADICTED,
    ZONES,
    Charted,
    Course,
    Lane,
    Mark,
    Section,
    Watching,
    ZoneSpread,
    band_text,
    day_text,
)

__all__ = ["DESK", "PHONE", "Chart", "charts"]

DESK, PHONE = 680.0, 360.0  # px
TALL, DAY = 170.0, 86400.0
GREY = "Grey: 95 % band. Dashed box: nothing was heard. UTC."
PERCENT = (0.0, 0.25, 0.5, 0.75, 1.0)


@dataclass(frozen=True, slots=True)
class Chart:
    """One drawing by its name: "joints", "joints-phone"."""

    name: str
    drawing: Drawing


def charts(found: Watching, shown: Charted, units: str = "metric") -> Iterator[Chart]:
    """Every chart that has anything to show, at both widths; each stands alone as a file."""
    for name, make in _makers(found, shown, units):
        for suffix, width in (("", DESK), ("-phone", PHONE)):
            yield Chart(name + suffix, make(width=width, embedded=False))


def _makers(found: Watching, shown: Charted, units: str) -> Iterator[tuple[str, Callable[..., Drawing]]]:
    for section in found.sections:
        quantities = tuple(dict.fromkeys(lane.quantity for lane in section.lanes))
        for quantity in quantities:
            own = tuple(lane for lane in section.lanes if lane.quantity == quantity)
            name = section.name if len(quantities) == 1 else f"{section.name}-{quantity.replace('_', '-')}"
            yield name, partial(_section, found, section, own, units)
    if shown.spreads:
        yield "cells", partial(_zones, shown.spreads, units, _doubts_of(found, "cells", units))
    if any(course.counted or course.line or course.tests for course in shown.courses):
        yield "capacity", partial(_capacity, found, shown.courses, units, _doubts_of(found, "capacity", units))


def _doubts_of(found: Watching, name: str, units: str) -> list[str]:
    return [text for section in found.sections if section.name == name for text in _doubts(section, units)]


def _doubts(section: Section, units: str) -> list[str]:
    """Which contradicted sensors a section rests on; it stands under its chart too."""
    return [note.text(units) for note in section.notes if note.words == CONTRADICTED]


def _said(quantity: str, units: str) -> Callable[[float], str]:
    def said(value: float) -> str:
        text = amount_text(value, quantity, units)
        number, gap, unit = text.rpartition(" ")
        return (number.rstrip("0").rstrip(".") if "." in number else number) + gap + unit if value else "0"

    return said


def _section(found: Watching, section: Section, own: tuple[Lane, ...], units: str, **size: object) -> Drawing:
    """The lanes of one section; a share of charge has a scale from nought to full."""
    flags = [
        Flag(mark.time, f"{lane.name}: {mark.words}, {day_text(mark.time)}") for lane in own for mark in lane.marks
    ]
    is_soc = own[0].quantity == "soc"
    series = [_series(section, lane, units, is_soc) for lane in own]
    begin = max(found.since, min((lane.time[0] for lane in own if lane.time), default=found.since))
    notes = [GREY]
    if any(lane.wall is not None for lane in own):
        notes.append("Wall: the limit of the place.")
    if is_soc:
        notes.append("Dashed frame: the band alone can be told.")
    span = (begin if is_soc else found.since, found.until)
    return lanes(
        series, _said(own[0].quantity, units), section.title, flags=flags, span=span,
        notes=[" ".join(notes), *_doubts(section, units)], high=TALL if is_soc and len(own) == 1 else 62.0,
        prefix=section.name, **size,  # type: ignore[arg-type]
    )  # fmt: skip


def _flag(lane: Lane, mark: Mark, since: float) -> str:
    early = " or before" if mark.time - since < DAY else ""
    return f"{lane.name}: {mark.words}, {day_text(mark.time)}{early}"


def _series(section: Section, lane: Lane, units: str, is_soc: bool) -> Series:
    row = next((row for row in section.rows if row.name == lane.name), None)
    figure, under = "unknown", ""
    if row is not None and row.figure is not None:
        figure, _, under = band_text(row.figure, units).partition(" (")
    under = under.rstrip(")") if lane.wall is None else f"of {_said(lane.quantity, units)(lane.wall)}"
    return Series(
        lane.name, lane.time, lane.value, lane.low, lane.high, lane.wall, figure=figure, under=under,
        ends=(0.0, 1.0) if is_soc else None, marks=PERCENT if is_soc else (),
    )  # fmt: skip


def _zones(spreads: tuple[ZoneSpread, ...], units: str, doubts: list[str], **size: object) -> Drawing:
    gauges = [ZoneGauge(s.module, s.zone, s.usual, s.widest, s.limit, _zone_words(s, units)) for s in spreads]
    names = [(name[0].upper() + name[1:], _ends(number, spreads, units)) for number, (name, _) in enumerate(ZONES)]
    notes = (
        "Cells at that mean voltage. Bar: the usual spread; bracket: up to the widest. Dashed frame: not visited in "
        "what is shown. Upright: the limit there.",
        *doubts,
    )
    return zones(names, gauges, notes=notes, **size)  # type: ignore[arg-type]


def _ends(number: int, spreads: tuple[ZoneSpread, ...], units: str) -> str:
    """Between which voltages a zone lies, and the limit in it."""
    low, high = ZONES[number][1]
    volts, said = _said("cell_voltage", units), _said("cell_spread", units)
    limits = sorted({one.limit for one in spreads if one.zone == number})
    limit = " or ".join(said(each) for each in limits)
    text = f"{volts(low)} to {volts(high)}" if 0 < number < len(ZONES) - 1 else ""
    text = text or (f"under {volts(high)}" if number == 0 else f"over {volts(low)}")
    return f"{text}; limit {limit}"


def _zone_words(one: ZoneSpread, units: str) -> str:
    if one.usual is None or one.widest is None:
        return "not seen" if one.last is None else f"not seen since {day_text(one.last)}"
    usual, widest = (amount_text(value, "cell_spread", units, 2) for value in (one.usual, one.widest))
    return f"{usual}, at most {widest}"


def _capacity(found: Watching, courses: tuple[Course, ...], units: str, doubts: list[str], **size: object) -> Drawing:
    series = [_course(course, found, units) for course in courses]
    notes = [
        "Squares: one full charge and the empty end beside it, with their range. Rings: capacity tests of the logbook, "
        "with theirs. Line and grey: the trend, 95 % band; dashed beyond today, if it goes on like this. Wall: 80 % of "
        "the first capacity.",
        *doubts,
    ]
    return lanes(series, _said("capacity_ah", units), "Capacity by count", notes=notes, high=90.0, prefix="capacity",
                 **size)  # type: ignore[arg-type]  # fmt: skip


def _course(course: Course, found: Watching, units: str) -> Series:
    line = course.line
    last = line[1] if len(line) > 1 else None
    told = last or (course.tests[-1] if course.tests else None)
    figure = (
        f"no trend: {course.pairs} of 15"
        if told is None
        else band_text(Figure(told.value, "capacity_ah", told.low, told.high), units)
    )
    wall = "" if course.wall is None else f"wall {_said('capacity_ah', units)(course.wall)}"
    by_test = "by test" if last is None and course.tests else ""
    return Series(
        course.module, tuple(t.time for t in line), tuple(t.value for t in line), tuple(t.low for t in line),
        tuple(t.high for t in line), course.wall, is_least=True, figure=figure,
        under=by_test or wall,
        points=(*(Point(t.time, t.value, t.low, t.high) for t in course.counted),
                *(Point(t.time, t.value, t.low, t.high, is_test=True) for t in course.tests)), today=found.now,
        marks=() if course.wall is None else (course.wall, course.wall / 0.8),
    )  # fmt: skip
