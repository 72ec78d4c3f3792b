"""The polarity of every symbol: solid and + for positive, hollow and the minus sign for negative."""

import re
import xml.etree.ElementTree as ET

import pytest

from bankwright.draw.pen.symbols import (
    POLE_WORDS,
    cells,
    converter,
    device,
    planned,
    polarity,
    post,
    verdict_mark,
    wire,
)
from bankwright.draw.wiring import wiring
from support.banks.drawn import Plan, drawn_bank

pytestmark = pytest.mark.quick


def _classes(text: str) -> list[str]:
    return re.findall(r'class="([^"]*)"', text)


def test_a_positive_post_has_a_cross_a_negative_one_a_bar() -> None:
    plus, minus = _classes(post(0, 0, "+")), _classes(post(0, 0, "-"))
    assert plus == ["terminal", "post pos", "sign pos", "sign pos"]
    assert minus == ["terminal", "post neg", "sign neg"]


def test_the_cross_of_a_positive_post_is_level_and_upright() -> None:
    level, upright = re.findall(r'<path d="([^"]*)"', post(0, 0, "+", 6.0))
    assert (level, upright) == ("M-3.0 0.0L3.0 0.0", "M0.0 -3.0L0.0 3.0")


def test_a_positive_cable_is_solid_a_negative_one_hollow() -> None:
    assert _classes(wire("M0 0L9 0", 8.0, "+")) == ["wire pos"]
    assert _classes(wire("M0 0L9 0", 8.0, "-")) == ["wire neg", "core"]
    widths = [float(w) for w in re.findall(r'stroke-width="([\d.]+)"', wire("M0 0L9 0", 8.0, "-"))]
    assert widths[0] - widths[1] == pytest.approx(3.2)


def test_the_thinnest_negative_cable_still_shows_two_strokes() -> None:
    core = float(re.findall(r'stroke-width="([\d.]+)"', wire("M0 0L9 0", 5.0, "-"))[1])
    assert core >= 1.0


def test_a_cable_to_be_made_keeps_its_pole() -> None:
    assert _classes(planned("M0 0", "+")) == ["planned pos"]
    assert _classes(planned("M0 0", "-")) == ["planned neg"]


def test_the_long_thin_plate_of_a_cell_is_positive_and_up() -> None:
    root = ET.fromstring(cells(50, 100))
    plates = [(e.get("class", ""), e.get("d", "")) for e in root if e.tag == "path"]
    first, second = plates[0], plates[1]
    assert first[0] == "thin plus"
    assert second[0] == "heavy minus"
    width = lambda d: abs(float(d[1:].split()[0]) - float(d.split("L")[1].split()[0]))  # noqa: E731
    assert width(first[1]) > width(second[1])
    signs = {e.text: (float(e.get("y", "0")), e.get("class", "")) for e in root if e.tag == "text"}
    assert signs["+"][0] < signs["−"][0]
    assert "pos" in signs["+"][1]
    assert "neg" in signs["−"][1]


@pytest.mark.parametrize("kind", ["inverter", "charger"])
def test_a_converter_shows_direct_current_where_it_comes_from(kind: str) -> None:
    """Straight and dashed line is direct current, the wave alternating: an inverter has direct upper left."""
    paths = re.findall(r'<path d="([^"]*)" class="(thin[^"]*)"', converter(0, 0, kind))
    dashed = next(d for d, cls in paths if "dash" in cls)
    wave = next(d for d, _ in paths if "q" in d)
    at = lambda d: float(re.match(r"M(-?[\d.]+)", d)[1])  # type: ignore[index] # noqa: E731
    assert (at(dashed) < at(wave)) == (kind == "inverter")


@pytest.mark.parametrize("kind", ["fuse", "breaker", "disconnect", "shunt"])
def test_devices_have_no_polarity_of_their_own(kind: str) -> None:
    assert not re.search(r"\b(pos|neg)\b", device(kind, 0, 0))


def test_contacts_are_drawn_open() -> None:
    """The end of the blade lies clear of the fixed contact."""
    for kind in ("breaker", "disconnect"):
        lines = re.findall(r"M(-?[\d.]+) (-?[\d.]+)L(-?[\d.]+) (-?[\d.]+)", device(kind, 0, 0))
        blade = next(line for line in lines if line[0] != line[2] and line[1] == "12.0")
        assert abs(float(blade[2])) > 8


def test_poles_and_words_belong_together() -> None:
    assert polarity("+") == "pos"
    assert polarity("-") == "neg"
    assert POLE_WORDS == {"+": "+ positive", "-": "negative −"}
    with pytest.raises(KeyError):
        polarity("?")


def test_every_verdict_has_its_own_mark_hidden_from_the_ear() -> None:
    marks = {verdict: verdict_mark(verdict) for verdict in ("pass", "caution", "fail", "unknown")}
    shapes = {re.sub(r'class="[^"]*"', "", mark) for mark in marks.values()}
    assert len(shapes) == 4
    assert all('aria-hidden="true"' in mark for mark in marks.values())


@pytest.mark.parametrize("pattern", ["chain", "busbar"])
def test_positive_stands_left_of_the_modules_negative_right(pattern: str) -> None:
    drawn = wiring(drawn_bank(Plan(5, pattern=pattern, pairs=1 if pattern == "busbar" else 2)))
    root = ET.fromstring(drawn.text)
    middle = drawn.width / 2
    found = {"pos": 0, "neg": 0}
    for element in root.iter():
        cls = (element.get("class") or "").split()
        if "wire" in cls and "L" in (element.get("d") or ""):
            xs = [float(p.split()[0]) for p in re.split("[MLQ]", element.get("d", ""))[1:]]
            found[cls[1]] += 1
            assert all(x < middle for x in xs) if cls[1] == "pos" else all(x > middle for x in xs)
    assert found["pos"] == found["neg"]
    assert found["pos"] >= 5
