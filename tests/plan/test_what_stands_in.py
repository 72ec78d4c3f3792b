"""Values that the file does not give are ranges of the handbook, with the words of their source."""

import re
from pathlib import Path

import pytest

from bankwright.bank.read import bank_from_text
from bankwright.plan.stand_in import stood_in

TWO = (Path(__file__).parents[1] / "support" / "banks" / "two.toml").read_text("utf-8")


def bank_without(*patterns: str):
    text = TWO
    for pattern in patterns:
        text, count = re.subn(pattern, "", text, count=1)
        assert count == 1, pattern
    return bank_from_text(text, Path("two.toml"))


@pytest.mark.parametrize(
    ("question", "low", "high"), [("dc", 8e-3, 21e-3), ("surge", 3.28e-3, 21e-3), ("ohmic", 3.28e-3, 13e-3)]
)
def test_a_module_without_resistance_takes_the_range_of_its_cells(question, low, high):
    # 16 cells of 100 Ah: 20.5, 50 and 100 mohm Ah a cell [published range]; metal 0 to 5 mohm [common practice]
    found = stood_in(bank_without(r"resistance = \{[^}]*\}\n"))
    (inputs,) = found.resistances[question]
    assert (inputs.figure.low, inputs.figure.high) == (pytest.approx(low), pytest.approx(high))
    assert inputs.assumed
    assert "published range" in str(inputs.origin)
    assert "common practice, no source" in str(inputs.origin)


def test_an_inverter_without_lowest_voltage_or_cut_out_works_between_empty_and_nominal_cells():
    # 16 cells: 2.5 V [published range] to 3.2 V [common practice, no source]
    text = re.sub(r"(lowest_voltage|cut_out) = .*\n", "", TWO)
    (inputs,) = stood_in(bank_from_text(text, Path("two.toml"))).voltages
    assert (inputs.figure.low, inputs.figure.high) == (pytest.approx(40.0), pytest.approx(51.2))


def test_nothing_stands_in_where_everything_is_given():
    found = stood_in(bank_without())
    assert not any(found.resistances.values())
    assert not found.voltages
