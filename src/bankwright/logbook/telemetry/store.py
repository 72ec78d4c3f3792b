"""Telemetry of one bank, in the file of its logbook.

Gives: open_telemetry(bank_path) -> Telemetry, and its methods:
    append(columns...) -> Received      seal() -> Sealed    event(code, at=, detail)    put_state(name, version, blob)
    append_dated(columns..., source=)   sync()
    columns(quantity, at, start, end)   read(...)           rollup(..., every="hour")   events()   state(name)
    reads(quantities, at, start, end)   rollups(signals, spans, every=)
    signals()   boots()   states()      raw(start, end)
`append` takes what was read of one or more things with `time` on the machine's own clock (Instant.monotonic, s since it
started), and returns when the rows are committed: a program killed after that loses nothing. Rows are also synced to
the disk at least every SYNC_EVERY seconds; events and states with every commit. All that leaves is `Columns` with
`time` in s since 1970, right as far as the clock became known. Several programs may hold the file.
Limits: damage is looked for in check.py; text files come out of export.py.
"""

from __future__ import annotations

import secrets
import sqlite3
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from types import MappingProxyType, TracebackType
from typing import Any, Literal, TypeVar

import numpy as np

from bankwright.forms.faults import Fault
from bankwright.forms.readings import Columns, Instant
from bankwright.logbook.clocks import Clock, SystemClock
from bankwright.logbook.connect import connected, logbook_path, readable
from bankwright.logbook.errors import EntryRefused, LogbookReadOnly, translated
from bankwright.logbook.logbook import Logbook
from bankwright.logbook.telemetry import happenings as told
from bankwright.logbook.telemetry.block import Rows
from bankwright.logbook.telemetry.boots import Boot, Noted, all_boots, boot_number, clock_step, milliseconds, note_clock
from bankwright.logbook.telemetry.careful import reading_anything
from bankwright.logbook.telemetry.dated import check_dates, insert_dated
from bankwright.logbook.telemetry.frames import Frame, Signal, known_frames, stored_frame
from bankwright.logbook.telemetry.happenings import Happening, State
from bankwright.logbook.telemetry.hot import Draft, Finer, drafts_of, hot_frames, insert_rows
from bankwright.logbook.telemetry.query import Asked, asked_of, asked_of_all, gathered, pieces, read_only
from bankwright.logbook.telemetry.raw import raw_rows
from bankwright.logbook.telemetry.rollup import RollUp, rolled_up
from bankwright.logbook.telemetry.seal import Sealed, due, packed_rows, seal_hour
from bankwright.logbook.telemetry.sums import HOUR, MINUTE
from bankwright.logbook.wal import has_log

__all__ = ["SYNC_EVERY", "Received", "Telemetry", "open_telemetry"]

T = TypeVar("T")
SYNC_EVERY = 10.0  # s, at most this much is lost when the plug is pulled; design choice: flash wear against loss
_SPANS = {"minute": MINUTE, "hour": HOUR}
_AHEAD = 1.0  # s by which a reading may be ahead of the machine's own clock


@dataclass(frozen=True, slots=True)
class Received:
    """A receipt: these rows are committed; `is_synced`: and on the disk."""

    first: int
    last: int
    is_synced: bool

    @property
    def rows(self) -> int:
        """How many rows."""
        return self.last - self.first + 1


def open_telemetry(bank_path: Path | str, *, write: bool = True, clock: Clock | None = None) -> Telemetry:
    """Open the telemetry beside a bank file, in its logbook; for writing it is made if absent."""
    return Telemetry(logbook_path(bank_path), write=write, clock=clock)


