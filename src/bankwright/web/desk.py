"""What the server holds of one bank file: the file as it is now, the last good bank, undo and redo, the logbook.

Gives: Desk, State, Edited. The file is the truth: it is looked at before every answer, an edit made outside is noticed
and never overwritten. Undo is a list of texts. An edit that would bring a new fault is not written.
Limits: one bank file a server; several threads may ask at once. Nothing is computed here but through bankwright.job.
"""

from __future__ import annotations

import ctypes
import os
import threading
import tomllib
from collections import OrderedDict
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.finding import Finding
from bankwright.forms.grouping import in_order
from bankwright.job import Job
from bankwright.job.file import MAX_BYTES, BankFileError, ChangedOutside, Document, EditRefused, digest_of, path_of
from bankwright.job.logs import Logbook, logbook_path, open_logbook
from bankwright.job.planning import SCATTERED
from bankwright.web.shop import Shop

__all__ = ["Conflict", "Desk", "Edited", "Found", "State", "changed", "toml_value"]

KEPT_TEXTS = 40
KEPT_UNDO = 500  # edits that can be taken back
WARM_AFTER = 0.3  # s after a text was first shown: its answer goes first
_UNREAD = ("syntax", "not-utf8", "no-file", "file-too-large", "line-too-long")  # then the file is not parsed at all


class Conflict(QuestionError):
    """The file on disk is not the one that the page shows; nothing was written."""


@dataclass(frozen=True, slots=True)
class State:
    """The file as it is now. `job` is None while the file has faults; `good` is the last bank without."""

    digest: str  # "" while there is no file
    text: str
    document: Document | None  # None: no TOML
    job: Job | None
    faults: tuple[Fault, ...]
    saved: datetime | None
    good: Job | None
    good_when: datetime | None
    outside: datetime | None  # another program saved the file after this page was opened
    undo: int
    redo: int

    @property
    def shown(self) -> Job | None:
        """The bank that can be shown: of the file, or of its last good text."""
        return self.job or self.good


@dataclass(frozen=True, slots=True)
class Edited:
    """What an edit came to: the faults it would bring (then nothing was written), and the job of the edited text."""

    faults: tuple[Fault, ...]
    job: Job | None
    saved: bool


@dataclass(frozen=True, slots=True)
class Found:
    """Findings; `pending`: the scatter is still computed, its findings are those of `dated`, if there were any."""

    findings: tuple[Finding, ...]
    dated: datetime | None
    pending: bool


