"""The door of the faces: what is known and missing of each kind of a bank; kinds moved to a file of their own.

Gives: KindSheet, kind_sheets(), share().
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bankwright.bank.file.document import ChangedOutside, Document, EditRefused
from bankwright.bank.file.toml_text import value_text
from bankwright.bank.texts.sharing import KindClash, moved_out
from bankwright.forms.faults import Fault, QuestionError
from bankwright.job import Job
from bankwright.job.asking import open_questions
from bankwright.plan.lists.asked import Asked

__all__ = ["KindSheet", "kind_sheets", "share"]

_USERS = {"module": "modules", "device": "devices", "inverter": "inverters", "charger": "chargers"}
_USERS |= {"rack": "racks", "solar": "arrays"}


@dataclass(frozen=True, slots=True)
class KindSheet:
    """One kind: where it stands, who is of it, what is known (key, value as written), what is asked of it."""

    family: str
    name: str
    file: str
    users: tuple[str, ...]
    known: tuple[tuple[str, str], ...]
    missing: tuple[Asked, ...]


def kind_sheets(job: Job) -> tuple[KindSheet, ...]:
    """Every kind that the bank or its included files give, in the order of the files."""
    open_ = open_questions(job)
    found: dict[tuple[str, str], Document] = {}
    for document in (job.document, *_included(job)):
        for family, rows in document.data.get("kinds", {}).items():
            for name in rows:
                found.setdefault((family, name), document)
    return tuple(_sheet(job, family, name, document, open_) for (family, name), document in found.items())


def _included(job: Job) -> tuple[Document, ...]:
    names = job.document.data.get("include", ())
    return tuple(Document.read(job.path.parent / str(name)) for name in names)


def _sheet(job: Job, family: str, name: str, document: Document, open_: tuple[Asked, ...]) -> KindSheet:
    rows = job.document.data.get(_USERS.get(family, ""), ())
    users = tuple(str(row["name"]) for row in rows if row.get("kind") == name)
    if family == "module":  # an entry may stand for several
        users = tuple(module.name for module in job.bank.modules if module.kind.name == name)
    missing = tuple(q for q in open_ if q.kind == f"{family} {name}")
    known = tuple(_flat(document.value(("kinds", family, name))))
    return KindSheet(family, name, document.path.name, users, known, missing)


def _flat(table: dict[str, Any], before: str = "") -> list[tuple[str, str]]:
    made: list[tuple[str, str]] = []
    for key, value in table.items():
        said = f"{before}{key}".replace("_", " ")
        made += _flat(value, f"{said} ") if isinstance(value, dict) else [(said, _plain(value))]
    return made


def _plain(value: Any) -> str:
    return value if isinstance(value, str) else value_text(value)


def share(job: Job, kinds_file: Path) -> tuple[str, ...]:
    """Move the kinds of a bank into a file that several banks include; the kinds that moved. QuestionError."""
    kinds = Document.read(kinds_file) if kinds_file.exists() else Document("", kinds_file)
    try:
        moved = moved_out(job.document, kinds)
        if moved.names:
            moved.kinds.save(kinds.digest)
            moved.bank.save(job.document.digest)
    except (KindClash, EditRefused, ChangedOutside, OSError) as error:
        raise QuestionError((Fault("--into", "not-moved", str(error)),)) from error
    except ValueError as error:
        found = f"{kinds_file} does not lie in the folder of {job.path.name} or below it"
        raise QuestionError((Fault("--into", "elsewhere", found),)) from error
    return moved.names
