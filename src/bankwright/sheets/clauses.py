"""Running text in clauses: sentences, and the parts of one that say several things.

Gives: parts_of().
Takes: a paragraph.
Limits: marks and little words, no grammar. A sentence is cut where it has three parts, where two parts have a value of
one dimension each, or where it speaks of charge and of discharge; "between 40 V and 60 V" is a range first.
"""

from __future__ import annotations

import re

from bankwright.sheets.concepts import direction, ideas
from bankwright.sheets.measures import Marks, measures

__all__ = ["parts_of"]

_BETWEEN = re.compile(
    r"(?:between|zwischen|entre|tra|fra|tussen|mellan|mellem|między|pomiędzy|mezi)\s+(\S+\s*\S*?)\s+(?:and|und|et|y|e|en|och|og|a|i)\s+"
    r"(?=[−–-]?\+?\d)",
    re.IGNORECASE,
)
_ENDS = re.compile(r"(?<=[^\W\d_]|[)%Ω])\.\s+|(?<=\d)\.\s+(?=[A-ZÀ-Ý])|;\s+")
_CLAUSES = re.compile(r",\s+(?=[^\W\d_])|\s+(?:and|und|et|y|e|och|og|oraz|ale|but|aber|mais|pero|ma|maar|men)\s+")
_DUTCH = re.compile(r"\b(?:het|een|van|wordt|bij)\b", re.IGNORECASE)
_POLISH = re.compile(r"[ąęłśżźćń]", re.IGNORECASE)
_CLAUSES_DUTCH = re.compile(_CLAUSES.pattern.replace("|och", "|en|och"))
_CLAUSES_POLISH = re.compile(_CLAUSES.pattern.replace("|och", "|i|a|och"))


def parts_of(text: str) -> tuple[str, ...]:
    """The clauses of a paragraph, in order."""
    made: list[str] = []
    for sentence in _ENDS.split(_BETWEEN.sub(r"\1 to ", text)):
        made += _cut(sentence)
    return tuple(part for part in made if part.strip())


def _cut(sentence: str) -> list[str]:
    cut = _CLAUSES_DUTCH if _DUTCH.search(sentence) else _CLAUSES_POLISH if _POLISH.search(sentence) else _CLAUSES
    parts = [part for part in cut.split(sentence) if part.strip()]
    both = {"charge", "discharge"} <= ideas(sentence) or len({direction(part) for part in parts} - {""}) > 1
    if both or len(parts) > 2 or (len(parts) == 2 and _alike(*parts)):
        return parts
    return [sentence]


def _alike(one: str, other: str) -> bool:
    """Whether both parts have one value, of one dimension, and the second says in words what it is of."""
    found = [[m for m in measures(part, Marks()) if m.dimension not in ("count", "time")] for part in (one, other)]
    if len(found[0]) != 1 or len(found[1]) != 1 or found[0][0].dimension != found[1][0].dimension:
        return False
    return bool(re.search(r"[^\W\d_]{4}", other[: found[1][0].start]))
