"""Where everything stands in a TOML text: keys, headers, array items, inline keys, dotted keys.

Gives: Spans, Span, Header, spans(), path_text(), path_of(). For every path the offsets of key, value start and value
end.
Takes: a text that tomllib has accepted; nothing is checked again.
Line and column count from 1, columns in characters.
Limits: offsets only; edits are in bank/file/document, faults in bank/file/whereabouts.
Source: TOML v1.0.0, its grammar of keys, strings, arrays and tables (from memory).
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from dataclasses import dataclass

__all__ = ["Header", "Path", "Span", "Spans", "path_of", "path_text", "spans"]

Path = tuple[str | int, ...]

_BLANK = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_STRINGS = (
    ('"""', re.compile(r'"""(?:[^"\\]|\\.|"(?!""))*"{3,5}', re.S)),
    ("'''", re.compile(r"'''(?:[^']|'(?!''))*'{3,5}", re.S)),
    ('"', re.compile(r'"(?:[^"\\]|\\.)*"')),
    ("'", re.compile(r"'[^']*'")),
)
_SCALAR = re.compile(r"[^,\]}#\r\n]*")


@dataclass(frozen=True, slots=True)
class Span:
    """Offsets of one path. Kinds: value, header, block (an [[x]] item), blocks (all [[x]]); dotted, implied."""

    key: int
    start: int
    end: int
    kind: str = "value"
    lead: int = -1  # of a value with a key: offset of the statement's first key part


@dataclass(frozen=True, slots=True)
class Header:
    """A [table] or [[block]] line: its path, offsets of its bracket and of its end, last value in its body."""

    path: Path
    start: int
    end: int
    is_block: bool
    last: int  # end of the last value of its own body; `end` when it has none


@dataclass(frozen=True, slots=True)
class Spans:
    """All spans of one text."""

    at: dict[Path, Span]
    headers: tuple[Header, ...]
    lines: tuple[int, ...]  # offset of each line's start
    root_last: int  # end of the last value before the first header; -1 when there is none

    def line_column(self, offset: int) -> tuple[int, int]:
        """Line and column of an offset, counted from 1."""
        line = bisect_right(self.lines, offset)
        return line, offset - self.lines[line - 1] + 1

    def nearest(self, path: Path) -> Span | None:
        """Find the span of a path, or of its nearest written parent."""
        for length in range(len(path), 0, -1):
            span = self.at.get(path[:length])
            if span is not None:
                return span
        return None


def path_text(path: Path) -> str:
    """Print a path: `modules[4].slot`, `kinds.lug."M8 90"`."""
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"[{part}]"
            continue
        bare = part if _BARE_KEY.fullmatch(part) else '"' + part.replace("\\", "\\\\").replace('"', '\\"') + '"'
        text += f".{bare}" if text else bare
    return text


def path_of(text: str) -> Path:
    """Read a path as path_text() prints it; ValueError for anything else."""
    parts: list[str | int] = []
    rest = text
    piece = re.compile(r'(?:(?:^|\.)(?:([A-Za-z0-9_-]+)|"((?:[^"\\]|\\.)*)")|\[(\d+)\])')
    while rest:
        match = piece.match(rest) if (rest[0] in ".[") == bool(parts) else None
        if match is None:
            raise ValueError(f"{text!r} is no path of a bank file")
        if match[3] is not None:
            parts.append(int(match[3]))
        else:
            parts.append(match[1] if match[1] is not None else re.sub(r"\\(.)", r"\1", match[2]))
        rest = rest[match.end() :]
    return tuple(parts)


def spans(text: str) -> Spans:
    """Walk a text that tomllib accepts."""
    walk = _Walk(text)
    walk.document()
    starts = [0, *(match.end() for match in re.finditer("\n", text))]
    headers = tuple(
        Header(h.path, h.start, h.end, h.is_block, last) for h, last in zip(walk.headers, walk.last[1:], strict=True)
    )
    return Spans(walk.at, headers, tuple(starts), walk.last[0])


class _Walk:
    """One pass over the text; the position only moves forward."""

    def __init__(self, text: str) -> None:
        self.text, self.pos = text, 0
        self.at: dict[Path, Span] = {}
        self.headers: list[Header] = []
        self.last = [-1]  # end of the last value: before the first header, then under each header
        self._value_end = 0
        self.counts: dict[Path, int] = {}  # items of each [[array]] so far

    def document(self) -> None:
        """Walk headers and statements to the end."""
        table: Path = ()
        self._skip(_BLANK)
        while self.pos < len(self.text):
            if self.text[self.pos] == "[":
                table = self._header()
            else:
                self._statement(table)
                self.last[-1] = self._value_end
            self._skip(_BLANK)

    def _skip(self, pattern: re.Pattern[str]) -> None:
        match = pattern.match(self.text, self.pos)
        if match:
            self.pos = match.end()

    def _key(self) -> list[tuple[str, int]]:
        """Read a key, dotted or not: each part with its offset."""
        parts: list[tuple[str, int]] = []
        while True:
            self._skip(_SPACE)
            start = self.pos
            if self.text[start] in "\"'":
                self.pos = self._string_end()
                parts.append((_decoded(self.text[start : self.pos]), start))
            else:
                self._skip(_BARE_KEY)
                parts.append((self.text[start : self.pos], start))
            self._skip(_SPACE)
            if self.pos >= len(self.text) or self.text[self.pos] != ".":
                return parts
            self.pos += 1

    def _header(self) -> Path:
        start = self.pos
        is_block = self.text.startswith("[[", start)
        self.pos += 2 if is_block else 1
        parts = self._key()
        self.pos += 2 if is_block else 1
        path: Path = ()
        for name, offset in parts[:-1]:
            path = (*path, name)
            self.at.setdefault(path, Span(offset, offset, offset, "implied"))
            path = self._into_last(path)
        name, offset = parts[-1]
        path = (*path, name)
        if is_block:
            count = self.counts.get(path, 0)
            self.counts[path] = count + 1
            self.at.setdefault(path, Span(offset, start, start, "blocks"))
            path = (*path, count)
        self.at[path] = Span(offset, start, self.pos, "block" if is_block else "header")
        self.headers.append(Header(path, start, self.pos, is_block, self.pos))
        self.last.append(self.pos)
        return path

    def _into_last(self, path: Path) -> Path:
        count = self.counts.get(path)
        return path if count is None else (*path, count - 1)

    def _statement(self, table: Path) -> None:
        parts = self._key()
        path = table
        for name, offset in parts[:-1]:
            path = (*path, name)
            self.at.setdefault(path, Span(offset, offset, offset, "dotted"))
        self.pos += 1  # the equals sign
        self._skip(_SPACE)
        self._value((*path, parts[-1][0]), parts[-1][1], parts[0][1])

    def _value(self, path: Path, key: int | None = None, lead: int | None = None) -> None:
        start = self.pos
        mark = self.text[start]
        if mark == "[":
            self._array(path)
        elif mark == "{":
            self._inline(path)
        elif mark in "\"'":
            self.pos = self._string_end()
        else:
            self._skip(_SCALAR)
            self.pos = start + len(self.text[start : self.pos].rstrip())
        self._value_end = self.pos
        self.at[path] = Span(start if key is None else key, start, self.pos, "value", start if lead is None else lead)

    def _array(self, path: Path) -> None:
        self.pos += 1
        count = 0
        self._skip(_BLANK)
        while self.text[self.pos] != "]":
            self._value((*path, count))
            count += 1
            self._skip(_BLANK)
            if self.text[self.pos] == ",":
                self.pos += 1
                self._skip(_BLANK)
        self.pos += 1

    def _inline(self, path: Path) -> None:
        self.pos += 1
        self._skip(_BLANK)
        while self.text[self.pos] != "}":
            self._statement(path)
            self._skip(_BLANK)
            if self.text[self.pos] == ",":
                self.pos += 1
                self._skip(_BLANK)
        self.pos += 1

    def _string_end(self) -> int:
        for mark, pattern in _STRINGS:
            if self.text.startswith(mark, self.pos):
                match = pattern.match(self.text, self.pos)
                if match:
                    return match.end()
        raise ValueError(f"no string at offset {self.pos}: tomllib accepted what this walk does not know")


def _decoded(raw: str) -> str:
    if "\\" not in raw:
        return raw[1:-1]
    return str(tomllib.loads(f"v = {raw}")["v"])
