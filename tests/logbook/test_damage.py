"""Damaged, cut, foreign and newer files: what was acknowledged is found, the rest is named, the old file stays."""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from contextlib import closing
from functools import cache
from pathlib import Path

import pytest

from bankwright.logbook import connect, schema
from bankwright.logbook.check_repair import check, salvage
from bankwright.logbook.errors import LogbookError, LogbookNewer, NotALogbook
from bankwright.logbook.logbook import open_logbook
from bankwright.logbook.wal import wal_path
from support.logbank import CLAMP, StepClock, volts

PAGE = 4096


def _filled(directory: Path, count: int = 150) -> tuple[Path, list[str]]:
    bank_file = directory / "orchard.toml"
    ids = []
    with open_logbook(bank_file, clock=StepClock()) as book:
        book.add_instrument(CLAMP)
        for number in range(count):
            ids.append(book.append_reading(volts("M1", 50 + number / 100)).id)
        ids.append(book.hand_over("match record", {"order": ["M1", "M2"]}).id)
    return bank_file.with_suffix(".logbook"), ids


def _with_open_log(directory: Path, count: int = 60) -> tuple[Path, list[str]]:
    """A logbook whose writer died: everything since the file was made stands in the write-ahead log."""
    made, ids = _died(count)
    shutil.copytree(made.name, directory, dirs_exist_ok=True)
    return directory / "orchard.logbook", list(ids)


