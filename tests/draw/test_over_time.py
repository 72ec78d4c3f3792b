"""Lanes over time and spreads by zone: gaps stay gaps, walls stand at their limit, units stand on the scale."""

from __future__ import annotations

import math
import re
from datetime import UTC, datetime
from xml.etree import ElementTree

import pytest

from bankwright.draw.over_time.axes import TimeAxis, ValueAxis, runs, stretches
from bankwright.draw.over_time.lanes import Flag, Point, Series, lanes
from bankwright.draw.pen.letters import room, wrapped
from bankwright.draw.zones import ZoneGauge, zones

DAY = 86400.0
BEGIN = datetime(2026, 1, 1, tzinfo=UTC).timestamp()
NAN = math.nan


def said(value: float) -> str:
    return f"{value * 1e6:.0f} µΩ" if value else "0"


def series(**more: object) -> Series:
    time = tuple(BEGIN + k * DAY for k in range(60) if not 20 < k < 30)
    value = tuple(1e-6 * k for k in range(len(time)))
    low, high = tuple(v - 2e-5 for v in value), tuple(v + 2e-5 for v in value)
    return Series(**{"name": "M4 branch", "time": time, "value": value, "low": low, "high": high, **more})  # type: ignore[arg-type]


def paths(text: str, cls: str) -> list[str]:
    return re.findall(rf'<path d="([^"]+)" class="{cls}"/>', text)


@pytest.mark.parametrize("width", [680.0, 360.0])
def test_a_gap_parts_line_and_band_and_has_a_box(width: float) -> None:
    drawn = lanes([series()], said, "Growth", width=width).text
    assert len(paths(drawn, "curve")) == len(paths(drawn, "band")) == 2
    assert drawn.count('class="gapbox"') == 1
    ElementTree.fromstring(drawn)


def test_a_band_without_a_figure_is_a_dashed_frame_and_no_line() -> None:
    whole = series()
    value = tuple(NAN if k < 10 else v for k, v in enumerate(whole.value))
    drawn = lanes([series(value=value)], said, "Growth").text
    assert (len(paths(drawn, "may")), len(paths(drawn, "band")), len(paths(drawn, "curve"))) == (1, 2, 2)


def test_the_wall_stands_at_its_limit_and_the_forbidden_side_is_hatched() -> None:
    """Both by hand: the scale goes from the lowest band to the wall, 4 % room at each end."""
    drawn = lanes([series(wall=1e-4)], said, "Growth", prefix="g").text
    (wall,) = paths(drawn, "stop2")
    y = float(re.findall(r"[\d.]+", wall)[1])
    low, high = -2e-5, 1e-4
    edge = 0.04 * (high - low)
    assert y == pytest.approx(14 + 62 * (1 - (high - low + edge) / (high - low + 2 * edge)), abs=0.06)
    assert 'fill="url(#g-hatch)"' in drawn
    assert "100 µΩ" in drawn
    floor = lanes([series(wall=-1e-5, is_least=True)], said, "Capacity").text
    hatch, stop = re.search(r'y="([\d.]+)"[^>]*class="hatch"', floor), paths(floor, "stop2")[0]
    assert hatch is not None
    assert float(hatch[1]) == pytest.approx(float(re.findall(r"[\d.]+", stop)[1]), abs=0.11)


def test_beyond_today_is_dashed_and_points_have_their_range() -> None:
    point = Point(BEGIN + 5 * DAY, 1e-5, 0.0, 2e-5)
    drawn = lanes([series(today=BEGIN + 40 * DAY, points=(point,))], said, "Capacity").text
    assert len(paths(drawn, "curve c1")) == 1
    assert len(paths(drawn, "may")) == 1
    assert drawn.count('class="dot"') == 1


