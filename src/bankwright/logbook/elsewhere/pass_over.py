"""One reading of a whole foreign file by a mapping.

Gives: looked_over(), Looked, Shown, Progress. What only the whole file can tell is settled here: whether the logger
follows the clock change, and which hours that come twice were passed through once.
Limits: nothing is stored; that is bring.py.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from bankwright.logbook.elsewhere.convert import Converted, Converter, Once
from bankwright.logbook.elsewhere.facts import Facts
from bankwright.logbook.elsewhere.mapping import Mapping
from bankwright.logbook.elsewhere.source import Chunk, Source
from bankwright.logbook.elsewhere.tally import Tally
from bankwright.logbook.elsewhere.told import Told

__all__ = ["Looked", "Progress", "Shown", "looked_over"]

Progress = Callable[[int, int], None]  # bytes done, bytes in all
_SAMPLES = 3


@dataclass(frozen=True, slots=True)
class Shown:
    """One row as it stands and as it is taken."""

    line: int
    text: str
    time: str  # ISO 8601, UTC
    values: tuple[tuple[str, str, float], ...]  # quantity, at, value in the unit inside


@dataclass(frozen=True, slots=True)
class Looked:
    """What a whole file comes to."""

    mapping: Mapping
    tally: Tally
    samples: tuple[Shown, ...]
    once: Once  # hours that come twice and were passed through once


def looked_over(source: Source, mapping: Mapping, facts: Facts, told: Told, progress: Progress) -> Looked:
    """Read the whole file; twice where its clock turns out not to follow the season."""
    work, samples = _reading(source, mapping, facts, progress)
    never = sum(clock.night.never for clock in work.clocks.values())
    if never and mapping.time.follows:
        mapping = replace(mapping, time=replace(mapping.time, follows=False))
        why = f"{never} rows lie in an hour that never was: the logger's clock is not changed with the season"
        told.settle("clock changes", "not followed", why)
        work, samples = _reading(source, mapping, facts, progress)
    return Looked(mapping, work.tally, samples, _clocks_told(work, told))


def _clocks_told(work: Converter, told: Told) -> Once:
    """Say what the clocks met; the hours that come twice and were passed through once."""
    nights = {text: clock.night for text, clock in work.clocks.items()}
    once = frozenset((text, window) for text, night in nights.items() for window in set(night.rows) - night.twice)
    unsure = sum(nights[text].rows[window] for text, window in once)
    if unsure:
        work.tally.unsure = unsure
        words = "in the hour that comes twice, passed through once: taken as its first pass, and marked"
        told.check("clock changes", f"{unsure} row{'s' if unsure > 1 else ''} may be an hour off", words)
    twice = {window for night in nights.values() for window in night.twice}
    if twice:
        told.check("clock changes", f"{len(twice)} hour passed through twice", "the order of the rows tells which")
    wrapped, begun = (
        max((getattr(c, name) for c in work.clocks.values()), default=0) for name in ("wrapped", "segment")
    )
    time = work.mapping.time
    if wrapped:
        told.check("elapsed time", f"wrapped round {wrapped} times", f"after {time.wraps:.0f} counts; it goes on")
    if begun:
        lacking = max(begun + 1 - max(len(time.start), 1), 0)
        told.check("elapsed time", f"began anew {begun} times", f"{lacking} of its stretches have no --start")
    return once


def _reading(source: Source, mapping: Mapping, facts: Facts, progress: Progress) -> tuple[Converter, tuple[Shown, ...]]:
    work = Converter(mapping, facts)
    samples: tuple[Shown, ...] = ()
    for chunk in source.chunks():
        done = work.read(chunk)
        if not samples and len(done.lines):
            samples = _samples(chunk, done)
        progress(chunk.end, source.size)
    return work, samples


def _samples(chunk: Chunk, done: Converted) -> tuple[Shown, ...]:
    """The first rows of a piece."""
    out = []
    for line, ms in list(zip(done.lines.tolist(), done.ms.tolist(), strict=True))[:_SAMPLES]:
        values = []
        part = next((part for part in done.parts if line in part.lines), done)
        for table in part.columns:
            for row in (table.time * 1000 - ms).round().__abs__().argsort()[:1].tolist():
                if abs(table.time[row] * 1000 - ms) < 1:
                    values += [(table.quantity, at, float(table.value[row, k])) for k, at in enumerate(table.at)]
        when = datetime.fromtimestamp(ms / 1000, UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
        out.append(Shown(line, chunk.lines[line - chunk.first_line].strip()[:200], when, tuple(values)))
    return tuple(out)
