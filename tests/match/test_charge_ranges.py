"""Ranges of charge against the inverse tables of the published curves.

No measured pair of a module's rested voltage and its true charge stands beside it: the outside words are the curves
of single cells, and at their own points the answer is held to a hundredth of a point.
"""

from dataclasses import replace

import numpy as np
import pytest

from bankwright.bank.model import Bank
from bankwright.circuit.run.curves import curves_of
from bankwright.match.charge_range import charge_range, hidden_spread, rest_error
from bankwright.match.entry import ModuleReading, module_reading
from support.match_banks import bank

pytestmark = pytest.mark.quick

EXACT = {"gain": 0.0, "digit": 0.0, "rested": 86400.0, "temperature_degc": 25.0}


def read(text: str, **beside: object) -> ModuleReading:
    return replace(module_reading("M1", text), **{**EXACT, **beside})


@pytest.fixture(scope="module")
def one() -> Bank:
    return bank("A")


def test_at_the_points_of_a_curve_the_answer_is_the_point(one):
    for curve in curves_of(one.modules[0].kind):
        soc, volts = np.asarray(curve.soc), np.asarray(curve.volts)
        before, after = np.maximum.accumulate(volts), np.minimum.accumulate(volts[::-1])[::-1]
        alone = [
            k for k in range(1, len(volts) - 1) if before[k - 1] < volts[k] < after[k + 1] and 48 < 16 * volts[k] < 57
        ]
        assert len(alone) > 5
        for k in alone:
            found = dict(charge_range(one.modules[0], read(f"{16 * volts[k]:.9f} V")).by_curve)
            assert 100 * found[curve.name] == pytest.approx(100 * soc[k], abs=0.01)


# module voltage -> percent on: cell A discharge branch, cell A charge branch, cell B, parameter set; inverse tables at
# 25 degC, C/30 and C/32, computed elsewhere from the full measured curves. The handbook's figures of cell A stand at
# every 5 %, so that a straight line between them misses the fine curve by up to 4 points where it bends.
TABLE = [
    ("52.0 V", 30.1, 16.8, 22.0, 24.0),
    ("52.4 V", 38.3, 21.1, 28.9, 40.1),
    ("52.6 V", 42.9, 23.8, 34.5, 60.7),
    ("52.8 V", 62.8, 27.2, 52.3, 67.2),
    ("53.0 V", 71.0, 31.3, 68.5, 74.2),
    ("53.6 V", 94.3, 69.4, 98.2, 99.1),
]


@pytest.mark.parametrize(("text", "discharge", "charge", "b", "set_"), TABLE)
def test_each_curve_gives_its_published_inverse(one, text, discharge, charge, b, set_):
    found = dict(charge_range(one.modules[0], read(text)).by_curve)
    assert 100 * found["26650 discharge"] == pytest.approx(discharge, abs=4.5)
    assert 100 * found["26650 charge"] == pytest.approx(charge, abs=2.0)
    assert 100 * found["18650"] == pytest.approx(b, abs=1.5)
    assert 100 * found["parameter set"] == pytest.approx(set_, abs=0.2)


def test_a_rested_52_6_v_spans_about_24_to_61_percent(one):
    # battery reference 1.1: "24 to 61 % over the two cells and the parameter set together"
    found = charge_range(one.modules[0], read("52.6 V"))
    assert (100 * found.low, 100 * found.high) == (pytest.approx(24, abs=0.6), pytest.approx(61, abs=0.6))


def test_the_last_direction_narrows_the_range(one):
    both = charge_range(one.modules[0], read("52.6 V"))
    after_discharge = charge_range(one.modules[0], read("52.6 V", last="discharged"))
    assert after_discharge.low > both.low + 0.05


def test_meter_rest_and_temperature_widen_it(one):
    plain = charge_range(one.modules[0], read("52.6 V"))
    for change in ({"gain": 0.005}, {"rested": 300.0}, {"temperature_degc": None}):
        wider = charge_range(one.modules[0], read("52.6 V", **change))
        assert wider.width > plain.width
    assert charge_range(one.modules[0], read("52.6 V", rested=600.0)).loaded
    assert charge_range(one.modules[0], read("52.6 V", rested=None)).loaded


def test_what_rest_leaves_agrees_with_its_table():
    # module of 16 cells, 25 degC: 63 mV after 5 min, 22 after 10, 8 after 15 (printed beside the fit)
    left = [1e3 * rest_error(time, 25.0, 16) for time in (300.0, 600.0, 900.0)]
    assert left == pytest.approx([63, 22, 8], abs=1.5)


def test_the_knees_do_tell(one):
    low = charge_range(one.modules[0], read("48.5 V"))
    top = charge_range(one.modules[0], read("56.0 V"))
    assert low.width < 0.08
    assert top.width < 0.03


def test_two_readings_a_tenth_apart_hide_many_points(one):
    ranges = [charge_range(one.modules[0], read(text)) for text in ("52.6 V", "52.7 V")]
    least, most = hidden_spread(ranges)
    assert least == 0.0
    assert most > 0.3


def test_the_kinds_own_table_goes_before_the_published_ones(one):
    kind = replace(one.modules[0].kind, ocv=((0.0, 3.0), (0.5, 3.2875), (1.0, 3.5)))
    found = charge_range(replace(one.modules[0], kind=kind), read("52.6 V"))
    assert (found.low, found.high) == (pytest.approx(0.5), pytest.approx(0.5))
