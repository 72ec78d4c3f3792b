"""The door of the faces: where the built manual is, and which of its pages answers a word.

Gives: manual_folder(), manual_page(). A wheel carries it as bankwright/manual; a checkout has it under out/manual once
`make manual` has run.
Limits: opening and serving it belong to the faces; the pages are made from docs/ by Sphinx.
"""

from __future__ import annotations

import re
from pathlib import Path
from urllib.parse import quote

from bankwright.forms.codes import code_of

__all__ = ["NO_MANUAL", "manual_folder", "manual_page"]

NO_MANUAL = "This installation holds no built manual. In a checkout `make manual` builds it; a wheel always has it."
_PACKAGE = Path(__file__).parents[1]


def manual_folder() -> Path | None:
    """The folder of the built manual; None where this installation has none."""
    for folder in (_PACKAGE / "manual", _PACKAGE.parents[1] / "out" / "manual"):
        if (folder / "index.html").is_file():
            return folder
    return None


def manual_page(folder: Path, word: str = "") -> str:
    """The page for a word, within the manual: a check's code or place, a command, a page; else the search for it."""
    word = " ".join(word.split())
    if not word:
        return "index.html"
    code = code_of(word)
    if code is not None:
        return f"checks.html#{code.lower()}"
    name = re.sub(r"[^a-z0-9-]", "-", word.lower())
    for room in ("", "how-to/", "explanation/", "tutorial/", "developers/"):
        if (folder / f"{room}{name}.html").is_file():
            return f"{room}{name}.html"
    if f'id="bankwright-{name}"' in (folder / "commands.html").read_text("utf-8"):
        return f"commands.html#bankwright-{name}"
    return f"search.html?q={quote(word)}"
