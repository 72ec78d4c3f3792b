"""A bank file as text: proven edits, digest, atomic save with the previous kept, refusal when it was changed outside.

Gives: Document with read(), digest_of(), EditRefused, ChangedOutside. Frozen: every edit returns a new document, undo
is a list of them.
Limits: the text must be TOML that tomllib accepts; what the values mean is in bank/written.
Files above MAX_BYTES are refused.
"""

from __future__ import annotations

import copy
import hashlib
import os
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any

from bankwright.bank.file import edits
from bankwright.bank.file.edits import EditRefused
from bankwright.bank.file.spans import Path, Spans, path_of, path_text, spans
from bankwright.bank.file.toml_text import same
from bankwright.forms.disk import in_place, locked, prepared

__all__ = ["MAX_BYTES", "ChangedOutside", "Document", "EditRefused", "digest_of"]

MAX_BYTES = 1_000_000
PREVIOUS = ".previous"


class ChangedOutside(RuntimeError):
    """The file on disk is not the one that was read; nothing was written."""


def digest_of(content: bytes) -> str:
    """SHA-256 of a file's bytes, as hex."""
    return hashlib.sha256(content).hexdigest()


def _as_path(path: str | Path) -> Path:
    return path_of(path) if isinstance(path, str) else tuple(path)


@dataclass(frozen=True, slots=True)
class Document:
    """A TOML text, where it lives, and the digest of what stood on disk when it was read ("" for a new file)."""

    text: str
    path: FilePath
    digest: str = ""
    has_bom: bool = False
    data: dict[str, Any] = field(init=False, compare=False, repr=False)
    spans: Spans = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        """Parse once; tomllib.TOMLDecodeError when the text is no TOML."""
        object.__setattr__(self, "data", tomllib.loads(self.text))
        object.__setattr__(self, "spans", spans(self.text))

    @classmethod
    def read(cls, path: str | os.PathLike[str]) -> Document:
        """Read a file; OSError, UnicodeDecodeError, TOMLDecodeError as they come."""
        where = FilePath(path)
        content = where.read_bytes()
        text = content.decode("utf-8")
        has_bom = text.startswith("\ufeff")
        return cls(text.removeprefix("\ufeff"), where, digest_of(content), has_bom)

    def value(self, path: str | Path) -> Any:
        """Return a copy of the value at a path; KeyError when the file does not give it."""
        found: Any = self.data
        for part in _as_path(path):
            try:
                found = found[part]
            except (KeyError, IndexError, TypeError):
                raise KeyError(path) from None
        return copy.deepcopy(found)

    def has(self, path: str | Path) -> bool:
        """True when the file gives this path."""
        try:
            self.value(path)
        except KeyError:
            return False
        return True

    def with_value(self, path: str | Path, value: Any) -> Document:
        """Return the document with one value set: replaced where it stands, or added where its table stands."""
        keys = _as_path(path)
        wanted = copy.deepcopy(self.data)
        _put(wanted, keys, value)
        return self._proved(edits.set_value(self.text, self.spans, keys, value), wanted, keys)

    def without_value(self, path: str | Path) -> Document:
        """Return the document without one key or item."""
        keys = _as_path(path)
        wanted = copy.deepcopy(self.data)
        text = edits.drop_value(self.text, self.spans, keys)
        _take(wanted, keys)
        return self._proved(text, wanted, keys, prune=True)

    def with_block(self, name: str | Path, values: Mapping[str, Any], comment: str = "") -> Document:
        """Return the document with one more [[name]] block, after the last of its kind."""
        keys = _as_path(name)
        wanted = copy.deepcopy(self.data)
        blocks = _reach(wanted, keys[:-1]).setdefault(str(keys[-1]), [])
        if not isinstance(blocks, list):
            raise EditRefused(f"{path_text(keys)} is a table, no list of blocks")
        blocks.append(dict(values))
        return self._proved(edits.add_block(self.text, self.spans, keys, values, comment), wanted, keys)

    def with_table(self, path: str | Path, values: Mapping[str, Any], comment: str = "") -> Document:
        """Return the document with a new [path] table: a kind, a site."""
        keys = _as_path(path)
        wanted = copy.deepcopy(self.data)
        _reach(wanted, keys).update(values)
        return self._proved(edits.add_table(self.text, self.spans, keys, values, comment), wanted, keys)

    def without_block(self, path: str | Path) -> Document:
        """Return the document without one [[name]] block or [path] table, its sub-tables and its own comment."""
        keys = _as_path(path)
        wanted = copy.deepcopy(self.data)
        text = edits.drop_block(self.text, self.spans, keys)
        _take(wanted, keys)
        return self._proved(text, wanted, keys, prune=True)

    def _proved(self, text: str, wanted: dict[str, Any], path: Path, prune: bool = False) -> Document:
        """Accept a new text only if it parses to exactly the old data with that one change."""
        try:
            text.encode("utf-8")
            made = Document(text, self.path, self.digest, self.has_bom)
        except UnicodeEncodeError:
            raise EditRefused(f"{path_text(path)}: a half of a character pair is no text") from None
        except tomllib.TOMLDecodeError as error:
            raise EditRefused(f"{path_text(path)}: the edited text would be no TOML ({error})") from None
        got: Any = made.data
        if prune:
            wanted, got = _pruned(wanted), _pruned(got)
        if not same(got, wanted):
            raise EditRefused(f"{path_text(path)}: the edited text would say something else")
        return made

    def as_bytes(self) -> bytes:
        """The text as it goes to disk."""
        return ("\ufeff" if self.has_bom else "").encode() + self.text.encode("utf-8")

    def save(self, expected_digest: str | None = None) -> Document:
        """Write atomically and keep NAME.previous; ChangedOutside when the disk holds another text than was read."""
        expected = self.digest if expected_digest is None else expected_digest
        target = FilePath(os.path.realpath(self.path))
        content = self.as_bytes()
        with locked(target.parent):
            self._replace(target, content, expected)
        return Document(self.text, self.path, digest_of(content), self.has_bom)

    def _replace(self, target: FilePath, content: bytes, expected: str) -> None:
        """Prepare both files, compare once more, rename: an edit from outside is lost only within two renames."""
        there = self._unchanged(target, expected)
        made: list[tuple[FilePath, FilePath]] = []
        try:
            if there is not None:
                before = target.with_name(target.name + PREVIOUS)
                made.append((prepared(before, there, target), before))
            made.append((prepared(target, content, None if there is None else target), target))
            self._unchanged(target, expected)
            in_place(*made)
        finally:
            for new, _ in made:
                new.unlink(missing_ok=True)

    def _unchanged(self, target: FilePath, expected: str) -> bytes | None:
        """What stands on disk (None: no file); ChangedOutside when it is not what was read."""
        try:
            there: bytes | None = target.read_bytes()
        except FileNotFoundError:
            there = None
        if (digest_of(there) if there is not None else "") != expected:
            what = "is gone" if there is None else "was changed by another program" if expected else "already exists"
            raise ChangedOutside(f"{self.path.name} {what}; nothing was written")
        return there


