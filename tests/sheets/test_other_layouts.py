"""Invented sheets in other layouts and languages, their truth written before the reader was tried on them.

Two columns to a page without ruled lines and with footnotes (German), columns Min/Typ/Max with a unit column (Dutch),
running text (English), models in columns (French), an inverter's two sides abreast (German), footnotes marked 1) as
large as the text (English).  Makers and products do not exist.  The judge is given/judge.py.
"""

import importlib.util
import json
from pathlib import Path

import pytest

from bankwright.job.sheets import proposed_of, sheet_document

HERE = Path(__file__).parent
NAMES = (
    "module-grimmelkrott",
    "module-kwispelvoet",
    "module-wobbleton",
    "device-brimbalou",
    "inverter-quaddelhorn",
    "module-snorkelby",
)
LEAST_RIGHT = 0.85


def judged(name, ending=".pdf"):
    spec = importlib.util.spec_from_file_location("sheet_judge", HERE / "given" / "judge.py")
    judge = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(judge)
    truth = json.loads((HERE / "given2" / f"{name}.truth.json").read_text("utf-8"))
    told = sheet_document(proposed_of(HERE / "given2" / f"{name}{ending}"))
    got = {"models": told["models"]} if told["models"] else told["proposals"]
    return truth, told, judge.count(judge.judge(truth, json.loads(json.dumps(got)), ending == ".pdf"))


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_wrong_and_little_missed(name):
    truth, told, counts = judged(name)
    assert told["kind"] == truth["kind"]
    assert counts["wrongly sure"] == counts["wrong"] == counts["line wrong"] == 0
    assert counts["right"] >= LEAST_RIGHT * sum(counts[word] for word in ("right", "missed", "needless question"))


@pytest.mark.parametrize("name", ["module-grimmelkrott", "module-kwispelvoet", "device-brimbalou"])
def test_pasted_lines_may_say_less_but_nothing_wrong(name):
    counts = judged(name, ".txt")[2]
    assert counts["wrongly sure"] == counts["wrong"] == 0
    assert counts["right"] > 2 * counts["missed"]


def test_bare_numbers_under_min_typ_max_are_no_thousands():
    told = judged("module-kwispelvoet", ".txt")[1]["proposals"]
    assert [choice["value"] for choice in told["capacity"]["ask"]] == ["200 Ah", "204 Ah"]


def test_a_raised_mark_leads_to_its_footnote_and_the_current_there_is_a_choice():
    answer = judged("module-grimmelkrott")[1]["proposals"]["discharge.continuous"]
    assert [choice["value"] for choice in answer["ask"]] == ["100 A", "60 A"]
    assert answer["why"] == "a footnote limits it"


def test_a_current_at_which_the_protection_opens_is_no_continuous_current():
    told = judged("module-wobbleton")[1]["proposals"]
    assert told["discharge.trip"]["value"] == "140 A for 4 s"
    assert told["discharge.continuous"]["value"] == "90 A"
