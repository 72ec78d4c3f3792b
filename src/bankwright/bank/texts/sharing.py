"""Kinds in a file of one's own, which several banks include: moved out of a bank file, comments and order kept.

Gives: moved_out(), Moved, KindClash.
Limits: texts only; who saves them saves the file of kinds first. A kind that stands there already with other values is
refused, one with the same values is only taken out of the bank file.
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.bank.file.document import Document
from bankwright.bank.file.toml_text import same

__all__ = ["KindClash", "Moved", "moved_out"]


class KindClash(ValueError):
    """A kind stands in both files with different values."""


@dataclass(frozen=True, slots=True)
class Moved:
    """Both files as they will be, and the kinds that moved."""

    bank: Document
    kinds: Document
    names: tuple[str, ...]


def moved_out(bank: Document, kinds: Document) -> Moved:
    """Move every kind of a bank file into a file of kinds in its folder or below; KindClash, EditRefused."""
    name = kinds.path.relative_to(bank.path.parent).as_posix()
    text, names = kinds.text, []
    for family, rows in dict(bank.data.get("kinds", {})).items():
        for kind in list(rows):
            path = ("kinds", family, kind)
            if kinds.has(path):
                if not same(kinds.value(path), bank.value(path)):
                    raise KindClash(f"{family} {kind} stands in {name} with other values; rename one of them")
                bank = bank.without_block(path)
            else:
                bank, piece = _cut(bank, path)
                text = f"{text.rstrip()}\n\n{piece.strip()}\n" if text.strip() else f"{piece.strip()}\n"
            names.append(f"{family} {kind}")
    included = [*bank.data.get("include", ())]
    if names and name not in included:
        bank = bank.with_value("include", [*included, name])
    return Moved(bank, Document(text, kinds.path, kinds.digest, kinds.has_bom), tuple(names))


def _cut(bank: Document, path: tuple[str, ...]) -> tuple[Document, str]:
    """The bank without a kind, and the lines that it stood on: what the two texts do not share."""
    after = bank.without_block(path)
    was, now = bank.text.splitlines(keepends=True), after.text.splitlines(keepends=True)
    head = next((k for k, (a, b) in enumerate(zip(was, now, strict=False)) if a != b), min(len(was), len(now)))
    tail = 0
    while tail < len(now) - head and was[-1 - tail] == now[-1 - tail]:
        tail += 1
    return after, "".join(was[head : len(was) - tail])
