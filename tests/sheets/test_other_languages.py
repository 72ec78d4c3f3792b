"""Pasted sheets in eight languages: our own invention, the truth written from the text by hand."""

from pathlib import Path

import pytest

from bankwright.job.sheets import Ask, Said, proposed_of

PASTED = Path(__file__).parent / "pasted"
ASKED = object()

TRUTH = {
    "module_de": {
        "cells": "15", "capacity": "100 Ah", "energy": "4.8 kWh", "standby_power": "5 W", "mass": "43 kg",
        "discharge.continuous": "100 A", "discharge.trip": "120 A for 5 s", "discharge.cell_empty": "2.80 V",
        "discharge.cell_trip": "2.50 V +- 0.05 V", "discharge.lowest": "-10 degC", "discharge.highest": "50 degC",
        "charge.continuous": "50 A", "charge.trip": "60 A for 10 s", "charge.cell_full": "3.60 V",
        "charge.cell_trip": "3.75 V +- 0.03 V", "charge.highest_voltage": "54.0 V", "charge.lowest": "0 degC",
        "charge.inhibits": True, "charge.heated": False, "resistance.dc": "22 mohm +- 20 %", "resistance.after": "30 s",
        "resistance.ohmic": ASKED, "width": "442 mm", "depth": "420 mm", "height": "132.5 mm", "posts.stud": "M6",
        "posts.pairs": "1", "posts.torque": "6 N m", "parallel.most": "16", "parallel.join_within": "0.3 V",
        "address.switches": "6", "address.first": "0", "address.most": "15", "breaker.rating": "125 A",
        "breaker.poles": "2", "breaker.volts": "60 V", "breaker.interrupts": "10 kA", "cell_spread": "30 mV",
        "listing": ["IEC 62619", "UN 38.3"],
    },
    "module_fr": {
        "cells": "16", "capacity": "280 Ah", "energy": "14.3 kWh", "charge.continuous": "140 A",
        "discharge.continuous": "200 A", "discharge.trip": "260 A for 2 s", "charge.trip": "160 A for 5 s",
        "charge.highest_voltage": "57.6 V", "discharge.cell_empty": "2.7 V", "charge.cell_trip": "3.65 V",
        "discharge.cell_trip": "2.5 V", "charge.highest": "50 degC", "discharge.lowest": "-20 degC",
        "resistance.dc": ASKED, "resistance.ohmic": ASKED, "breaker.rating": "200 A", "breaker.interrupts": ASKED,
        "width": "482 mm", "depth": "600 mm", "height": "220 mm", "mass": "118 kg", "posts.pairs": "2",
        "charge.heated": ASKED, "parallel.most": "8", "listing": ["IEC 62619", "UN 38.3", "UL 1973"],
    },
    "module_es": {
        "cells": "16", "capacity": "100 Ah", "energy": "5.12 kWh", "discharge.continuous": ASKED,
        "charge.continuous": ASKED, "discharge.trip": "110 A for 10 s", "charge.highest_voltage": "58.4 V",
        "discharge.cell_empty": ASKED, "resistance.dc": "20 mohm", "resistance.after": "10 s", "mass": "48.5 kg",
        "width": "482 mm", "depth": "510 mm", "posts.stud": "M6", "posts.torque": "6 N m", "parallel.most": "15",
    },
    "module_zh": {
        "cells": "16", "capacity": "100 Ah", "charge.continuous": "50 A", "discharge.continuous": "100 A",
        "discharge.trip": "120 A for 3 s", "charge.cell_trip": "3.65 V", "resistance.ohmic": ASKED, "depth": "480 mm",
        "charge.lowest": "0 degC", "charge.highest": "55 degC", "posts.torque": "6 N m", "parallel.most": "15",
    },
    "inverter_it": {
        "power": "6000 W", "surge_power": "12 kW", "surge_time": "5 s", "efficiency": "93 %", "lowest_voltage": "47 V",
        "cut_out": "42 V", "highest_input": "62 V", "phases": "1", "frequency": ASKED, "isolated": False,
        "capacitance": "12 mF", "earthable": ["minus"], "charger.current": "120 A", "charger.voltage": "48 V to 58.4 V",
        "charger.setting": "56 V", "charger.without_message": "30 A", "terminals.stud": "M8", "terminals.lugs": "1",
        "terminals.torque": "10 N m",
    },
    "breaker_de": {
        "type": "breaker", "rating": "125 A", "volts": "80 V", "interrupts": "10 kA", "poles": "2", "polarised": False,
        "class": "iec 60947-2", "instant": "625 A to 1250 A", "mass": "0.24 kg", "listing": ASKED,
        "terminals.stud": "M8", "terminals.torque": "5 N m",
    },
    "module_min_typ_max": {
        "cells": "16", "capacity": ASKED, "charge.continuous": "50 A", "discharge.continuous": "100 A",
        "charge.highest_voltage": "58.4 V", "resistance.dc": ASKED, "resistance.after": "10 s",
        "charge.cell_trip": "3.60 V to 3.70 V", "discharge.lowest": "-20 degC", "charge.highest": "50 degC",
        "mass": ASKED,
    },
    "inverter_nl": {
        "power": ASKED, "surge_power": "6000 W", "surge_time": "3 s", "efficiency": ASKED, "cut_out": ASKED,
        "highest_input": ASKED, "frequency": "50 Hz", "phases": "1", "charger.current": "35 A",
        "charger.setting": "57.6 V", "terminals.stud": "M8", "terminals.torque": "12 N m", "charger.voltage": None,
    },
    "module_pt": {
        "cells": "16", "capacity": "100 Ah", "energy": "5120 Wh", "charge.continuous": "50 A",
        "charge.cell_trip": "3.65 V",
        "discharge.continuous": "100 A", "charge.highest_voltage": "58.4 V", "discharge.cell_trip": "2.5 V",
        "discharge.lowest": "-20 degC", "width": "442 mm", "depth": "470 mm", "height": "133 mm", "mass": "45 kg",
        "posts.torque": "6 N m", "parallel.most": "16",
    },
    "module_sv": {
        "cells": "16", "capacity": "100 Ah", "energy": "5.12 kWh", "charge.continuous": "50 A", "mass": "44 kg",
        "discharge.continuous": "100 A", "discharge.trip": "130 A for 5 s", "discharge.cell_trip": "2.5 V",
        "charge.cell_trip": "3.65 V", "charge.highest": "45 degC", "width": "442 mm", "posts.torque": "10 N m",
    },
    "module_prose": {
        "cells": "16", "capacity": "100 Ah", "discharge.continuous": "100 A", "charge.continuous": ASKED,
        "charge.lowest": "0 degC", "charge.highest": "45 degC", "discharge.lowest": "-20 degC",
        "mass": "45 kg", "posts.stud": "M8", "posts.torque": "10 N m", "parallel.most": "15",
    },
    "inverter_pl": {
        "power": "5000 W", "surge_power": "10000 W", "surge_time": "5 s", "efficiency": "92 %", "highest_input": "62 V",
        "phases": "1", "frequency": "50 Hz", "charger.current": "80 A",
    },
    "fuse_en": {
        "type": "fuse", "rating": "225 A", "volts": "160 V", "interrupts": "50 kA", "class": "class T",
        "melting_i2t": "22000 A2s", "let_through": "85000 A2s", "resistance": "0.28 mohm", "mass": "0.176 kg",
        "listing": ["UL 248-15"], "terminals.stud": "3/8 in", "terminals.torque": "23 N m",
    },
    "breaker_en": {
        "type": "breaker", "rating": "150 A", "volts": "100 V", "interrupts": "10 kA", "poles": "2", "polarised": False,
        "instant": "1200 A to 1800 A", "listing": ["UL 489"], "terminals.stud": "M8", "terminals.torque": "8 N m",
    },
}  # fmt: skip


