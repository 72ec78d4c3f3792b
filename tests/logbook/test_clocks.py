"""Time as it was known: a jump is an event, nothing is reordered."""

from __future__ import annotations

import time
from datetime import datetime
from pathlib import Path

from bankwright.forms.readings import Instant
from bankwright.logbook.clocks import SystemClock, corrected, jump, wall_seconds
from bankwright.logbook.logbook import open_logbook
from support.logbank import StepClock, volts


def _jumps(path: Path) -> list[float]:
    with open_logbook(path, write=False) as book:
        return [e.body["seconds"] for e in book.entries(kind="event") if e.body["code"] == "clock-jump"]


def test_a_clock_set_forward_three_hours_is_an_event_between_the_rows(tmp_path: Path) -> None:
    clock = StepClock()
    with open_logbook(tmp_path / "b.toml", clock=clock) as book:
        book.append_reading(volts("M1", 52.6))
        clock.passes(60)
        clock.wall += 3 * 3600
        book.append_reading(volts("M1", 52.5))
        assert [e.kind for e in book.entries()] == ["reading", "event", "reading"]
    assert _jumps(tmp_path / "b.toml") == [10800.0]


def test_a_clock_set_back_ten_minutes_reorders_nothing(tmp_path: Path) -> None:
    clock = StepClock()
    with open_logbook(tmp_path / "b.toml", clock=clock) as book:
        for value in (52.6, 52.5, 52.4):
            book.append_reading(volts("M1", value))
            clock.passes(30)
            clock.wall -= 600
        assert [r.value for r in book.readings()] == [52.6, 52.5, 52.4]
        walls = [e.stored.wall for e in book.entries(kind="reading") if e.stored]
        assert walls == sorted(walls, reverse=True)
        assert book.latest_readings("voltage")["M1"].value == 52.4
    assert _jumps(tmp_path / "b.toml") == [-600.0, -600.0]


def test_suspend_daylight_saving_and_slow_slewing_are_no_jump(tmp_path: Path) -> None:
    clock = StepClock()
    with open_logbook(tmp_path / "b.toml", clock=clock) as book:
        book.append_reading(volts("M1", 52.6))
        clock.passes(8 * 3600)  # suspended: both clocks count it
        book.append_reading(volts("M1", 52.5))
        clock.passes(100)
        clock.wall += 0.4
        book.append_reading(volts("M1", 52.4))
    assert _jumps(tmp_path / "b.toml") == []
    summer = jump(Instant("2026-03-29T01:59:59+01:00", "a", 1.0), Instant("2026-03-29T03:00:00+02:00", "a", 2.0))
    assert summer is None


def test_a_new_boot_that_lags_behind_is_an_event_one_that_runs_on_is_not(tmp_path: Path) -> None:
    clock = StepClock()
    with open_logbook(tmp_path / "b.toml", clock=clock) as book:
        book.append_reading(volts("M1", 52.6))
        clock.boot, clock.monotonic = "boot-b", 5.0
        clock.wall += 7200
        book.append_reading(volts("M1", 52.5))
        assert _jumps(tmp_path / "b.toml") == []
        clock.boot, clock.monotonic = "boot-c", 5.0
        clock.wall -= 3600
        book.append_reading(volts("M1", 52.4))
        boots = book._connection.execute("SELECT boot_no, boot_id FROM boot").fetchall()
    assert _jumps(tmp_path / "b.toml") == [-3600.0]
    assert boots == [(1, "boot-a"), (2, "boot-b"), (3, "boot-c")]


def test_a_clock_that_starts_in_1970_is_stored_as_it_was(tmp_path: Path) -> None:
    clock = StepClock(known=False)
    clock.wall = -1_772_000_000.0
    with open_logbook(tmp_path / "b.toml", clock=clock) as book:
        book.note("before the clock was set")
        clock.wall, clock.known = 0.0, True
        book.note("after")
        first, event, last = book.entries()
    assert first.moment.wall.startswith("1970-01-")
    assert first.moment.clock_known is False
    assert event.body["code"] == "clock-jump"
    assert last.moment.clock_known is True


def test_earlier_rows_of_the_same_boot_get_their_true_time_once_the_clock_is_right() -> None:
    early = Instant("1970-01-01T00:00:10+00:00", "a", 10.0, False)
    known = Instant("2026-03-01T10:00:00+01:00", "a", 70.0, True)
    found = corrected(early, known)
    assert found is not None
    assert datetime.fromisoformat(found.wall) == datetime.fromisoformat("2026-03-01T08:59:00+00:00")
    assert corrected(Instant("1970-01-01T00:00:10+00:00", "other", 10.0, False), known) is None
    assert corrected(early, Instant("2026-03-01T10:00:00+01:00", "a", 70.0, False)) is None


def test_the_machines_clock_runs_and_carries_its_zone() -> None:
    one, before = SystemClock().now(), time.time()
    two = SystemClock().now()
    assert abs(wall_seconds(one) - before) < 5.0
    assert datetime.fromisoformat(one.wall).tzinfo is not None
    assert one.monotonic is not None
    assert two.monotonic is not None
    assert two.monotonic >= one.monotonic
    assert jump(one, two) is None
