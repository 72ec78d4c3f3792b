"""The bytes of a foreign file: what kind it is, how its letters are coded, and its text piece by piece.

Gives: Source, Chunk, Sample, opened_source(). A file that is no delimited text is refused by name. Text comes in pieces
of whole lines, so that a file of any length needs the same memory; pieces begin at the same bytes in every run.
Limits: what stands in the lines is table.py.
Sources: first bytes of file kinds and byte order marks: their own standards [from memory].
"""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from bankwright.forms.faults import Fault
from bankwright.logbook.elsewhere.told import NotUnderstood, Told

__all__ = ["BLOCK", "Chunk", "Sample", "Source", "opened_source"]

BLOCK = 1 << 22  # bytes a piece; design choice
_HEAD, _SPOT, _SPOTS = 1 << 20, 1 << 14, 64  # bytes looked at first, and at places spread over a long file
_KINDS = (  # first bytes, what it is, what to do
    (b"%PDF", "a PDF document", "Bring the table itself: export it as CSV"),
    (b"\x89PNG", "a picture", "A picture of a table cannot be read; export the table as CSV"),
    (b"\xff\xd8\xff", "a picture", "A picture of a table cannot be read; export the table as CSV"),
    (b"GIF8", "a picture", "A picture of a table cannot be read; export the table as CSV"),
    (b"PK\x03\x04", "a packed file (a zip, or a spreadsheet's own format)", "Unpack it, or save the sheet as CSV"),
    (b"\xd0\xcf\x11\xe0", "a spreadsheet in its old own format", "Open it and save the sheet as CSV"),
    (b"\x1f\x8b", "a packed file (gzip)", "Unpack it first: gunzip FILE"),
    (b"SQLite format 3\x00", "a database", "If it is a logbook it needs no import; else export its table as CSV"),
    (b"7z\xbc\xaf", "a packed file", "Unpack it first"),
    (b"PAR1", "a Parquet file", "Export it as CSV"),
    (b"\x7fELF", "a program", "Name the log file"),
)
_MARKS = ((b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))
_NAMES = {"utf-8": "UTF-8", "utf-16-le": "UTF-16, low byte first", "utf-16-be": "UTF-16, high byte first",
          "cp1252": "Latin-1 with the signs of Windows-1252", "gb18030": "GB 18030 (Chinese)"}  # fmt: skip
_CHINESE = ("电压", "电流", "温度", "时间", "单体", "电量", "功率")


@dataclass(frozen=True)
class Chunk:
    """Whole lines of the file."""

    start: int  # byte
    end: int
    first_line: int
    data: bytes
    encoding: str

    @cached_property
    def lines(self) -> list[str]:
        """Its text, line by line."""
        return _lines(self.data, self.encoding)

    def from_line(self, first: int) -> bytes:
        """The bytes from a line of the file on; none where a line ends in another way than with a line feed."""
        at = 0
        if b"\r" in self.data and self.data.count(b"\r") != self.data.count(b"\r\n"):
            return b""
        for _ in range(max(first - self.first_line, 0)):
            at = self.data.find(b"\n", at) + 1
            if not at:
                return b""
        return self.data[at:]

    def count(self) -> int:
        """How many lines it has."""
        if self.encoding.startswith("utf-16") or b"\r" in self.data:
            return len(self.lines)
        return self.data.count(b"\n") + bool(self.data and not self.data.endswith(b"\n"))


@dataclass(frozen=True, slots=True)
class Sample:
    """Lines to learn from: the beginning, and a few at places spread over a long file."""

    head: list[str]
    spots: list[list[str]]
    is_whole: bool


