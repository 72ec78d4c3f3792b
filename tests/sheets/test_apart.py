"""Labels with several names beside as many values."""

import pytest

from bankwright.sheets.apart import told_apart
from bankwright.sheets.read import proposals_of_text
from bankwright.sheets.row import Row


def told(label, *values, heads=()):
    row = Row(label, values, label, None, 1, heads)
    return [(part.label, part.values) for part in told_apart(row)]


def test_each_name_takes_its_value_and_the_words_that_all_share():
    assert told("Alarm / stop / restart at low voltage", "45 V / 42 V / 49 V") == [
        ("Alarm at low voltage", ("45 V",)),
        ("stop at low voltage", ("42 V",)),
        ("restart at low voltage", ("49 V",)),
    ]
    assert told("Alarm / stop", "45 V / 42 V / 49 V") == [("Alarm / stop", ("45 V / 42 V / 49 V",))]


def test_two_names_over_two_values_of_each_model():
    heads = ("QX-50", "QX-90")
    assert told("Current, continuous / peak", "50 A / 70 A (5 s)", "90 A / 95 A (5 s)", heads=heads) == [
        ("Current, continuous", ("50 A", "90 A")),
        ("Current, peak", ("70 A (5 s)", "95 A (5 s)")),
    ]
    assert told("Current, charge / discharge", "5 A / 9 A", "6 A / 7 A", heads=heads)[0][1] == (
        "5 A / 9 A",
        "6 A / 7 A",
    )


@pytest.mark.parametrize("high", ["High-battery stop", "Stop at high voltage", "Low-battery alarm"])
def test_a_stop_at_a_high_voltage_or_an_alarm_is_no_low_cut_out(high):
    text = f"Off-grid inverter\nRated power 3000 W\n{high} 61 V\nLow-battery shut-down 43 V\nWeight 20 kg\n"
    assert proposals_of_text(text, "inverter").models[""]["cut_out"].value == "43 V"
