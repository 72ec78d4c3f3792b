"""The walk over a TOML text finds every path that tomllib finds, and each value's text is that value."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
import tomlkit
from hypothesis import assume, given
from hypothesis import strategies as st

from bankwright.bank.file.spans import Path, path_of, path_text, spans
from bankwright.bank.file.toml_text import same
from support.banks import BANKS, document
from support.toml_texts import toml_texts


def paths(data: Any, path: Path = ()) -> set[Path]:
    found = {path} if path else set()
    if isinstance(data, dict):
        for key, value in data.items():
            found |= paths(value, (*path, key))
    if isinstance(data, list):
        for i, value in enumerate(data):
            found |= paths(value, (*path, i))
    return found


def at(data: Any, path: Path) -> Any:
    for part in path:
        data = data[part]
    return data


def proved(text: str) -> None:
    data, found = tomllib.loads(text), spans(text)
    assert set(found.at) == paths(data)
    for path, span in found.at.items():
        if span.kind == "value":
            assert same(tomllib.loads(f"v = {text[span.start : span.end]}")["v"], at(data, path)), path
        line, column = found.line_column(span.key)
        assert text.split("\n")[line - 1][column - 1 :] == text[span.key :].split("\n")[0]


@pytest.mark.slow
@given(toml_texts())
def test_paths_and_values_are_those_of_tomllib(text: str) -> None:
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        assume(False)
    proved(text)


@pytest.mark.parametrize("name", [path.stem for path in BANKS.glob("*.toml")])
def test_sample_files_are_walked(name: str) -> None:
    proved(document(name).text)
    proved(document(name).text.replace("\n", "\r\n"))


@pytest.mark.slow
@given(toml_texts())
def test_a_second_reader_agrees_on_the_keys(text: str) -> None:
    # tomlkit, an independent TOML library, as a second oracle
    try:
        data = tomllib.loads(text)
        other = tomlkit.parse(text).unwrap()
    except (tomllib.TOMLDecodeError, tomlkit.exceptions.TOMLKitError, ValueError, KeyError, TypeError):
        assume(False)
    assume(paths(other) == paths(data))  # where the two libraries differ the walk is held to tomllib
    assert set(spans(text).at) == paths(other)


@pytest.mark.parametrize(
    ("path", "text"),
    [
        (("modules", 4, "slot"), "modules[4].slot"),
        (("kinds", "lug", "M8 90"), 'kinds.lug."M8 90"'),
        (("a", "", 'q"\\'), 'a."".' + '"q\\"\\\\"'),
        (("kinds", "device", "fuse-300", "curve", 0, 1), "kinds.device.fuse-300.curve[0][1]"),
    ],
)
def test_a_path_is_printed_and_read_back(path: Path, text: str) -> None:
    assert path_text(path) == text
    assert path_of(text) == path


@given(st.lists(st.one_of(st.text(max_size=5), st.integers(0, 99)), min_size=1, max_size=5))
def test_any_path_is_read_back(parts: list[str | int]) -> None:
    path: Path = ("a", *parts)
    assert path_of(path_text(path)) == path


@pytest.mark.parametrize("text", ["a..b", ".a", "a[", "a[x]", "a b", "a.", 'a."b'])
def test_what_is_no_path_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="is no path"):
        path_of(text)
