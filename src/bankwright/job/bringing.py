"""The door of the faces: an old log of another program, looked through and brought along.

Gives: the names in __all__; columns_of(), rejected_of(), segments_of(), when() for those who print, import_document().
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bankwright.forms.as_json import plain
from bankwright.forms.quantities import quantity
from bankwright.logbook.elsewhere.asked import Asked
from bankwright.logbook.elsewhere.bring import Brought, Look, brought, looked_at
from bankwright.logbook.elsewhere.facts import Facts, facts_of
from bankwright.logbook.elsewhere.mapping import EACH, Mapping, as_toml, mapping_of
from bankwright.logbook.elsewhere.tally import Segment, Tally, TimeGap
from bankwright.logbook.elsewhere.told import Decided, NotUnderstood, Open

if TYPE_CHECKING:
    from bankwright.job import Job

__all__ = [
    "Asked",
    "Brought",
    "ColumnTaken",
    "Decided",
    "Facts",
    "Look",
    "Mapping",
    "NotUnderstood",
    "Open",
    "RowShown",
    "RowsRejected",
    "SegmentTold",
    "Tally",
    "TimeGap",
    "ValueShown",
    "ValuesMarked",
    "as_toml",
    "brought",
    "columns_of",
    "facts_of",
    "import_document",
    "looked_at",
    "mapping_of",
    "rejected_of",
    "segments_of",
    "when",
]


@dataclass(frozen=True, slots=True)
class ColumnTaken:
    """One column as it is taken, with what was found in it; values in `unit`."""

    heading: str
    quantity: str
    at: str
    written: str  # unit as it stands in the file
    unit: str
    count: int
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class RowsRejected:
    """Rows that are not kept, by reason."""

    reason: str
    count: int
    lines: tuple[int, ...]
    example: str


@dataclass(frozen=True, slots=True)
class ValuesMarked:
    """Values kept as missing, or kept and doubted."""

    reason: str
    count: int
    line: int | None


@dataclass(frozen=True, slots=True)
class ValueShown:
    """One converted value."""

    quantity: str
    at: str
    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class RowShown:
    """One row as it stands and as it is taken."""

    line: int
    text: str
    time: str
    values: tuple[ValueShown, ...]


@dataclass(frozen=True, slots=True)
class SegmentTold:
    """A stretch of an item in a long file: made by plan, or written when the value changed."""

    at: str
    quantity: str
    kind: str
    rows: int
    start: str
    end: str
    mean: float | None
    over_time: float  # value times seconds, each value held until the next


def when(seconds: float | None) -> str | None:
    """A time as text, UTC."""
    if seconds is None:
        return None
    text = datetime.fromtimestamp(seconds, UTC).isoformat(timespec="milliseconds")
    return text.replace("+00:00", "Z").replace(".000Z", "Z")


def columns_of(look: Look) -> tuple[ColumnTaken, ...]:
    """Every column that is taken."""
    tally = look.looked.tally if look.looked is not None else Tally()
    each = [name for _, name in look.mapping.by.modules] if look.mapping.by is not None else []
    out = []
    for take in look.mapping.takes:
        row = (take.heading, take.quantity, take.at, take.written, quantity(take.quantity).unit)
        places = [name + take.at.removeprefix(EACH) for name in each] if take.at.startswith(EACH) else [take.at]
        keys = [f"{take.quantity} {place}" for place in places]
        low = min((tally.low[key] for key in keys if key in tally.low), default=None)
        high = max((tally.high[key] for key in keys if key in tally.high), default=None)
        out.append(ColumnTaken(*row, sum(tally.counts[key] for key in keys), low, high))
    return tuple(out)


def rejected_of(tally: Tally) -> tuple[RowsRejected, ...]:
    """Rows that are not kept, the most first."""
    found = [RowsRejected(r.reason, r.count, tuple(r.lines), r.example) for r in tally.rejected.values() if r.count]
    return tuple(sorted(found, key=lambda one: -one.count))


def segments_of(tally: Tally) -> tuple[SegmentTold, ...]:
    """Stretches of every item of a long file."""

    def told(s: Segment) -> SegmentTold:
        start, end = when(s.start) or "", when(s.end) or ""
        return SegmentTold(s.at, s.quantity, s.kind, s.rows, start, end, s.mean, s.integral)

    return tuple(told(s) for held in tally.held.values() for s in held.segments)


def import_document(job: Job, path: Path, look: Look, stored: Brought | None) -> dict[str, Any]:
    """What was decided and why, samples, rows kept and rejected, what is open, what was stored."""
    from bankwright.job.documents import head

    tally = look.looked.tally if look.looked is not None else Tally()
    marked = [
        ValuesMarked(reason, count, tally.marked_at.get(reason)) for reason, count in tally.marked.items() if count
    ]
    shown = look.looked.samples if look.looked is not None else ()
    samples = [
        RowShown(s.line, s.text, s.time, tuple(ValueShown(q, at, v, quantity(q).unit) for q, at, v in s.values))
        for s in shown
    ]
    body: dict[str, Any] = {
        "file": path.name, "bytes": look.source.size, "ready": look.may_store, "decided": look.told.decided,
        "columns": columns_of(look), "not_taken": look.told.left, "checks": look.told.checks, "open": look.told.open,
        "samples": samples, "rows": tally.rows, "kept": tally.kept, "rejected": rejected_of(tally), "marked": marked,
        "first": when(None if tally.first is None else tally.first / 1000),
        "last": when(None if tally.last is None else tally.last / 1000), "step": look.mapping.step,
        "backwards": tally.backwards, "repeated": tally.repeated, "gap_count": tally.gap_count, "gaps": tally.gaps,
        "segments": segments_of(tally), "before": 0 if look.before is None else look.before.rows,
        "overlaps": look.overlaps, "stored": None if stored is None else stored.rows,
        "source": None if stored is None else stored.source,
    }  # fmt: skip
    return {**head(job, "import"), **{key: plain(value) for key, value in body.items()}}
