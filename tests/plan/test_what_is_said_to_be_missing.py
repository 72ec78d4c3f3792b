"""What is given is never said to be not given; a value comes from where it stands; the largest figure leads."""

import re
from pathlib import Path

import pytest

from bankwright.bank.read import bank_from_text
from bankwright.forms.finding_text import sentence_of
from bankwright.forms.origin import FileKey
from bankwright.plan.context import plan_of
from bankwright.plan.results import findings_of
from support.banks import sample_path
from support.plan_cases import edited

TWO = sample_path("two").read_text("utf-8")


def found(text, code):
    return [f for f in findings_of(plan_of(bank_from_text(text, Path("two.toml")))) if f.code == code]


def test_a_resistance_without_tolerance_lacks_the_tolerance():
    text = re.sub(r"(resistance = )\{[^}]*\}", r'\1{ dc = "14 mohm", after = "30 s", ohmic = "6 mohm" }', TWO)
    (one,) = found(text, "P-SHARE-2")
    assert one.text.text() == "This could not be checked: the resistance of M100 is given without its tolerance"
    assert "not given" not in sentence_of(one).text()
    assert "tolerance" in one.do.text()


def test_a_size_beyond_the_table_is_given():
    cable = r'\1"300 mm2", insulation = "60 degC", method = "free air"'
    text = re.sub(r'(main = \{ cable = )"[^"]*"', cable, TWO.replace("nec-2023", "iec-60364"))
    for code in ("P-CABLE-2", "P-DEVICE-2"):
        (one,) = [f for f in found(text, code) if "main+" in f.at]
        assert one.verdict == "unknown"
        assert "no value for 300 mm2" in one.text.text()
        assert "not given" not in one.text.text() + sentence_of(one).text()
        assert "Take a size that the table holds" in one.do.text()


def test_a_value_of_one_module_comes_from_its_own_entry():
    text = TWO.replace('name = "M1"\n', 'name = "M1"\ncapacity = "90 Ah"\nresistance_factor = "1.3"\n')
    rows = [i for f in found(text, "P-UNLIKE-1") if f.at == ("M1",) for i in f.inputs]
    keys = {i.symbol: i.origin.path for i in rows if isinstance(i.origin, FileKey)}
    assert keys["Q_i"] == "modules[0].capacity"
    assert keys["k_i"] == "modules[0].resistance_factor"
    assert keys["R_i"] == "kinds.module.M100.resistance.dc"
    lines = {i.symbol: i.origin.place.line for i in rows if isinstance(i.origin, FileKey)}
    assert text.splitlines()[lines["Q_i"] - 1].startswith("capacity = ")
    assert text.splitlines()[lines["k_i"] - 1].startswith("resistance_factor = ")


def test_the_largest_short_leads_where_no_rating_is_known():
    text = sample_path("chain_of_four").read_text("utf-8")
    text = re.sub(r"^breaker = .*\n", "", text, flags=re.M)
    plan = plan_of(bank_from_text(text, Path("four.toml")))
    largest = {m.name: plan.faults.inside(m.name).high for m in plan.bank.modules}
    assert max(largest, key=largest.get) != "M1"
    (lead,) = [f for f in found(text, "P-FAULT-2") if f.verdict == "unknown"]
    assert lead.figure.value == max(largest.values())
    assert largest[lead.at[0]] == max(largest.values())
    assert {*lead.at, *lead.more} == set(largest)


@pytest.mark.parametrize(("share", "verdict"), [("99 %", "unknown"), ("40 %", "fail")])
def test_a_curve_of_derating_that_ends_below_the_air_bounds_what_is_carried(share, verdict):
    """Hotter air never lets a device carry more: what fails at the last point fails beyond it."""
    bank = edited(
        {"kinds.device.main.derating": [["25 degC", "100 %"], ["30 degC", share]], "site.ambient": "5 degC to 35 degC"}
    )
    (one,) = [f for f in findings_of(plan_of(bank)) if f.code == "P-DEVICE-3" and f.at == ("F1",)]
    assert one.verdict == verdict
    if verdict == "unknown":
        assert "the derating of F1 ends at 30 degC, and its air may have 35 degC" in one.text.text()
        assert "not given" not in one.text.text() + sentence_of(one).text()
        assert "at 35 degC" in one.do.text()
