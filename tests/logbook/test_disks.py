"""Full and read-only disks, two programs at once: named, nothing acknowledged is lost, it goes on afterwards."""

from __future__ import annotations

import contextlib
import json
import os
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from bankwright.logbook import connect
from bankwright.logbook.check_repair import check
from bankwright.logbook.errors import LogbookBusy, LogbookDiskFull, LogbookReadOnly
from bankwright.logbook.export import backup
from bankwright.logbook.logbook import Logbook, open_logbook
from support.logbank import StepClock, volts

_TESTS = Path(__file__).parents[1]


def _start(program: str, *args: str) -> subprocess.Popen[str]:
    paths = os.pathsep.join([str(_TESTS), str(_TESTS.parent / "src")])
    return subprocess.Popen(
        [sys.executable, "-c", program, *args],
        env={**os.environ, "PYTHONPATH": paths}, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


def _run(program: str, *args: str) -> str:
    process = _start(program, *args)
    out, err = process.communicate(timeout=60)
    assert process.returncode == 0, err
    return out


def _mount(directory: Path, options: str) -> bool:
    if os.geteuid() != 0:
        return False
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(directory)], capture_output=True, check=False
    )
    return done.returncode == 0


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    place = tmp_path / "disk"
    place.mkdir()
    if not _mount(place, "size=512k"):
        pytest.skip("a small disk of its own needs root and mount")
    try:
        yield place
    finally:
        subprocess.run(["umount", "-l", str(place)], check=False)


def _write_until_refused(book: Logbook, acknowledged: list[str]) -> None:
    for number in range(5000):
        acknowledged.append(book.append_reading(volts("M1", 50 + number / 1000)).id)


def test_a_full_disk_is_named_and_entering_goes_on_when_there_is_room(small_disk: Path) -> None:
    acknowledged: list[str] = []
    with open_logbook(small_disk / "orchard.toml") as book:
        filler = small_disk / "filler"
        filler.write_bytes(bytes(150_000))
        with pytest.raises(LogbookDiskFull, match=r"full|refused"):
            _write_until_refused(book, acknowledged)
        assert len(acknowledged) > 5
        assert {r.id for r in book.readings()} >= set(acknowledged)
        with pytest.raises(LogbookDiskFull):
            book.hand_over("match record", "x" * 300_000)
        filler.unlink()
        acknowledged.append(book.append_reading(volts("M1", 52.6)).id)
    with open_logbook(small_disk / "orchard.toml", write=False) as book:
        assert {r.id for r in book.readings()} >= set(acknowledged)
    assert check(small_disk / "orchard.logbook").is_whole


def test_a_disk_that_is_full_from_the_start_is_named(small_disk: Path) -> None:
    filler = small_disk / "filler"
    with filler.open("wb", buffering=0) as file, contextlib.suppress(OSError):
        while True:
            file.write(bytes(4096))
    with pytest.raises(LogbookDiskFull):
        open_logbook(small_disk / "orchard.toml")
    filler.unlink()
    with open_logbook(small_disk / "orchard.toml") as book:
        book.note("first")
    assert check(small_disk / "orchard.logbook").is_whole


_LIMITED = """
import json, resource, sys
from support.logbank import volts
from bankwright.logbook.errors import LogbookDiskFull
from bankwright.logbook.logbook import open_logbook
book = open_logbook(sys.argv[1])
ids = []
resource.setrlimit(resource.RLIMIT_FSIZE, (300_000, resource.RLIM_INFINITY))
try:
    while True:
        ids.append(book.append_reading(volts("M1", 52.6)).id)
except LogbookDiskFull as error:
    resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    ids.append(book.append_reading(volts("M1", 52.5)).id)
    print(json.dumps([ids, str(error)]))
"""


