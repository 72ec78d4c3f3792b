"""Files made to stop the program: each ends in words, soon, and in little memory."""

import time
import tracemalloc

import pytest

from bankwright.bank.file import includes
from bankwright.bank.read import faults_in
from support.odd_banks import odd_texts

BOMBS = {
    "a key of 9,000 parts": "a." * 9000 + "a = 1\n",
    "a table of 9,000 parts": "[" + "a." * 9000 + "a]\n",
    "inside a table in one line": "x = {" + "a." * 9000 + "a = 1}\n",
    "in quotes": '"a".' * 4000 + "a = 1\n",
    "deeper with each line": "".join("[a" + ".a" * i + "]\n" for i in range(600)),
    "brackets": "x = " + "[" * 400 + "]" * 400 + "\n",
    "6,000 unknown keys": "format = 1\n" + "".join(f"k{i} = 1\n" for i in range(6000)),
    "5,000 blocks with an unknown key": "format = 1\n" + "[[modules]]\nnaem = 1\n" * 5000,
    "5,000 kinds of nothing": "format = 1\n" + "".join(f"[kinds.module.k{i}]\n" for i in range(5000)),
}


@pytest.mark.share(2)
@pytest.mark.parametrize("name", BOMBS)
def test_it_ends_in_words_soon(name, tmp_path):
    """A file made to take long ends in words soon."""
    tracemalloc.start()
    begun = time.process_time()
    faults = faults_in(BOMBS[name], tmp_path / "bomb.toml")
    spent, (_, peak) = time.process_time() - begun, tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert faults
    assert len(faults) <= 1100
    assert spent < 20.0, "a hundred seconds without the bounds; traced, it takes five times as long as it does"
    assert peak < 150e6


def test_more_faults_than_can_be_read_are_counted(tmp_path):
    faults = faults_in(BOMBS["6,000 unknown keys"], tmp_path / "bomb.toml")
    assert [fault.found for fault in faults if fault.code == "too-many"] == ["5002 faults more are not listed"]


def test_texts_and_comments_with_many_dots_are_no_long_keys(tmp_path):
    dots = "." * 90
    text = odd_texts()["no device"].replace('"Two modules"', f'"a {dots} b"') + f"\n# {dots}\nx = 'c {dots}' # {dots}\n"
    assert {fault.code for fault in faults_in(text, tmp_path / "bank.toml")} == {"unknown-key"}


@pytest.mark.parametrize("slot", ["1000000000000000000", "1001", "0", "-1"])
def test_a_slot_that_cannot_be_is_named(slot, tmp_path):
    text = odd_texts()["slots far apart"].replace("slot = 60", f"slot = {slot}")
    (fault,) = faults_in(text, tmp_path / "bank.toml")
    assert (fault.path, fault.code) == ("modules[1].slot", "out-of-range")


def test_included_files_have_a_bound_together(tmp_path, monkeypatch):
    monkeypatch.setattr(includes, "MAX_ALL", 2500)
    for number in range(5):
        (tmp_path / f"k{number}.toml").write_text(f"# {'x' * 900}\n[kinds.lug.l{number}]\n")
    text = "include = [" + ", ".join(f'"k{n}.toml"' for n in range(5)) + "]\n" + odd_texts()["no device"]
    found = [fault for fault in faults_in(text, tmp_path / "bank.toml") if fault.code == "file-too-large"]
    assert [fault.path for fault in found] == ["include[2]"]