class Desk:
    """The one desk of a server."""

    def __init__(self, path: Path) -> None:
        """Prepare; nothing is read yet."""
        self.path = path
        self._lock = threading.RLock()
        self._stat: tuple[int, int, int] | None = None
        self._state: State | None = None
        self._undo: list[str] = []
        self._redo: list[str] = []
        self._own: str | None = None  # digest of what this desk saved last
        self._texts: OrderedDict[str, str] = OrderedDict()
        self._book: Logbook | None = None
        self.shop = Shop(path)
        self.before_outside: str | None = None  # what the page showed before another program saved
        self._tried: tuple[str, Job] | None = None
        self._full: tuple[tuple[Finding, ...], datetime] | None = None
        self._full_of: Job | None = None
        self._to_warm: Job | None = None
        self._warming = False

    # --- the file

    def look(self) -> State:
        """The file as it is on disk this moment."""
        with self._lock:
            stat = _stat_of(self.path)
            if self._state is None or stat != self._stat:
                self._stat = stat
                self._state = self._read(self._state)
            return replace(self._state, undo=len(self._undo), redo=len(self._redo))

    def text_of(self, digest: str) -> str | None:
        """A text that was shown in this sitting, by its digest."""
        return self._texts.get(digest)

    def _read(self, before: State | None) -> State:
        if self._stat is not None and not self.path.is_file():  # a pipe would be waited for without end
            fault = Fault("", "no-file", f"{self.path.name} is no file")
            return self._faulty("?", "", None, (fault,), before)
        try:
            content = self.path.read_bytes() if self._stat is not None else b""
        except OSError as error:
            fault = Fault("", "no-file", f"{self.path.name} cannot be read: {error.strerror}")
            return self._faulty("?", "", None, (fault,), before)
        digest = digest_of(content) if self._stat is not None else ""
        if before is not None and digest == before.digest:
            return replace(before, saved=self._saved())
        if before is not None and digest != self._own:  # somebody else: their text ends the list of undo
            self._undo, self._redo = [], []
            self.before_outside = before.text
            before = replace(before, outside=datetime.now().astimezone())
        if len(content) > MAX_BYTES:
            fault = Fault("", "file-too-large", f"{self.path.name} holds more than {MAX_BYTES // 1000} kB")
            return self._faulty(digest, "", None, (fault,), before)
        text = content.decode("utf-8", "replace").removeprefix("\ufeff")
        self._remember(digest, text)
        if self._stat is None:
            return self._faulty("", "", None, (), before)
        return self._judged(digest, text, before)

    def _judged(self, digest: str, text: str, before: State | None) -> State:
        job = Job(self.path)
        try:
            _ = job.bank
        except BankFileError as error:
            document = None if any(f.code in _UNREAD for f in error.faults) else self._document()
            return self._faulty(digest, text, document, error.faults, before)
        now = datetime.now().astimezone()
        outside = before.outside if before else None
        state = State(digest, text, job.document, job, (), self._saved(), job, now, outside, 0, 0)
        self._begin_warm(job)
        return state

    def _document(self) -> Document | None:
        try:
            return Document.read(self.path)
        except (OSError, ValueError):
            return None

    def _faulty(
        self, digest: str, text: str, document: Document | None, faults: tuple[Fault, ...], before: State | None
    ) -> State:
        good, when, outside = (before.good, before.good_when, before.outside) if before else (None, None, None)
        return State(digest, text, document, None, faults, self._saved(), good, when, outside, 0, 0)

    def _saved(self) -> datetime | None:
        return None if self._stat is None else datetime.fromtimestamp(self._stat[0] / 1e9).astimezone()

    def _remember(self, digest: str, text: str) -> None:
        self._texts[digest] = text
        while len(self._texts) > KEPT_TEXTS:
            self._texts.popitem(last=False)

    def _begin_warm(self, job: Job) -> None:
        """Compute the findings beside the answer, so that the next page has them; always those of the newest job."""
        self._to_warm = job
        if not self._warming:
            self._warming = True
            self._warm_soon()

    def _warm_soon(self) -> None:
        timer = threading.Timer(WARM_AFTER, self._warm)
        timer.daemon = True
        timer.start()

    def _warm(self) -> None:
        """One at a time: who edits fast is not followed through every step."""
        job, self._to_warm = self._to_warm, None
        with suppress(Exception):  # whoever asks for them is told
            if job is not None:
                _ = job.findings
        del job
        _give_back()
        with self._lock:
            self._warming = self._to_warm is not None
        if self._warming:
            self._warm_soon()

    def findings(self, job: Job) -> Found:
        """The findings of a job as far as they are computed; what waits for the scatter stands dated until then."""
        if "findings" in vars(job):
            self._full = (job.findings, datetime.now().astimezone()) if self._full_of is not job else self._full
            self._full_of = job
            return Found(job.findings, None, False)
        quick = job.quick_findings
        if self._full is None:
            return Found(quick, None, True)
        old, when = self._full
        dated = tuple(f for f in old if f.code in SCATTERED and all(name in job.bank for name in f.at))
        return Found(in_order((*quick, *dated)), when, True)

    # --- edits

    def tried(self, change: Callable[[Document], Document]) -> Edited:
        """What an edit would come to; nothing is written."""
        with self._lock:
            state = self.look()
        if state.document is None:
            raise QuestionError((Fault("", "no-toml", "the file cannot be read as TOML; mend it in an editor first"),))
        try:
            made = change(state.document)
        except (EditRefused, KeyError, ValueError) as error:
            raise QuestionError((Fault("", "edit-refused", str(error).strip("'\"")),)) from error
        held = self._tried
        if held is not None and held[0] == made.text:  # what was typed is what is written now
            return Edited((), held[1], False)
        known = {(f.path, f.code, f.found) for f in state.faults}
        job = Job(self.path, made.text)
        try:
            _ = job.bank
        except BankFileError as error:
            return Edited(tuple(f for f in error.faults if (f.path, f.code, f.found) not in known), None, False)
        self._tried = (made.text, job)
        return Edited((), job, False)

    def edit(self, change: Callable[[Document], Document], digest: str) -> Edited:
        """Write an edit; Conflict when the file is not the one of `digest`. An edit with a new fault is not written."""
        with self._lock:
            state = self.look()
            if state.digest != digest:
                raise self._conflict()
            edited = self.tried(change)
            if edited.faults or state.document is None:
                return edited
            made = change(state.document)
            if made.text != state.text:
                saved = self._save(made, state)
                self._keep_undo(state.text)
                self._adopt(saved, edited.job)
            return replace(edited, saved=True)

    def write_text(self, text: str, digest: str) -> None:
        """Write a whole text (a suggestion); the one before can be had back by undo."""
        with self._lock:
            state = self.look()
            if state.digest != digest:
                raise self._conflict()
            self._save(self._with_text(state, text), state)
            self._keep_undo(state.text)

    def step_back(self, digest: str, forward: bool = False) -> bool:
        """Undo, or redo; False when there is nothing to take."""
        with self._lock:
            state = self.look()
            if state.digest != digest:
                raise self._conflict()
            source, target = (self._redo, self._undo) if forward else (self._undo, self._redo)
            if not source:
                return False
            self._save(self._with_text(state, source[-1]), state)
            source.pop()
            target.append(state.text)
            return True

    def _keep_undo(self, text: str) -> None:
        self._undo = [*self._undo[1 - KEPT_UNDO :], text]
        self._redo = []

    def begin(self, document: Document) -> None:
        """Write the first text of a file that is not there; ChangedOutside when it is."""
        with self._lock:
            self._own = digest_of(document.as_bytes())
            document.save()

    def _with_text(self, state: State, text: str) -> Document:
        if state.document is not None:
            return Document(text, self.path, state.digest, state.document.has_bom)
        return Document(text, self.path, state.digest)

    def _adopt(self, saved: Document, job: Job | None) -> None:
        """Show what was just written without reading it again."""
        stat = _stat_of(self.path)
        if job is None or stat is None or self._state is None:
            return
        self._stat, now = stat, datetime.now().astimezone()
        self._remember(saved.digest, saved.text)
        self._state = State(saved.digest, saved.text, saved, job, (), self._saved(), job, now, None, 0, 0)
        self._begin_warm(job)

    def _save(self, made: Document, state: State) -> Document:
        own = self._own
        self._own = digest_of(made.as_bytes())
        try:
            saved = made.save(state.digest)
            if self._state is not None:
                self._state = replace(self._state, outside=None)
            return saved
        except ChangedOutside as error:
            self._own = own
            raise self._conflict() from error
        except OSError as error:
            self._own = own
            fault = Fault("", "not-written", f"{self.path.name} cannot be written: {error.strerror}")
            raise QuestionError((fault,)) from error

    def _conflict(self) -> Conflict:
        found = f"{self.path.name} was saved by another program; nothing was overwritten"
        return Conflict((Fault("", "changed-outside", found, hint="Look at both, then enter it again"),), "")

    # --- the logbook

    def book(self, write: bool = False) -> Logbook | None:
        """The logbook beside the file; made when it is written to, None while there is none."""
        with self._lock:
            job = self.look().shown
            bank = job.bank if job else None
            if self._book is None and (write or logbook_path(self.path).exists()):
                self._book = open_logbook(self.path, bank)
            if self._book is not None:
                self._book.bank = bank
            return self._book

    def signature(self) -> tuple[Any, Any]:
        """Two values that change when the file, and when the logbook, changes on disk."""
        book = logbook_path(self.path)
        return _stat_of(self.path), (_stat_of(book), _stat_of(book.with_name(book.name + "-wal")))

    def close(self) -> None:
        """Close the logbook."""
        with self._lock:
            if self._book is not None:
                self._book.close()
                self._book = None


def _give_back() -> None:
    """Give memory that is free inside the program back to the system, where its library can (glibc)."""
    with suppress(OSError, AttributeError):
        ctypes.CDLL(None).malloc_trim(0)


def _stat_of(path: Path) -> tuple[int, int, int] | None:
    try:
        found = os.stat(path)
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


def toml_value(text: str) -> Any:
    """Read a TOML value, or a text as it stands."""
    try:
        return tomllib.loads(f"value = {text}")["value"]
    except (tomllib.TOMLDecodeError, RecursionError):
        return text


def changed(path: str, value: Any) -> Callable[[Document], Document]:
    """The edit that sets one value of the file, or takes it out (None)."""
    keys = path_of(path)

    def change(document: Document) -> Document:
        if value is None:
            return document.without_value(keys) if document.has(keys) else document
        return document.with_value(keys, value)

    return change