@pytest.mark.skipif(sys.platform == "win32", reason="needs a limit on file size")
def test_a_file_that_may_not_grow_is_named_and_keeps_what_it_has(tmp_path: Path) -> None:
    ids, said = json.loads(_run(_LIMITED, str(tmp_path / "orchard.toml")))
    assert "orchard.logbook" in said
    assert len(ids) > 5
    with open_logbook(tmp_path / "orchard.toml", write=False) as book:
        assert {r.id for r in book.readings()} >= set(ids)
    assert check(tmp_path / "orchard.logbook").is_whole


_AS_NOBODY = """
import os, sys, tempfile
from bankwright.logbook import check_repair, export
from bankwright.logbook.errors import LogbookError
from bankwright.logbook.logbook import open_logbook
tempfile.gettempdir()
if os.geteuid() == 0:
    os.seteuid(65534)
with open_logbook(sys.argv[1], write=False) as book:
    print(len(book.readings()))
print(check_repair.check(book.path).is_whole)
try:
    with open_logbook(sys.argv[1]) as book:
        book.note("one more")
except LogbookError as error:
    print(type(error).__name__, error)
"""


@pytest.fixture
def shared_directory() -> Iterator[Path]:
    import shutil
    import tempfile

    place = Path(tempfile.mkdtemp(prefix="logbook-"))
    place.chmod(0o755)
    try:
        yield place
    finally:
        place.chmod(0o755)
        shutil.rmtree(place)


@pytest.mark.skipif(sys.platform == "win32", reason="needs the rights of POSIX files")
@pytest.mark.parametrize("died", [False, True])
def test_a_read_only_directory_can_be_read_and_says_so_when_written(shared_directory: Path, died: bool) -> None:
    book = open_logbook(shared_directory / "orchard.toml")
    book.append_reading(volts("M1", 52.6))
    if died:  # leave the write-ahead log behind, as a killed writer does
        log, main = (book.path.with_name(book.path.name + "-wal")).read_bytes(), book.path.read_bytes()
        book.close()
        book.path.write_bytes(main)
        book.path.with_name(book.path.name + "-wal").write_bytes(log)
    book.close()
    before = {p.name: p.read_bytes() for p in shared_directory.iterdir()}
    for file in shared_directory.iterdir():
        file.chmod(0o444)
    shared_directory.chmod(0o555)
    count, whole, said = _run(_AS_NOBODY, str(shared_directory / "orchard.toml")).splitlines()
    assert (count, whole) == ("1", "True")
    assert said.startswith("LogbookReadOnly orchard.logbook")
    shared_directory.chmod(0o755)
    assert {
        p.name: p.read_bytes() for p in shared_directory.iterdir() if p.suffix == ".logbook"
    }.items() <= before.items()


def test_a_read_only_disk_can_be_read_checked_and_backed_up(tmp_path: Path) -> None:
    place = tmp_path / "disk"
    place.mkdir()
    if not _mount(place, "size=2m"):
        pytest.skip("a read-only disk of its own needs root and mount")
    try:
        with open_logbook(place / "orchard.toml") as book:
            book.append_reading(volts("M1", 52.6))
        subprocess.run(["mount", "-o", "remount,ro", str(place)], check=True)
        with open_logbook(place / "orchard.toml", write=False) as book:
            assert len(book.readings()) == 1
        assert check(place / "orchard.logbook").is_whole
        assert backup(place / "orchard.logbook", tmp_path / "copy.logbook") == 1
        with pytest.raises(LogbookReadOnly), open_logbook(place / "orchard.toml") as book:
            book.note("one more")
    finally:
        subprocess.run(["umount", "-l", str(place)], check=False)


def test_a_missing_directory_is_named(tmp_path: Path) -> None:
    with pytest.raises(LogbookReadOnly, match="directory does not exist"):
        open_logbook(tmp_path / "nowhere" / "orchard.toml")


_WRITER = """
import sys
from support.logbank import volts
from bankwright.logbook.logbook import open_logbook
for part in range(10):
    with open_logbook(sys.argv[1]) as book:
        for n in range(10):
            print(book.append_reading(volts(sys.argv[2], 50 + n / 100)).id)
"""


