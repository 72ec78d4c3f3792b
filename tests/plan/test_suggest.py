"""The search for the least change: what it takes, what it refuses, what it says when nothing helps."""

from pathlib import Path

import pytest

from bankwright.bank.file.document import Document
from bankwright.bank.read import bank_from
from bankwright.plan.context import plan_of
from bankwright.plan.results import findings_of
from bankwright.plan.suggest.moves import moves_for
from bankwright.plan.suggest.search import suggest

DEMO = Path(__file__).parents[2] / "demo" / "barn.toml"
FOUR = DEMO.with_name("four.toml")  # of few moves


def failing(document):
    return {finding.code for finding in findings_of(plan_of(bank_from(document))) if finding.verdict == "fail"}


@pytest.fixture(scope="module")
def demo():
    return Document.read(DEMO)


@pytest.fixture(scope="module")
def made(demo):
    return suggest(demo)


@pytest.mark.slow
def test_the_demo_bank_fails_and_the_suggestion_mends_it(demo, made):
    assert failing(demo), "the demo bank holds a mistake on purpose"
    assert made.cures_all
    assert not failing(made.after), "checked anew from the changed text"
    assert made.before.text == demo.text


@pytest.mark.slow
def test_every_change_is_needed_and_says_what_it_does(made):
    assert made.taken
    for taken in made.taken:
        assert any(row.verdict_changed for row in taken.did), taken.move.words


@pytest.mark.slow
def test_a_smaller_cable_than_suggested_would_fail(made):
    size = made.after.value("wiring.main.cable")
    assert size == "350 kcmil"
    for smaller in ("300 kcmil", "250 kcmil", "4/0 AWG"):
        assert failing(made.after.with_value("wiring.main.cable", smaller))


@pytest.mark.slow
def test_comments_and_everything_else_stay(demo, made):
    old, new = demo.text.splitlines(), made.after.text.splitlines()
    gone = [line for line in old if line not in new]
    assert all(line.startswith("main = ") for line in gone), gone


@pytest.mark.soak
@pytest.mark.slow
def test_without_a_fitting_part_it_names_what_blocks_and_what_to_look_for(demo):
    """A search without a fitting part names what blocks and what to look for."""
    weak = demo
    for kind in ("fuse-T-300", "fuse-T-175", "fuse-T-125"):
        weak = weak.with_value(f"kinds.device.{kind}.interrupts", "2 kA")
    found = suggest(weak)
    assert not found.cures_all
    assert "P-FAULT-1" in {finding.code for finding in found.blocked}
    words = " ".join(spec.text() for spec in found.look_for)
    assert "interrupting at least" in words
    assert "60.0 V DC" in words


@pytest.mark.slow
def test_a_stopped_search_keeps_what_it_found():
    demo, heard = Document.read(FOUR), []

    def tell(line):
        heard.append(line)
        if len(heard) == 2:  # one change is taken, the next is being looked for
            raise KeyboardInterrupt

    found = suggest(demo, tell)
    assert found.interrupted
    assert len(found.taken) == 1
    assert len(failing(found.after)) < len(failing(demo))


@pytest.mark.slow
def test_nothing_is_suggested_where_nothing_fails(made):
    again = suggest(made.after)
    assert again.taken == ()
    assert again.after.text == made.after.text


def test_moves_touch_only_what_fails_apart_from_the_layout():
    document = Document.read(DEMO)
    groups = {move.group for move in moves_for(bank_from(document), document, ())}
    assert groups <= {"feed", "branch fuses", "studs"}
