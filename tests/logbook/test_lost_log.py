"""A log that was lost, a byte that changed, a number that is wrong: what is read then, and what it costs."""

import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing

import pytest

from bankwright.logbook import check_repair
from bankwright.logbook.errors import LogbookDamaged
from bankwright.logbook.logbook import open_logbook

PATIENCE = 60.0  # s that a loaded machine may take for what is due after one
WRITER = """
import os, signal, sys
from bankwright.logbook.logbook import open_logbook
book = open_logbook(sys.argv[1])
for number in range(40):
    book.note(f"before {number}")
print("paused", flush=True)
sys.stdin.readline()
book.note("after")
os.kill(os.getpid(), signal.SIGKILL)
"""


def in_the_file_alone(book):
    """Entries that stand in the file itself, without its log."""
    with closing(sqlite3.connect(f"{book.as_uri()}?mode=ro&immutable=1", uri=True)) as file_alone:
        try:
            return file_alone.execute("SELECT count(*) FROM entry").fetchone()[0]
        except sqlite3.DatabaseError:  # read while it was written
            return 0


def waited(true):
    """Wait for something that happens by itself."""
    until = time.monotonic() + PATIENCE
    while not true() and time.monotonic() < until:
        time.sleep(0.05)
    assert true()


def killed_writer(path, settled):
    """A program that writes 40 notes, pauses, writes one more and is killed."""
    words = [sys.executable, "-c", WRITER, str(path)]
    with subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout.readline() == "paused\n"
        if settled:
            waited(lambda: in_the_file_alone(path.with_suffix(".logbook")) == 40)
        process.communicate("go on\n")
    assert process.returncode == -signal.SIGKILL


@pytest.mark.slow
def test_a_lost_log_costs_only_what_came_after_the_last_pause(tmp_path):
    path = tmp_path / "b.toml"
    killed_writer(path, settled=True)
    (tmp_path / "b.logbook-wal").unlink()
    (tmp_path / "b.logbook-shm").unlink(missing_ok=True)
    with open_logbook(path, write=False) as book:
        assert [entry.note for entry in book.entries()] == [f"before {n}" for n in range(40)]


@pytest.mark.slow
def test_the_next_program_brings_the_log_of_a_killed_one_home(tmp_path):
    path = tmp_path / "b.toml"
    killed_writer(path, settled=False)
    with open_logbook(path) as book:
        waited(lambda: in_the_file_alone(book.path) == 41)
        shutil.copyfile(tmp_path / "b.logbook", tmp_path / "c.logbook")  # the file alone
    with open_logbook(tmp_path / "c.toml", write=False) as alone:
        assert len(list(alone.entries())) == 41


@pytest.mark.slow
def test_steady_writing_settles_too(tmp_path, monkeypatch):
    monkeypatch.setattr("bankwright.logbook.settle.STEADY", 0.6)
    monkeypatch.setattr("bankwright.logbook.settle.IDLE", 0.3)
    with open_logbook(tmp_path / "b.toml") as book:

        def settled():
            book.note("steady")
            return in_the_file_alone(book.path) > 5

        waited(settled)


def filled(tmp_path, note="écrou serré à la main"):
    path = tmp_path / "b.toml"
    with open_logbook(path) as book:
        for number in range(5):
            book.note(f"{note} {number}", who="Zoë")
    return path, tmp_path / "b.logbook"


def changed_byte(file, old, new):
    """Change bytes of the first place in the columns where they stand (lines hold no é: they are ASCII)."""
    content = bytearray(file.read_bytes())
    assert content.count(old) >= 1
    at = content.index(old)
    content[at : at + len(old)] = new
    file.write_bytes(bytes(content))


def test_a_byte_that_is_no_text_any_more_keeps_nothing_from_being_read(tmp_path):
    path, file = filled(tmp_path)
    changed_byte(file, "é à".encode(), b"\xff \xc3\xa0"[:4].ljust(5, b"\xff"))
    with open_logbook(path, write=False) as book:
        assert [entry.note for entry in book.entries()] == [f"écrou serré à la main {n}" for n in range(5)]
    assert {damage.code for damage in check_repair.check(file).damage} == {"copies-differ"}
    saved = check_repair.salvage(file, tmp_path / "saved.logbook")
    assert (saved.entries, saved.lost) == (5, ())


def test_a_changed_letter_is_not_shown_as_true(tmp_path):
    path, file = filled(tmp_path)
    changed_byte(file, "écrou".encode(), "ècrou".encode())
    with open_logbook(path, write=False) as book:
        assert {entry.note[0] for entry in book.entries()} == {"é"}


def test_a_damaged_line_leaves_the_columns(tmp_path):
    path, file = filled(tmp_path)
    changed_byte(file, b'"note":"\\u00e9crou', b'"note":"\\u00e8crou')
    with open_logbook(path, write=False) as book:
        assert {entry.note[0] for entry in book.entries()} == {"é"}
    assert {damage.code for damage in check_repair.check(file).damage} == {"line-broken"}


def test_writing_goes_on_where_the_newest_time_is_damaged(tmp_path):
    path, file = filled(tmp_path)
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("DROP TRIGGER entry_update")
        connection.execute("UPDATE entry SET stored_wall = CAST(x'ff3230' AS TEXT) WHERE seq = 5")
        connection.commit()
    with open_logbook(path) as book:
        assert book.note("one more").seq == 6


@pytest.mark.parametrize("number", [0, -1, -7])
def test_a_wrong_schema_number_is_named_and_what_stands_there_can_be_saved(tmp_path, number):
    path, file = filled(tmp_path)
    with closing(sqlite3.connect(file)) as connection:
        connection.execute(f"PRAGMA user_version = {number}")
    before = file.read_bytes()
    for write in (True, False):
        with pytest.raises(LogbookDamaged, match=f"schema number is {number}"):
            open_logbook(path, write=write)
    assert file.read_bytes() == before
    assert check_repair.check(file).entries == 5
    assert check_repair.salvage(file, tmp_path / "saved.logbook").entries == 5
