"""Readings out of a file, whose times are dates: straight into blocks, under a start of the machine of their own.

Gives: check_dates(), insert_dated(). The start is named after the source; its own clock is the time as it was read, in
ms since 1970. Rows stay in the order of the file; nothing is sorted or left out.
Limits: what the times of a file mean is for the importer to settle; only nonsense is refused here.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from datetime import UTC, datetime

import numpy as np

from bankwright.forms.faults import Fault
from bankwright.forms.readings import Instant
from bankwright.logbook.errors import EntryRefused
from bankwright.logbook.telemetry.block import Rows
from bankwright.logbook.telemetry.boots import FILE, Boot, boot_number, note_clock
from bankwright.logbook.telemetry.frames import stored_frame
from bankwright.logbook.telemetry.hot import Draft
from bankwright.logbook.telemetry.seal import Sealed, insert_block, packed_rows
from bankwright.logbook.telemetry.sums import HOUR

__all__ = ["check_dates", "insert_dated"]

_LAST = datetime(2200, 1, 1, tzinfo=UTC).timestamp()


def check_dates(drafts: Sequence[Draft]) -> None:
    """Refuse times that are no dates since 1970."""
    for draft in drafts:
        wrong = draft.time[(draft.time < 0) | (draft.time > _LAST)]
        if len(wrong):
            words = f"{wrong[0]:g} s since 1970 is no time at which a module was read"
            raise EntryRefused(Fault(draft.signals[0].at, "wrong-time", words))


def insert_dated(connection: sqlite3.Connection, drafts: Sequence[Draft], source: str) -> Sealed:
    """Store rows of a source; the caller holds the write transaction."""
    name = FILE + source
    first, last = (round(f(f(d.time) for d in drafts) * 1000) for f in (min, max))
    wall = datetime.fromtimestamp(first / 1000, UTC).isoformat(timespec="milliseconds")
    number = boot_number(connection, name, Instant(wall))
    for moment in dict.fromkeys((first, last)):
        note_clock(connection, (number, name), None, (moment, moment, None))
    boot, blocks, rows = Boot(number, name, first, last, 0, None), 0, 0
    for draft in drafts:
        frame = stored_frame(connection, draft.signals)
        mono = np.round(draft.time * 1000).astype(np.int64)
        hours = mono // HOUR
        for hour in np.unique(hours):
            which = np.flatnonzero(hours == hour)
            insert_block(connection, packed_rows(frame, boot, _rows(draft, mono, which)), boot, is_numbered=False)
            blocks, rows = blocks + 1, rows + len(which)
    return Sealed(blocks, rows)


def _rows(draft: Draft, mono: np.ndarray, which: np.ndarray) -> Rows:
    none = np.zeros(len(which), np.int64)
    nobody = np.full(len(which), -1, np.int8)
    return Rows(none, mono[which], mono[which], nobody, draft.steps[which], draft.quality[which])
