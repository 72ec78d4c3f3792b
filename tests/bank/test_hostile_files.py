"""Whatever a file is, it is told as a fault: never a traceback, never a hang."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bankwright.bank.file.document import MAX_BYTES
from bankwright.bank.file.spans import Path as Keys
from bankwright.bank.file.toml_text import value_text
from bankwright.bank.read import BankFileError, bank_from_text, read_bank
from support.banks import document

TWO = document("two").text
FIVE = document("five")


def refused(tmp_path: Path, content: bytes) -> BankFileError:
    path = tmp_path / "bank.toml"
    path.write_bytes(content)
    with pytest.raises(BankFileError) as caught:
        read_bank(path)
    return caught.value


@pytest.mark.parametrize(
    ("content", "code", "words", "line", "column"),
    [
        (b"", "key-missing", "format", 1, 1),
        (b"\xef\xbb\xbf", "key-missing", "format", 1, 1),
        (b'format = 1\ntitle = "a\xff"\n', "not-utf8", "0xff: this is no UTF-8 text", 2, 11),
        (b"\x00\x01\x02", "syntax", "no TOML", 1, 1),
        (b"a = 3 A\n", "syntax", "A text stands in quotes", 1, 7),
        (b'a = "x\n', "syntax", "no TOML", 1, 7),
        (b"[a]\n[a]\n", "syntax", "no TOML", 2, 3),
        (b"format = 1\nx = {", "syntax", "no TOML", 2, 6),
        (b"a = " + b"[" * 20_00, "syntax", "nested too deep", 1, 1),
        (b"a = " + b"[" * 30 + b"]" * 30, "syntax", "nested more than", 1, 1),
        (b"a." * 30 + b"b = 1", "syntax", "nested more than", 1, 1),
        (b"a = " + b"1" * 15_000, "syntax", "", 1, 1),
        (b"# " + b"x" * 30_000, "line-too-long", "20000 characters", 1, 1),
        (b"# x\n" * (MAX_BYTES // 4 + 1), "file-too-large", "at most 1000000", 1, 1),
    ],
)
def test_a_file_that_is_none_is_told(
    tmp_path: Path, content: bytes, code: str, words: str, line: int, column: int
) -> None:
    fault = refused(tmp_path, content).faults[0]
    assert fault.code == code
    assert words in str(fault)
    assert fault.place is not None
    assert (fault.place.line, fault.place.column) == (line, column)


def test_no_file_a_folder_and_a_pipe_are_told(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    for name, words in (("none.toml", "there is no such file"), (".", "it is a folder"), ("pipe", "no ordinary file")):
        with pytest.raises(BankFileError, match=words):
            read_bank(tmp_path / name)


def test_a_name_with_a_nul_is_told(tmp_path: Path) -> None:
    with pytest.raises(BankFileError):
        read_bank(f"{tmp_path}/a\0b")


def kinds(tmp_path: Path, include: str, **files: str) -> Path:
    for name, text in files.items():
        path = tmp_path / f"{name}.toml"
        path.write_text(text, "utf-8")
    bank = tmp_path / "bank.toml"
    bank.write_text(TWO.replace("format = 1", f"format = 1\ninclude = {include}"), "utf-8")
    return bank


def test_kinds_come_from_an_included_file_and_keep_their_place(tmp_path: Path) -> None:
    path = kinds(tmp_path, '["kinds.toml"]', kinds='[kinds.device.fuse-400]\ntype = "fuse"\nrating = "400 A"\n')
    bank = read_bank(path)
    assert bank.device_kinds["fuse-400"].rating == 400
    place = bank.places["kinds.device.fuse-400.rating"]
    assert (place.file, place.line) == ("kinds.toml", 3)
    assert bank.digest != read_bank(kinds(tmp_path, "[]")).digest


@pytest.mark.parametrize(
    ("include", "files", "code", "words"),
    [
        ('["none.toml"]', {}, "no-file", "there is no such file"),
        ('["../kinds.toml"]', {}, "include-outside", "in the folder of the bank file or below"),
        ('["/etc/passwd"]', {}, "include-outside", "in the folder of the bank file or below"),
        ('["bank.toml"]', {}, "include-loop", "include each other"),
        (
            '["a.toml"]',
            {"a": 'include = ["b.toml"]', "b": 'include = ["a.toml"]'},
            "include-loop",
            "include each other",
        ),
        ('["a.toml"]', {"a": "x = 3 A"}, "syntax", "no TOML"),
        ('["a.toml"]', {"a": 'title = "t"\nmodules = []'}, "unknown-key", "unknown key"),
        ('["a.toml"]', {"a": '[kinds.lug.lug-M8]\nhole = "9 mm"'}, "double-name", "also given in bank.toml, line 30"),
        ('["a.toml"]', {"a": '[kinds.lug.x]\nhole = "9"'}, "unit-missing", "the unit too"),
        ("[1]", {}, "wrong-type", "a text in quotes"),
        ('"a.toml"', {}, "wrong-type", "a list"),
    ],
)
def test_an_include_that_goes_wrong_is_told(
    tmp_path: Path, include: str, files: dict[str, str], code: str, words: str
) -> None:
    with pytest.raises(BankFileError) as caught:
        read_bank(kinds(tmp_path, include, **files))
    assert [fault.code for fault in caught.value.faults] == [code]
    assert words in str(caught.value)


def test_a_link_out_of_the_folder_is_outside(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    (tmp_path / "secret.toml").write_text("[kinds]\n")
    (tmp_path / "in" / "kinds.toml").symlink_to(tmp_path / "secret.toml")
    with pytest.raises(BankFileError, match="in the folder of the bank file or below"):
        read_bank(kinds(tmp_path / "in", '["kinds.toml"]'))


def leaves(data: object, path: Keys = ()) -> list[Keys]:
    if isinstance(data, dict):
        return [path, *(leaf for key, value in data.items() for leaf in leaves(value, (*path, key)))]
    if isinstance(data, list):
        return [path, *(leaf for i, value in enumerate(data) for leaf in leaves(value, (*path, i)))]
    return [path]


def replaced(data: object, path: Keys, value: object) -> object:
    if not path:
        return value
    if isinstance(data, dict):
        return {key: replaced(item, path[1:], value) if key == path[0] else item for key, item in data.items()}
    assert isinstance(data, list)
    return [replaced(item, path[1:], value) if i == path[0] else item for i, item in enumerate(data)]


PATHS = [path for path in leaves(FIVE.data) if path]
ODD = st.one_of(
    st.booleans(),
    st.integers(-(2**70), 2**70),
    st.floats(allow_nan=False, allow_infinity=False),
    st.sampled_from(
        [
            "",
            " ",
            "nan V",
            "inf A",
            "-0 V",
            "1e400 m",
            "+-",
            "0 ohm",
            "M1",
            "M1+",
            "main+",
            "each module",
            "\u2212 5 V",
            "J+",
        ]
    ),
    st.text(st.characters(codec="utf-8"), max_size=12),
    st.lists(
        st.one_of(st.text("aM1+ ", max_size=4), st.integers(), st.lists(st.text("1 A", max_size=4), max_size=3)),
        max_size=3,
    ),
    st.dictionaries(st.text("abcn", min_size=1, max_size=4), st.integers(), max_size=2),
)


@pytest.mark.slow
@given(st.lists(st.tuples(st.sampled_from(PATHS), ODD), min_size=1, max_size=4))
def test_any_value_anywhere_gives_a_bank_or_faults_with_places(changes: list[tuple[Keys, object]]) -> None:
    data: object = FIVE.data
    for path, value in changes:
        try:
            data = replaced(data, path, value)
        except AssertionError:
            continue
    assert isinstance(data, dict)
    text = "".join(f"{value_text(key)} = {value_text(value)}\n" for key, value in data.items())
    try:
        bank_from_text(text, FIVE.path)
    except BankFileError as error:
        nowhere = [fault for fault in error.faults if fault.place is None or not fault.code]
        if nowhere or not error.faults:
            raise


@pytest.mark.soak
def test_any_value_anywhere_in_twenty_thousand_files() -> None:
    """20,000 bank files with odd values at odd places: a bank or faults with places, never a traceback."""
    inner = test_any_value_anywhere_gives_a_bank_or_faults_with_places.hypothesis.inner_test
    changes = st.lists(st.tuples(st.sampled_from(PATHS), ODD), min_size=1, max_size=4)
    settings(max_examples=20_000)(given(changes)(inner))()
