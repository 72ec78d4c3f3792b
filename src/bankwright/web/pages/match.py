"""Match: readings as the meter shows them, and two verdicts side by side that are never merged.

Gives: router(), entry_of(), judged(), way_of(). What was typed is kept in the logbook, so that both devices show it,
and the verdicts with it.
Limits: judging is in match/; nothing is switched. Modules whose field is empty count as not read.
"""

from __future__ import annotations

import asyncio
import threading
from typing import Any

import numpy as np
from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from bankwright.draw.charts import ChargeRange, charge_ranges
from bankwright.draw.settle import Curve, settle
from bankwright.forms.as_json import plain
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.finding import Finding
from bankwright.forms.grouping import numbered
from bankwright.forms.wording import amount_text
from bankwright.job import Job
from bankwright.job.building import before_match, next_step
from bankwright.job.logs import SystemClock
from bankwright.job.matching import Match, chart_rows, collected, keep, match_of, tools_of
from bankwright.web.desk import Desk, State
from bankwright.web.drawn import drawn, key_plan
from bankwright.web.pages.build import made_so_far, step_href
from bankwright.web.pages.plan import empty
from bankwright.web.paper import page
from bankwright.web.shell import shell
from bankwright.web.stages import steps_of
from bankwright.web.typed import (
    ALL,
    ALONE,
    LEVELS,
    ROWS,
    Entry,
    entry_from,
    faults_of,
    levels_of,
    mends_of,
    typed_of,
    units_of,
)

__all__ = ["EQUAL", "JOINED", "entry_of", "judged", "router", "way_of"]

TYPED = "match.typed"
TIMES = ((0.001, "at once"), (60.0, "1 min"), (600.0, "10 min"), (3600.0, "1 h"))
JOINED = {
    "pass": "yes, in this order", "caution": "yes, in this order, with the cautions",
    "unknown": "not before what is missing is known", "fail": "no, not as they are",
}  # fmt: skip
EQUAL = {
    "pass": "yes, as far as voltage tells", "assumed": "yes, as far as voltage and assumed values tell",
    "caution": "yes, with the cautions", "unknown": "cannot be told yet",
    "fail": "no",
}  # fmt: skip


