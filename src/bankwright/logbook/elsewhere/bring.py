"""Bring an old log along: look a foreign file through, and store its rows in telemetry.

Gives: looked_at(), brought(), Look, Brought, Before. Rows and how far the file was read are one commit: a program that
is killed at any instruction loses nothing that was acknowledged, and goes on from there when it is run again; a file
that has grown goes on where it ended. A file is known by its bytes, not by its name.
Limits: what the file means is propose.py; rows stand under a start of the machine named after the file, so that where
they come from is never lost.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from bankwright.forms.faults import Fault
from bankwright.logbook.elsewhere.asked import Asked
from bankwright.logbook.elsewhere.convert import Converter
from bankwright.logbook.elsewhere.facts import Facts
from bankwright.logbook.elsewhere.mapping import EACH, Mapping, as_toml, mapping_in, steps_of
from bankwright.logbook.elsewhere.pass_over import Looked, Progress, looked_over
from bankwright.logbook.elsewhere.propose import proposed
from bankwright.logbook.elsewhere.source import BLOCK, Source, opened_source
from bankwright.logbook.elsewhere.table import found_table
from bankwright.logbook.elsewhere.told import NotUnderstood, Told
from bankwright.logbook.telemetry.boots import FILE
from bankwright.logbook.telemetry.happenings import State
from bankwright.logbook.telemetry.store import Telemetry

__all__ = ["Before", "Brought", "Look", "brought", "looked_at"]

STATE, _VERSION = "import/", 1


@dataclass(frozen=True, slots=True)
class Before:
    """What was brought of this file before."""

    source: str
    bytes: int
    rows: int
    mapping: Mapping


@dataclass(frozen=True, slots=True)
class Look:
    """A foreign file, looked through; `looked` is None where something stops it from being converted."""

    source: Source
    told: Told
    mapping: Mapping
    looked: Looked | None
    before: Before | None = None
    overlaps: tuple[str, ...] = ()

    @property
    def may_store(self) -> bool:
        """Nothing is open."""
        return self.looked is not None and not self.told.open


@dataclass(frozen=True, slots=True)
class Brought:
    """What was stored in this run."""

    source: str
    rows: int
    went_on: bool  # an earlier run had begun


def _nothing(_: int, __: int) -> None:
    """Tell nobody."""


def looked_at(
    path: Path, facts: Facts, asked: Asked, *, kept: Mapping | None = None, store: Telemetry | None = None,
    again: bool = False, progress: Progress = _nothing,
) -> Look:  # fmt: skip
    """Look a file through; `kept` is a mapping of an earlier time, `store` is asked what it holds of the file."""
    told = Told()
    source = opened_source(path, told, kept.encoding if kept is not None else asked.encoding)
    before = None if store is None or again else _before(source, store)
    if before is not None:
        told.settle("mapping", "the one it was begun with", f"{before.rows} rows of this file are stored already")
        mapping = before.mapping
    elif kept is not None:
        _refuse_other_places(kept, facts)
        mapping = _fitting(kept, source, told)
    else:
        mapping = proposed(source, facts, asked, told)
    if told.stopped:
        return Look(source, told, mapping, None, before)
    looked = looked_over(source, mapping, facts, told, progress)
    _refuse_nothing(path, looked)
    overlaps = () if store is None else _overlaps(store, looked, before)
    return Look(source, told, looked.mapping, looked, before, overlaps)


def _fitting(kept: Mapping, source: Source, told: Told) -> Mapping:
    """A kept mapping on another file: its headings must be there, wherever they stand."""
    layout = kept.layout
    if layout.header:
        asked = Asked(delimiter=layout.delimiter)
        found = found_table(source.path, source.sample(), asked, Told())
        if found.names != layout.names:
            lacking = [name for name in layout.names if name not in found.names]
            shown = ", ".join(lacking[:5]) or "none, but their order differs"
            words = f"the headings are others than the mapping's; missing: {shown}"
            hint = "Without --map a new mapping is proposed"
            raise NotUnderstood(Fault(f"{source.path.name}:{found.header}", "other-headings", words, hint=hint))
        kept = replace(kept, layout=replace(layout, header=found.header, first=found.first))
    told.settle("mapping", "a kept one", "every heading of it is there")
    return kept


def _refuse_other_places(kept: Mapping, facts: Facts) -> None:
    """A kept mapping names modules of this bank."""
    known = {*facts.modules, "bank", *([EACH] if kept.by is not None else [])}
    owners = [take.at.split(".")[0] for take in kept.takes] + (
        [name for _, name in kept.by.modules] if kept.by is not None else []
    )
    wrong = next((owner for owner in owners if owner not in known), None)
    if wrong is not None:
        hint = f"Put one of them in its place in the mapping: {', '.join(facts.modules)}, or bank"
        raise NotUnderstood(Fault("--map", "wrong-map", f"it names {wrong!r}, which this bank has not", hint=hint))


def _refuse_nothing(path: Path, looked: Looked) -> None:
    if looked.tally.kept:
        return
    why = "; ".join(f"{one.count} rows: {one.reason}" for one in looked.tally.rejected.values()) or "it holds no rows"
    raise NotUnderstood(
        Fault(path.name, "no-rows", f"no row can be kept: {why}", hint="Look at the samples with other options")
    )


def _before(source: Source, store: Telemetry) -> Before | None:
    """The import of these very bytes, or of their beginning, that came furthest."""
    kept = list(_kept(store))
    digests = source.digests([state["bytes"] for state in kept])
    mine = [state for state in kept if digests.get(state["bytes"]) == state["digest"]]
    if not mine:
        return None
    best = max(mine, key=lambda state: int(state["bytes"]))
    return Before(best["source"], best["bytes"], best["rows"], mapping_in(best["map"], best["source"]))


def _kept(store: Telemetry) -> Iterable[dict[str, Any]]:
    for name in store.states():
        state = store.state(name) if name.startswith(STATE) else None
        if state is not None and state.version == _VERSION:
            yield json.loads(state.blob)


def _overlaps(store: Telemetry, looked: Looked, before: Before | None) -> tuple[str, ...]:
    """Other sources whose rows lie in the same time."""
    tally = looked.tally
    if tally.first is None or tally.last is None:
        return ()
    own = FILE + before.source if before is not None else ""
    return tuple(
        boot.id.removeprefix(FILE) if boot.id.startswith(FILE) else "what was heard on the data bus"
        for boot in store.boots()
        if boot.id != own and boot.start * 1000 < tally.last and boot.end * 1000 > tally.first
    )


def brought(
    look: Look, facts: Facts, store: Telemetry, *, again: bool = False, progress: Progress = _nothing,
    block: int = BLOCK,
) -> Brought:  # fmt: skip
    """Store the rows, a commit each `block` bytes; what is stored of this file already is passed over.

    `progress` is told after a piece is committed and synced.
    """
    if look.looked is None or look.told.open:
        raise NotUnderstood(*(Fault("import", "open", one.words, hint=one.option) for one in look.told.open))
    before = None if again else _before(look.source, store)
    begin, rows = (before.bytes, before.rows) if before is not None else (0, 0)
    name = before.source if before is not None else _name(look.source, store)
    if begin >= look.source.size:
        return Brought(name, 0, True)
    work, prefix, stored = Converter(look.mapping, facts, look.looked.once), _Prefix(look.source), 0
    for chunk in look.source.chunks([begin], block):
        done = work.read(chunk)
        if chunk.end > begin:
            stored += len(done.lines)
            told = {"source": name, "bytes": chunk.end, "digest": prefix.digest(chunk.end), "rows": rows + stored}
            blob = json.dumps({**told, "map": as_toml(look.mapping)}).encode()
            state = State(STATE + name, _VERSION, blob)
            store.append_dated(*done.columns, source=name, state=state, step=steps_of(look.mapping))
        progress(chunk.end, look.source.size)
    return Brought(name, stored, begin > 0)


def _name(source: Source, store: Telemetry) -> str:
    """A name for the file that no other import has."""
    head = source.digests([min(source.size, 1 << 16)])
    name = f"{source.path.name}#{next(iter(head.values()))[:8]}"
    taken, number = set(store.states()), 1
    while f"{STATE}{name}{f'-{number}' if number > 1 else ''}" in taken:
        number += 1
    return f"{name}{f'-{number}' if number > 1 else ''}"


class _Prefix:
    """Digest of the bytes up to a place that only moves on."""

    def __init__(self, source: Source) -> None:
        self._source, self._at, self._hash = source, 0, hashlib.blake2b(digest_size=16)

    def digest(self, end: int) -> str:
        with self._source.path.open("rb") as file:
            file.seek(self._at)
            while self._at < end:
                data = file.read(min(1 << 20, end - self._at))
                if not data:
                    break
                self._hash.update(data)
                self._at += len(data)
        return self._hash.hexdigest()
