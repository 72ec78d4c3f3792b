"""Ticks and readings live in the logbook; the sheet resumes; a changed file opens what it touches and says why."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from bankwright.bank.model import Bank
from bankwright.build.progress import TORQUES, StepState, hand_over, next_step, progress, tick_step
from bankwright.build.sheet import build_sheet
from bankwright.forms.faults import QuestionError
from bankwright.forms.readings import Reading
from bankwright.logbook.clocks import SystemClock
from bankwright.logbook.logbook import Logbook, open_logbook
from support.banks import sample
from support.banks.rack import chain


@pytest.fixture
def book(tmp_path: Path):  # type: ignore[no-untyped-def]
    with open_logbook(tmp_path / "test.toml", chain(2)) as opened:
        yield opened


def state(bank: Bank, book: Logbook, name: str) -> StepState:
    return next(s for s in progress(build_sheet(bank), book) if s.step.id == name)


def tick_all(bank: Bank, book: Logbook, name: str) -> None:
    for tick in state(bank, book, name).step.ticks:
        tick_step(book, state(bank, book, name).step, tick.id)


def read(book: Logbook, quantity: str, at: str, value: float, step: str) -> None:
    book.append_reading(
        Reading(quantity, at, value, None, None, None, f"{value}", "Kim", SystemClock().now()), step=step
    )


def test_an_empty_logbook_begins_at_the_beginning(book: Logbook) -> None:
    first = next_step(progress(build_sheet(chain(2)), book))
    assert first is not None
    assert first.step.id == "build.place"
    assert progress(build_sheet(chain(2)), None)[0].state == "open"


def test_a_step_is_begun_then_done_then_taken_back(book: Logbook) -> None:
    bank = chain(2)
    step = state(bank, book, "build.place").step
    tick_step(book, step, "permit")
    assert state(bank, book, "build.place").state == "begun"
    tick_step(book, step, "clear")
    assert state(bank, book, "build.place").state == "done"
    tick_step(book, step, "clear", done=False)
    assert state(bank, book, "build.place").wanting == ("clear",)


def test_a_step_with_a_reading_is_not_done_before_it_is_taken(book: Logbook) -> None:
    bank = chain(2)
    tick_all(bank, book, "build.read.M1")
    assert state(bank, book, "build.read.M1").state == "begun"
    read(book, "voltage", "M1", 52.6, "build.read.M1")
    assert state(bank, book, "build.read.M1").state == "done"


def test_work_goes_on_where_it_stopped_after_reopening(tmp_path: Path) -> None:
    bank = chain(2)
    with open_logbook(tmp_path / "test.toml", bank) as book:
        tick_all(bank, book, "build.place")
        tick_all(bank, book, "build.people")
    with open_logbook(tmp_path / "test.toml", bank) as book:
        states = progress(build_sheet(bank), book)
        here = next_step(states)
        assert here is not None
        assert here.step.id == "build.frame.R1"


def test_a_changed_file_opens_what_it_touches_and_says_why(book: Logbook) -> None:
    bank = chain(2)
    for name in ("build.place", "build.make.4/0 AWG", "build.link.L1+"):
        tick_all(bank, book, name)
    links = tuple(dataclasses.replace(k, length=0.4) if k.name == "L1+" else k for k in bank.links)
    changed = bank.replaced(links=links)
    assert state(changed, book, "build.place").state == "done"
    link = state(changed, book, "build.link.L1+")
    assert link.state == "open again"
    assert link.why == ("length: was 320 mm, is 400 mm",)
    tick_all(changed, book, "build.link.L1+")
    assert state(changed, book, "build.link.L1+").state == "done"
    assert state(bank, book, "build.link.L1+").why == ("length: was 400 mm, is 320 mm",)


def test_steps_say_what_they_wait_for(book: Logbook) -> None:
    assert state(chain(2), book, "build.frame.R1").waits_for == ("build.people",)
    tick_all(chain(2), book, "build.people")
    assert state(chain(2), book, "build.frame.R1").waits_for == ()


def test_an_unknown_box_is_refused_with_the_known_ones(book: Logbook) -> None:
    step = state(chain(2), book, "build.place").step
    with pytest.raises(QuestionError, match="permit, clear"):
        tick_step(book, step, "sqare")
    assert book.ticks() == {}


def test_a_torque_that_is_not_known_cannot_be_ticked(book: Logbook) -> None:
    bank = chain(2)
    joints = tuple(dataclasses.replace(j, torque=None) if j.post == "M1+" else j for j in bank.joints)
    step = state(bank.replaced(joints=joints), book, "build.link.L1+").step
    with pytest.raises(QuestionError, match="Ask the maker"):
        tick_step(book, step, "torque/L1+@M1+")
    tick_step(book, step, "bolted/L1+@M1+")


def test_a_torque_that_two_lugs_of_one_post_wait_for_cannot_be_ticked_under_either_name(book: Logbook) -> None:
    bank = sample("two")  # one pair of posts: link and main share a nut, and the file gives no torque
    boxes = [
        (step, tick.id) for step in build_sheet(bank).steps for tick in step.ticks if tick.id.startswith("torque/")
    ]
    assert any(step.id == "build.link.L1+" and box == "torque/main+@M2+" for step, box in boxes)
    for step, box in boxes:
        with pytest.raises(QuestionError, match="Ask the maker"):
            tick_step(book, step, box)


def test_hand_over_only_when_everything_is_done(book: Logbook) -> None:
    bank = chain(2)
    sheet = build_sheet(bank)
    with pytest.raises(QuestionError, match=r"build\.place"):
        hand_over(book, sheet)
    for step in sheet.steps:
        for tick in step.ticks:
            tick_step(book, step, tick.id)
        for wanted in step.readings:
            read(book, wanted.quantity, wanted.at, wanted.low or 0.05, step.id)
    assert next_step(progress(sheet, book)) is None
    hand_over(book, sheet, "Kim")
    result = book.latest_result(TORQUES)
    assert result is not None
    assert result.payload["torques"]["L1+@M1+"].startswith("M1+: 10.0")


def test_ticks_of_steps_that_the_bank_does_not_have_are_named(book: Logbook) -> None:
    from bankwright.build.progress import strange_steps

    big = build_sheet(chain(4))
    for name in ("build.place", "build.module.M4", "build.link.L3+"):
        tick_step(book, next(step for step in big.steps if step.id == name), _first_box(big, name))
    assert strange_steps(big, book) == ()
    assert strange_steps(build_sheet(chain(2)), book) == ("build.module.M4", "build.link.L3+")
    assert strange_steps(build_sheet(chain(2)), None) == ()


def _first_box(sheet, name: str) -> str:  # type: ignore[no-untyped-def]
    return next(step for step in sheet.steps if step.id == name).ticks[0].id


def test_all_boxes_are_ticked_but_those_that_must_not_be(book: Logbook) -> None:
    from bankwright.build.progress import tick_every

    bank = chain(2)
    joints = tuple(dataclasses.replace(j, torque=None) if j.post == "M1+" else j for j in bank.joints)
    step = state(bank.replaced(joints=joints), book, "build.link.L1+").step
    refused = tick_every(book, step)
    assert len(refused) == 1
    assert "Ask the maker" in str(refused[0])
    assert {box for _, box in book.ticks()} == {t.id for t in step.ticks} - {"torque/L1+@M1+"}