class _Kept:
    """The last answer, kept until bank or entry changes."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        self.key: Any = None
        self.found: Match | None = None

    def of(self, job: Job, entry: Entry, desk: Desk) -> Match:
        with self.lock:
            key = (job.bank.digest, repr(entry))
            if self.key != key or self.found is None:
                self.found = judged(job, entry, desk)
                self.key = key
            return self.found


def judged(job: Job, entry: Entry, desk: Desk) -> Match:
    """The answer to an entry; QuestionError when it cannot be."""
    readings = collected(job.bank, typed_of(entry), desk.book())
    tools = tools_of(entry.get("charger") or None, entry.get("resistor") or None)
    levels = levels_of(entry)
    into, out = (next((row for row in levels if way_of(row) == way), None) for way in ("charging", "discharging"))
    more = tuple(row for row in levels if row is not into and row is not out)
    return match_of(job.bank, readings, tools=tools, charging=into, discharging=out, levels=more)


def way_of(level: dict[str, float]) -> str:
    """Whether modules were charged or discharged at a moment, by the sum of their currents."""
    return "discharging" if sum(level.values()) >= 0 else "charging"


def entry_of(job: Job, desk: Desk) -> Entry:
    """What was typed last; where nothing was, the newest reading of the logbook."""
    book = desk.book()
    held = book.latest_result(TYPED) if book else None
    entry: Entry = {"rows": {}, "all": dict.fromkeys(ALL, ""), **dict.fromkeys(ALONE, "")}
    if held is not None and isinstance(held.payload, dict):
        entry |= {key: held.payload[key] for key in entry if key in held.payload}
    newest = book.latest_readings("voltage") if book else {}
    rows = {}
    for module in job.bank.modules:
        row = dict.fromkeys(ROWS, "") | dict(entry["rows"].get(module.name, {}))
        if not row["voltage"] and module.name in newest:
            row["voltage"] = newest[module.name].as_typed
        rows[module.name] = row
    return entry | {"rows": rows}


def _values(
    desk: Desk, state: State, job: Job, entry: Entry, found: Match | None, *, faults: tuple[Fault, ...]
) -> dict[str, Any]:
    bank = job.bank
    texts = {name: row["voltage"] or "not read" for name, row in entry["rows"].items()}
    states = before_match(steps_of(job, desk))
    waits = next_step(states)
    worst = next((f for f in found.findings if f.verdict != "pass" and f.at), None) if found else None
    mark = worst.at[:1] if worst else ()
    values = shell(desk, state, "Match") | {
        "drawing": drawn(
            bank,
            None,
            (),
            marked=mark,
            made=made_so_far(bank, states),
            texts=texts,
            foot=(("In the modules", "readings"), ("Dashed", "not made yet")),
        ),
        "entry": entry,
        "levels": LEVELS,
        "meters": sorted({i.name for i in (*bank.instruments, *_known(desk)) if i.quantity == "voltage"}),
        "fault_of": {fault.path: fault for fault in faults},
        "match_faults": faults,
        "mends": mends_of(entry, faults, job.units),
        "unit": units_of(job.units),
        "found": found,
        "waits": None,
        "keyplan": {
            "drawing": key_plan(bank, mark[0] if mark else None),
            "words": mark[0] if mark else "Match",
            "more": "all breakers off",
        },
    }
    if waits is not None:
        left = sum(step.state != "done" for step in states)
        values["waits"] = (waits.step.title, step_href(waits.step.id), left)
    return values if found is None else values | _shown(found, job)


def _known(desk: Desk) -> tuple[Any, ...]:
    book = desk.book()
    return book.instruments() if book else ()


def _shown(found: Match, job: Job) -> dict[str, Any]:
    units = job.units
    verdicts = []
    for number, question, words, verdict, ordered in (
        (1, "May they be joined?", JOINED, found.may_join, found.about("joining")),
        (2, "Are they equally charged?", EQUAL, found.equally_charged, found.about("charge")),
    ):
        held = verdict if ordered else "unknown"
        verdicts.append((number, question, held, words[held], _telling(ordered, held)))
    every = numbered(found.findings)
    mean = float(np.mean([r.voltage for r in found.readings])) if found.readings else 0.0
    off = {r.module: _signed(r.voltage - mean) for r in found.readings}
    ranges = [ChargeRange(r.module, r.low, r.high, f"{100 * r.low:.0f} to {100 * r.high:.0f} %") for r in found.ranges]
    loaded = [r.module for r in found.ranges if r.loaded]
    most = found.largest_difference
    return {
        "verdicts": verdicts,
        "numbered": every,
        "unlike": found.unlike,
        "off_mean": off,
        "ranges": {
            "desk": charge_ranges(ranges),
            "phone": charge_ranges(ranges, width=344, prefix="rp"),
        }
        if ranges
        else None,
        "loaded": loaded,
        "settled": _settled(found),
        "most": None if most is None else amount_text(most, "voltage_drop", units),
        "plans": [(letter, sheet) for letter, sheet in zip("ABCDEFGH", found.plans, strict=False)],
        "match_notes": found.notes,
    }


def _telling(ordered: tuple[Finding, ...], verdict: str) -> Finding | None:
    """The finding that stands under a verdict: the worst; under a pass the current that flows."""
    flows = [f for f in ordered if f.figure is not None and f.figure.quantity == "current"]
    return next(iter([*flows, *ordered] if verdict == "pass" else ordered), None)


def _signed(value: float) -> str:
    return f"{round(value, 2) + 0.0:+.2f} V".replace("-", "−")


def _settled(found: Match) -> dict[str, Any] | None:
    if found.settled is None or found.inrush is None:
        return None
    times, rows = chart_rows(found.settled)
    takes = [limit.value for limit in found.inrush.charge if limit.value is not None]
    gives = [limit.value for limit in found.inrush.discharge if limit.value is not None]
    stops = (-min(takes) if takes else None, min(gives) if gives else None)
    columns = [found.settled.at(time) for time, _ in TIMES]
    table = [
        (name, [f"{c[0, k]:+.0f} to {c[2, k]:+.0f}".replace("-", "−") for c in columns])
        for k, name in enumerate(found.settled.names)
    ]
    curves = [Curve(*row) for row in rows]
    return {
        "chart": settle(times, curves, stops, prefix="t"),
        "phone": settle(times, curves, stops, width=344, height=300, prefix="tp"),
        "table": table,
        "heads": [words for _, words in TIMES],
    }


def router(desk: Desk) -> APIRouter:
    """Routes of Match."""
    routes = APIRouter(include_in_schema=False)
    kept = _Kept()

    @routes.get("/match")
    def show() -> HTMLResponse:
        state = desk.look()
        job = state.shown
        if job is None:
            return empty(desk, state)
        entry = entry_of(job, desk)
        found: Match | None = None
        faults: tuple[Fault, ...] = ()
        if any(row["voltage"] for row in entry["rows"].values()):
            try:
                found = kept.of(job, entry, desk)
            except QuestionError as error:
                faults = error.faults
        return page("match.html", **_values(desk, state, job, entry, found, faults=faults))

    @routes.post("/match")
    async def enter(request: Request) -> Response:
        form = await request.form(max_files=0, max_fields=800)
        state = desk.look()
        job = state.shown
        if job is None:
            return empty(desk, state)
        letters = {key: str(value)[:80].strip() for key, value in form.items()}
        entry = entry_from(letters, [module.name for module in job.bank.modules], job.units)
        if wrong := faults_of(entry):
            return page("match.html", 422, **_values(desk, state, job, entry, None, faults=wrong))
        try:
            found = await asyncio.to_thread(kept.of, job, entry, desk)
        except QuestionError as error:
            return page("match.html", 422, **_values(desk, state, job, entry, None, faults=error.faults))
        await asyncio.to_thread(_keep, desk, entry, found, entry_of(job, desk))
        return RedirectResponse("/match", 303)

    return routes


def _keep(desk: Desk, entry: Entry, found: Match, before: Entry) -> None:
    book = desk.book(write=True)
    assert book is not None
    fresh = [
        name
        for name, row in entry["rows"].items()
        if row["voltage"] and row["voltage"] != before["rows"][name]["voltage"]
    ]
    keep(book, found, SystemClock().now(), fresh)
    book.hand_over(TYPED, plain(entry))
