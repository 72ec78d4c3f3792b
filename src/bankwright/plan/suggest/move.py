"""A change that Plan may try on a bank file.

Gives: Edit, Move. Limits: what a move does is found by checking the changed bank, never assumed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from bankwright.bank.file.document import Document

__all__ = ["Edit", "Move"]


@dataclass(frozen=True, slots=True)
class Edit:
    """One value to set; with `block`, a [[devices]] block to add."""

    path: str
    value: Any
    block: bool = False


@dataclass(frozen=True, slots=True)
class Move:
    """Edits that belong together, in words."""

    words: str
    edits: tuple[Edit, ...]
    group: str = ""  # what it is about: the file key of a cable, a device's name, "feed"

    def on(self, document: Document) -> Document:
        """Return the document with this move; EditRefused when the file cannot take it."""
        for edit in self.edits:
            made = document.with_block(edit.path, edit.value) if edit.block else None
            document = made or document.with_value(edit.path, edit.value)
        return document
