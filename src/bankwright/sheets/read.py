"""A data sheet becomes proposals: for each key a value with its line, or a question with what it might be.

Gives: KINDS, Proposals, proposals_of_pdf(), proposals_of_text().
Takes: the path of a PDF or the text of a sheet; the kind, or none to have it guessed.
Limits: proposals only; a person confirms each. Sheets of sunlight modules and of anything else that is no kind of the
bank file are not read.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from bankwright.sheets.answer import Answer
from bankwright.sheets.concepts import ideas
from bankwright.sheets.doubt import doubt_of, doubted
from bankwright.sheets.foreign import no_kind
from bankwright.sheets.layout import sheet_of_pages
from bankwright.sheets.paper import NotReadable, read_pages
from bankwright.sheets.pasted import sheet_of_text
from bankwright.sheets.row import Row, Sheet
from bankwright.sheets.rules import breaker, charger, device, inverter, module, module_body, module_short
from bankwright.sheets.view import Look, models_of, view
from bankwright.sheets.weigh import weighed

__all__ = ["KINDS", "NotReadable", "Proposals", "proposals_of_pdf", "proposals_of_text"]

KINDS: Mapping[str, Mapping[str, Callable[[Look], Answer | None]]] = {
    "module": {**module.RULES, **module_body.RULES, **module_short.RULES, **breaker.INSIDE},
    "inverter": inverter.INVERTER,
    "charger": charger.CHARGER,
    "device": device.RULES,
}
TOP = 5  # rows that may say what a sheet is of; a footer may stand before
TITLE = 90  # letters of a line at the top that say what it is of
LEAST = 2  # answers below which nothing was understood
_TOKENS = {
    "module": ("capacity", "cell", "discharge", "parallel", "energy", "series"),
    "inverter": ("inverter", "efficiency", "ac", "solar", "phases", "frequency", "surge", "charger"),
    "charger": ("charger",),
    "device": ("fuse", "breaker", "disconnect", "shunt", "interrupt", "melting", "clearing", "i2t"),
}


@dataclass(frozen=True, slots=True)
class Proposals:
    """What a sheet says, of each model: key of the kind to answer; `models` has one entry "" for a sheet of one."""

    kind: str
    title: str
    models: dict[str, dict[str, Answer]]


def proposals_of_pdf(path: Path, kind: str = "") -> Proposals:
    """Read a PDF.

    Raises NotReadable when it has no text or nothing in it is understood.
    """
    return _proposals(sheet_of_pages(read_pages(path)), kind)


def proposals_of_text(text: str, kind: str = "") -> Proposals:
    """Read pasted text.

    Raises NotReadable when nothing in it is understood.
    """
    if not text.strip():
        raise NotReadable("Nothing was pasted: the text is empty")
    return _proposals(sheet_of_text(text), kind)


def _proposals(sheet: Sheet, kind: str) -> Proposals:
    against = "" if kind else no_kind(sheet)
    if against:
        raise NotReadable(against)
    kind = kind or guessed(sheet)
    names = models_of(sheet) or ("",)
    models = {name: _of_model(sheet, kind, name) for name in names}
    if max(len(found) for found in models.values()) < LEAST:
        raise NotReadable(f"Nothing of a {kind} was found in it. Is it the sheet of another kind (--kind)?")
    return Proposals(kind, sheet.title, models)


def _of_model(sheet: Sheet, kind: str, model: str) -> dict[str, Answer]:
    look = view(sheet, model, kind)
    told = ((key, rule(look)) for key, rule in KINDS[kind].items())
    answers = {key: answer for key, answer in told if answer is not None}
    return doubted(answers | weighed(look, kind, answers), doubt_of(look), look)


def _opening(row: Row) -> str:
    """What a row begins with: its line, or the first part of its first sentence."""
    return re.split(r"(?<=[^\W\d_]{3})[.;]\s", row.line or row.label)[0][:TITLE]


def guessed(sheet: Sheet) -> str:
    """The kind whose words the sheet uses most, its first lines counted more."""
    look = view(sheet)
    counts = dict.fromkeys(_TOKENS, 0.0)
    for n, seen in enumerate(look.rows):
        weight = 3.0 if n < 4 else 1.0
        for kind, words in _TOKENS.items():
            counts[kind] += weight * len(seen.own & set(words)) / len(set(words))
    told = {idea for seen in look.rows[:4] for idea in seen.own}
    counts["device"] += 1.5 * bool(told & {"fuse", "breaker", "disconnect", "shunt"})
    counts["inverter"] += 1.5 * ("inverter" in told)
    counts["module"] += 1.0 * ("module" in told) + 1.0 * ("capacity" in told)
    title = {idea for row in sheet.rows[:TOP] for idea in ideas(_opening(row))}
    other = {"capacity", "cell", "inverter"} & title or any("inverter" in seen.own for seen in look.rows)
    if "charger" in title and not other:
        counts["inverter"], counts["charger"] = 0.0, counts["charger"] + 3.0
    elif "charger" not in title or counts["inverter"] > 2.0:
        counts["charger"] = 0.0
    return max(counts, key=lambda kind: counts[kind])
