"""Reading the bank file and the files of kinds it includes, each guarded against what a file can be.

Gives: opened(): documents, and faults for what could not be read.
Included files lie in the folder of the bank file or below it.
Limits: a syntax fault comes alone for its file (tomllib stops at the first);
what the values mean is in bank/written/validate.
"""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any

from bankwright.bank.file.document import MAX_BYTES, Document, digest_of
from bankwright.bank.file.spans import Path
from bankwright.bank.file.whereabouts import Whereabouts
from bankwright.forms.faults import Fault
from bankwright.forms.origin import Place

__all__ = ["MAX_DEPTH", "MAX_LINE", "Opened", "opened", "parsed"]

MAX_DEPTH = 12  # tables inside tables; the deepest key of the format has 6
MAX_LINE = 20_000  # characters
MAX_PARTS = 40  # of a dotted key
MAX_INCLUDES = 50
MAX_ALL = 4 * MAX_BYTES  # bytes of all included files together

_QUOTED = re.compile(r"""\"(?:[^"\\]|\\.)*\"|'[^']*'""")
_AT = re.compile(r"\(at line (\d+), column (\d+)\)$|\(at end of document\)$")


@dataclass
class Opened:
    """The bank file's document, the included ones by their written name, and what went wrong."""

    main: Document | None = None
    included: dict[str, Document] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)


def opened(path: FilePath) -> Opened:
    """Read a bank file and everything it includes."""
    found = Opened()
    found.main = _read(path, path.name, found.faults, None)
    if found.main is not None:
        _follow(found.main, path.name, found, [os.path.realpath(path)], os.path.realpath(path.parent))
    return found


def parsed(text: str, path: FilePath) -> Opened:
    """Take a bank file's text as if it stood at `path`, and read what it includes from there."""
    found = Opened()
    content = text.encode("utf-8", errors="surrogatepass")
    found.main = _document(content, path, path.name, found.faults)
    if found.main is not None:
        _follow(found.main, path.name, found, [os.path.realpath(path)], os.path.realpath(path.parent))
    return found


def _read(path: FilePath, name: str, faults: list[Fault], at: Fault | None) -> Document | None:
    """Read one file; `at` is the fault to use for a file that an include names, with its place."""
    try:
        if not path.is_file():
            what = (
                "it is a folder"
                if path.is_dir()
                else "there is no such file"
                if not path.exists()
                else "it is no ordinary file"
            )
            faults.append(_about(name, "no-file", what, "Check the name", at))
            return None
        size = path.stat().st_size
        if size > MAX_BYTES:
            faults.append(_about(name, "file-too-large", f"{size} bytes; a bank file has at most {MAX_BYTES}", "", at))
            return None
        content = path.read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        faults.append(_about(name, "no-file", f"it cannot be read: {reason}", "", at))
        return None
    return _document(content, path, name, faults)


def _about(name: str, code: str, found: str, hint: str, at: Fault | None) -> Fault:
    if at is None:
        return Fault("", code, found, "", hint, Place(name, 1, 1))
    return Fault(at.path, code, f'found "{name}": {found}', at.expected, hint, at.place)


def _document(content: bytes, path: FilePath, name: str, faults: list[Fault]) -> Document | None:
    """Decode and parse; every way in which this can fail is a fault with its place."""
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as error:
        before = content[: error.start]
        line, start = before.count(b"\n") + 1, before.rfind(b"\n") + 1
        column = len(before[start:].decode("utf-8", errors="replace")) + 1
        found = f"found the byte 0x{content[error.start]:02x}: this is no UTF-8 text"
        faults.append(Fault("", "not-utf8", found, "", "Save the file as UTF-8", Place(name, line, column)))
        return None
    has_bom = text.startswith("\ufeff")
    text = text.removeprefix("\ufeff")
    long = next((i for i, line in enumerate(text.split("\n"), 1) if len(line) > MAX_LINE), None)
    if long is not None:
        faults.append(
            Fault("", "line-too-long", f"found a line of more than {MAX_LINE} characters", "", "", Place(name, long, 1))
        )
        return None
    deep = next((i for i, line in enumerate(text.split("\n"), 1) if _has_long_key(line)), None)
    if deep is not None:
        found = f"a key of more than {MAX_PARTS} parts: tables are nested more than {MAX_DEPTH} deep"
        faults.append(Fault("", "syntax", found, "", "", Place(name, deep, 1)))
        return None
    try:
        document = Document(text, path, digest_of(content), has_bom)
    except tomllib.TOMLDecodeError as error:
        faults.append(_syntax(str(error), text, name))
        return None
    except (RecursionError, ValueError) as error:  # ValueError: an integer of thousands of digits, an impossible date
        found = "tables or lists are nested too deep" if isinstance(error, RecursionError) else str(error)
        faults.append(Fault("", "syntax", found, "", "", Place(name, 1, 1)))
        return None
    if _too_deep(document.data):
        faults.append(
            Fault("", "syntax", f"tables or lists are nested more than {MAX_DEPTH} deep", "", "", Place(name, 1, 1))
        )
        return None
    return document


