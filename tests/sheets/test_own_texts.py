"""Thirteen small pasted sheets of our own against own/said.json: every value that is said, every key that is asked.

Fuses in columns without headings, names of models with a blank, text whose places are kept by blanks, AC beside DC in
one cell, thousands with a blank, sentences in German, English, French, Spanish and Dutch, and traps.  Invented.
"""

import json
from pathlib import Path

import pytest

from bankwright.job.sheets import Said, proposed_of, proposed_of_text
from bankwright.sheets.pasted_models import apart, jammed, names_in

HERE = Path(__file__).parent / "own"
SAID = json.loads((HERE / "said.json").read_text("utf-8"))


@pytest.mark.parametrize("name", SAID)
def test_what_is_said_and_what_is_asked(name):
    found = proposed_of(HERE / f"{name}.txt").models
    assert {
        model: {
            "said": {key: answer.value for key, answer in answers.items() if isinstance(answer, Said)},
            "asked": sorted(key for key, answer in answers.items() if not isinstance(answer, Said)),
        }
        for model, answers in found.items()
    } == SAID[name]


def test_columns_that_blanks_part_are_read_from_the_end():
    assert apart("Posts M6, 1 per pole M8, 2 per pole", 2) == ("Posts", ("M6, 1 per pole", "M8, 2 per pole"))
    assert apart("Breaker, 2 poles in series — 80 V DC", 2) == ("Breaker, 2 poles in series", ("—", "80 V DC"))
    assert apart("Melting I²t 1 900 A²s 42 000 A²s", 2) == ("Melting I²t", ("1 900 A²s", "42 000 A²s"))
    assert apart("Current 50 A 100 A 1)", 2) == ("Current", ("50 A", "100 A 1)"))
    assert apart("Charge voltage 48.0 – 60.0 V", 2) is None
    assert apart("Heater no yes", 2) == ("Heater", ("no", "yes"))


def test_names_with_a_blank_end_their_line():
    assert names_in("Type SF 100 SF 200") == ("SF 100", "SF 200")
    assert names_in("Tested to EN 50 and SF 200 of the series") == ()


def test_values_side_by_side_are_of_unknown_columns():
    from bankwright.sheets.measures import Marks

    assert jammed("50 Ah 100 Ah", Marks())
    assert not jammed("50 A, 100 A for 5 s", Marks())
    text = "Module\nRated capacity 50 Ah 100 Ah\nWeight 20 kg\nContinuous charge current: 10 A\n"
    answers = proposed_of_text(text, "module").models[""]
    assert [choice.value for choice in answers["capacity"].choices] == ["50 Ah", "100 Ah"]
    assert answers["mass"].value == "20 kg"
