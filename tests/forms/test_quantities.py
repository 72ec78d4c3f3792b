"""The unit table against an independent one, and how figures are printed."""

import json
import math

import numpy as np
import pytest
from scipy import constants

from bankwright.forms.as_json import dumps, plain
from bankwright.forms.origin import Computed, FileKey, Place, Source
from bankwright.forms.quantities import QUANTITIES
from bankwright.forms.toleranced import Toleranced, exact
from bankwright.forms.wording import Figure, amount_text, range_text, say

# scipy.constants carries the CODATA / NIST SP 811 factors
OUTSIDE = {
    ("length", "in"): constants.inch,
    ("length", "ft"): constants.foot,
    ("mass", "lb"): constants.lb,
    ("torque", "in lb"): constants.inch * constants.lbf,
    ("torque", "ft lb"): constants.foot * constants.lbf,
    ("force", "lbf"): constants.lbf,
    ("pressure", "psi"): constants.psi,
    ("incident_energy", "cal/cm2"): constants.calorie_th * 1e4,
    ("time", "d"): constants.day,
    ("acceleration", "g"): constants.g,
}


@pytest.mark.parametrize(("name", "unit"), OUTSIDE)
def test_factors_agree_with_an_independent_table(name, unit):
    found = QUANTITIES[name].unit_named(unit)
    assert found is not None
    assert found.factor == pytest.approx(OUTSIDE[name, unit], rel=1e-14)


def test_fahrenheit_agrees_with_an_independent_table():
    unit = QUANTITIES["temperature_degc"].unit_named("degF")
    for degf in (-40.0, 32.0, 95.0, 212.0):
        expected = constants.convert_temperature(degf, "Fahrenheit", "Celsius")
        assert degf * unit.factor + unit.offset == pytest.approx(expected, abs=1e-9)


def test_every_quantity_can_show_itself_and_no_spelling_means_two_things():
    for row in QUANTITIES.values():
        spellings = [text for unit in row.units for text in (unit.symbol, *unit.spellings)]
        assert len(spellings) == len(set(spellings)), row.name
        assert all(row.unit_named(symbol) for symbol in (*row.show, *row.show_us)), row.name
        assert row.units[0].factor == 1.0
        assert row.units[0].symbol == row.unit


@pytest.mark.parametrize(
    ("value", "name", "units", "expected"),
    [
        (104.2, "current", "metric", "104 A"),
        (19300.0, "current", "metric", "19.3 kA"),
        (0.014, "resistance", "metric", "14.0 mΩ"),
        (9.15e-5, "resistance", "metric", "91.5 µΩ"),
        (0.0, "current", "metric", "0 A"),
        (-5.0, "temperature_degc", "metric", "−5 °C"),
        (35.0, "temperature_degc", "us", "95 °F"),
        (5.0, "temperature_difference", "us", "9 °F"),
        (0.32, "length", "metric", "320 mm"),
        (0.3048, "length", "us", "1.00 ft"),
        (999.7, "current", "metric", "1.00 kA"),
        (math.inf, "current", "metric", "no limit"),
        (math.nan, "current", "metric", "unknown"),
        (3.0, "count", "metric", "3"),
        (25000.0, "let_through", "metric", "25 000 A²s".replace(" 000", "\u202f000")),
        (9.28e7, "let_through", "metric", "92.8 × 10⁶ A²s"),
    ],
)
def test_figures_are_printed_as_one_would_say_them(value, name, units, expected):
    assert amount_text(value, name, units) == expected


def test_a_range_is_printed_only_where_there_is_one():
    assert range_text(Figure(1.0, "current")) == ""
    assert range_text(Figure(104.0, "current", 95.0, 114.0)) == "95.0 A to 114 A"


def test_a_sentence_refuses_a_figure_without_a_gap_and_a_gap_without_a_figure():
    with pytest.raises(ValueError, match="no gap for low"):
        say("Use a larger fuse.", low=Figure(1.0, "current"))
    with pytest.raises(KeyError):
        say("Use {low}.")


def test_tolerances_hold_their_nominal_value_and_add_end_to_end():
    with pytest.raises(ValueError, match="do not hold"):
        Toleranced(3.0, 1.0, 2.0)
    total = Toleranced(14e-3, 11e-3, 17e-3) + exact(1e-3)
    assert (total.nominal, total.low, total.high) == pytest.approx((15e-3, 12e-3, 18e-3))
    assert Toleranced(2.0, 1.0, 4.0).scaled(-1.0) == Toleranced(-2.0, -4.0, -1.0)


def test_json_carries_figures_in_si_and_never_nan():
    text = dumps({"figure": Figure(math.nan, "current", 1.0, math.inf), "row": np.array([1.0, math.nan])})
    assert json.loads(text) == {
        "figure": {"value": None, "unit": "A", "quantity": "current", "low": 1.0, "high": None},
        "row": [1.0, None],
    }


def test_json_names_the_kind_of_an_origin_and_refuses_what_has_no_form():
    assert plain(FileKey("site.ambient", Place("a.toml", 3, 1)))["kind"] == "FileKey"
    assert plain(Computed("solved"))["how"] == "solved"
    assert plain(Source("IEC 60228", "2004"))["document"] == "IEC 60228"
    with pytest.raises(TypeError, match="no written form"):
        plain(object())


@pytest.mark.parametrize(("value", "name", "printed"), [(5.6e-13, "current", "0 A"), (-4e-17, "voltage", "0 V")])
def test_what_computing_leaves_is_printed_as_nothing(value, name, printed):
    assert amount_text(value, name).replace("\N{NARROW NO-BREAK SPACE}", " ") == printed
    assert amount_text(2e-6, "current").replace("\N{NARROW NO-BREAK SPACE}", " ") == "0.00200 mA"
