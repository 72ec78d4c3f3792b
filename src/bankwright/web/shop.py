"""The shopping file beside the bank file, and the parts list counted with it.

Gives: Shop: path, read(), listing(), set_number(), add_reel(), drop_reel(). `barn.toml` -> `barn.shopping.toml`,
made when something is first entered; the same file that `bankwright buy --have` reads.
Limits: counting is in buy/parts; what was ticked off stands in the logbook.
"""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

from bankwright.forms.faults import Fault, QuestionError
from bankwright.job import Job
from bankwright.job.buying import DEFAULT, PartsList, Shopping, parts, read_shopping
from bankwright.job.file import ChangedOutside, Document

__all__ = ["Shop"]


class Shop:
    """What is known of stock and prices, and the list counted with it, kept until either changes."""

    def __init__(self, bank_file: Path) -> None:
        """Prepare; nothing is read yet."""
        self.path = bank_file.with_name(f"{bank_file.stem}.shopping.toml")
        self._lock = threading.RLock()
        self._kept: tuple[Any, PartsList] | None = None

    def read(self) -> Shopping:
        """The shopping file; QuestionError with its faults."""
        try:
            return read_shopping(self.path.read_text("utf-8"), self.path.name)
        except FileNotFoundError:
            return DEFAULT
        except (OSError, UnicodeDecodeError) as error:
            raise QuestionError((Fault("", "no-file", f"{self.path.name} cannot be read: {error}"),)) from error

    def listing(self, job: Job) -> PartsList:
        """The parts list of a bank with this stock."""
        with self._lock:
            try:
                stamp: Any = (job.bank.digest, self.path.stat().st_mtime_ns)
            except OSError:
                stamp = (job.bank.digest, None)
            if self._kept is None or self._kept[0] != stamp:
                self._kept = (stamp, job.parts if stamp[1] is None else parts(job.bank, self.read()))
            return self._kept[1]

    def _document(self) -> Document:
        if self.path.exists():
            self.read()  # its faults come first, all of them
            return Document.read(self.path)
        head = "# What is there already, reels and prices. Items are named as in the parts list.\n"
        return Document(head, self.path)

    def _save(self, made: Document, job: Job) -> None:
        """Write, if the list can be counted with it."""
        shopping = read_shopping(made.text, self.path.name)
        listing = parts(job.bank, shopping)
        try:
            made.save()
        except (ChangedOutside, OSError) as error:
            raise QuestionError((Fault("", "not-written", str(error)),), self.path.name) from error
        self._kept = ((job.bank.digest, self.path.stat().st_mtime_ns), listing)

    def set_number(self, table: str, item: str, number: float | None, job: Job) -> None:
        """Set `have` or `price` of an item; None takes it out."""
        with self._lock:
            document = self._document()
            if number is None:
                if document.has((table, item)):
                    self._save(document.without_value((table, item)), job)
                return
            value = int(number) if number == int(number) else number
            self._save(document.with_value((table, item), value), job)

    def add_reel(self, values: dict[str, Any], job: Job) -> None:
        """Write down a reel that can be bought, or that is there."""
        with self._lock:
            self._save(self._document().with_block("reel", values), job)

    def drop_reel(self, number: int, job: Job) -> None:
        """Take out a reel by its place in the file, counted from 0."""
        with self._lock:
            self._save(self._document().without_block(("reel", number)), job)