@pytest.mark.parametrize("name", TRUTH)
def test_values_and_questions(name):
    found = proposed_of(PASTED / f"{name}.txt")
    assert (
        found.kind
        == {"module": "module", "inverter": "inverter", "breaker": "device", "fuse": "device"}[name.partition("_")[0]]
    )
    got = {key: answer.value if isinstance(answer, Said) else ASKED for key, answer in found.models[""].items()}
    assert {key: got.get(key) for key in TRUTH[name]} == TRUTH[name]


@pytest.mark.parametrize("name", TRUTH)
def test_nothing_is_said_that_the_sheet_does_not_say(name):
    found = proposed_of(PASTED / f"{name}.txt")
    extra = {k: a.value for k, a in found.models[""].items() if isinstance(a, Said) and k not in TRUTH[name]}
    told = {"chemistry", "charge.highest", "discharge.highest", "discharge.lowest", "charge.lowest", "height"}
    told |= {"posts.stud", "posts.torque", "breaker.poles", "energy", "discharge.cell_trip", "charge.highest_voltage"}
    told |= {"width", "mass", "class", "parallel.most", "depth"}
    assert set(extra) <= told


def test_each_model_of_a_range_has_its_own_values():
    models = proposed_of(PASTED / "breaker_range_de.txt").models
    got = {name: {key: getattr(a, "value", ASKED) for key, a in answers.items()} for name, answers in models.items()}
    assert {name: (v["rating"], v["interrupts"], v["mass"], v["polarised"]) for name, v in got.items()} == {
        "LB-63": ("63 A", "10 kA", "0.24 kg", False),
        "LB-100": ("100 A", "10 kA", "0.26 kg", False),
        "LB-125": ("125 A", "6 kA", "0.26 kg", False),
    }


def test_a_question_has_its_choices_and_its_reason():
    asked = proposed_of(PASTED / "module_es.txt").models[""]["discharge.continuous"]
    assert isinstance(asked, Ask)
    assert [choice.value for choice in asked.choices] == ["100 A"]
    assert "short time" in asked.why
