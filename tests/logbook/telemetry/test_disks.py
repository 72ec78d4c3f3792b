"""Full and read-only disks, several programs at once: named, what was received stays, it goes on afterwards."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest

from bankwright.logbook import connect
from bankwright.logbook.check_repair import check
from bankwright.logbook.errors import LogbookBusy, LogbookDiskFull, LogbookReadOnly
from bankwright.logbook.export import backup
from bankwright.logbook.logbook import open_logbook
from bankwright.logbook.telemetry.store import Telemetry, open_telemetry
from support.logbank import StepClock
from support.telemetry_rows import ALL, poll

_TESTS = Path(__file__).parents[2]


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    place = tmp_path / "disk"
    place.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=700k", "tmpfs", str(place)]
    if os.geteuid() != 0 or subprocess.run(mount, capture_output=True, check=False).returncode != 0:
        pytest.skip("a small disk of its own needs root and mount")
    try:
        yield place
    finally:
        subprocess.run(["umount", "-l", str(place)], check=False)


def _receive(store: Telemetry, clock: StepClock, count: int, kept: list[float]) -> None:
    for _ in range(count):
        clock.passes(30)
        store.append(*poll(clock.monotonic, 4, 16))
        kept.append(clock.monotonic)


def _own_clock(store: Telemetry) -> list[float]:
    got = store.read("voltage", ("M1",), *ALL)
    (boot,) = store.boots()
    return list(np.round(got.time - boot.shift_ms / 1000, 3))


def test_a_full_disk_is_named_and_listening_goes_on_when_there_is_room(small_disk: Path) -> None:
    clock, kept = StepClock(), []
    with open_telemetry(small_disk / "orchard.toml", clock=clock) as store:
        store._connection.execute("PRAGMA wal_autocheckpoint = 10")
        filler = small_disk / "filler"
        filler.write_bytes(bytes(150_000))
        with pytest.raises(LogbookDiskFull, match=r"full|refused"):
            _receive(store, clock, 5000, kept)
        assert len(kept) > 20
        assert set(_own_clock(store)) >= set(kept)
        with pytest.raises(LogbookDiskFull):
            store.put_state("joints", 1, bytes(300_000))
        filler.unlink()
        clock.passes(7200)
        assert store.seal().rows >= 4 * len(kept)
        _receive(store, clock, 3, kept)
    with open_telemetry(small_disk / "orchard.toml", write=False) as store:
        assert set(_own_clock(store)) >= set(kept)
    assert check(small_disk / "orchard.logbook").is_whole


def test_a_disk_that_fills_while_sealing_leaves_the_rows(small_disk: Path) -> None:
    clock, kept = StepClock(), []
    with open_telemetry(small_disk / "orchard.toml", clock=clock) as store:
        store._connection.execute("PRAGMA wal_autocheckpoint = 10")
        _receive(store, clock, 200, kept)
        store._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        clock.passes(7200)
        filler = small_disk / "filler"
        with filler.open("wb", buffering=0) as file:
            try:
                while True:
                    file.write(bytes(4096))
            except OSError:
                pass
        with pytest.raises(LogbookDiskFull):
            store.seal()
        assert _own_clock(store) == kept
        filler.unlink()
        assert store.seal().rows == 800
        assert _own_clock(store) == kept
    assert check(small_disk / "orchard.logbook").is_whole


def test_a_read_only_disk_is_read_checked_and_backed_up(tmp_path: Path) -> None:
    place = tmp_path / "disk"
    place.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=2m", "tmpfs", str(place)]
    if os.geteuid() != 0 or subprocess.run(mount, capture_output=True, check=False).returncode != 0:
        pytest.skip("a read-only disk of its own needs root and mount")
    clock, kept = StepClock(), []
    try:
        with open_telemetry(place / "orchard.toml", clock=clock) as store:
            _receive(store, clock, 150, kept)
            store.seal()
        subprocess.run(["mount", "-o", "remount,ro", str(place)], check=True)
        with open_telemetry(place / "orchard.toml", write=False) as store:
            assert _own_clock(store) == kept
        assert check(place / "orchard.logbook").is_whole
        backup(place / "orchard.logbook", tmp_path / "copy.logbook")
        with pytest.raises(LogbookReadOnly), open_telemetry(place / "orchard.toml", clock=clock) as store:
            store.append(*poll(clock.monotonic))
    finally:
        subprocess.run(["umount", "-l", str(place)], check=False)
    assert check(tmp_path / "copy.logbook").rows == 600


_LISTENER = """
import sys
from bankwright.logbook.telemetry.store import open_telemetry
from support.logbank import StepClock
from support.telemetry_rows import columns
clock = StepClock()
with open_telemetry(sys.argv[1], clock=clock) as store:
    for n in range(400):
        clock.passes(20)
        store.append(columns("voltage", (sys.argv[2],), [clock.monotonic], [[clock.monotonic / 1000]]))
        if n % 100 == 99:
            store.seal()
"""
_PAGE = """
import sys
from bankwright.logbook.logbook import open_logbook
from bankwright.logbook.telemetry.store import open_telemetry
for n in range(40):
    with open_logbook(sys.argv[1]) as book:
        book.note(f"note {n}")
    with open_telemetry(sys.argv[1], write=False) as store:
        got = store.read("voltage", ("M1",), 0, 4e9)
        assert (got.time[1:] > got.time[:-1]).all()
"""


def _start(program: str, *args: str) -> subprocess.Popen[str]:
    paths = os.pathsep.join([str(_TESTS), str(_TESTS.parent / "src")])
    return subprocess.Popen(
        [sys.executable, "-c", program, *args],
        env={**os.environ, "PYTHONPATH": paths}, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


def test_two_listeners_that_seal_and_a_page_at_once_lose_nothing(tmp_path: Path) -> None:
    bank_file = str(tmp_path / "orchard.toml")
    programs = [_start(_LISTENER, bank_file, "M1"), _start(_LISTENER, bank_file, "M2"), _start(_PAGE, bank_file)]
    for program in programs:
        _, err = program.communicate(timeout=60)
        assert program.returncode == 0, err
    with open_telemetry(bank_file, write=False) as store, open_logbook(bank_file, write=False) as book:
        for name in ("M1", "M2"):
            got = store.read("voltage", (name,), *ALL)
            assert np.round(got.value[:, 0] * 1000).tolist() == [120 + 20 * n for n in range(400)]
        notes = [entry.note for entry in book.entries() if entry.kind == "note"]
    assert notes == [f"note {n}" for n in range(40)]
    report = check(tmp_path / "orchard.logbook")
    assert report.is_whole, report.damage
    assert report.rows == 800


def test_a_program_that_holds_the_file_too_long_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connect, "BUSY", 0.1)
    with open_telemetry(tmp_path / "orchard.toml", clock=StepClock()) as store:
        store.append(*poll(5.0))
        with closing(sqlite3.connect(store.path, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            with pytest.raises(LogbookBusy, match="another program"):
                store.append(*poll(6.0))
            assert store.read("voltage", ("M1",), *ALL).value.shape == (1, 1)  # reading waits for nobody
            other.execute("ROLLBACK")
        store.append(*poll(7.0))
        assert store.read("voltage", ("M1",), *ALL).value.shape == (2, 1)