def test_a_test_is_a_ring_whose_range_ends_in_bars_and_lies_on_top() -> None:
    """By hand: the scale goes from the lowest band, -2e-5, to the highest value, 1e-4, 4 % room at each end."""
    test = Point(BEGIN + 5 * DAY, 1e-5, 0.0, 1e-4, is_test=True)
    drawn = lanes([series(points=(test, Point(BEGIN + 6 * DAY, 1e-5, 0.0, 2e-5)))], said, "Capacity").text
    (ring,) = re.findall(r'<circle cx="[\d.]+" cy="([\d.]+)" r="5.0" class="part"/>', drawn)
    low, high = -2e-5, 1e-4
    edge = 0.04 * (high - low)
    assert float(ring) == pytest.approx(14 + 62 * (1 - (1e-5 - low + edge) / (high - low + 2 * edge)), abs=0.11)
    assert len(paths(drawn, "thin")) == 4, "two ranges, two bars"
    assert drawn.index('class="dot"') < drawn.index("<circle")


@pytest.mark.parametrize("width", [680.0, 360.0, 900.0])
def test_nothing_leaves_the_sheet_and_letters_are_large_enough(width: float) -> None:
    """By the room that letters may need; 12 px is the least of every drawing."""
    many = [series(name=f"a branch with a long name {k}", figure="123 ± 45 µΩ", under="of 543 µΩ") for k in range(3)]
    flag = Flag(BEGIN + 30 * DAY, "something that happened and has many words to it, more than one line of a phone")
    drawn = lanes(many, said, "Growth", flags=[flag], notes=["Grey: band."], width=width)
    for x, cls, text in re.findall(r'<text x="([\d.]+)" y="[\d.]+" class="([^"]*)">([^<]*)</text>', drawn.text):
        wide = room(text, 12 if "small" in cls else 14 if "b" in cls.split() else 13, "b" in cls.split())
        left = float(x) - (wide if "end" in cls.split() else wide / 2 if "mid" in cls.split() else 0)
        assert left >= -1, text
        assert left + wide <= width + 8, text


@pytest.mark.parametrize(("days", "first"), [(3, "2 Jan"), (30, "2 Jan"), (400, "Apr 26"), (4000, "2028")])
def test_marks_of_time_fit_and_are_round(days: int, first: str) -> None:
    axis = TimeAxis(BEGIN + DAY / 2, BEGIN + days * DAY, 60, 340)
    marks = axis.marks()
    places = [axis.at(time) for time, _ in marks]
    assert 2 <= len(marks) <= 8
    assert all(b - a >= room(text, 12) for a, b, (_, text) in zip(places, places[1:], marks, strict=False))
    assert all(datetime.fromtimestamp(time, UTC).hour == 0 for time, _ in marks)
    assert marks[0][1] == first or (days == 30 and marks[0][1].endswith("Jan")), marks
    assert TimeAxis(BEGIN, BEGIN, 0, 100).at(BEGIN) == 0


def test_runs_and_gaps_by_hand() -> None:
    time, value = (0, 1, 2, 3, 9, 10, 11), (1, NAN, 1, 1, 1, 1, NAN)
    assert list(runs(time, value)) == [[0], [2, 3], [4, 5]]
    assert list(stretches(time, value)) == [(0, 2), (3, 9)]
    assert list(runs((), ())) == []
    assert ValueAxis(1.0, 1.0, 0.0, 10.0).at(1.0) == 5.0


def test_a_zone_that_was_not_visited_is_a_dashed_frame_with_its_words() -> None:
    gauges = [
        ZoneGauge("M1", 0, None, None, 0.15, "not seen since 12 October"),
        ZoneGauge("M1", 1, 0.035, 0.04, 0.03, "35 mV, at most 40 mV"),
        ZoneGauge("M1", 2, 0.05, 0.09, 0.15, "50 mV, at most 90 mV"),
    ]
    names = [("Near empty", "under 3.15 V"), ("Flat", "3.15 V to 3.4 V"), ("Near full", "over 3.4 V")]
    for width in (680.0, 360.0):
        drawn = zones(names, gauges, width=width).text
        ElementTree.fromstring(drawn)
        assert drawn.count('class="gapbox"') == 1
        assert drawn.count('class="fill over"') == 1, "35 mV on the flat pass its 30 mV"
        assert drawn.count('class="stop2"') == 3
        assert "not seen since 12 October" in drawn


def test_words_are_wrapped_whole() -> None:
    rows = wrapped("one two three four five", 80, 13)
    assert " ".join(rows) == "one two three four five"
    assert len(rows) > 1
    assert wrapped("", 80, 13) == []
