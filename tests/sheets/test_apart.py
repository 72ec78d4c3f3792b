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


def test_values_of_models_in_lines_below_each_other_are_theirs():
    text = """Slate series modules
QX-50 QX-90
Nominal capacity 50 Ah 90 Ah
Weight 20 kg 35 kg
Body, W x D x H 17.4 x 16.5 x 5.2 in
(442 x 420 x 132 mm)
17.4 x 22.0 x 7.0 in
(442 x 560 x 177 mm)
Nominal voltage 51.2 V 51.2 V
Charge voltage 56 V 56 V
Terminal torque 9 N m 9 N m
Altitude 2000 m 2000 m
"""
    found = proposals_of_text(text, "module").models
    assert {name: answers["depth"].value for name, answers in found.items()} == {"QX-50": "420 mm", "QX-90": "560 mm"}


def test_the_energy_of_several_units_together_is_not_the_module_s():
    text = "Lithium-Eisenphosphat. Bis zu 12 Geräte parallel ergeben 92 kWh.\nNennkapazität 150 Ah\nGewicht 68 kg\n"
    assert "energy" not in proposals_of_text(text, "module").models[""]


def test_charge_currents_with_a_temperature_in_their_label_are_asked():
    text = """Module, LFP
Nominal capacity 200 Ah
Nominal voltage 51.2 V
Weight 80 kg
Terminal torque 9 N m
Own consumption 3 W
Parameter Min. Typ. Max. Unit
Continuous charge current 0 °C to 10 °C – – 28 A
10 °C to 45 °C – – 140 A
45 °C to 55 °C – – 70 A
"""
    answer = proposals_of_text(text, "module").models[""]["charge.continuous"]
    assert {choice.value for choice in answer.choices} == {"28 A", "140 A", "70 A"}
