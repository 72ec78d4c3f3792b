"""What gloves type: a bare number is in the unit shown, a comma is offered back, each fault stands at its own field."""

import re

import pytest

from bankwright.forms.sheets import ReadingWanted
from bankwright.web.beside import typed_bare, unit_of
from support.page import bank_file, client


@pytest.fixture
def web(tmp_path):
    with client(bank_file(tmp_path, "two")) as page:
        yield page


def form(web, **more):
    names = re.findall(r'name="voltage ([^"]+)"', web.get("/match").text)
    body = {f"voltage {name}": f"52.6{n}" for n, name in enumerate(names)}
    return body | {key.replace("_", " "): value for key, value in more.items()} | {"meter": "0.5 % + 2 digits"}


def field(text, name):
    return re.search(rf'<input[^>]*name="{name}"[^>]*>', text)[0]


@pytest.mark.parametrize("said", ["overnight", "a night", "6 parsec"])
def test_a_wrong_word_for_all_stands_in_its_own_field_and_nowhere_else(web, said):
    answer = web.post("/match", data=form(web, rested_all=said))
    assert answer.status_code == 422
    assert f'value="{said}"' in field(answer.text, "rested all")
    assert "bad" in field(answer.text, "rested all")
    assert 'value=""' in field(answer.text, "rested M1")
    assert "bad" not in field(answer.text, "voltage M1")
    mended = web.post("/match", data=form(web, rested_all="6 h"))  # correcting it there is enough
    assert mended.status_code == 200
    assert "May they be joined?" in mended.text
    assert 'value="6 h"' in field(mended.text, "rested all")


def test_a_fault_of_one_row_is_marked_at_that_cell(web):
    text = web.post("/match", data=form(web, rested_M2="soon")).text
    assert "bad" in field(text, "rested M2")
    assert "bad" not in field(text, "voltage M2")


@pytest.mark.parametrize("typed", ["52,61", "52.61v", "52,61 V", "52.6O"])
def test_what_was_meant_is_offered_as_one_button_and_taken_only_then(web, typed):
    body = form(web) | {"voltage M1": typed}
    answer = web.post("/match", data=body)
    assert answer.status_code == 422
    offered = re.search(r'name="mend" value="(voltage M1=[^"]+)"', answer.text)[1]
    assert offered in ("voltage M1=52.61 V", "voltage M1=52.60 V")
    taken = web.post("/match", data=body | {"mend": offered, "rested all": "6"})
    assert taken.status_code == 200
    assert 'value="52.6' in field(taken.text, "voltage M1")


def test_what_cannot_be_guessed_is_not_guessed(web):
    text = web.post("/match", data=form(web) | {"voltage M1": "fifty"}).text
    assert 'name="mend"' not in text
    assert 'value="fifty"' in field(text, "voltage M1")


def test_a_bare_number_takes_the_unit_that_is_shown():
    assert typed_bare("52.61", "V") == "52.61 V"
    assert typed_bare("50 mohm", "ohm") == "50 mohm"
    assert typed_bare("52,61", "V") == "52,61"
    earth = ReadingWanted("resistance", "rack", "frame to the earth bar", None, 0.1)
    insulation = ReadingWanted("resistance", "M1+", "to the frame", 1e6, None)
    assert (unit_of(earth, "us"), unit_of(insulation, "us")) == ("ohm", "Mohm")
    torque = ReadingWanted("torque", "M1+", "torque", None, None)
    assert (unit_of(torque, "metric"), unit_of(torque, "us")) == ("N m", "in lb")


def test_titles_of_the_drawing_are_in_the_units_of_the_bank(tmp_path):
    path = bank_file(tmp_path, "two")
    text = path.read_text(encoding="utf-8")
    unit = re.search(r'units = "(\w+)"', text)
    if unit is None:
        path.write_text(f'units = "us"\n{text}', encoding="utf-8")
    else:
        path.write_text(text.replace(unit[0], 'units = "us"'), encoding="utf-8")
    with client(path) as page:
        titles = re.findall(r"<title>(Finding [^<]*)", page.get("/plan").text)
    assert titles
    assert not [title for title in titles if re.search(r"\d (mm|m|kg|degC|°C)\b", title)]


LEVELS = {"level1 M1": "20", "level1 M2": "22", "level2 M1": "60 A", "level2 M2": "62"}


def test_currents_at_several_moments_tell_offset_and_resistance_apart(web):
    """Two ampere apart at both loads: a difference of voltage at rest, not of resistance."""
    answer = web.post("/match", data=form(web, rested_all="6") | LEVELS)
    assert answer.status_code == 200
    assert 'value="20"' in field(answer.text, "level1 M1")
    assert "Offset and resistance of each module, from several load levels" in answer.text
    assert "Resistances are alike; M1 lies 14 mV below" in answer.text  # 1 A through 14 mohm


def test_a_current_that_is_none_stands_at_its_own_field(web):
    answer = web.post("/match", data=form(web, rested_all="6") | LEVELS | {"level2 M2": "much"})
    assert answer.status_code == 422
    assert "bad" in field(answer.text, "level2 M2")
    assert "bad" not in field(answer.text, "level1 M2")


def test_no_currents_ask_for_nothing(web):
    answer = web.post("/match", data=form(web, rested_all="6"))
    assert answer.status_code == 200
    assert "Offset and resistance of each module" not in answer.text
