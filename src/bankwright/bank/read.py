"""One bank file, read: text -> written form -> rules -> unfolded bank, or all faults at once.

Gives: read_bank(), bank_from(), BankFileError.
Limits: a syntax fault comes alone for its file; names are unfolded only when the file has no other fault.
"""

from __future__ import annotations

import os
from pathlib import Path as FilePath
from typing import Any

from bankwright.bank.file.document import Document
from bankwright.bank.file.includes import Opened, opened, parsed
from bankwright.bank.file.spans import Path
from bankwright.bank.file.whereabouts import Whereabouts
from bankwright.bank.model import Bank
from bankwright.bank.rules.every import broken_rules
from bankwright.bank.unfold.bank import unfolded
from bankwright.bank.written.alike import each_alone
from bankwright.bank.written.bank_file import Written, WrittenKinds
from bankwright.bank.written.kinds import Kinds
from bankwright.bank.written.told import Told
from bankwright.bank.written.validate import validated
from bankwright.forms.faults import Fault, QuestionError

__all__ = ["BankFileError", "bank_from", "bank_from_text", "faults_in", "read_bank"]


class BankFileError(QuestionError):
    """A bank file with faults; `.faults` holds all of them, with line and column."""


def read_bank(path: str | os.PathLike[str]) -> Bank:
    """Read a bank file and the kinds it includes; BankFileError with all faults."""
    where = FilePath(path)
    return _made(opened(where), where.name)


def bank_from(document: Document) -> Bank:
    """Take the bank of a document that is not saved yet; includes are read from where the document lives."""
    return bank_from_text(document.text, document.path)


def bank_from_text(text: str, path: FilePath) -> Bank:
    """Take the bank of a text as if it stood at `path`; BankFileError with all faults."""
    return _made(parsed(text, path), path.name)


def faults_in(text: str, path: FilePath) -> tuple[Fault, ...]:
    """All faults of a text as if it stood at `path`; none when it is right."""
    try:
        bank_from_text(text, path)
    except BankFileError as error:
        return error.faults
    return ()


def _made(files: Opened, name: str) -> Bank:
    if files.main is None:
        raise BankFileError(tuple(files.faults), name)
    told, faults = _told(files, name)
    faults = files.faults + faults + broken_rules(told)
    bank = None
    if not faults:
        bank, faults = unfolded(told)
    if bank is None or faults:
        raise BankFileError(_sorted(faults), name)
    return bank


def _sorted(faults: list[Fault]) -> tuple[Fault, ...]:
    return tuple(
        sorted(
            faults,
            key=lambda f: (f.place.file, f.place.line, f.place.column, f.path) if f.place else ("", 0, 0, f.path),
        )
    )


def _told(files: Opened, name: str) -> tuple[Told, list[Fault]]:
    """Validate each file for itself, then join their kinds."""
    assert files.main is not None
    alone = Whereabouts(files.main, name, {})
    written, holes, faults = validated(Written, files.main.data, alone)
    written = each_alone(written, holes)
    if any(
        fault.code in ("no-file", "syntax", "not-utf8", "file-too-large", "line-too-long") for fault in files.faults
    ):
        holes.nameless = True  # what a missing file holds is not blamed on those who refer to it
    kinds: dict[str, dict[str, Any]] = {key: dict(getattr(written.kinds, key)) for key in Kinds.model_fields}
    owners: dict[Path, tuple[Document, str]] = {}
    for label, document in files.included.items():
        where = Whereabouts(document, label, {})
        part, part_holes, part_faults = validated(WrittenKinds, document.data, where)
        faults += part_faults
        holes.names |= part_holes.names
        holes.nameless |= part_holes.nameless
        faults += _joined(kinds, part.kinds, Whereabouts(files.main, name, dict(owners)), where)
        owners |= {("kinds", key, n): (document, label) for key in Kinds.model_fields for n in getattr(part.kinds, key)}
    merged = Kinds.model_construct(None, **kinds)
    return Told(written, merged, holes, Whereabouts(files.main, name, owners)), faults


def _joined(kinds: dict[str, dict[str, Any]], part: Kinds, before: Whereabouts, where: Whereabouts) -> list[Fault]:
    faults = []
    for key, known in kinds.items():
        for name, kind in getattr(part, key).items():
            path = ("kinds", key, name)
            if name in known:
                other = before.place(path)
                faults.append(
                    Fault(
                        ".".join(path),
                        "double-name",
                        f'the kind "{name}" is also given in {other.file}, line {other.line}',
                        "",
                        "Give a kind once",
                        where.place(path),
                        other,
                    )
                )
            known.setdefault(name, kind)
    return faults
