"""Saving beside an editor and beside another page: what another wrote is refused or kept, never lost unseen."""

import os
import threading
import time

import pytest

from bankwright.bank.file import document as module
from bankwright.bank.file.document import ChangedOutside, Document
from bankwright.forms import disk

TEXT = 'format = 1\ntitle = "before"\n'


@pytest.fixture
def path(tmp_path):
    made = tmp_path / "bank.toml"
    made.write_text(TEXT, encoding="utf-8")
    return made


def test_an_edit_while_the_new_file_is_prepared_is_refused_and_stays(path, monkeypatch):
    (path.parent / "bank.toml.previous").write_text("the one before", encoding="utf-8")
    real, turns = disk.prepared, []

    def prepared(target, content, mode_of=None):
        made = real(target, content, mode_of)
        turns.append(target.name)
        if target.name == "bank.toml":  # both files stand ready: an editor saves now
            path.write_text(TEXT + "# from the editor\n", encoding="utf-8")
        return made

    monkeypatch.setattr(module, "prepared", prepared)
    edited = Document.read(path).with_value("title", "after")
    with pytest.raises(ChangedOutside):
        edited.save()
    assert turns == ["bank.toml.previous", "bank.toml"]
    assert path.read_text(encoding="utf-8").endswith("# from the editor\n")
    assert (path.parent / "bank.toml.previous").read_text(encoding="utf-8") == "the one before", "nor is that one lost"
    assert sorted(os.listdir(path.parent)) == ["bank.toml", "bank.toml.previous"]


def test_two_pages_on_one_file_never_both_save_the_same_text(path):
    saved, refused = [], []

    def page(name):
        for turn in range(25):
            edited = Document.read(path).with_value("title", f"{name} {turn}")
            try:
                edited.save()
                saved.append(f"{name} {turn}")
            except ChangedOutside:
                refused.append(name)

    pages = [threading.Thread(target=page, args=(name,)) for name in "abc"]
    for one in pages:
        one.start()
    seen = []
    while any(one.is_alive() for one in pages):
        seen.append(Document.read(path).value("title"))
        time.sleep(0.001)
    for one in pages:
        one.join()
    assert len(saved) + len(refused) == 75
    assert set(seen) <= {"before", *saved}
    assert Document.read(path).value("title") in saved
    assert sorted(os.listdir(path.parent)) == ["bank.toml", "bank.toml.previous"]


def test_each_save_follows_from_the_one_before(path):
    """A counter that three pages raise: no raise is lost, whoever was refused reads again."""

    def page():
        for _ in range(12):
            while True:
                here = Document.read(path)
                number = here.value("number") if here.has("number") else 0
                try:
                    here.with_value("number", number + 1).save()
                    break
                except ChangedOutside:
                    continue

    pages = [threading.Thread(target=page) for _ in range(3)]
    for one in pages:
        one.start()
    for one in pages:
        one.join()
    assert Document.read(path).value("number") == 36


def test_a_lock_that_is_held_too_long_is_an_error_and_ends_with_its_holder(path, monkeypatch):
    fcntl = pytest.importorskip("fcntl")
    monkeypatch.setattr(disk, "_WAIT", 0.1)
    handle = os.open(path.parent, os.O_RDONLY)
    fcntl.flock(handle, fcntl.LOCK_EX)
    with pytest.raises(OSError, match="did not finish"):
        Document.read(path).with_value("title", "after").save()
    os.close(handle)
    Document.read(path).with_value("title", "after").save()
    assert Document.read(path).value("title") == "after"
