"""A pole is earthed only after Match and a reading of both poles with the bank live; its conductor is bolted dead."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from bankwright.bank.model import Bank, Earthing
from bankwright.build.progress import StepState, hand_over, may_join, next_step, not_earthed, progress, tick_every
from bankwright.build.sheet import build_sheet
from bankwright.forms.readings import Reading
from bankwright.logbook.clocks import SystemClock
from bankwright.logbook.logbook import Logbook, open_logbook
from support.banks.rack import busbar, chain

AFTER = ("build.live", "build.earth", "build.earth.live")


def earthed(bank: Bank, pole: str = "minus", at: str = "M1-") -> Bank:
    return bank.replaced(site=dataclasses.replace(bank.site, earthing=Earthing(pole, (at,))))  # type: ignore[arg-type]


@pytest.fixture
def book(tmp_path: Path):  # type: ignore[no-untyped-def]
    with open_logbook(tmp_path / "test.toml", chain(2)) as opened:
        yield opened


def states(bank: Bank, book: Logbook | None) -> dict[str, StepState]:
    return {state.step.id: state for state in progress(build_sheet(bank), book)}


def finish(bank: Bank, book: Logbook, *names: str) -> None:
    """Tick and read everything of these steps, as they ask for it."""
    for state in progress(build_sheet(bank), book):
        if state.step.id in names or (not names and state.step.id not in AFTER):
            tick_every(book, state.step)
            for w in state.step.readings:
                value = w.low if w.high is None else w.high if w.low is None else (w.low + w.high) / 2
                now = SystemClock().now()
                book.append_reading(
                    Reading(w.quantity, w.at, value or 0.0, None, None, None, "", "Kim", now), step=state.step.id
                )


def test_only_a_bank_with_an_earthed_pole_has_these_steps() -> None:
    for pole, there in (("minus", True), ("plus", True), ("none", False), (None, False)):
        ids = states(earthed(chain(2), pole), None)  # type: ignore[arg-type]
        assert all((name in ids) is there for name in AFTER), pole


def test_it_waits_for_match_and_for_the_live_reading(book: Logbook) -> None:
    bank = earthed(chain(2))
    finish(bank, book)
    assert states(bank, book)["build.live"].waits_for == ("match record",)
    assert states(bank, book)["build.earth"].waits_for == ("match record", "build.live")
    book.hand_over("match record", {"may_join": "fail"})
    assert not may_join(book)
    assert states(bank, book)["build.live"].waits_for == ("match record",)  # a record that says no is none
    book.hand_over("match record", {"may_join": "caution"})
    assert states(bank, book)["build.live"].waits_for == ()
    assert states(bank, book)["build.earth"].waits_for == ("build.live",)
    finish(bank, book, "build.live")
    assert states(bank, book)["build.earth"].waits_for == ()


def test_no_record_of_match_is_asked_of_one_module_alone(book: Logbook) -> None:
    bank = earthed(chain(1))
    assert "match record" not in states(bank, None)["build.live"].step.after
    assert "build.live" in states(bank, None)["build.earth"].step.after


def test_fuses_labels_and_hand_over_do_not_wait_for_it(book: Logbook) -> None:
    bank = earthed(chain(2))
    after = {name: state.step.after for name, state in states(bank, None).items()}
    assert after["build.fuses"] == after["build.signs"] == ("build.poles",)
    assert not any(name.startswith("build.earth") for name in after["build.handover"])
    finish(bank, book)
    hand_over(book, build_sheet(bank))  # with the earthing still to come
    here = next_step(progress(build_sheet(bank), book))
    assert here is not None
    assert here.step.id == "build.live"


def test_both_poles_are_read_with_their_signs() -> None:
    for pole in ("minus", "plus"):
        live = states(earthed(busbar(3), pole, "bar-4"), None)["build.live"].step
        assert [w.quantity for w in live.readings] == ["frame_voltage", "frame_voltage"]
        plus, minus = live.readings
        assert (plus.low, plus.high) == (-1.0, 36.0)  # nearly the whole of 16 cells at 2.5 V: the other one lies at it
        assert (minus.low, minus.high) == (-36.0, 1.0)
    again = states(earthed(busbar(3), "minus", "bar-4"), None)["build.earth.live"].step
    plus, minus = again.readings
    assert (plus.low, plus.high) == (36.0, None)
    assert (minus.low, minus.high) == (-0.05, 0.05)
    plus, minus = states(earthed(busbar(3), "plus", "bar+4"), None)["build.earth.live"].step.readings
    assert (plus.low, plus.high, minus.low, minus.high) == (-0.05, 0.05, None, -36.0)


@pytest.mark.parametrize(("value", "outside"), [(0.4, False), (26.0, False), (52.9, True), (-3.0, True)])
def test_a_pole_that_shows_the_whole_voltage_keeps_the_step_open(book: Logbook, value: float, outside: bool) -> None:
    bank = earthed(chain(2))
    finish(bank, book, "build.live")
    at = states(bank, book)["build.live"].step.readings[0].at
    reading = Reading("frame_voltage", at, value, None, None, None, "", "Kim", SystemClock().now())
    book.append_reading(reading, step="build.live")
    assert bool(states(bank, book)["build.live"].outside) is outside


def test_the_conductor_is_bolted_dead_and_both_ways_are_offered() -> None:
    for pole, other in (("minus", "plus"), ("plus", "minus")):
        found = states(earthed(chain(2), pole), None)
        acts = [act.text() for act in found["build.earth"].step.acts]
        order = [
            "Every module off again",
            "Absence of voltage proved",
            f"The {other} pole covered",
            "The earthing conductor",
        ]
        assert [next(n for n, act in enumerate(acts) if act.startswith(words)) for words in order] == [0, 1, 2, 3]
        live = " ".join(act.text() for act in found["build.live"].step.acts)
        assert "an electrician has earthed" in live
        assert "at the earth bar for this reading, not at the bank's bar" in live
        again = " ".join(act.text() for act in found["build.earth.live"].step.acts)
        assert "in the order that Match gave" in again
        assert "volts over it, open" in again


def test_until_it_is_ticked_the_main_switch_stays_open(book: Logbook) -> None:
    bank = earthed(chain(2))
    assert not_earthed(bank, None) == "The minus pole is not earthed yet: the main switch stays open."
    assert not_earthed(earthed(chain(2), "plus"), book).startswith("The plus pole")
    assert not_earthed(chain(2), book) == not_earthed(earthed(chain(2), "none"), book) == ""
    finish(bank, book)
    assert not_earthed(bank, book)
    book.tick("build.earth", "earthed")
    assert not_earthed(bank, book) == ""
    book.tick("build.earth", "earthed", done=False)
    assert not_earthed(bank, book)
    handover = states(bank, None)["build.handover"].step
    assert "main switch stays open until build.earth" in " ".join(act.text() for act in handover.acts)


def test_a_tick_of_the_older_order_stands(book: Logbook) -> None:
    bank = earthed(chain(2))
    old = "6312926f112d3bec"  # of this step of this bank, as the sheet gave it that earthed before Match
    book.tick("build.earth", "earthed", digest=old)
    assert states(bank, book)["build.earth"].state == "begun"  # the reading and a box of today are still to come
    assert states(bank, book)["build.earth"].ticked == ("earthed",)
    assert not_earthed(bank, book) == ""