class Telemetry:
    """Open telemetry; a context manager; may be used from several threads."""

    def __init__(self, path: Path, *, write: bool = True, clock: Clock | None = None) -> None:
        """Open the file itself; open_telemetry() finds it from the bank file."""
        self.path, self.may_write = path, write
        self._clock = clock or SystemClock()
        self._lock = threading.RLock()
        self._frames: Mapping[int, Frame] = {}
        self._boots: tuple[int, tuple[Boot, ...]] = (-1, ())
        self._synced = -SYNC_EVERY
        self._run = f"run-{secrets.token_hex(6)}"  # stands in where the machine names no start
        self._noted: dict[str, Noted] = {}
        if write and has_log(path):
            Logbook(path).close()  # keeps aside what a pulled plug cut off the end of the log
        self._connection = reading_anything(connected(path) if write else readable(path))

    def __enter__(self) -> Telemetry:
        """Give itself."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close."""
        self.close()

    def close(self) -> None:
        """Sync and close the file."""
        with self._lock:
            self._connection.close()

    # --- appending

    def append(self, *columns: Columns, now: Instant | None = None, step: float | None = None) -> Received:
        """Store what was read, all or none, in one commit.

        `time` of each is the machine's own clock, s since it started; `now` is both clocks at the end of the reading
        (the present moment if not given); `step` is a storage step of the source that is finer than the usual one.
        """
        drafts = drafts_of(columns, step)
        now = now or self._clock.now()
        _refuse_other_times(drafts, now)
        if not drafts:
            return Received(0, -1, False)

        def store(connection: sqlite3.Connection, boot_no: int, noted: Noted) -> tuple[int, int]:
            framed = [(stored_frame(connection, draft.signals), draft) for draft in drafts]
            return insert_rows(connection, framed, (boot_no, now.boot or self._run), noted[1] - noted[0], noted[2])

        must_sync = time.monotonic() - self._synced >= SYNC_EVERY
        first, last = self._write(store, now, sync=must_sync)
        return Received(first, last, must_sync)

    def append_dated(self, *columns: Columns, source: str, state: State | None = None, step: Finer = None) -> Sealed:
        """Store readings out of a file, `time` in s since 1970, all or none; on the disk when this returns.

        `source` names where they come from, and all of one source stands together; `state` is kept in the same commit,
        so that an importer that was interrupted knows how far it came.
        """
        drafts = drafts_of(columns, step)
        check_dates(drafts)

        def store(connection: sqlite3.Connection, _: int, noted: Noted) -> Sealed:
            if state is not None:
                told.put_state(connection, state, noted[1])
            return insert_dated(connection, drafts, source) if drafts else Sealed()

        return self._write(store, None, sync=True)

    def event(self, code: str, *, at: str = "", now: Instant | None = None, **detail: Any) -> int:
        """Store that something happened; it is on the disk when this returns. Its number."""
        return self._write(
            lambda c, boot_no, noted: told.insert_happening(c, boot_no, noted, code, at, **detail), now, sync=True
        )

    def put_state(self, name: str, version: int, blob: bytes) -> None:
        """Keep where an estimator stopped, instead of what was kept under this name; on the disk when this returns."""
        state = State(name, version, blob)
        self._write(lambda c, _, noted: told.put_state(c, state, noted[1]), None, sync=True)

    def sync(self) -> None:
        """Put everything that was received on the disk now."""
        touch = "UPDATE tally SET last_row = last_row"  # a commit that changes nothing syncs nothing
        self._write(lambda c, _, __: c.execute(touch), None, sync=True)

    def seal(self, most: int | None = None) -> Sealed:
        """Seal the hours that are over, at most so many; packing takes longest and keeps nobody waiting."""
        self._refuse_unless_writing()
        boot_no, noted = self._present()
        done = Sealed()
        for one in self._ask(lambda c: due(c, self.boots(), boot_no, noted[0]))[:most]:
            frames = self._known()
            span = (one.boot, one.low_ms, one.high_ms)
            rows = self._ask(lambda c, frames=frames, span=span: hot_frames(c, frames, *span))  # type: ignore[misc]
            made = [packed_rows(frames[number], one.boot, rows[number]) for number in sorted(rows)]
            sealed = self._ask(partial(seal_hour, made=made, one=one))
            done = Sealed(done.blocks + sealed.blocks, done.rows + sealed.rows)
        return done

    # --- reading

    def signals(self) -> tuple[Signal, ...]:
        """Every signal that was ever stored."""
        return tuple(dict.fromkeys(s for frame in self._known().values() for s in frame.signals))

    def boots(self) -> tuple[Boot, ...]:
        """Every start of the machine, in the order of time as well as it can be told."""

        def ask(connection: sqlite3.Connection) -> tuple[Boot, ...]:
            (newest,) = connection.execute("SELECT coalesce(max(clock_no), 0) FROM clock").fetchone()
            if newest != self._boots[0]:
                self._boots = (newest, all_boots(connection))
            return self._boots[1]

        return self._ask(ask)

    def columns(
        self, quantity: str, at: Sequence[str], start: float, end: float, *, grid: float | None = None
    ) -> Iterator[Columns]:
        """Give one quantity at places over [start, end) s since 1970, hour by hour.

        Things that were read at different moments get a row each;
        with `grid` (s) what falls into the same slot of it shares a row.
        """
        asked = Asked(quantity, tuple(at), start, end, grid)
        wanted = asked_of(self._known(), quantity, asked.at)
        found = self._at_one_moment(lambda c: gathered(c, self.boots(), wanted, asked))
        return pieces(self._ask, found, asked)

    def read(self, quantity: str, at: Sequence[str], start: float, end: float, *, grid: float | None = None) -> Columns:
        """Give the same in one piece."""
        return _joined(list(self.columns(quantity, at, start, end, grid=grid)), quantity, tuple(at))

    def reads(
        self, quantities: Sequence[str], at: Sequence[str], start: float, end: float, *,
        twice: list[tuple[float, float]] | None = None,
    ) -> tuple[Columns, ...]:  # fmt: skip
        """Give several quantities at the same places in one piece each, read once; a row for every moment of any.

        Into `twice` go stretches, s since 1970, that the clock of a source passed twice.
        """
        signals = [(quantity, name) for quantity in quantities for name in at]
        asked = Asked("", tuple(name for _, name in signals), start, end)
        wanted = asked_of_all(self._known(), signals)
        found = self._at_one_moment(lambda c: gathered(c, self.boots(), wanted, asked))
        whole = _joined(list(pieces(self._ask, found, asked, twice)), "", asked.at)
        places = [slice(k * len(at), (k + 1) * len(at)) for k in range(len(quantities))]
        return tuple(
            Columns(quantity, tuple(at), whole.time, whole.value[:, place], whole.quality[:, place])
            for quantity, place in zip(quantities, places, strict=True)
        )

    def rollup(
        self, quantity: str, at: Sequence[str], start: float, end: float, *, every: Literal["minute", "hour"] = "hour"
    ) -> RollUp:
        """Lowest, mean and highest of each minute or hour that begins in [start, end), as far as it was read."""
        asked = Asked(quantity, tuple(at), start, end)
        return self._rolled_up([(quantity, name) for name in at], [asked], every)

    def rollups(
        self,
        signals: Sequence[tuple[str, str]],
        spans: Sequence[tuple[float, float]],
        *,
        every: Literal["minute", "hour"],
    ) -> RollUp:
        """Give the same of several quantities over several stretches: a column for each signal (quantity, place)."""
        at = tuple(name for _, name in signals)
        return self._rolled_up(signals, [Asked("", at, *span) for span in spans or [(0.0, 0.0)]], every)

    def _rolled_up(self, signals: Sequence[tuple[str, str]], asked: Sequence[Asked], every: str) -> RollUp:
        wanted = asked_of_all(self._known(), signals)
        return self._at_one_moment(lambda c: rolled_up(c, self.boots(), wanted, asked, _SPANS[every]))

    def raw(self, start: float, end: float) -> Iterator[tuple[Frame, str, int, Rows]]:
        """Everything over [start, end) hour by hour: frame, start of the machine, its shift in ms, rows in steps."""
        return raw_rows(self._ask, self._known(), self.boots(), start, end)

    def events(self, code: str | None = None, at: str | None = None) -> tuple[Happening, ...]:
        """Events in the order they were stored."""
        shifts = {boot.number: boot.shift_ms for boot in self.boots()}
        return self._ask(lambda c: tuple(told.happenings(c, shifts, code, at)))

    def state(self, name: str) -> State | None:
        """Where an estimator stopped; None when there is nothing, or nothing that holds together."""
        return self._ask(lambda c: told.state_of(c, name))

    def states(self) -> tuple[str, ...]:
        """Every name that has a state."""
        return self._ask(told.state_names)

    # --- inside

    def _ask(self, question: Callable[[sqlite3.Connection], T], /) -> T:
        with self._lock, translated(self.path):
            return question(self._connection)

    def _at_one_moment(self, question: Callable[[sqlite3.Connection], T]) -> T:
        def ask(connection: sqlite3.Connection) -> T:
            connection.execute("BEGIN")
            try:
                return question(connection)
            finally:
                connection.execute("ROLLBACK")

        return self._ask(ask)

    def _known(self) -> Mapping[int, Frame]:
        """Frames by number, looked up again when there are more."""

        def ask(connection: sqlite3.Connection) -> Mapping[int, Frame]:
            (count,) = connection.execute("SELECT count(*) FROM frame_again").fetchone()
            if count != len(self._frames):
                self._frames = MappingProxyType(known_frames(connection))
            return self._frames

        return self._ask(ask)

    def _refuse_unless_writing(self) -> None:
        if not self.may_write:
            raise LogbookReadOnly(self.path, "it was opened for reading only", "Nothing was stored")

    def _present(self, now: Instant | None = None) -> tuple[int, Noted]:
        """Number of the present start, 0 when it has stored nothing yet, and both clocks."""
        now = now or self._clock.now()
        name = now.boot or self._run
        row = self._ask(lambda c: c.execute("SELECT boot_no FROM boot WHERE boot_id = ?", (name,)).fetchone())
        return (row[0] if row else 0), _noted(now)

    def _write(self, act: Callable[[sqlite3.Connection, int, Noted], T], now: Instant | None, *, sync: bool) -> T:
        """One transaction; both clocks are noted in it where something changed."""
        self._refuse_unless_writing()
        now = now or self._clock.now()
        name, noted = now.boot or self._run, _noted(now)
        with self._lock, translated(self.path):
            connection = self._connection
            before = self._noted.get(name) or self._last_note(name)
            step = clock_step(before, noted)
            sync = sync or step is not None
            connection.execute(f"PRAGMA synchronous = {'FULL' if sync else 'NORMAL'}")
            connection.execute("BEGIN IMMEDIATE")
            try:
                boot_no = boot_number(connection, name, now)
                if step is not None and before is not None:
                    detail = {"before": before[1], "after": noted[1], "seconds": round(step, 3)}
                    told.insert_happening(connection, boot_no, noted, "clock-step", "", **detail)
                is_noted = note_clock(connection, (boot_no, name), before, noted)
                answer = act(connection, boot_no, noted)
                connection.execute("COMMIT")
            except BaseException:
                if connection.in_transaction:
                    connection.execute("ROLLBACK")
                raise
            self._noted[name] = noted if is_noted or before is None else before
            if sync:
                self._synced = time.monotonic()
        return answer

    def _last_note(self, name: str) -> Noted | None:
        question = """SELECT mono_ms, wall_ms, known FROM clock JOIN boot USING (boot_no) WHERE boot_id = ?
            ORDER BY clock_no DESC LIMIT 1"""
        row = self._connection.execute(question, (name,)).fetchone()
        return None if row is None else (row[0], row[1], row[2])


