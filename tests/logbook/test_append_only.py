"""What is entered stands; a correction is a new row; the same entry sent twice is stored once."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from bankwright.forms.readings import Instant, Instrument
from bankwright.logbook.entries import Entry
from bankwright.logbook.errors import EntryRefused
from bankwright.logbook.logbook import Logbook, open_logbook
from support.logbank import CLAMP, StepClock, two_modules, volts

pytestmark = pytest.mark.quick


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    with open_logbook(tmp_path / "orchard.toml", two_modules(), clock=StepClock()) as logbook:
        yield logbook


def test_the_file_stands_beside_the_bank_file_and_syncs_every_commit(book: Logbook) -> None:
    assert book.path.name == "orchard.logbook"
    assert book.path.exists()
    assert book._connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    assert book._connection.execute("PRAGMA synchronous").fetchone() == (2,)  # FULL


def test_a_reading_comes_back_with_the_limits_of_its_meter(book: Logbook) -> None:
    receipt = book.append_reading(volts("M1", 52.6), CLAMP, note="rested since noon")
    (reading,) = book.readings(at="M1", quantity="voltage")
    # 52.6 V, 0.5 % + 2 digits of 0.1 V: half width 0.263 + 0.2 (by hand)
    assert [reading.value, reading.low, reading.high] == pytest.approx([52.6, 52.137, 53.063])
    assert (reading.instrument, reading.as_typed, reading.who, reading.id) == ("clamp", "52.6 V", "Kim", receipt.id)
    assert book.instruments() == (CLAMP,)


def test_an_instrument_is_written_down_once_and_again_when_it_changes(book: Logbook) -> None:
    book.append_reading(volts("M1", 52.6), CLAMP)
    book.append_reading(volts("M2", 52.7), CLAMP)
    assert len(list(book.entries(kind="instrument"))) == 1
    better = Instrument("clamp", "voltage", 0.003, 1, 0.1, 0.0, 60.0)
    book.append_reading(volts("M2", 52.7), better)
    assert len(list(book.entries(kind="instrument"))) == 2
    assert book.instruments() == (better,)


def test_the_same_entry_sent_twice_is_stored_once(book: Logbook) -> None:
    first = book.append_reading(volts("M1", 52.6, id_="from-phone-1"))
    second = book.append_reading(volts("M1", 52.6, id_="from-phone-1"))
    assert not first.again
    assert second.again
    assert first.seq == second.seq
    assert len(book.readings()) == 1


def test_an_id_that_says_something_else_is_refused_and_names_the_old_entry(book: Logbook) -> None:
    first = book.append_reading(volts("M1", 52.6, id_="a"))
    with pytest.raises(EntryRefused, match=f"entry {first.seq} was stored under this id"):
        book.append_reading(volts("M1", 52.7, id_="a"))
    assert [r.value for r in book.readings()] == [52.6]


def test_a_batch_is_stored_whole_or_not_at_all(book: Logbook) -> None:
    with pytest.raises(EntryRefused, match="M9"):
        book.append_readings([volts("M1", 52.6), volts("M9", 52.6)])
    assert book.readings() == ()


def test_a_correction_points_to_the_old_row_and_replaces_it(book: Logbook) -> None:
    old = book.append_reading(volts("M1", 56.2))
    new = book.append_reading(volts("M1", 52.6, corrects=old.id))
    assert [r.value for r in book.readings(at="M1")] == [52.6]
    assert book.entry(old.seq).value == 56.2
    assert book.entry(new.seq).corrects == old.id


def test_a_corrected_row_is_corrected_through_its_newest(book: Logbook) -> None:
    old = book.append_reading(volts("M1", 56.2))
    new = book.append_reading(volts("M1", 52.6, corrects=old.id))
    with pytest.raises(EntryRefused, match=f"Correct entry {new.seq}"):
        book.append_reading(volts("M1", 52.5, corrects=old.id))
    with pytest.raises(EntryRefused, match="no entry with the id"):
        book.append_reading(volts("M1", 52.5, corrects="nothing"))


def test_a_note_strikes_an_entry_out_and_it_stays_readable(book: Logbook) -> None:
    old = book.append_reading(volts("M2", 52.6))
    book.strike(old.seq, "this was M1")
    assert book.readings() == ()
    assert book.entry(old.seq).value == 52.6


def test_a_tick_is_no_correction_of_a_reading(book: Logbook) -> None:
    old = book.append_reading(volts("M2", 52.6))
    tick = Entry("tick", "x", step="build.link.L1+", corrects=old.id, body={"tick": "", "done": True})
    with pytest.raises(EntryRefused, match="is a reading, this one a tick"):
        book.append(tick)


def test_rows_cannot_be_changed_or_deleted_even_by_sql(book: Logbook) -> None:
    book.append_reading(volts("M1", 52.6))
    with closing(sqlite3.connect(book.path)) as other:
        for statement in (
            "UPDATE entry SET value = 1",
            "DELETE FROM entry",
            "UPDATE line SET text = ''",
            "DELETE FROM line",
        ):
            with pytest.raises(sqlite3.IntegrityError, match="never changed"):
                other.execute(statement)


def test_latest_is_by_order_of_storing_except_a_late_entry_with_an_earlier_time(book: Logbook) -> None:
    book.append_reading(volts("M1", 52.6))
    book.append_reading(volts("M1", 52.4))
    assert book.latest_readings("voltage")["M1"].value == 52.4
    book.append_reading(volts("M1", 51.0, when=Instant("2026-02-27T18:00:00+01:00")))
    assert book.latest_readings("voltage")["M1"].value == 52.4
    assert [r.value for r in book.readings()] == [52.6, 52.4, 51.0]


def test_ticks_keep_their_last_state_and_the_digest_of_their_step(book: Logbook) -> None:
    book.tick("build.link.L1+", "torque", digest="abc", who="Kim")
    book.tick("build.link.L1+", "mark", digest="abc")
    book.tick("build.link.L1+", "mark", done=False)
    ticks = book.ticks()
    assert ticks["build.link.L1+", "torque"].done
    assert ticks["build.link.L1+", "torque"].digest == "abc"
    assert not ticks["build.link.L1+", "mark"].done


def test_a_result_is_handed_from_stage_to_stage_with_kind_and_format(book: Logbook) -> None:
    book.hand_over("match record", {"order": ("M1", "M2"), "window": 0.2})
    book.hand_over("torque log", {"L1+@M1+": 10.0}, format=2)
    result = book.latest_result("match record")
    assert result is not None
    assert result.payload == {"order": ["M1", "M2"], "window": 0.2}
    assert result.bank_digest == two_modules().digest
    later = book.latest_result("torque log")
    assert later is not None
    assert later.format == 2
    assert book.latest_result("baseline") is None


def test_a_photo_is_kept_as_path_and_digest(book: Logbook) -> None:
    photo = book.path.parent / "photos" / "joint.jpg"
    photo.parent.mkdir()
    photo.write_bytes(b"abc")
    book.photo(photo, at="L1+@M1+")
    entry = next(book.entries(kind="photo"))
    # FIPS 180-4 example: SHA-256 of "abc"
    published = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert dict(entry.body) == {"path": "photos/joint.jpg", "sha256": published}
    with pytest.raises(EntryRefused, match="cannot be read"):
        book.photo(photo.with_name("none.jpg"))


def test_reading_a_logbook_that_does_not_exist_is_empty_and_makes_no_file(tmp_path: Path) -> None:
    with open_logbook(tmp_path / "orchard.toml", write=False) as logbook:
        assert list(logbook.entries()) == []
        assert logbook.latest_result("baseline") is None
    assert list(tmp_path.iterdir()) == []


def test_two_open_logbooks_see_each_other(book: Logbook, tmp_path: Path) -> None:
    with open_logbook(tmp_path / "orchard.toml", two_modules(), clock=StepClock()) as other:
        book.append_reading(volts("M1", 52.6))
        other.append_reading(volts("M2", 52.7))
        assert set(book.latest_readings("voltage")) == set(other.latest_readings("voltage")) == {"M1", "M2"}
