"""Edits change the characters of one value and nothing else; files are saved whole, with the one before kept."""

from __future__ import annotations

import os
import stat
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bankwright.bank.file.document import ChangedOutside, Document, EditRefused
from bankwright.bank.file.spans import Path as Keys
from bankwright.bank.file.toml_text import same
from support.banks import document
from support.toml_texts import toml_texts

HERE = Path("bank.toml")
VALUES = st.recursive(
    st.one_of(
        st.booleans(),
        st.integers(-9, 9999),
        st.sampled_from([1.5, -2e-3]),
        st.text(st.characters(codec="utf-8"), max_size=6),
    ),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["a", "x y", "é"]), inner, max_size=2),
    max_leaves=4,
)


def opened(text: str) -> Document:
    try:
        return Document(text, HERE)
    except tomllib.TOMLDecodeError:
        assume(False)
        raise


@pytest.mark.slow
@settings(max_examples=40)
@given(toml_texts(), VALUES, st.randoms(use_true_random=False))
def test_a_value_is_replaced_and_every_other_character_stays(text: str, value: Any, random: Any) -> None:
    before = opened(text)
    places = [path for path, span in before.spans.at.items() if span.kind == "value"]
    assume(places)
    path = random.choice(places)
    span = before.spans.at[path]
    after = before.with_value(path, value)
    assert same(after.value(path), value)
    assert after.text.startswith(text[: span.start])
    assert after.text.endswith(text[span.end :])


@pytest.mark.slow
@settings(max_examples=40)
@given(toml_texts(), VALUES, st.randoms(use_true_random=False))
def test_a_key_is_added_or_the_edit_refused_but_never_half_done(text: str, value: Any, random: Any) -> None:
    before = opened(text)
    tables = [()] + [
        path for path, span in before.spans.at.items() if span.kind in ("header", "block", "dotted", "implied")
    ]
    tables += [path for path in before.spans.at if isinstance(before.value(path), dict)]
    path: Keys = (*random.choice(tables), "new key")
    try:
        after = before.with_value(path, value)
    except EditRefused:
        return
    assert same(after.value(path), value)
    assert len(after.text) > len(text)
    assert same(after.without_value(path).data, before.data) or not before.value(path[:-1])


@pytest.mark.slow
@settings(max_examples=40)
@given(toml_texts(), st.randoms(use_true_random=False))
def test_a_block_is_removed_with_its_tables(text: str, random: Any) -> None:
    before = opened(text)
    blocks = [path for path, span in before.spans.at.items() if span.kind == "block"]
    assume(blocks)
    path = random.choice(blocks)
    try:
        after = before.without_block(path)
    except EditRefused:
        return
    items = before.value(path[:-1])
    left = after.value(path[:-1]) if after.has(path[:-1]) else []
    assert same(left, [item for i, item in enumerate(items) if i != path[-1]])


@pytest.mark.soak
def test_edits_of_thousands_of_texts() -> None:
    """Values replaced, keys added and blocks removed in 2,000 generated texts each."""
    chance = st.randoms(use_true_random=False)
    for test, parts in (
        (test_a_value_is_replaced_and_every_other_character_stays, (toml_texts(), VALUES, chance)),
        (test_a_key_is_added_or_the_edit_refused_but_never_half_done, (toml_texts(), VALUES, chance)),
        (test_a_block_is_removed_with_its_tables, (toml_texts(), chance)),
    ):
        settings(max_examples=2000)(given(*parts)(test.hypothesis.inner_test))()  # type: ignore[attr-defined]


BANK = """# top
format = 1

[site]   # where
place = "barn"   # a comment
limits = { low = "5 degC", high.value = "40 degC" }

# about M1
[[modules]]
name = "M1"

# about M2
[[modules]]
name = "M2"
slot = 2

[wiring]
feed = "same end"
"""


def edited(path: str, value: Any) -> list[str]:
    before = Document(BANK, HERE).text.split("\n")
    return [line for line in Document(BANK, HERE).with_value(path, value).text.split("\n") if line not in before]


@pytest.mark.parametrize(
    ("path", "value", "lines"),
    [
        ("wiring.feed", "opposite ends", ['feed = "opposite ends"']),
        ("site.place", "shed", ['place = "shed"   # a comment']),
        ("site.limits.low", 1, ['limits = { low = 1, high.value = "40 degC" }']),
        ("site.limits.high.other", 1, ['limits = { low = "5 degC", high.value = "40 degC", high.other = 1 }']),
        ("site.limits.mid", 1, ['limits = { low = "5 degC", high.value = "40 degC", mid = 1 }']),
        ("modules[0].slot", 1, ["slot = 1"]),
        ("title", "x", ['title = "x"']),
        ("kinds.lug.A.hole", "9 mm", ["[kinds.lug.A]", 'hole = "9 mm"']),
    ],
)
def test_an_edit_touches_these_lines_only(path: str, value: Any, lines: list[str]) -> None:
    assert edited(path, value) == lines


