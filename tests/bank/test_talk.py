"""The first conversation as a machine of states: order, back, change, leave and resume, and the file it comes to."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bankwright.bank.read import bank_from_text
from bankwright.bank.talk.kept import forget, keep, kept, kept_path
from bankwright.bank.talk.questions import QUESTIONS
from bankwright.bank.talk.talk import (
    Talk,
    applying,
    back,
    ended,
    enough,
    go_to,
    known,
    not_known,
    said,
    start_of,
)
from bankwright.bank.talk.text import as_text, from_text
from bankwright.bank.texts.starter import starter

HERE = Path("new.toml")
FOUR = (
    "4", "us", "100", "16", "100", "50", "1", "6.5", "44", "chain", "opposite ends", "125", "10", "M8", "2", "45", "3",
    "nec", "detached garage", "Garage",
)  # fmt: skip


def told(*answers: str, talk: Talk | None = None) -> Talk:
    talk = talk or Talk()
    for answer in answers:
        talk = said(talk, answer)
        assert talk.heard is None, (talk.at, talk.heard)
    return talk


def test_answers_to_the_end_make_a_file_without_faults() -> None:
    talk = told(*FOUR)
    assert ended(talk)
    bank = bank_from_text(starter(start_of(talk)), HERE)
    assert (len(bank.modules), bank.pattern, bank.title, bank.units) == (4, "chain", "Garage", "us")
    assert bank.modules[0].kind.mass == pytest.approx(45 * 0.45359237)  # a bare number in pounds: US units


def test_knowing_nothing_ends_too_and_guesses_no_figure() -> None:
    talk = Talk()
    for _ in range(len(QUESTIONS)):
        talk = not_known(talk)
    assert ended(talk)
    kind = bank_from_text(starter(start_of(talk)), HERE).modules[0].kind
    assert (kind.capacity_ah, kind.mass, kind.discharge.continuous) == (None, None, None)


def test_what_cannot_be_taken_keeps_the_question_and_the_letters() -> None:
    talk = said(told("4", "metric"), "1oo,5")
    assert (talk.at, talk.heard.typed if talk.heard else "") == ("capacity", "1oo,5")
    assert said(talk, "100").at == "cells"
    assert said(talk, "   ").at == "capacity"


def test_back_and_change_keep_the_other_answers() -> None:
    talk = told(*FOUR)
    changed = said(go_to(talk, "mass"), "50")
    assert ended(changed)
    assert changed.answer("mass") == "50 lb"
    assert {**dict(changed.answers), "mass": ""} == {**dict(talk.answers), "mass": ""}
    assert back(talk).at == "title"
    assert back(back(back(Talk()))).at == "modules"


def test_a_question_that_does_not_apply_is_not_asked() -> None:
    none = told("4", "us", "100", "16", "100", "50", "0")
    assert not {"power", "lowest_voltage"} & {each.key for each in applying(none)}
    assert none.at == "pattern"
    no_breaker = not_known(go_to(told(*FOUR), "breaker"))
    assert "interrupts" not in {each.key for each in applying(no_breaker)}
    assert go_to(no_breaker, "interrupts") == no_breaker


def test_enough_for_a_first_plan_before_the_end() -> None:
    assert not enough(told(*FOUR[:9]))
    assert enough(told(*FOUR[:10]))


def test_left_and_gone_on_with(tmp_path: Path) -> None:
    talk, path = told(*FOUR[:7]), tmp_path / "barn.toml"
    keep(path, talk)
    assert kept(path) == talk
    assert told(*FOUR[7:], talk=kept(path)) == told(*FOUR)
    forget(path)
    forget(path)
    assert not kept_path(path).exists()
    assert kept(path) == Talk()


@pytest.mark.parametrize(
    "text",
    ["", "[]", "{", '{"form": 2, "answers": {"modules": "4"}}', '{"form": 1, "answers": 5}', "null", "\x00",
     '{"form": 1, "answers": {"modules": ["4"], "nothing": "1"}, "at": 7}'],
)  # fmt: skip
def test_rubbish_begins_anew(text: str) -> None:
    assert from_text(text) == Talk()


def test_a_kept_answer_that_no_longer_reads_is_asked_anew() -> None:
    data = json.loads(as_text(told(*FOUR)))
    data["answers"]["capacity"] = "many"
    talk = from_text(json.dumps(data))
    assert talk.at == "capacity"
    assert talk.answer("mass") == "45 lb"


def test_the_sheet_numbers_what_is_known_and_what_is_asked() -> None:
    rows = known(not_known(told("4", "us")))
    assert [row.number for row in rows] == list(range(1, len(rows) + 1))
    assert [(row.given, row.answer) for row in rows[:3]] == [(True, "4"), (True, "us"), (True, None)]
    assert [row.question.key for row in rows if row.here] == ["cells"]


def test_a_confirmed_unusual_count_is_kept_and_written_as_a_number() -> None:
    talk = said(go_to(Talk(), "cells"), "8 cells")
    assert start_of(from_text(as_text(talk))).cells == 8