def _reach(data: dict[str, Any], keys: Path) -> dict[str, Any]:
    """Walk to a table, making what is missing."""
    table: Any = data
    for key in keys:
        if isinstance(table, list):
            if not isinstance(key, int) or key >= len(table):
                raise EditRefused(f"{path_text(keys)} does not lead to a table")
            table = table[key]
        elif isinstance(table, dict) and isinstance(key, str):
            table = table.setdefault(key, {})
        else:
            raise EditRefused(f"{path_text(keys)} does not lead to a table")
    if not isinstance(table, dict):
        raise EditRefused(f"{path_text(keys)} does not lead to a table")
    return table


def _put(data: dict[str, Any], keys: Path, value: Any) -> None:
    if not keys:
        raise EditRefused("a path is needed")
    last = keys[-1]
    if isinstance(last, str):
        _reach(data, keys[:-1])[last] = copy.deepcopy(value)
        return
    items = _list_at(data, keys[:-1])
    if not isinstance(items, list) or last > len(items):
        raise EditRefused(f"{path_text(keys)} is not in the file")
    items[last:] = [copy.deepcopy(value), *items[last + 1 :]]


def _list_at(data: Any, keys: Path) -> Any:
    for key in keys:
        try:
            data = data[key]
        except (KeyError, IndexError, TypeError):
            return None
    return data


def _take(data: Any, keys: Path) -> None:
    for key in keys[:-1]:
        data = data[key]
    del data[keys[-1]]


def _pruned(value: Any) -> Any:
    """Drop tables and lists that hold nothing: they leave the text with their last entry."""
    if not isinstance(value, dict):
        return value
    kept = {key: _pruned(item) for key, item in value.items()}
    return {key: item for key, item in kept.items() if item not in ({}, [])}
