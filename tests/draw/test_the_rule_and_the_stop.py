"""The gauge of a finding: bar, stop, bracket, wall, units, and what it says when something is not given."""

import re
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankwright.draw.gauge import gauge, rule
from bankwright.forms.wording import Figure
from support.drawn_findings import finding_at

SVG = "{http://www.w3.org/2000/svg}"


def _parts(text: str, tag: str, cls: str) -> list[ET.Element]:
    return [e for e in ET.fromstring(text).iter(f"{SVG}{tag}") if cls in (e.get("class") or "").split()]


def _per_cent(element: ET.Element, key: str) -> float:
    return float(element.get(key, "").removesuffix("%"))


def test_a_figure_over_its_limit_goes_through_the_stop_in_the_colour_of_fail() -> None:
    drawn = rule(Figure(104.0, "current", 95.0, 114.0), (None, 100.0), "fail", "x").text
    fill, over = _parts(drawn, "rect", "fill")
    stop = _parts(drawn, "line", "stop")[0]
    assert over.get("class") == "fill over"
    assert _per_cent(fill, "x") + _per_cent(fill, "width") == pytest.approx(_per_cent(stop, "x1"), abs=0.11)
    assert _per_cent(over, "x") == pytest.approx(_per_cent(stop, "x1"), abs=0.11)


def test_a_figure_under_its_limit_stops_before_the_wall() -> None:
    drawn = rule(Figure(80.0, "current"), (None, 100.0), "pass", "x").text
    (fill,) = _parts(drawn, "rect", "fill")
    (hatch,) = _parts(drawn, "rect", "hatch")
    assert _per_cent(fill, "x") + _per_cent(fill, "width") < _per_cent(hatch, "x")
    assert _parts(drawn, "line", "range") == []


def test_at_least_is_mirrored_wall_left_bar_from_the_right() -> None:
    drawn = rule(Figure(47.9, "voltage"), (44.0, None), "pass", "x").text
    (fill,), (hatch,) = _parts(drawn, "rect", "fill"), _parts(drawn, "rect", "hatch")
    assert _per_cent(fill, "x") + _per_cent(fill, "width") == pytest.approx(97, abs=0.11)
    assert _per_cent(hatch, "x") == pytest.approx(3)
    assert _per_cent(fill, "x") > _per_cent(hatch, "x") + _per_cent(hatch, "width")
    assert "at least 44.0 V" in drawn


def test_no_limit_given_is_said_and_never_guessed() -> None:
    drawn = rule(Figure(254.0, "current"), (None, None), "unknown", "x").text
    assert ">limit not given</text>" in drawn
    assert _parts(drawn, "line", "stop") == []
    assert len(_parts(drawn, "rect", "gapbox")) == 1


def test_the_bracket_spans_the_range_the_upright_marks_the_nominal() -> None:
    drawn = rule(Figure(88.0, "current", 80.0, 94.0), (None, 100.0), "pass", "x").text
    level = _parts(drawn, "line", "range")[0]
    (nominal,) = _parts(drawn, "line", "nominal")
    at = lambda v: 3 + 94 * v / 125  # noqa: E731  the axis runs from 0 to 1.25 of the limit
    assert _per_cent(level, "x1") == pytest.approx(at(80), abs=0.06)
    assert _per_cent(level, "x2") == pytest.approx(at(94), abs=0.06)
    assert _per_cent(nominal, "x1") == pytest.approx(at(88), abs=0.06)


def test_a_window_has_two_walls() -> None:
    drawn = rule(Figure(300.0, "current"), (215.0, 260.0), "fail", "x").text
    assert len(_parts(drawn, "line", "stop")) == 2
    assert ">at least 215 A</text>" in drawn
    assert ">limit 260 A</text>" in drawn


def test_the_first_number_carries_the_unit_and_us_units_are_kept() -> None:
    drawn = rule(Figure(71.0, "temperature_degc"), (None, 75.0), "caution", "x", units="us").text
    assert "limit 167 °F" in drawn
    assert len(re.findall(r"°F</text>", drawn)) == 2


def test_the_whole_line_is_told_to_the_ear() -> None:
    drawn = gauge(finding_at("M1", "fail"), prefix="q")
    assert drawn is not None
    assert drawn.title == "104 A (95.0 A to 114 A), limit 100 A: 14.0 A over (14 %) at the worst end: fail"
    root = ET.fromstring(drawn.text)
    assert root.findtext(f"{SVG}title") == drawn.title
    assert root.get("width") == "100%"
    assert 'id="q-hatch"' in drawn.text


def test_a_statement_without_figure_has_no_gauge() -> None:
    from dataclasses import replace

    assert gauge(replace(finding_at("M1", "unknown"), figure=None)) is None


@given(
    value=st.floats(0, 1e6),
    limit=st.floats(1e-6, 1e6),
    least=st.booleans(),
    quantity=st.sampled_from(["current", "voltage", "resistance", "temperature_degc", "share", "mass"]),
)
def test_any_figure_stays_on_the_line(value: float, limit: float, least: bool, quantity: str) -> None:
    limits = (limit, None) if least else (None, limit)
    drawn = rule(Figure(value, quantity, value * 0.9, value * 1.1), limits, "pass", "x").text
    for element in ET.fromstring(drawn).iter():
        for key in ("x", "x1", "x2"):
            if (element.get(key) or "").endswith("%"):
                assert 2.9 <= _per_cent(element, key) <= 97.1
    assert "nan" not in drawn


@given(value=st.floats(-40, 90), least=st.floats(-30, 60))
def test_temperatures_below_zero_are_drawn(value: float, least: float) -> None:
    drawn = rule(Figure(value, "temperature_degc"), (least, None), "pass", "x").text
    assert len(_parts(drawn, "line", "stop")) == 1