def _joined(found: Sequence[Columns], quantity: str, at: tuple[str, ...]) -> Columns:
    """Pieces one after the other."""
    empty = np.empty((0, len(at)))
    time_ = np.concatenate([np.empty(0), *(piece.time for piece in found)])
    value = np.concatenate([empty, *(piece.value for piece in found)])
    quality = np.concatenate([empty.astype(np.uint8), *(piece.quality for piece in found)])
    return Columns(quantity, at, read_only(time_), read_only(value), read_only(quality))


def _refuse_other_times(drafts: Sequence[Draft], now: Instant) -> None:
    """Refuse what was read before the machine was started, or after now."""
    first = min((float(draft.time.min()) for draft in drafts), default=0.0)
    last = max((float(draft.time.max()) for draft in drafts), default=0.0)
    if now.monotonic is not None and last - now.monotonic > _AHEAD:
        words = f"a reading is {last - now.monotonic:.1f} s ahead of the machine's clock"
        raise EntryRefused(Fault("time", "time-ahead", words))
    if first < 0:
        raise EntryRefused(
            Fault("time", "wrong-time", f"a reading is of {-first:.1f} s before the machine was started")
        )


def _noted(now: Instant) -> Noted:
    return (*milliseconds(now), None if now.clock_known is None else int(now.clock_known))
