"""Contacts are drawn as they stand in the case that is shown, with the word; what a case takes out is drawn open."""

from __future__ import annotations

from pathlib import Path

import pytest

from bankwright.bank.texts.starter import Start, starter
from bankwright.draw.paint.currents import opened_in
from bankwright.draw.wiring import wiring
from bankwright.job import Job


@pytest.fixture(scope="module")
def job() -> Job:
    return Job(Path("x.toml"), starter(Start(pattern="chain", modules=3)))


def test_in_normal_running_the_switch_is_closed_and_says_so(job: Job) -> None:
    text = wiring(job.bank, job.steady.case("full discharge")).text
    assert "closed" in text
    assert ", open" not in text
    assert 'd="M0.0 12.0L-11.0 -12.0"' not in text


def test_without_a_case_contacts_are_open_and_no_word_is_said(job: Job) -> None:
    text = wiring(job.bank).text
    assert 'd="M0.0 12.0L-11.0 -12.0"' in text
    assert "closed" not in text


def test_a_link_that_is_open_is_not_drawn_whole_and_a_module_says_open(job: Job) -> None:
    whole = wiring(job.bank, job.steady.case("full discharge")).text
    name = next(n for n in job.steady.names if n.endswith(", L1+ open"))
    cut = wiring(job.bank, job.steady.case(name)).text
    assert whole.count('class="planned') == 0
    assert cut.count('class="planned') == 1
    away = next(n for n in job.steady.names if n.endswith(", M2 open"))
    assert ">open<" in wiring(job.bank, job.steady.case(away)).text


@pytest.mark.parametrize(
    ("case", "out"),
    [("full discharge", ""), (None, ""), ("full discharge, L2+ open", "L2+"),
     ("full discharge, main shunt open", "main shunt"),
     ("full discharge, something odd", "")],
)  # fmt: skip
def test_what_a_case_takes_out(case: str | None, out: str) -> None:
    assert opened_in(case) == out


def test_a_drawing_names_the_case_that_it_shows(job):
    assert wiring(job.bank, job.steady.case("full discharge")).title == "Bank drawing, full discharge"
    assert wiring(job.bank, {"M1": 52.0}).title == "Bank drawing"
