"""Damaged pages, blocks, rows and ends of the log: what is read is true, the rest is named, the old file stays."""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
import pytest

from bankwright.forms.readings import Columns
from bankwright.logbook.check_repair import check, salvage
from bankwright.logbook.logbook import open_logbook
from bankwright.logbook.telemetry.hot import DAMAGED
from bankwright.logbook.telemetry.store import open_telemetry
from bankwright.logbook.wal import wal_path
from support.logbank import StepClock
from support.telemetry_rows import ALL, poll

PAGE = 4096
_AT = ("M1.c1", "M2.c4")
_TESTS = Path(__file__).parents[2]


@dataclass(frozen=True)
class _Written:
    path: Path
    bytes: bytes
    rows: int
    right: dict[float, list[float]]  # what was read at each moment


def _right(got: Columns) -> dict[float, list[float]]:
    return dict(zip(got.time.tolist(), got.value.tolist(), strict=True))


def _written(directory: Path, polls: int = 700) -> _Written:
    clock = StepClock()
    with open_telemetry(directory / "orchard.toml", clock=clock) as store:
        for k in range(polls):
            clock.passes(16)
            store.append(*poll(clock.monotonic))
            if k % 200 == 0:
                store.event("bus-fault", at="M1", poll=k)
        store.seal()
        store.put_state("joints", 1, b"x" * 3000)
        right = _right(store.read("cell_voltage", _AT, *ALL))
    return _Written(store.path, store.path.read_bytes(), 2 * polls, right)


def _untrue(written: _Written, path: Path) -> int:
    """Values that are read from a file and were never stored."""
    with open_telemetry(path.with_suffix(".toml"), write=False) as store:
        got = store.read("cell_voltage", _AT, *ALL)
    wrong = 0
    for time, values in zip(got.time.tolist(), got.value.tolist(), strict=True):
        right = written.right.get(time)
        wrong += right is None or any(v != r for v, r in zip(values, right, strict=True) if not np.isnan(v))
    return wrong


def _salvaged(written: _Written, spoilt: bytes, directory: Path, name: str) -> int:
    """Salvage a spoilt copy; how many rows are lost. All that came over is true, all that did not is named."""
    written.path.write_bytes(spoilt)
    target = directory / f"{name}.logbook"
    saved = salvage(written.path, target)
    assert written.path.read_bytes() == spoilt
    assert _untrue(written, target) == 0, name
    report = check(target)
    assert report.is_whole, (name, report.damage)
    assert report.rows == saved.telemetry.rows, name
    lost = written.rows - saved.telemetry.rows
    if lost:
        assert not check(written.path).is_whole, name
        assert saved.telemetry.lost_rows == lost or not saved.telemetry.count_known, name
    target.unlink()
    return lost


