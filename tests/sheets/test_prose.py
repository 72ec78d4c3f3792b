"""Sheets written as running prose, invented, in six languages: what they say, what is asked, and nothing else.

Two of them are traps: values of another model, of a cell, of a parcel, of a holder, and advice.
"""

import json
from pathlib import Path

import pytest

from bankwright.job.sheets import Said, proposed_of
from bankwright.sheets.figures import figures
from bankwright.sheets.measures import Marks
from bankwright.sheets.prose import told_of
from bankwright.sheets.row import Row

HERE = Path(__file__).parent / "prose"
SAID = json.loads((HERE / "said.json").read_text("utf-8"))


def bare(value):
    """Figures without zeros that say nothing."""
    return (
        [bare(one) for one in value]
        if isinstance(value, list)
        else str(value).replace(".0 ", " ").replace(".50 ", ".5 ")
    )


@pytest.mark.parametrize("name", SAID)
def test_what_prose_says_and_what_is_asked(name):
    answers = next(iter(proposed_of(HERE / f"{name}.txt").models.values()))
    said = {key: bare(answer.value) for key, answer in answers.items() if isinstance(answer, Said)}
    assert said == {key: bare(value) for key, value in SAID[name]["said"].items()}
    assert set(SAID[name]["asked"]) <= set(answers) - set(said)


@pytest.mark.parametrize(
    ("words", "written"),
    [
        ("for ten seconds at twenty-five degrees Celsius", "for 10 s at 25 °C"),
        ("fünfzehn in Reihe geschaltete Zellen", "15 in Reihe geschaltete Zellen"),
        ("quatre-vingt-quinze pour cent", "95 %"),
        ("de menos diez a cincuenta grados", "de -10 a 50 °C"),
        ("ventidue secondi", "22 s"),
        ("drieëntwintig ampère", "23 A"),
        ("między minus 10 a 50 stopni", "-10 to 50 °C"),
        ("vinte e um volts", "21 V"),
        ("once one falls, due to a new one, du neuf", "once one falls, due to a new one, du neuf"),
        ("2.5 V (give or take 50 mV)", "2.5 V (± 50 mV)"),
    ],
)
def test_numbers_and_units_in_words(words, written):
    assert figures(words) == written


def rows(text, kind="module"):
    return {
        (told.row.label, *told.row.values) for told in told_of(Row(text, (), text), Marks(), kind) if told.row.label
    }


def test_a_value_has_the_words_that_govern_it():
    assert rows("It holds 5 kWh, weighs 46 kg and gives 100 A without end and 200 A for ten seconds.") == {
        ("Energy", "5 kWh"),
        ("Weight", "46 kg"),
        ("Continuous discharge current", "100 A"),
        ("discharge current", "200 A for 10 s"),
    }
    assert rows("When charging it takes 50 A for ever. Above 60 A for 2 s it is cut off.") == {
        ("Continuous charge current", "50 A"),
        ("charge overcurrent protection", "60 A for 2 s"),
    }


@pytest.mark.parametrize(
    "text",
    [
        "We advise to draw 50 A from it continuously.",
        "Its predecessor held 90 Ah and weighed 41 kg.",
        "Each of its cells weighs 2.1 kg.",
        "On its pallet it weighs 52 kg.",
        "With the option for high power it gives 150 A continuously.",
        "An alarm is given when a cell falls to 2.9 V, before anything is cut off.",
    ],
)
def test_what_is_not_said_of_it_makes_no_row(text):
    assert rows(text) == set()


def test_a_proposal_shows_its_sentence_and_the_line_that_this_begins_on():
    answers = proposed_of(HERE / "module_en.txt").models[""]
    assert answers["standby_power"].spot.line == "With nothing to do the electronics draw 2 W."
    assert answers["standby_power"].spot.line_no == 11
