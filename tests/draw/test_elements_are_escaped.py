"""The element writer escapes everything, writes fixed decimals and refuses style attributes."""

import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankwright.draw.pen.svg import Markup, element, group, number, points, words

NASTY = "</text><script>alert(1)</script>\"' & \x00\x0b M1"


def test_text_inside_and_in_attributes_cannot_break_out() -> None:
    parsed = ET.fromstring(group(words(1, 2, NASTY), title=NASTY, id=NASTY))
    assert [e.tag for e in parsed.iter()] == ["g", "title", "text"]
    assert parsed[1].text == NASTY.replace("\x00", "\ufffd").replace("\x0b", "\ufffd")
    assert parsed.get("id") == parsed[1].text


@given(st.text())
def test_any_text_comes_back_as_it_went_in(text: str) -> None:
    read = ET.fromstring(element("text", text, x=1.0)).text or ""
    kept = "".join(c if c in "\t\n\r" or " " <= c <= "\ud7ff" or "\ue000" <= c <= "\ufffd" or c > "\uffff" else "\ufffd"
                   for c in text)  # fmt: skip
    assert read == kept.replace("\r\n", "\n").replace("\r", "\n")


def test_markup_is_not_escaped_twice() -> None:
    assert element("g", Markup("<a/>"), "<a/>") == "<g><a/>&lt;a/&gt;</g>"


def test_numbers_have_fixed_decimals_and_no_minus_nought() -> None:
    assert [number(3), number(3.0), number(-0.01), number(1 / 3), number(2e-9)] == ["3", "3.0", "0.0", "0.3", "0.0"]
    assert points("M", 3, 4.26, "h", -2.0) == "M3 4.3h-2.0"


def test_style_attributes_are_refused() -> None:
    with pytest.raises(ValueError, match="style"):
        element("g", style="fill:red")