def test_a_line_is_added_under_its_own_block() -> None:
    text = Document(BANK, HERE).with_value("modules[0].slot", 1).text
    assert 'name = "M1"\nslot = 1\n\n# about M2\n' in text


def test_a_block_is_added_after_the_last_of_its_kind_with_its_comment() -> None:
    text = Document(BANK, HERE).with_block("modules", {"name": "M3"}, "about M3").text
    assert 'slot = 2\n\n# about M3\n[[modules]]\nname = "M3"\n\n[wiring]\n' in text


def test_a_block_goes_with_the_comment_above_it_and_no_other() -> None:
    text = Document(BANK, HERE).without_block("modules[0]").text
    assert "M1" not in text
    assert '# about M2\n[[modules]]\nname = "M2"' in text


def test_the_last_block_goes_without_blank_lines_left_behind() -> None:
    document = Document(BANK, HERE).with_block("devices", {"name": "F1"})
    assert document.without_block("devices[0]").text.rstrip("\n") == BANK.rstrip("\n")


def test_a_table_is_added_and_not_twice() -> None:
    document = Document(BANK, HERE).with_table("kinds.lug.A", {"hole": "9 mm"})
    assert document.value("kinds.lug.A.hole") == "9 mm"
    with pytest.raises(EditRefused, match="already in the file"):
        document.with_table("kinds.lug.A", {"stud": "M8"})


def test_line_ends_of_the_file_are_kept() -> None:
    document = Document(BANK.replace("\n", "\r\n"), HERE)
    made = document.with_value("modules[0].slot", 1).with_block("devices", {"name": "F1"}, "c").with_value("title", "x")
    assert "\n" not in made.text.replace("\r\n", "")


@pytest.mark.parametrize("path", ["site", "modules", "modules[7].slot", "format.x", "modules[0].name.x"])
def test_an_edit_that_is_no_splice_is_refused(path: str) -> None:
    with pytest.raises(EditRefused):
        Document(BANK, HERE).with_value(path, 1)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), None, object()])
def test_what_a_bank_file_cannot_hold_is_refused(value: Any) -> None:
    with pytest.raises(TypeError, match="a bank file holds"):
        Document(BANK, HERE).with_value("site.place", value)


def test_a_text_that_is_no_unicode_is_refused() -> None:
    with pytest.raises(EditRefused):
        Document(BANK, HERE).with_value("site.place", "\ud800")


def test_saving_keeps_the_file_before(tmp_path: Path) -> None:
    path = tmp_path / "bank.toml"
    path.write_text(BANK)
    path.chmod(0o640)
    document = Document.read(path)
    saved = document.with_value("site.place", "shed").save()
    assert path.read_text() == saved.text
    assert (tmp_path / "bank.toml.previous").read_text() == BANK
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert Document.read(path).digest == saved.digest
    again = saved.with_value("site.place", "loft").save()
    assert (tmp_path / "bank.toml.previous").read_text() == saved.text
    assert sorted(p.name for p in tmp_path.iterdir()) == ["bank.toml", "bank.toml.previous"]
    assert again.value("site.place") == "loft"


def test_a_file_that_changed_outside_is_not_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "bank.toml"
    path.write_text(BANK)
    document = Document.read(path).with_value("site.place", "shed")
    path.write_text(BANK + "# by hand\n")
    with pytest.raises(ChangedOutside, match="changed by another program"):
        document.save()
    assert path.read_text() == BANK + "# by hand\n"
    path.unlink()
    with pytest.raises(ChangedOutside, match="is gone"):
        document.save()


def test_a_new_file_does_not_overwrite_one(tmp_path: Path) -> None:
    path = tmp_path / "bank.toml"
    saved = Document(BANK, path).save()
    assert path.read_text() == BANK
    with pytest.raises(ChangedOutside, match="already exists"):
        Document(BANK, path).save()
    assert saved.digest


def test_a_full_disk_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "bank.toml"
    path.write_text(BANK)
    document = Document.read(path).with_value("site.place", "shed")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space left"):
        document.save()
    assert path.read_text() == BANK
    assert [p.name for p in tmp_path.iterdir()] == ["bank.toml"]


def test_a_byte_order_mark_and_a_link_are_kept(tmp_path: Path) -> None:
    real = tmp_path / "real.toml"
    real.write_bytes(b"\xef\xbb\xbf" + BANK.encode())
    (tmp_path / "link.toml").symlink_to(real)
    Document.read(tmp_path / "link.toml").with_value("site.place", "shed").save()
    assert (tmp_path / "link.toml").is_symlink()
    assert real.read_bytes().startswith(b"\xef\xbb\xbf# top")
    assert b"shed" in real.read_bytes()


@pytest.mark.slow
def test_every_value_of_a_rich_bank_can_be_edited_and_put_back() -> None:
    before = document("five")
    for path, span in before.spans.at.items():
        if span.kind == "value":
            once = before.with_value(path, "changed")
            assert same(once.with_value(path, before.value(path)).data, before.data)
