"""`bankwright new`: the conversation on a real terminal, options heard as answers, the same file as from the page."""

from __future__ import annotations

import sys

import pytest
from click.testing import CliRunner

from bankwright.bank.read import read_bank
from bankwright.cli.main import group
from support.page import client
from support.walks import BAR, CHAIN, on_terminal, start_page

pty_only = pytest.mark.skipif(sys.platform == "win32", reason="no pty on Windows")


def answered(terminal, answers):
    for number, answer in enumerate(answers, 1):
        terminal.until(f"{number}/")
        terminal.asked()
        terminal.type(answer)


@pty_only
@pytest.mark.slow
@pytest.mark.parametrize("answers", [CHAIN, BAR], ids=["chain", "bar"])
def test_the_same_answers_give_the_same_file_on_terminal_and_page(tmp_path, answers):
    (tmp_path / "terminal").mkdir()
    (tmp_path / "page").mkdir()
    with on_terminal(tmp_path / "terminal", "new", "bank.toml") as terminal:
        answered(terminal, answers)
        terminal.until("Enter: write the file")
        terminal.type("")
        said, code = terminal.rest()
    assert code == 0, said
    with client(tmp_path / "page" / "bank.toml") as web:
        start_page(web, answers)
    assert (tmp_path / "terminal" / "bank.toml").read_bytes() == (tmp_path / "page" / "bank.toml").read_bytes()
    assert not list(tmp_path.rglob("*.answers"))


@pty_only
@pytest.mark.slow
def test_a_slip_of_the_hand_costs_one_key(tmp_path):
    with on_terminal(tmp_path, "new", "bank.toml") as terminal:
        answered(terminal, ("4", "m", "1oo,5"))
        assert "100.5 Ah?" in terminal.asked()
        terminal.type("")
        terminal.until("4/20")
        terminal.asked()
        terminal.type("sixteen")
        terminal.until("A whole number from 1 to 32 is asked.")
        terminal.until(": sixteen")  # what was typed stands in the line
        terminal.type("16")
        terminal.until("5/20")
        terminal.asked()
        terminal.type("<")
        terminal.until("4/20")
        terminal.until(": 16")  # and so does what was answered
        terminal.type(".")
        said, code = terminal.rest()
    assert code == 0
    assert "goes on with these answers" in said
    assert not (tmp_path / "bank.toml").exists()
    with on_terminal(tmp_path, "new", "bank.toml") as terminal:
        assert "Going on after 4 answers" in terminal.until("4/20")


@pty_only
@pytest.mark.slow
def test_nothing_to_a_plan_with_no_fail_and_an_answer_on_the_spot(tmp_path):
    breaker = ("125", "100")  # the modules' own, and what it interrupts: then a chain may pass
    answers = (*CHAIN[:11], *breaker, *CHAIN[12:])
    assert len(answers) < 25
    with on_terminal(tmp_path, "new", "bank.toml") as terminal:
        answered(terminal, answers)
        terminal.until("Enter: write the file")
        terminal.asked()
        terminal.type("the name is wrong")  # nothing that can be done here: said, and asked again
        terminal.until('found "the name is wrong"')
        terminal.until("Enter: write the file")
        terminal.type("")
        assert terminal.rest()[1] == 0
    with on_terminal(tmp_path, "plan", "bank.toml") as terminal:
        said, code = terminal.rest()
    assert code == 0, said
    assert "0 fail" in said
    assert len(said.splitlines()) <= 90
    with on_terminal(tmp_path, "ask", "bank.toml") as terminal:
        terminal.until("Q1")
        terminal.asked()
        terminal.type("not of this world")
        terminal.until("no wire size of the tables")
        terminal.until(": not of this world")
        terminal.type("4/0 AWG")
        terminal.until("4/0 AWG. Written;")
        terminal.until("Q1")
        terminal.asked()
        terminal.type(".")
        assert terminal.rest()[1] == 0
    assert 'cables = ["4/0 AWG"]' in (tmp_path / "bank.toml").read_text("utf-8")


@pty_only
@pytest.mark.slow
def test_what_a_chain_cannot_do_is_said_before_it_is_chosen(tmp_path):
    with on_terminal(tmp_path, "new", "bank.toml") as terminal:
        answered(terminal, CHAIN[:9])
        terminal.until("10/")
        asked = terminal.asked()
        assert "It has no place" in asked
        assert "for a fuse at each module" in " ".join(asked.split())


def run(*arguments):
    return CliRunner().invoke(group, ["new", *arguments])


def test_options_are_heard_as_answers_and_all_their_faults_come_at_once(tmp_path):
    path = str(tmp_path / "a.toml")
    wrong = run(path, "--capacity", "45,5", "--units", "imperial", "--modules", "many", "--no-ask")
    text = str(wrong.exception)
    assert wrong.exit_code != 0
    assert 'Write "45.5 Ah"' in text
    assert "--modules" in text
    assert "--units" in text
    assert not (tmp_path / "a.toml").exists()


def test_options_alone_write_the_file(tmp_path):
    path = tmp_path / "a.toml"
    done = run(str(path), "--modules", "3", "--capacity", "280", "--pattern", "ch", "--rules", "IEC", "--no-ask")
    assert done.exit_code == 0, done.output
    bank = read_bank(path)
    assert (len(bank.modules), bank.pattern, bank.book) == (3, "chain", "iec-60364")
    assert bank.modules[0].kind.capacity_ah == 280
    again = run(str(path), "--no-ask")
    assert again.exit_code == 2
    assert "nothing was written" in again.output
