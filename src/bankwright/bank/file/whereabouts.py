"""Which file, line and column a path of the bank file stands at, over the bank file and the kinds it includes.

Gives: Whereabouts: place(), all_places(), kind_owner.
A path that is not written is placed at its nearest written parent.
Limits: offsets come from bank/file/spans; nothing is read here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bankwright.bank.file.document import Document
from bankwright.bank.file.spans import Path, Span, path_text
from bankwright.forms.faults import Fault
from bankwright.forms.origin import FileKey, Place

__all__ = ["Whereabouts"]


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """The bank file's document, and for each kind from an included file the document that holds it."""

    main: Document
    name: str  # the bank file as it was named
    included: Mapping[Path, tuple[Document, str]]  # ("kinds", "lug", "lug-M8") -> document, name

    def _holder(self, path: Path) -> tuple[Document, str]:
        return self.included.get(path[:3], (self.main, self.name))

    def place(self, path: Path) -> Place:
        """Place of a path, or of its nearest written parent; line 1 when the file has none of it."""
        document, name = self._holder(path)
        span = document.spans.nearest(path)
        line, column = document.spans.line_column(span.key) if span else (1, 1)
        return Place(name, line, column)

    def key(self, path: Path) -> FileKey:
        """The file key of a path, as origins carry it."""
        return FileKey(path_text(path), self.place(path))

    def fault(
        self, path: Path, code: str, found: str, expected: str = "", hint: str = "", *, also: Path | None = None
    ) -> Fault:
        """Make a fault at a path; `also` is the path of the other place."""
        other = None if also is None else self.place(also)
        return Fault(path_text(path), code, found, expected, hint, self.place(path), other)

    def line(self, path: Path) -> int:
        """Line of a path."""
        return self.place(path).line

    def all_places(self) -> dict[str, Place]:
        """Every written path with its place."""
        found = _places(self.main, self.name, self.main.spans.at)
        for kind, (document, name) in self.included.items():
            found |= _places(document, name, {p: s for p, s in document.spans.at.items() if p[:3] == kind})
        return found


def _places(document: Document, name: str, at: Mapping[Path, Span]) -> dict[str, Place]:
    return {path_text(path): Place(name, *document.spans.line_column(span.key)) for path, span in at.items()}