def _has_long_key(line: str) -> bool:
    """True for a dotted key of absurd length: it is told before it is parsed, which takes time by its square."""
    if line.count(".") <= MAX_PARTS or line.lstrip().startswith("#"):
        return False
    bare = _QUOTED.sub('""', line).partition("#")[0]
    return any(piece.count(".") > MAX_PARTS for piece in re.split(r"[={},]", bare))


def _too_deep(data: Any) -> bool:
    level = [data]
    for _ in range(MAX_DEPTH):
        level = [
            child
            for item in level
            for child in (item.values() if isinstance(item, dict) else item)
            if isinstance(child, (dict, list))
        ]
        if not level:
            return False
    return True


def _syntax(message: str, text: str, name: str) -> Fault:
    """Keep tomllib's own line and column, in our words."""
    match = _AT.search(message)
    lines = text.split("\n")
    line, column = (int(match[1]), int(match[2])) if match and match[1] else (len(lines), len(lines[-1]) + 1)
    words = _AT.sub("", message).strip()
    row = lines[line - 1].strip() if line <= len(lines) else ""
    shown = row if len(row) <= 60 else row[:57] + "..."
    found = f"no TOML from here on: {words[:1].lower()}{words[1:]}" + (f", in: {shown}" if shown else "")
    return Fault("", "syntax", found, "", _syntax_hint(words, row), Place(name, line, column))


def _syntax_hint(words: str, row: str) -> str:
    if re.match(r"^[\w.-]+\s*=\s*[\d.+-]+\s*[A-Za-z/%]", row) or re.match(r"^[\w.-]+\s*=\s*[A-Za-z]", row):
        return "A text stands in quotes"
    if "overwrite" in words.lower() or "twice" in words.lower() or "declare" in words.lower():
        return "A key or table may stand once; a list of entries is written with [[double brackets]]"
    return ""


def _follow(document: Document, name: str, found: Opened, chain: list[str], root: str) -> None:
    """Read the files that a document includes, and those that these include."""
    where = Whereabouts(document, name, {})
    for path, word in _includes(document):
        target = FilePath(os.path.join(document.path.parent, word))
        real = os.path.realpath(target) if "\0" not in word else ""
        fault = _refused(where, path, word, real in chain, _inside(real, root))
        if fault is None and len(found.included) >= MAX_INCLUDES:
            fault = where.fault(path, "include", f"more than {MAX_INCLUDES} files are included")
        if fault is not None:
            found.faults.append(fault)
            continue
        label = os.path.relpath(real, root)
        if label in found.included:
            continue
        child = _read(FilePath(real), label, found.faults, where.fault(path, "include", ""))
        if child is not None and sum(len(d.text) for d in (*found.included.values(), child)) > MAX_ALL:
            words = f"the included files hold more than {MAX_ALL // 1_000_000} MB together"
            found.faults.append(where.fault(path, "file-too-large", words))
            return
        if child is not None:
            found.included[label] = child
            _follow(child, label, found, [*chain, real], root)


def _inside(real: str, root: str) -> bool:
    return bool(real) and real.startswith(root.rstrip(os.sep) + os.sep)


def _refused(where: Whereabouts, path: Path, word: str, loops: bool, inside: bool) -> Fault | None:
    """An include that leads out of the folder, or back to itself."""
    if not inside:
        hint = "A file of kinds lies in the folder of the bank file or below it"
        return where.fault(path, "include-outside", f'found "{word}"', "", hint)
    if loops:
        found = f'found "{word}": the files include each other'
        return where.fault(path, "include-loop", found, "", "Remove one of the includes")
    return None


def _includes(document: Document) -> Iterator[tuple[Path, str]]:
    """Entries of the include list; anything that is no text is left to validation."""
    value = document.data.get("include")
    for i, word in enumerate(value if isinstance(value, list) else []):
        if isinstance(word, str) and word:
            yield ("include", i), word