@dataclass(frozen=True, slots=True)
class Source:
    """A foreign file."""

    path: Path
    size: int
    encoding: str
    mark: int  # bytes of the byte order mark
    newline: str

    def chunks(self, breaks: Sequence[int] = (), block: int = BLOCK) -> Iterator[Chunk]:
        """Give the text in pieces; a piece also ends at each of these bytes."""
        at, line = self.mark, 1
        stops = sorted(stop for stop in breaks if self.mark < stop < self.size)
        with self.path.open("rb") as file:
            file.seek(at)
            left = b""
            while True:
                stop = next((s for s in stops if s > at), self.size)
                data = left + file.read(min(block, max(stop - at - len(left), 0)))
                if not data:
                    return
                is_last = at + len(data) >= stop
                cut = len(data) if is_last else self._cut(data)
                piece = Chunk(at, at + cut, line, data[:cut], self.encoding)
                yield piece
                left, at, line = data[cut:], at + cut, line + piece.count()

    def _cut(self, data: bytes) -> int:
        """Where the last whole line ends, outside quotes; all of it where there is none."""
        width, mark = (2 if self.encoding.startswith("utf-16") else 1), self.newline.encode(self.encoding)
        place = len(data)
        for _ in range(200):
            place = data.rfind(mark, 0, place)
            if place < 0:
                break
            if place % width == 0 and data.count(b'"', 0, place) % 2 == 0:
                return place + len(mark)
        place = data.rfind(mark)
        while place >= 0 and place % width:
            place = data.rfind(mark, 0, place)
        return place + len(mark) if place >= 0 else len(data) - len(data) % width

    def sample(self) -> Sample:
        """Lines to learn from."""
        with self.path.open("rb") as file:
            file.seek(self.mark)
            data = file.read(_HEAD)
            if self.size <= self.mark + _HEAD:
                return Sample(_lines(data, self.encoding), [], True)
            head, spots = _lines(data[: self._cut(data)], self.encoding), []
            for k in range(1, _SPOTS + 1):
                file.seek(self.mark + (self.size - self.mark - _SPOT) * k // _SPOTS // 2 * 2)
                spots.append(_lines(file.read(_SPOT), self.encoding)[1:-1])
        return Sample(head, spots, False)

    def digests(self, ends: Sequence[int]) -> dict[int, str]:
        """Digest of the bytes up to each of these places, in one reading."""
        found: dict[int, str] = {}
        at, digest = 0, hashlib.blake2b(digest_size=16)
        with self.path.open("rb") as file:
            for end in sorted({end for end in ends if 0 <= end <= self.size}):
                while at < end:
                    data = file.read(min(1 << 20, end - at))
                    if not data:
                        return found
                    digest.update(data)
                    at += len(data)
                found[end] = digest.hexdigest()
        return found


def _lines(data: bytes, encoding: str) -> list[str]:
    text = data.decode(encoding, "replace").replace("\0", "")
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    lines = text.split("\n")
    if lines[-1] == "":
        lines.pop()
    return lines


def opened_source(path: Path, told: Told, encoding: str | None = None) -> Source:
    """Look at a file; NotUnderstood says what it is instead of a table."""
    head, size = _head(path)
    _refuse_other_kinds(path, head)
    found, mark, why = _coding(head)
    if encoding is not None:
        found, why = _asked(encoding), "as told"
    source = Source(path, size, found, mark, "\n")
    text = head[mark:].decode(found, "replace")
    if "\n" not in text and "\r" in text:
        source = Source(path, size, found, mark, "\r")
    _refuse_no_text(path, text)
    told.settle("letters", _NAMES.get(found, found), why)
    return source


def _head(path: Path) -> tuple[bytes, int]:
    if path.is_dir():
        raise _refused(path, "is-folder", "it is a folder", "Name one log file in it; each file is brought by itself")
    if not path.exists():
        near = sorted(p.name for p in path.parent.glob("*.csv"))[:5] if path.parent.is_dir() else []
        raise _refused(path, "no-file", "there is no such file", f"Beside it: {', '.join(near)}" if near else "")
    if not path.is_file():
        raise _refused(path, "no-file", "it is no ordinary file", "Save the log as a file first")
    try:
        with path.open("rb") as file:
            head = file.read(1 << 16)
        size = path.stat().st_size
    except OSError as error:
        raise _refused(path, "no-file", f"it cannot be read ({error.strerror})", "Look at its rights") from error
    if not head.strip():
        raise _refused(path, "empty", "it is empty", "Export the log again, and look at its size")
    return head, size


def _refused(path: Path, code: str, found: str, hint: str) -> NotUnderstood:
    return NotUnderstood(Fault(path.name, code, found, hint=hint))


def _refuse_other_kinds(path: Path, head: bytes) -> None:
    for first, kind, hint in _KINDS:
        if head.startswith(first):
            raise _refused(path, "wrong-kind", f"this is {kind}, no table of text", hint)
    start = head.lstrip(b"\xef\xbb\xbf \t\r\n")
    if start[:1] in (b"{", b"["):
        with_sections = start[:1] == b"[" and path.suffix.lower() != ".json" and b"]\n" in start[:200]
        if not (with_sections and b'"' not in start.split(b"\n", 1)[0]):
            raise _refused(path, "wrong-kind", "this is JSON, no table of text", "Export the log as CSV")
    if start[:1] == b"<":
        raise _refused(path, "wrong-kind", "this is a web page or XML, no table of text", "Export the log as CSV")
    if _is_toml(path, head):
        words = "this is a TOML file (a bank file?), no log"
        raise _refused(path, "wrong-kind", words, "The bank file comes first, the log second: import FILE LOG")


def _is_toml(path: Path, head: bytes) -> bool:
    if path.suffix.lower() != ".toml" and not (b"\n[kinds." in head or b"\n[[modules]]" in head):
        return False
    try:
        tomllib.loads(path.read_text("utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, OSError):
        return False
    return True


def _coding(head: bytes) -> tuple[str, int, str]:
    for first, name in _MARKS:
        if head.startswith(first):
            return name, len(first), "its byte order mark says so"
    part = head[:4096]
    if part.count(0) > len(part) // 3:  # every other byte of plain letters
        name = "utf-16-le" if part[1::2].count(0) > part[0::2].count(0) else "utf-16-be"
        return name, 0, "every other byte is nought; it has no byte order mark"
    whole = head[: head.rfind(b"\n") + 1] or head
    try:
        whole.decode("utf-8")
    except UnicodeDecodeError as error:
        if any(word in head.decode("gb18030", "replace") for word in _CHINESE):
            return "gb18030", 0, "it is no UTF-8, and has the trade's words in this coding"
        return "cp1252", 0, f"byte {error.start} is no UTF-8"
    return "utf-8", 0, "it has no mark, and every byte fits"


def _asked(encoding: str) -> str:
    import codecs

    try:
        name = codecs.lookup(encoding).name
    except LookupError:
        words = f"found {encoding!r}"
        raise NotUnderstood(Fault("--encoding", "wrong-option", words, hint="utf-8, utf-16, cp1252, gb18030")) from None
    names = {"utf-8-sig": "utf-8", "utf-16": "utf-16-le", "iso8859-1": "cp1252", "gbk": "gb18030", "gb2312": "gb18030"}
    return names.get(name, name)


def _refuse_no_text(path: Path, text: str) -> None:
    odd = sum(1 for c in text if (ord(c) < 32 and c not in "\t\r\n\0\x0c\x1a") or c == "\ufffd")
    if odd > len(text) // 20:
        raise _refused(path, "wrong-kind", "this is no text", "Export the log as CSV (text, comma or semicolon)")