@cache
def _died(count: int) -> tuple[tempfile.TemporaryDirectory[str], tuple[str, ...]]:
    """The same, once a count for all tests here; nothing in it knows its folder."""
    made = tempfile.TemporaryDirectory()
    _, ids = _filled(Path(made.name), 3)
    program = (
        "import os, sys, signal\n"
        "from support.logbank import volts\n"
        "from bankwright.logbook.logbook import open_logbook\n"
        "book = open_logbook(sys.argv[1])\n"
        "for n in range(int(sys.argv[2])):\n"
        "    print(book.append_reading(volts('M2', 50 + n / 100)).id, flush=True)\n"
        "os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    tests = Path(__file__).parents[1]
    paths = os.pathsep.join([str(tests), str(tests.parent / "src")])
    done = subprocess.run(
        [sys.executable, "-c", program, str(Path(made.name) / "orchard.toml"), str(count)],
        env={**os.environ, "PYTHONPATH": paths}, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert done.returncode == -9, done.stderr
    return made, (*ids, *done.stdout.split())


def _ids(path: Path) -> list[str]:
    with open_logbook(path, write=False) as book:
        return [entry.id for entry in book.entries()]


def test_a_whole_file_is_called_whole(tmp_path: Path) -> None:
    path, ids = _filled(tmp_path)
    report = check(path)
    assert report.is_whole, report.damage
    assert report.entries == len(ids) + 1


@pytest.mark.slow
@pytest.mark.share(2)
@pytest.mark.parametrize("step", [4, 1])
def test_no_single_damaged_page_costs_an_entry(tmp_path: Path, step: int) -> None:
    """No single damaged page costs an entry: every fourth page, and every page."""
    path, ids = _filled(tmp_path)
    good = path.read_bytes()
    draw = random.Random(1)
    noise = draw.randbytes(PAGE)
    for page in range(0, len(good) // PAGE, step):
        spoilt = good[: page * PAGE] + noise + good[(page + 1) * PAGE :]
        path.write_bytes(spoilt)
        target = tmp_path / f"saved-{page}.logbook"
        saved = salvage(path, target)
        assert saved.lost == (), f"page {page + 1}"
        assert set(ids) <= set(_ids(target)), f"page {page + 1}"
        assert check(target).is_whole
        assert path.read_bytes() == spoilt
        if page < 8 and not _holds_nothing(good, page):
            assert not check(path).is_whole, f"page {page + 1}"


def _holds_nothing(data: bytes, page: int) -> bool:
    """True for a page that no row stands on: an empty leaf of a reserved table."""
    at = page * PAGE + (100 if page == 0 else 0)
    return data[at] in (10, 13) and data[at + 3 : at + 5] == b"\0\0"


def test_a_changed_digit_inside_a_row_is_named_and_the_right_one_is_read(tmp_path: Path) -> None:
    path, _ = _filled(tmp_path)
    good = path.read_bytes()
    at = good.index(b"50.07 V")
    path.write_bytes(good[:at] + b"50.87 V" + good[at + 7 :])
    report = check(path)
    assert [(d.code, d.entries) for d in report.damage] in (
        [("copies-differ", (9,))],
        [("line-broken", (9,))],
    )
    salvage(path, tmp_path / "saved.logbook")
    with open_logbook(tmp_path / "saved.toml", write=False) as book:
        assert book.entry(9).as_typed == "50.07 V"


@pytest.mark.parametrize("keep", [0.3, 0.7, 0.95])
def test_a_file_cut_short_gives_what_is_left_and_names_the_rest(tmp_path: Path, keep: float) -> None:
    path, ids = _filled(tmp_path)
    good = path.read_bytes()
    cut = good[: int(len(good) * keep)]
    path.write_bytes(cut)
    left = sum(f'"id":"{id_}"'.encode() in cut for id_ in ids)  # lines that still stand in the bytes
    report = check(path)
    assert "page-damaged" in {damage.code for damage in report.damage}
    saved = salvage(path, tmp_path / "saved.logbook")
    found = _ids(tmp_path / "saved.logbook")
    assert len(set(ids) & set(found)) >= left
    if saved.count_known:
        assert len(found) - 1 + len(saved.lost) == len(ids) + 1  # every number is found or named; 1: the event
    else:
        assert "count-unknown" in {damage.code for damage in report.damage}
    named = {number for damage in report.damage if damage.code == "entries-missing" for number in damage.entries}
    assert named == set(saved.lost)
    assert path.read_bytes() == cut
    assert check(tmp_path / "saved.logbook").is_whole  # the new file names what it lacks, once and for all


@pytest.mark.share(3)
@pytest.mark.slow
@pytest.mark.parametrize("seed", range(12))
def test_an_unacknowledged_end_of_the_log_cut_or_spoilt_costs_nothing(tmp_path: Path, seed: int) -> None:
    """An end of the log that was not acknowledged, cut or spoilt, costs nothing."""
    path, ids = _with_open_log(tmp_path, 20)
    wal = wal_path(path)
    draw = random.Random(seed)
    whole = wal.read_bytes()
    # a frame that was never acknowledged: the head of the last one again, then noise or nothing
    unfinished = whole[-(PAGE + 24) :][: draw.randrange(1, PAGE)]
    wal.write_bytes(whole + (unfinished if seed % 2 else draw.randbytes(len(unfinished))))
    with open_logbook(tmp_path / "orchard.toml") as book:
        assert set(ids) <= {entry.id for entry in book.entries()}
        assert list(book.entries(kind="event")) == []
        book.note("and it goes on")
    assert check(path).is_whole


@pytest.mark.share(3)
@pytest.mark.slow
@pytest.mark.parametrize("seed", range(8))
def test_a_log_cut_anywhere_gives_a_clean_beginning(tmp_path: Path, seed: int) -> None:
    """A log cut anywhere gives a clean beginning."""
    path, ids = _with_open_log(tmp_path, 20)
    wal = wal_path(path)
    whole = wal.read_bytes()
    wal.write_bytes(whole[: random.Random(seed).randrange(len(whole))])
    with open_logbook(tmp_path / "orchard.toml") as book:
        found = [entry.id for entry in book.entries() if entry.kind != "instrument"]
    assert found == ids[: len(found)]
    assert len(found) >= 4  # what stood in the file itself
    assert check(path).is_whole


def test_damage_inside_the_log_is_named_kept_aside_and_everything_is_saved(tmp_path: Path) -> None:
    path, ids = _with_open_log(tmp_path)
    wal = wal_path(path)
    log = bytearray(wal.read_bytes())
    middle = len(log) // 2
    log[middle : middle + 64] = random.Random(3).randbytes(64)
    wal.write_bytes(log)
    main_file = path.read_bytes()

    report = check(path)
    assert "log-end-cut" in {damage.code for damage in report.damage}
    assert (path.read_bytes(), wal.read_bytes()) == (main_file, bytes(log))

    with open_logbook(tmp_path / "orchard.toml") as book:
        (event,) = (entry for entry in book.entries(kind="event") if entry.body["code"] == "log-end-cut")
        assert event.body["commits"] > 5
        kept = tmp_path / event.body["kept_as"]
        assert kept.read_bytes() == bytes(log)
        missing = set(ids) - {entry.id for entry in book.entries()}
        assert missing
        book.note("entered after the damage")
    assert {d.code for d in check(path).damage} == {"log-kept-aside"}
    salvage(path, tmp_path / "saved.logbook")
    found = _ids(tmp_path / "saved.logbook")
    assert set(ids) <= set(found)
    assert len(found) == len(set(found))


def test_a_correction_that_was_cut_off_and_made_again_meanwhile_is_struck_out(tmp_path: Path) -> None:
    path, ids = _with_open_log(tmp_path, 10)
    bank_file, wal = tmp_path / "orchard.toml", wal_path(path)
    log = wal.read_bytes()
    with open_logbook(bank_file) as book:
        book.append_reading(volts("M1", 51.0, id_="cut-off", corrects=ids[0]))
        after = wal.read_bytes()
        main_file = path.read_bytes()
    path.write_bytes(main_file)
    wal.write_bytes(after[: len(log)] + b"\xff" * 5000 + after[len(log) + 5000 :])
    with open_logbook(bank_file) as book:
        assert book.entry_by_id("cut-off") is None
        book.append_reading(volts("M1", 52.0, id_="again", corrects=ids[0]))
    salvage(path, tmp_path / "saved.logbook")
    with open_logbook(tmp_path / "saved.toml", write=False) as book:
        assert book.entry_by_id("cut-off") is not None
        standing = {reading.id for reading in book.readings(at="M1")}
    assert "again" in standing
    assert not {"cut-off", ids[0]} & standing


def test_a_damaged_head_of_the_log_is_kept_aside_too(tmp_path: Path) -> None:
    path, ids = _with_open_log(tmp_path, 10)
    wal = wal_path(path)
    wal.write_bytes(b"x" * 32 + wal.read_bytes()[32:])
    with open_logbook(tmp_path / "orchard.toml") as book:
        (event,) = book.entries(kind="event")
    assert (tmp_path / event.body["kept_as"]).exists()
    salvage(path, tmp_path / "saved.logbook")
    assert set(ids) <= set(_ids(tmp_path / "saved.logbook"))


def test_a_damaged_file_is_not_written_to_but_named(tmp_path: Path) -> None:
    path, _ = _filled(tmp_path)
    good = path.read_bytes()
    spoilt = good[:PAGE] + b"\xff" * (len(good) - PAGE)
    path.write_bytes(spoilt)
    with pytest.raises(LogbookError, match="damaged"), open_logbook(tmp_path / "orchard.toml") as book:
        book.note("one more")
    assert path.read_bytes() == spoilt


@pytest.mark.parametrize("write", [True, False])
def test_a_newer_file_is_named_and_not_touched(tmp_path: Path, write: bool) -> None:
    path, _ = _filled(tmp_path, 2)
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("PRAGMA journal_mode = DELETE")
        other.execute(f"PRAGMA user_version = {schema.SCHEMA + 1}")
    before = path.read_bytes()
    with pytest.raises(LogbookNewer, match=f"schema {schema.SCHEMA + 1}"):
        open_logbook(tmp_path / "orchard.toml", write=write)
    assert path.read_bytes() == before


def test_a_newer_number_that_stands_in_the_log_only_is_seen(tmp_path: Path) -> None:
    path, _ = _filled(tmp_path, 2)
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute(f"PRAGMA user_version = {schema.SCHEMA + 1}")
        with pytest.raises(LogbookNewer):
            open_logbook(tmp_path / "orchard.toml")


@pytest.mark.parametrize("write", [True, False])
def test_a_foreign_database_and_another_file_are_named_and_not_touched(tmp_path: Path, write: bool) -> None:
    path = tmp_path / "orchard.logbook"
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE songs(title TEXT)")
    for content, said in (
        (path.read_bytes(), "another program"),
        (b"notes of the orchard\n" * 20, "not a logbook"),
        (b"x", "not a"),
    ):
        path.write_bytes(content)
        with pytest.raises(NotALogbook, match=said):
            open_logbook(tmp_path / "orchard.toml", write=write)
        with pytest.raises(NotALogbook):
            check(path)
        assert path.read_bytes() == content
        assert [p.name for p in tmp_path.iterdir()] == ["orchard.logbook"]


def test_an_empty_file_becomes_a_logbook(tmp_path: Path) -> None:
    (tmp_path / "orchard.logbook").touch()
    with open_logbook(tmp_path / "orchard.toml") as book:
        book.note("first")
    assert check(tmp_path / "orchard.logbook").is_whole


def test_an_older_file_is_brought_forward_and_read_without_being_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, ids = _filled(tmp_path, 2)
    newer = (*schema.MIGRATIONS, ("CREATE TABLE later(seq INTEGER)",))
    monkeypatch.setattr(schema, "SCHEMA", len(newer))
    monkeypatch.setattr(connect, "SCHEMA", len(newer))
    monkeypatch.setattr(connect, "MIGRATIONS", newer)
    monkeypatch.setattr(schema.migrate, "__defaults__", (newer,))
    before = path.read_bytes()
    assert _ids(path)[1:] == ids
    assert path.read_bytes() == before
    with open_logbook(path) as book:
        assert book._connection.execute("SELECT count(*) FROM later").fetchone() == (0,)
        assert book._connection.execute("PRAGMA user_version").fetchone() == (len(newer),)
        assert [entry.id for entry in book.entries()][1:] == ids


def test_a_migration_that_fails_half_way_leaves_the_file_as_it_was(tmp_path: Path) -> None:
    path, ids = _filled(tmp_path, 2)
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        wrong = (*schema.MIGRATIONS, ("CREATE TABLE later(seq INTEGER)", "NO SUCH STATEMENT"))
        with pytest.raises(sqlite3.OperationalError):
            schema.migrate(connection, wrong)
        assert connection.execute("PRAGMA user_version").fetchone() == (schema.SCHEMA,)
        assert connection.execute("SELECT count(*) FROM sqlite_schema WHERE name = 'later'").fetchone() == (0,)
    assert _ids(path)[1:] == ids


def test_a_photo_that_changed_or_went_is_named(tmp_path: Path) -> None:
    photo = tmp_path / "joint.jpg"
    photo.write_bytes(b"before")
    with open_logbook(tmp_path / "orchard.toml") as book:
        book.photo(photo)
    assert check(book.path).is_whole
    photo.write_bytes(b"after")
    assert [(d.code, d.entries) for d in check(book.path).damage] == [("photo-changed", (1,))]
    photo.unlink()
    assert [(d.code, d.entries) for d in check(book.path).damage] == [("photo-missing", (1,))]
