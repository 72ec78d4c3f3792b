"""Printed values as the bank file writes them; expected values by hand, one habit of print each."""

import pytest

from bankwright.sheets.measures import Marks, marks_of, measures

pytestmark = pytest.mark.quick

PRINTED = {
    "100 A (120 A, 10 min)": ["100 A", "120 A", "10 min"],
    "2500 mV ± 30 mV": ["2500 mV +- 30 mV"],
    "−20 °C to +55 °C": ["-20 degC to 55 degC"],
    "40...64 V": ["40 V to 64 V"],
    "40–64V": ["40 V to 64 V"],
    "-20~+60℃": ["-20 degC to 60 degC"],
    "5 600 A²s 14 500 A²s": ["5600 A2s", "14500 A2s"],
    "10 N·m (89 in·lb)": ["10 N m", "89 in lb"],
    "442 × 480 × 133 mm": ["442 mm", "480 mm", "133 mm"],
    "5/16 in (M8)": ["5/16 in"],
    "2.0 s / 4.5 s": ["2.0 s", "4.5 s"],
    "20kA@125VDC": ["20 kA", "125 V"],
    "30±2 kg": ["30 kg +- 2 kg"],
    "延时3s": ["3 s"],
}


@pytest.mark.parametrize("text", PRINTED)
def test_values(text):
    assert [m.text() for m in measures(text, marks_of(text)) if m.dimension != "count"] == PRINTED[text]


@pytest.mark.parametrize(
    ("text", "marks", "value"),
    [
        ("1.200 A", ",", "1200 A"), ("1.200 A", ".", "1.200 A"), ("1,200 A", ".", "1200 A"), ("3,65 V", ".", "3.65 V"),
        ("1.234,5 W", ",", "1234.5 W"), ("1,234.5 W", ".", "1234.5 W"), ("28'000 A2s", ".", "28000 A2s"),
    ],
)  # fmt: skip
def test_decimal_and_thousands_marks(text, marks, value):
    assert [m.text() for m in measures(text, Marks(marks))] == [value]


def test_megohm_is_no_milliohm():
    assert [m.dimension for m in measures("500 MΩ 18 mΩ", Marks())] == ["insulation", "resistance"]
