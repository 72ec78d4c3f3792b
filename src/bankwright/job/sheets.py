"""The door of the faces: a data sheet's proposals for a kind, and the one that a person confirmed into the bank file.

Gives: the names in __all__; made here: kinds_of(), offers_of(), proposed_of(), proposed_of_text(),
shown(), standing(), taken(), sheet_document().
Limits: nothing enters a file that was not confirmed value by value; what is confirmed is proved as any edit is.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from bankwright.bank.file.document import Document
from bankwright.bank.file.spans import Path as KeyPath
from bankwright.bank.file.spans import path_of
from bankwright.bank.file.toml_text import value_text
from bankwright.bank.talk.of_key import box_of, home_of
from bankwright.bank.talk.talk import Offer
from bankwright.bank.texts.shelf import ANSWERS
from bankwright.job import Job
from bankwright.job.asking import saved
from bankwright.sheets.answer import Answer, Ask, Said, Spot, Value
from bankwright.sheets.read import KINDS, NotReadable, Proposals, proposals_of_pdf, proposals_of_text

__all__ = [
    "KINDS",
    "Answer",
    "Ask",
    "NotReadable",
    "Proposals",
    "Said",
    "Spot",
    "Value",
    "kinds_of",
    "offers_of",
    "proposed_of",
    "proposed_of_text",
    "sheet_document",
    "shown",
    "standing",
    "taken",
]

FORMAT = "bankwright.data-sheet/1"
_QUESTIONS = {  # of the first conversation, and the key of a kind that answers it
    asked: f"{family}.{'.'.join(path)}" for family, rows in ANSWERS.items() for asked, path in rows.items()
}
MOST_BYTES = 40_000_000


def proposed_of(path: Path, kind: str = "") -> Proposals:
    """Read a PDF, or a text file as pasted text.

    Raises NotReadable with what stands against it.
    """
    try:
        with path.open("rb") as file:
            head = file.read(8)
        size = path.stat().st_size
    except OSError as error:
        raise NotReadable(f"{path} cannot be read: {error.strerror or error}") from error
    if path.suffix.lower() == ".toml":
        raise NotReadable(f"{path} is a bank file or another written one, no maker's sheet")
    if size > MOST_BYTES:
        raise NotReadable(f"{path} has {size / 1e6:.0f} MB; a data sheet has at most {MOST_BYTES / 1e6:.0f}")
    if head.startswith(b"%PDF"):
        return proposals_of_pdf(path, kind)
    if head.startswith((b"\x89PNG", b"\xff\xd8", b"GIF8", b"RIFF", b"II*\0", b"MM\0*")):
        raise NotReadable("It is only a picture (an image): it holds no text that could be read. Type the values")
    return proposals_of_text(_text_of(path), kind)


def _text_of(path: Path) -> str:
    content = path.read_bytes()
    if b"\0" in content[:4000] and not content.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise NotReadable(f"{path} is neither a PDF nor text")
    for encoding in ("utf-8-sig", "utf-16" if content[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8", "cp1252"):
        try:
            return content.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise NotReadable(f"{path} is neither a PDF nor text")


def offers_of(found: Proposals) -> tuple[Offer, ...]:
    """What a sheet of one model says to the questions of the first conversation."""
    answers = next(iter(found.models.values())) if len(found.models) == 1 else {}
    made = []
    for asked, where in _QUESTIONS.items():
        family, _, key = where.partition(".")
        answer = answers.get(key) if family == found.kind else None
        if answer is None:
            continue
        choices = (answer,) if isinstance(answer, Said) else answer.choices
        lines = dict.fromkeys(choice.spot.line for choice in choices)
        made.append(Offer(asked, tuple(shown(choice.value) for choice in choices), "; ".join(lines)[:300]))
    return tuple(made)


def proposed_of_text(text: str, kind: str = "") -> Proposals:
    """Read pasted text.

    Raises NotReadable with what stands against it.
    """
    return proposals_of_text(text, kind)


def shown(value: Value) -> str:
    """A value as the bank file writes it."""
    return value_text(value) if not isinstance(value, str) else value


def kinds_of(job: Job, family: str) -> tuple[str, ...]:
    """Names of the kinds of a family that the bank file or its included files give."""
    return tuple(name for name in job.document.data.get("kinds", {}).get(family, {}))


def standing(job: Job, family: str, name: str, key: str) -> str:
    """What the file says of a key now; empty when it says nothing."""
    where = _path(family, name, key)
    home = home_of(job.document, ".".join(str(part) for part in where[:3]))
    try:
        return str(shown(home.value(where)))
    except KeyError:
        return ""


def taken(job: Job, family: str, name: str, values: Mapping[str, Value]) -> tuple[Job | None, str]:
    """Write confirmed values of a kind: the job after it; or None and why nothing was written."""
    after, fault = saved(job, lambda document: _with(document, family, name, values))
    return after, f"{', '.join(values)}: {fault}" if fault else ""


def _with(document: Document, family: str, name: str, values: Mapping[str, Value]) -> Document:
    top: KeyPath = ("kinds", family, name)
    made = home_of(document, ".".join(str(part) for part in top))
    if not made.has(top):
        first, *rest = values.items()
        head, _, leaf = first[0].rpartition(".")
        where = (*top, *path_of(head)) if head else top
        made = made.with_table(where, {leaf: _typed(made, family, name, *first)})
        values = dict(rest)
    for key, value in values.items():
        made = made.with_value(_path(family, name, key), _typed(made, family, name, key, value))
    return made


def _path(family: str, name: str, key: str) -> KeyPath:
    return ("kinds", family, name, *path_of(key))


def _typed(document: Document, family: str, name: str, key: str, value: Value) -> Any:
    """A value as the file's form wants it: whole numbers as such."""
    if not isinstance(value, str) or not value.isdecimal():
        return value
    box = box_of(f"kinds.{family}.{name}.{key}", document)
    counts = box is not None and (
        box.words.startswith("whole number") or box.words[:1].isdigit() or box.words == "one of"
    )
    return int(value) if counts else value


def sheet_document(found: Proposals | None, refused: str = "") -> dict[str, Any]:
    """The JSON document: `proposals` of a sheet of one model, `models` of several, or `refused` with the reason."""
    told: dict[str, Any] = {
        "format": FORMAT,
        "kind": "",
        "title": "",
        "proposals": {},
        "models": {},
        "refused": refused,
    }
    if found is None:
        return told
    models = {name: {key: _answer(a) for key, a in answers.items()} for name, answers in found.models.items()}
    told |= {"kind": found.kind, "title": found.title}
    return told | ({"proposals": models[""]} if "" in models else {"models": models})


def _answer(answer: Answer) -> dict[str, Any]:
    if isinstance(answer, Said):
        return _said(answer)
    return {"ask": [_said(choice) for choice in answer.choices], "why": answer.why}


def _said(said: Said) -> dict[str, Any]:
    where = {"page": said.spot.page, "line_no": said.spot.line_no}
    return {"value": said.value, "line": said.spot.line, **{key: at for key, at in where.items() if at is not None}}