def _no_page_costs_more_than_it_holds(directory: Path, every: int, polls: int) -> None:
    written = _written(directory, polls)
    noise = random.Random(1).randbytes(PAGE)
    good = written.bytes
    costs = []
    for page in range(0, len(good) // PAGE, every):
        spoilt = good[: page * PAGE] + noise + good[(page + 1) * PAGE :]
        costs.append(_salvaged(written, spoilt, directory, f"page-{page + 1}"))
    hour = 3600 // 16 + 1
    assert max(costs) <= 8 * hour  # a page has room for the beginnings of eight blocks
    assert sum(cost == 0 for cost in costs) > len(costs) / 2


@pytest.mark.slow
def test_a_damaged_page_costs_at_most_what_stood_on_it(tmp_path: Path) -> None:
    _no_page_costs_more_than_it_holds(tmp_path, every=9, polls=700)


@pytest.mark.soak
def test_each_damaged_page_costs_at_most_what_stood_on_it(tmp_path: Path) -> None:
    """Every page of a file of telemetry overwritten in turn: what is salvaged is true, what is not is named."""
    _no_page_costs_more_than_it_holds(tmp_path, every=1, polls=3000)


def _changed_bytes(directory: Path, rounds: int) -> None:
    written = _written(directory)
    draw = random.Random(2)
    for number in range(rounds):
        spoilt = bytearray(written.bytes)
        for _ in range(3):
            spoilt[draw.randrange(PAGE, len(spoilt))] ^= 1 << draw.randrange(8)
        _salvaged(written, bytes(spoilt), directory, f"bits-{number}")


def test_changed_bits_are_never_taken_for_readings(tmp_path: Path) -> None:
    _changed_bytes(tmp_path, 8)


@pytest.mark.soak
def test_changed_bits_are_never_taken_for_readings_often(tmp_path: Path) -> None:
    """Three bits changed in a file of telemetry, 300 times: no untrue reading comes out, what is lost is named."""
    _changed_bytes(tmp_path, 300)


def test_a_damaged_column_of_a_block_costs_that_column_alone(tmp_path: Path) -> None:
    written = _written(tmp_path)
    with closing(sqlite3.connect(written.path)) as connection:
        block_no, block = connection.execute("SELECT block_no, block FROM sealed ORDER BY block_no LIMIT 1").fetchone()
        spoilt = bytearray(block)
        spoilt[-5] ^= 0xFF  # in the last column: the voltage
        connection.execute("UPDATE sealed SET block = ? WHERE block_no = ?", (bytes(spoilt), block_no))
        connection.commit()
    report = check(written.path)
    assert [damage.code for damage in report.damage] == ["block-damaged"]
    assert report.damage[0].words.startswith("M1 from 2026-03-01 08:00:16 UTC to 2026-03-01 08:59:")
    assert "readings of voltage at M1 cannot be read" in report.damage[0].words
    for path in (written.path, tmp_path / "saved.logbook"):
        if not path.exists():
            assert salvage(written.path, path).telemetry.damaged_blocks == 1
        with open_telemetry(path.with_suffix(".toml"), write=False) as store:
            volts = store.read("voltage", ("M1",), *ALL)
            cells = store.read("cell_voltage", _AT, *ALL)
        assert _right(cells) == written.right
        lost = volts.quality[:, 0] == DAMAGED
        assert lost.sum() == 224
        assert np.isnan(volts.value[lost, 0]).all()
        assert not np.isnan(volts.value[~lost, 0]).any()
    assert check(tmp_path / "saved.logbook").is_whole


def test_a_block_that_vanished_is_missed_by_name(tmp_path: Path) -> None:
    written = _written(tmp_path)
    with closing(sqlite3.connect(written.path)) as connection:
        connection.execute("DELETE FROM sealed WHERE block_no = 2")
        connection.commit()
    codes = {damage.code: damage.words for damage in check(written.path).damage}
    assert codes.keys() == {"block-missing", "sealed-rows-missing"}
    assert codes["block-missing"].startswith("M2: the readings of the hour from 2026-03-01 08:00:00 UTC are missing")


def test_a_row_that_vanished_is_missed(tmp_path: Path) -> None:
    written = _written(tmp_path)
    with closing(sqlite3.connect(written.path)) as connection:
        connection.execute("DELETE FROM hot WHERE row_no IN (SELECT row_no FROM hot ORDER BY row_no LIMIT 3)")
        connection.commit()
    assert [damage.code for damage in check(written.path).damage] == ["rows-missing"]


def test_a_lost_table_of_names_costs_nothing_that_blocks_hold(tmp_path: Path) -> None:
    written = _written(tmp_path)
    with closing(sqlite3.connect(written.path)) as connection:
        for table in ("frame", "clock", "boot", "minute", "hour"):
            connection.execute(f"DELETE FROM {table}")
        connection.commit()
    assert not check(written.path).is_whole
    saved = salvage(written.path, tmp_path / "saved.logbook")
    assert (saved.telemetry.rows, saved.telemetry.lost_rows) == (written.rows, 0)
    assert check(tmp_path / "saved.logbook").is_whole
    with open_telemetry(tmp_path / "saved.toml", write=False) as store:
        assert _right(store.read("cell_voltage", _AT, *ALL)) == written.right
        assert store.rollup("cell_voltage", _AT, *ALL).count.sum() == 2 * 700


@pytest.mark.parametrize("keep", [0.4, 0.9])
def test_a_file_cut_short_gives_what_is_left(tmp_path: Path, keep: float) -> None:
    written = _written(tmp_path)
    cut = written.bytes[: int(len(written.bytes) * keep)]
    written.path.write_bytes(cut)
    assert not check(written.path).is_whole
    salvage(written.path, tmp_path / "saved.logbook")
    assert _untrue(written, tmp_path / "saved.logbook") == 0
    assert check(tmp_path / "saved.logbook").is_whole


_DIES = """
import os, signal, sys
from bankwright.logbook.telemetry.store import open_telemetry
from support.logbank import StepClock
from support.telemetry_rows import poll
clock = StepClock()
store = open_telemetry(sys.argv[1], clock=clock)
for n in range(120):
    clock.passes(16)
    store.append(*poll(clock.monotonic))
os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.mark.share(4)
@pytest.mark.parametrize("way", ["cut", "noise", "zeros"])
@pytest.mark.parametrize("keep", [0.35, 0.8])
def test_a_damaged_end_of_the_log_leaves_what_came_before_and_is_named(tmp_path: Path, way: str, keep: float) -> None:
    """A damaged end of the log leaves what came before."""
    bank_file = tmp_path / "orchard.toml"
    with open_telemetry(bank_file, clock=StepClock()):
        pass
    paths = os.pathsep.join([str(_TESTS), str(_TESTS.parent / "src")])
    done = subprocess.run(
        [sys.executable, "-c", _DIES, str(bank_file)], env={**os.environ, "PYTHONPATH": paths}, check=False
    )
    assert done.returncode == -signal.SIGKILL
    log = wal_path(bank_file.with_suffix(".logbook"))
    data = log.read_bytes()
    end = int(len(data) * keep)
    hole = min(3 * PAGE, len(data) - end)
    fill = {"cut": b"", "noise": random.Random(3).randbytes(hole), "zeros": bytes(hole)}[way]
    log.write_bytes(data[:end] + (fill + data[end + hole :] if fill else b""))
    with open_telemetry(bank_file, clock=StepClock()) as store:
        before = store.read("voltage", ("M1",), *ALL)
        clock = StepClock()
        clock.passes(9000)
        store.append(*poll(clock.monotonic), now=clock.now())
    assert 10 < len(before.time) < 120
    assert np.allclose(np.diff(before.time), 16)  # whole readings from the first on, none in between missing
    with open_logbook(bank_file, write=False) as book:
        events = [entry.body["code"] for entry in book.entries() if entry.kind == "event"]
    assert ("log-end-cut" in events) == (way != "cut")
    if way != "cut":  # what stood behind the hole is brought back
        saved = salvage(bank_file.with_suffix(".logbook"), tmp_path / "saved.logbook")
        assert saved.telemetry.rows > 2 * (len(before.time) + 1)
        with open_telemetry(tmp_path / "saved.toml", write=False) as store:
            after = store.read("voltage", ("M1",), *ALL)
        assert len(after.time) == saved.telemetry.rows / 2
        assert (np.diff(after.time) > 0).all()


def test_events_that_are_lost_are_named_once(tmp_path: Path) -> None:
    written = _written(tmp_path)
    with closing(sqlite3.connect(written.path)) as connection:
        connection.execute("DELETE FROM happening")
        connection.commit()
    assert [damage.code for damage in check(written.path).damage] == ["events-missing"]
    saved = salvage(written.path, tmp_path / "saved.logbook")
    assert saved.telemetry.rows == written.rows
    assert check(tmp_path / "saved.logbook").is_whole
    with open_telemetry(tmp_path / "saved.toml", clock=StepClock()) as store:
        assert [(e.code, e.detail["events"]) for e in store.events()] == [("telemetry-lost", 4)]
        assert store.event("bus-fault") == 6
        assert salvage(store.path, tmp_path / "again.logbook").telemetry.rows == written.rows
    assert check(tmp_path / "again.logbook").is_whole


@pytest.mark.parametrize("every", ["hour", "minute"])
def test_damaged_sums_are_marked_and_never_counted(tmp_path: Path, every: Literal["hour", "minute"]) -> None:
    written = _written(tmp_path)
    with open_telemetry(tmp_path / "orchard.toml", write=False) as store:
        before = store.rollup("cell_voltage", _AT, *ALL, every=every)
    with closing(sqlite3.connect(written.path)) as connection:
        rows = connection.execute(f"SELECT * FROM {every} WHERE block_no = 3").fetchall()
        for row in rows:
            spoilt = bytes([row[4][0] ^ 1, *row[4][1:]])
            connection.execute(f"UPDATE {every} SET sums = ? WHERE block_no = 3 AND mono_ms = ?", (spoilt, row[2]))
        connection.commit()
    with open_telemetry(tmp_path / "orchard.toml", write=False) as store:
        after = store.rollup("cell_voltage", _AT, *ALL, every=every)
    lost = after.mean.quality[:, 0] == DAMAGED  # block 3 is of M1
    assert lost.sum() == {"hour": 1, "minute": 60}[every]
    assert not (after.mean.quality[:, 1] == DAMAGED).any()
    assert np.isnan(after.mean.value[lost, 0]).all()
    assert (after.count[lost, 0] == 0).all()
    assert np.array_equal(after.mean.value[~lost], before.mean.value[~lost], equal_nan=True)
    assert np.array_equal(after.mean.value[:, 1], before.mean.value[:, 1], equal_nan=True)
    assert "sums-damaged" in {damage.code for damage in check(written.path).damage}
    saved = salvage(written.path, tmp_path / "saved.logbook")  # made again from the block
    with open_telemetry(tmp_path / "saved.toml", write=False) as store:
        again = store.rollup("cell_voltage", _AT, *ALL, every=every)
    assert saved.telemetry.rows == written.rows
    assert np.array_equal(again.mean.value, before.mean.value, equal_nan=True)
