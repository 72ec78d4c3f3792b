"""The conversation kept beside the bank file that it will become, so that it can be left and gone on with.

Gives: kept_path(), kept(), keep(), forget(). One small text file `NAME.answers`, the same for terminal and page.
Limits: it is no bank file; it goes when the bank is written.
"""

from __future__ import annotations

import contextlib
from pathlib import Path

from bankwright.bank.talk.talk import Talk
from bankwright.bank.talk.text import as_text, from_text
from bankwright.forms.disk import write_whole

__all__ = ["forget", "keep", "kept", "kept_path"]

MOST = 65_536  # bytes that are looked at


def kept_path(bank_file: Path) -> Path:
    """Where the answers to a bank that is not written yet are kept."""
    return bank_file.with_name(bank_file.name + ".answers")


def kept(bank_file: Path) -> Talk:
    """The conversation as it was left; a new one where there is none that reads."""
    try:
        with kept_path(bank_file).open("rb") as file:
            return from_text(file.read(MOST).decode("utf-8"))
    except (OSError, UnicodeDecodeError):
        return Talk()


def keep(bank_file: Path, talk: Talk) -> None:
    """Keep it; OSError where the folder takes no file."""
    write_whole(kept_path(bank_file), as_text(talk).encode())


def forget(bank_file: Path) -> None:
    """Let it go."""
    with contextlib.suppress(OSError):
        kept_path(bank_file).unlink()
