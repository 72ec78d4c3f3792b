"""Whatever the wall clock does, rows keep their order and get the right time as soon as it is known; nothing stored is
rewritten."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bankwright.logbook.check_repair import check
from bankwright.logbook.telemetry.store import Telemetry, open_telemetry
from support.logbank import StepClock
from support.telemetry_rows import ALL, START, columns


def _listen(store: Telemetry, clock: StepClock, seconds: int, every: int = 60) -> None:
    for _ in range(seconds // every):
        clock.passes(every)
        store.append(columns("voltage", ("M1",), [clock.monotonic], [[clock.monotonic / 1000]]))


def _time_and_own_clock(store: Telemetry) -> tuple[np.ndarray, np.ndarray]:
    got = store.read("voltage", ("M1",), *ALL)
    return got.time - START, np.round(got.value[:, 0] * 1000)


@pytest.mark.parametrize("jump", [3 * 3600.0, -600.0, 56 * 365 * 86400.0])
def test_a_clock_put_right_later_puts_right_all_rows_of_the_start(tmp_path: Path, jump: float) -> None:
    clock = StepClock(known=False)
    clock.wall = -jump  # what it shows is wrong by so much
    with open_telemetry(tmp_path / "orchard.toml", clock=clock) as store:
        _listen(store, clock, 7200)
        assert store.seal().rows == 0  # it waits for the clock
        assert store.boots()[0].certain is False
        before = store._connection.execute("SELECT * FROM hot").fetchall()
        clock.wall, clock.known = clock.wall + jump, True
        _listen(store, clock, 7200)
        assert store._connection.execute("SELECT * FROM hot").fetchmany(len(before)) == before
        for is_sealed in (False, True):
            time, own = _time_and_own_clock(store)
            assert np.allclose(time, own - 100, atol=1)
            assert (np.diff(time) > 0).all()
            if not is_sealed:
                assert store.seal().rows > 0
        hours = store.rollup("voltage", ("M1",), *ALL)
        assert (hours.mean.time % 3600 == 0).all()
        assert hours.count.sum() == 240
        step = store.events("clock-step")[0]
        assert step.detail["seconds"] == jump
    assert check(tmp_path / "orchard.logbook").is_whole


def test_a_clock_that_steps_while_it_was_thought_right_reorders_nothing(tmp_path: Path) -> None:
    clock = StepClock()
    with open_telemetry(tmp_path / "orchard.toml", clock=clock) as store:
        _listen(store, clock, 3 * 3600)
        assert store.seal().blocks == 2
        stored = store._connection.execute("SELECT * FROM sealed").fetchall()
        clock.wall -= 600
        _listen(store, clock, 3 * 3600)
        store.seal()
        time, own = _time_and_own_clock(store)
        assert np.allclose(np.diff(time), 60)
        assert len(own) == 360
        assert (np.diff(own) > 0).all()
        assert time[-1] == 6 * 3600 - 600  # the last word of a clock known to be right counts
        assert store._connection.execute("SELECT * FROM sealed").fetchmany(2) == stored
        whole = store.rollup("voltage", ("M1",), *ALL)
        assert whole.count.sum() == 360
        span = store.read("voltage", ("M1",), START + 3000, START + 3600)
        assert len(span.time) == 10


def test_two_starts_overlap_by_the_wall_and_are_kept_apart(tmp_path: Path) -> None:
    clock = StepClock()
    with open_telemetry(tmp_path / "orchard.toml", clock=clock) as store:
        _listen(store, clock, 3600)
    clock.boot, clock.monotonic, clock.known = "boot-b", 5.0, False
    clock.wall -= 7200  # a board without a battery clock: it wakes up in the past
    with open_telemetry(tmp_path / "orchard.toml", clock=clock) as store:
        _listen(store, clock, 1800)
        uncertain = next(boot for boot in store.boots() if boot.id == "boot-b")
        assert uncertain.certain is False
        assert uncertain.earliest == pytest.approx(START + 3600, abs=3601)
        assert uncertain.latest is None
        assert len(_time_and_own_clock(store)[0]) == 90
    clock.boot, clock.monotonic, clock.known = "boot-c", 5.0, True
    clock.wall = 90_000.0
    with open_telemetry(tmp_path / "orchard.toml", clock=clock) as store:
        assert store.seal().rows == 90  # both are over: sealed to their last row
        _listen(store, clock, 600)
        uncertain = next(boot for boot in store.boots() if boot.id == "boot-b")
        assert uncertain.latest == pytest.approx(START + 90_060)
        assert len(_time_and_own_clock(store)[0]) == 100
    assert check(tmp_path / "orchard.logbook").is_whole


def test_a_start_that_is_put_right_late_does_not_hide_rows_of_the_right_hours(tmp_path: Path) -> None:
    clock = StepClock(known=False)
    clock.wall = -5400.0
    with open_telemetry(tmp_path / "orchard.toml", clock=clock) as store:
        _listen(store, clock, 26 * 3600, 600)
        assert store.seal().blocks > 20  # a day is enough waiting
        assert store.boots()[0].certain is False
        clock.wall, clock.known = clock.wall + 5400, True
        _listen(store, clock, 600)
        assert store.boots()[0].certain is True
        got = store.read("voltage", ("M1",), START + 3600, START + 7200)
        assert np.round(got.value[:, 0] * 1000).tolist() == [3700 + 600 * k for k in range(6)]
        hours = store.rollup("voltage", ("M1",), *ALL)
        assert hours.count.sum() == 166


def test_a_suspended_machine_leaves_a_gap(tmp_path: Path) -> None:
    clock = StepClock()
    with open_telemetry(tmp_path / "orchard.toml", clock=clock) as store:
        _listen(store, clock, 600)
        clock.passes(8 * 3600)  # the machine's clock counts sleep
        _listen(store, clock, 600)
        time, _ = _time_and_own_clock(store)
    assert sorted(np.diff(time))[-1] == pytest.approx(8 * 3600 + 60)


def test_a_machine_that_names_no_start_gets_one_a_run(tmp_path: Path) -> None:
    clock = StepClock(known=None)
    clock.boot = ""
    for run in (1, 2):
        clock.monotonic = 100.0
        with open_telemetry(tmp_path / "orchard.toml", clock=clock) as store:
            _listen(store, clock, 600)
            assert len(store.boots()) == run
    with open_telemetry(tmp_path / "orchard.toml", write=False) as store:
        assert len(_time_and_own_clock(store)[0]) == 20
        assert [boot.certain for boot in store.boots()] == [None, None]