@pytest.mark.slow
def test_two_programs_that_write_at_once_lose_nothing(tmp_path: Path) -> None:
    programs = [_start(_WRITER, str(tmp_path / "orchard.toml"), name) for name in ("M1", "M2")]
    ids = []
    for program in programs:
        out, err = program.communicate(timeout=60)
        assert program.returncode == 0, err
        ids += out.split()
    with open_logbook(tmp_path / "orchard.toml", write=False) as book:
        entries = list(book.entries())
    assert len(ids) == 200
    assert {entry.id for entry in entries} == set(ids)
    assert [entry.seq for entry in entries] == list(range(1, 201))
    assert check(tmp_path / "orchard.logbook").is_whole


@pytest.mark.slow
def test_four_programs_that_open_write_and_close_all_the_time_lose_nothing(tmp_path: Path) -> None:
    programs = [_start(_WRITER, str(tmp_path / "orchard.toml"), name) for name in ("M1", "M2", "M1", "M2")]
    ids = []
    for program in programs:
        out, err = program.communicate(timeout=60)
        assert program.returncode == 0, err
        ids += out.split()
    with open_logbook(tmp_path / "orchard.toml", write=False) as book:
        entries = list(book.entries())
    assert {entry.id for entry in entries} == set(ids)  # no event of a log that was cut, either
    assert check(tmp_path / "orchard.logbook").is_whole


def test_opening_it_twice_in_one_program_keeps_the_locks_of_both(tmp_path: Path) -> None:
    # closing any plain handle of a file drops all POSIX locks that a process has on it; another program that closes
    # the file would then take itself for the last one and delete the log under the feet of the first
    bank_file = tmp_path / "orchard.toml"
    with open_logbook(bank_file) as book:
        book.note("one")
        open_logbook(bank_file).close()
        open_logbook(bank_file, write=False).close()
        check(book.path)
        _run(_WRITER, str(bank_file), "M1")
        assert (tmp_path / "orchard.logbook-wal").exists()
        book.note("two")
        assert len(list(book.entries())) == 102
    assert check(book.path).is_whole


def test_threads_that_share_one_logbook_lose_nothing(tmp_path: Path) -> None:
    with open_logbook(tmp_path / "orchard.toml", clock=StepClock()) as book:
        hands = [threading.Thread(target=lambda: [book.note("x") for _ in range(20)]) for _ in range(4)]
        for hand in hands:
            hand.start()
        for hand in hands:
            hand.join()
        assert len(list(book.entries())) == 80


def test_a_program_that_holds_the_file_too_long_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connect, "BUSY", 0.1)
    with (
        open_logbook(tmp_path / "orchard.toml") as book,
        closing(sqlite3.connect(book.path, isolation_level=None)) as other,
    ):
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(LogbookBusy, match="another program"):
            book.note("while the other holds it")
        other.execute("ROLLBACK")
        book.note("afterwards")
        assert [entry.note for entry in book.entries()] == ["afterwards"]


def test_a_backup_is_one_whole_file_made_while_another_writes(tmp_path: Path) -> None:
    with open_logbook(tmp_path / "orchard.toml", clock=StepClock()) as book:
        book.append_reading(volts("M1", 52.6))
        assert backup(book.path, tmp_path / "copy.logbook") == 1
        book.append_reading(volts("M1", 52.5))
        with pytest.raises(LogbookReadOnly, match="exists already"):
            backup(book.path, tmp_path / "copy.logbook")
    with pytest.raises(LogbookReadOnly, match="directory does not exist"):
        backup(book.path, tmp_path / "nowhere" / "copy.logbook")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["copy.logbook", "orchard.logbook"]
    assert check(tmp_path / "copy.logbook").is_whole
    with open_logbook(tmp_path / "copy.toml", write=False) as copy:
        assert [r.value for r in copy.readings()] == [52.6]
