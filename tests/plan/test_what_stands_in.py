"""Values that the file does not give are ranges of the handbook, with the words of their source."""

import re
from pathlib import Path

import pytest

from bankwright.bank.read import bank_from_text
from bankwright.forms.checks import NeedsValue
from bankwright.plan.context import plan_of
from bankwright.plan.ends.stand_in import stood_in
from bankwright.plan.figures.carried import carried
from bankwright.plan.lists.gaps import questions
from bankwright.plan.results import findings_of

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


def test_an_inverter_without_efficiency_takes_the_range_of_the_handbook_and_its_current_is_a_band():
    # 85 % to 96 % [common practice, no source]; 6 kW at 48 V: 130.2 A to 147.1 A
    bank = bank_without(r"efficiency = .*\n")
    (inputs,) = stood_in(bank).voltages
    assert (inputs.figure.low, inputs.figure.high) == (0.85, 0.96)
    assert inputs.settle.key.endswith(".efficiency")
    traced = plan_of(bank).design_current("main+")
    assert traced.high == pytest.approx(6000 / 0.85 / 48, rel=1e-6)
    assert traced.low == pytest.approx(6000 / 0.96 / 48, rel=1e-6)
    assert not traced.missing


@pytest.mark.parametrize("rules", ["nec-2023", "iec-60364"])
def test_an_insulation_that_is_not_given_never_asks_for_a_cable_that_is(rules):
    text = re.sub(r'insulation = "[^"]*", ', "", TWO).replace("nec-2023", rules)
    plan = plan_of(bank_from_text(text, Path("two.toml")))
    keys = {item.key for link in plan.bank.links for item in _missing(plan, link)}
    assert not any(key.endswith(".cable") for key in keys)


def _missing(plan, link):
    try:
        return carried(plan, link, 190.0, 237.0).missing
    except NeedsValue as error:
        return error.missing


def test_the_beginners_file_gets_figures_and_one_line_for_each_check_that_waits():
    keep = r"(resistance|posts|trips|parallel|address|breaker|efficiency|lowest_voltage|cut_out) = .*\n"
    findings = findings_of(plan_of(bank_from_text(re.sub(keep, "", TWO), Path("two.toml"))))
    shares = [f for f in findings if f.code in ("P-SHARE-1", "P-CABLE-1", "P-DROP-1")]
    assert all(f.figure is not None for f in shares)
    assert {f.verdict for f in shares if f.assumed} == {"caution", "assumed"}
    assert {f.code for f in shares if f.verdict == "caution"} <= {"P-CABLE-1"}
    assert len(questions(findings)) > 5
    assert all("?" in gap.text for gap in questions(findings)), [g.text for g in questions(findings)]


def test_cables_without_length_or_size_lie_between_nothing_and_the_longest_thinnest():
    # 0 to 1 m and 0 to 5 m of 25 mm2 [common practice, no source]; R_30 of 8 to 21 mohm: eight banks at most
    text = re.sub(r"(link|main) = \{[^}]*\}\n", r"\1 = {}\n", TWO.replace("opposite ends", "same end"))
    bank = bank_from_text(re.sub(r"resistance = \{[^}]*\}\n", "", text), Path("two.toml"))
    found = stood_in(bank)
    assert len(found.banks) == 4
    assert {item.settle.key for item in found.metal} == {"wiring.link.length", "wiring.main.length"}
    module = plan_of(bank).worst("M1", ("full discharge at lowest voltage",))
    assert module.low < 6000 / 0.93 / 48 / 2 * 1.01 < module.high


@pytest.mark.parametrize(("rules", "least"), [("nec-2023", "2/0 AWG"), ("iec-60364", "70 mm2")])
def test_a_cable_that_nobody_chose_yet_is_answered_with_the_smallest_size_that_carries(rules, least):
    # 134.4 A; NEC: 1.25 x 134.4 = 168 A, column of 75 degC: 2/0 AWG 175 A. IEC: PVC in conduit, two circuits: 70 mm2
    text = re.sub(r"main = \{[^}]*\}\n", "main = {}\n", TWO).replace("nec-2023", rules)
    code = "P-CABLE-1" if rules == "nec-2023" else "P-CABLE-2"
    found = [f for f in findings_of(plan_of(bank_from_text(text, Path("two.toml")))) if f.code == code]
    advice = [f.do.text() for f in found if f.missing and f.missing[0].key == "wiring.main.cable"]
    assert advice == [f"Take {least} or larger for main+."]


def test_a_drop_is_never_below_nothing_and_the_scatter_waits_for_the_cables():
    text = re.sub(r"(link|main) = \{[^}]*\}\n", r"\1 = {}\n", TWO)
    findings = findings_of(plan_of(bank_from_text(text, Path("two.toml"))))
    assert all((f.figure.low or 0.0) >= 0.0 for f in findings if f.code == "P-DROP-1")
    assert {f.verdict for f in findings if f.code == "P-SHARE-2"} == {"unknown"}
