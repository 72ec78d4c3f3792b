"""The baseline gathered: every value that the logbook holds of first power-up, load tests and capacity.

Gives: Gathered, gathered(), seal_baseline(). Each value with its limits, temperature, age of the step, current, date
and entry; what is not known stands in `open`, with what would settle it.
Limits: the newest record of each test counts; a reading without a temperature says so; nothing is judged here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from bankwright.bank.model import Bank
from bankwright.logbook.baseline import Measured, seal, unsealed
from bankwright.logbook.entries import Entry, Result
from bankwright.logbook.logbook import Logbook
from bankwright.physics.insulation import leaks
from bankwright.prove.sheet.judge import METER
from bankwright.prove.sheet.places import poles
from bankwright.prove.sheet.sheet import PREFIX

__all__ = ["Gathered", "gathered", "seal_baseline"]

COPPER_DEGC = 20.0  # that resistances of links are brought to
ROWS = {  # (step, quantity) of the sheet -> what it is in the baseline
    ("B1", "voltage"): "rest voltage", ("B6", "current"): "zero current", ("C1", "time"): "precharge time",
    ("C1", "voltage_drop"): "precharge left", ("C4", "time"): "stop time", ("E2", "current"): "current",
    ("E2", "voltage_drop"): "drop", ("E4", "temperature_difference"): "rise", ("H1", "voltage"): "open voltage",
    ("H2", "current"): "short current", ("D1", "ac_voltage"): "island voltage", ("G1", "ac_voltage"): "utility voltage",
    ("G3", "ac_voltage"): "generator voltage", ("D3", "time"): "trip time",
}  # fmt: skip
AGED = {"E2": 30.0, "E2B": 30.0, "F1": 30.0, "E4": 3600.0}  # s after the step, as the sheet asks
Rows = Iterator[Measured]


@dataclass(frozen=True, slots=True)
class Gathered:
    """What a seal would keep, and what is not known."""

    values: tuple[Measured, ...]
    open: tuple[str, ...]
    fresh: tuple[Measured, ...] = ()  # those that a seal would take now


def gathered(book: Logbook, bank: Bank) -> Gathered:
    """All values, the more direct of two first: millivolts over a link before the fit of its currents."""
    entries = _of_sheet(book)
    found: dict[tuple[str, str], Measured] = {}
    for value in (*_millivolts(book), *_shares(book), *_capacity(book), *_sheet(bank, entries), *_sums(bank, entries)):
        found.setdefault((value.what, value.at), value)
    values = tuple(value for value in found.values() if value.at in _known(bank) or "." in value.at)
    return Gathered(values, tuple(_open(bank, {(v.what, v.at) for v in values})), unsealed(book, bank, values))


def seal_baseline(book: Logbook, bank: Bank, who: str = "") -> tuple[Measured, ...]:
    """Seal what is new; the values that were sealed now."""
    made = gathered(book, bank)
    return seal(book, bank, made.values, open_=made.open, who=who)[1]


def _known(bank: Bank) -> frozenset[str]:
    return frozenset({"bank", *bank.names()})


def _of(result: Result, source: str, **values: Any) -> Measured:
    return Measured(when=result.when.wall, who=result.who, source=source, entry=result.seq, **values)


def _millivolts(book: Logbook) -> Rows:
    result = book.latest_result("millivolt test")
    payload: Mapping[str, Any] = {} if result is None else result.payload
    for row in payload.get("readings", ()):
        if result is not None and row.get("settles"):
            yield _of(
                result, "millivolt test", what="resistance", at=row["at"], value=row["ohms"], low=row["low"],
                high=row["high"], degc=payload.get("room_degc"), age=row["age"], current=row["current"],
            )  # fmt: skip


def _shares(book: Logbook) -> Rows:
    result = book.latest_result("share test")
    if result is None:
        return
    cells: Mapping[str, float] = result.payload.get("cells_degc", {})
    rounds = result.payload.get("rounds", ())
    ages = [each["age"] for row in rounds for each in row["currents"] if row["load"] and each["age"] is not None]
    age = sum(ages) / len(ages) if ages else None
    loaded = max((row for row in rounds if row["load"]), key=lambda row: abs(row["load"]), default=None)
    modules = {each["at"] for row in rounds for each in row["currents"]}
    for row in result.payload.get("parts", ()):
        own = row["name"] in modules
        yield _of(
            result, "share test", what="resistance", at=row["name"], value=row["value"], low=row["low"],
            high=row["high"], degc=cells.get(row["name"]) if own else result.payload.get("room_degc"),
            stated_degc=None if own else COPPER_DEGC, age=age,
        )  # fmt: skip
    zeros = {each["at"]: each["value"] for row in rounds if not row["load"] for each in row["currents"]}
    if loaded is not None:
        yield from _of_round(result, loaded, zeros, cells)
    yield from _sensors(result, rounds)


def _of_round(result: Result, row: Mapping[str, Any], zeros: Mapping[str, float], cells: Mapping[str, float]) -> Rows:
    """Currents and shares at the largest load, by the clamp where it was used."""
    reads = {each["at"]: each for by in ("bus", "clamp") for each in row["currents"] if each["by"] == by}
    branches = {at: each["value"] - zeros.get(at, 0.0) for at, each in reads.items() if "main" not in at}
    mean = sum(branches.values()) / len(branches) if branches else 0.0
    for at, each in reads.items():
        same = {"at": at, "degc": cells.get(at), "age": each["age"]}
        yield _of(result, "share test", what="current", value=each["value"], current=each["value"], **same)
        if mean and at in branches:
            yield _of(result, "share test", what="share", value=branches[at] / mean, current=each["value"], **same)


def _sensors(result: Result, rounds: Any) -> Rows:
    """Offset and gain of a module's own sensor, where clamp and bus were read in one round."""
    gaps: dict[str, list[tuple[float, float]]] = {}
    for row in rounds:
        by = {(each["by"], each["at"]): each["value"] for each in row["currents"]}
        for (kind, at), value in by.items():
            if kind == "bus" and ("clamp", at) in by:
                gaps.setdefault(at, []).append((by["clamp", at], value))
    for at, pairs in gaps.items():
        still = [bus - clamp for clamp, bus in pairs if abs(clamp) < 1.0]
        if not still:
            continue
        offset = sum(still) / len(still)
        yield _of(result, "share test", what="current offset", at=at, value=offset)
        loaded = [(bus - offset) / clamp for clamp, bus in pairs if abs(clamp) > 5.0]
        if loaded:
            yield _of(result, "share test", what="current gain", at=at, value=sum(loaded) / len(loaded))


def _capacity(book: Logbook) -> Rows:
    result = book.latest_result("capacity test")
    payload: Mapping[str, Any] = {} if result is None else result.payload
    cells = payload.get("cells_degc", {})
    mean = sum(cells.values()) / len(cells) if cells else None
    for row in payload.get("capacity", ()):
        if result is not None:
            yield _of(
                result, "capacity test", what="capacity", at=row["at"], value=row["value"], low=row["low"],
                high=row["high"], degc=cells.get(row["at"], mean),
                current=payload["out"]["charge"] / payload["out"]["hours"] if payload.get("out") else None,
            )  # fmt: skip


def _of_sheet(book: Logbook) -> dict[tuple[str, str, str], Entry]:
    """Newest standing reading of each place of the sheet."""
    return {
        (e.step.removeprefix(PREFIX), e.quantity or "", e.at or ""): e
        for e in book.entries(kind="reading", standing=True)
        if e.step is not None and e.step.startswith(PREFIX) and e.value is not None
    }


def _measured(entry: Entry, step: str, what: str, degc: float | None, **more: Any) -> Measured:
    same: dict[str, Any] = {"value": entry.value, "low": entry.low, "high": entry.high, **more}
    return Measured(
        what, entry.at or "", degc=degc, age=AGED.get(step), when=entry.moment.wall, who=entry.who, source=step,
        entry=entry.seq, **same,
    )  # fmt: skip


def _sheet(bank: Bank, entries: Mapping[tuple[str, str, str], Entry]) -> Rows:
    main = next((e.value for (s, q, a), e in entries.items() if s == "E4" and q == "current"), None)
    for (step, quantity, at), entry in entries.items():
        what = ROWS.get((step, quantity))
        if what is None or (what == "rest voltage" and at not in {module.name for module in bank.modules}):
            continue
        warm = entries.get((step, "temperature_degc", at))
        current = main if what == "rise" else entry.value if what == "current" else None
        yield _measured(entry, step, what, None if warm is None else warm.value, current=current)


def _sums(bank: Bank, entries: Mapping[tuple[str, str, str], Entry]) -> Rows:
    """Values made of several readings: sag, insulation."""
    plus, minus = poles(bank)
    rest, down = entries.get(("E1", "voltage", plus)), entries.get(("E2", "voltage", plus))
    if rest is not None and down is not None:
        amps = next((e.value for (s, q, a), e in entries.items() if s == "E2" and q == "current" and "main" in a), None)
        sag = (rest.value or 0.0) - (down.value or 0.0)
        yield _measured(down, "E2", "sag", None, value=sag, low=None, high=None, current=amps)
    keys = [("frame_voltage", plus), ("frame_voltage", minus), ("voltage", plus)]
    three = [entries.get(("B3", quantity, at)) for quantity, at in keys]
    if None not in three:
        high, low, whole = (abs(e.value or 0.0) if e is not None else 0.0 for e in three)
        meter = entries.get(("B3", "resistance", plus))
        found = leaks(whole, high, low, METER if meter is None or not meter.value else meter.value)
        last = three[0]
        assert last is not None
        if found.both < float("inf"):
            yield _measured(last, "B3", "insulation", None, value=found.both, low=None, high=None)


def _open(bank: Bank, have: set[tuple[str, str]]) -> Iterator[str]:
    """What nobody measured, with what would settle it."""
    for module in bank.modules:
        if ("resistance", module.name) not in have:
            yield f"resistance of {module.name}: share test with volts at its posts, zero and load"
        if ("capacity", module.name) not in have:
            yield f"capacity of {module.name}: capacity test with its own count"
    links = [link.name for link in bank.links if ("resistance", link.name) not in have]
    if links:
        yield f"resistance of {', '.join(links)}: millivolts end to end under load"
    joints = [joint.name for joint in bank.joints if ("resistance", joint.name) not in have]
    if joints:
        yield f"{len(joints)} of {len(bank.joints)} joints: millivolts with a finer meter, or one module alone at 80 A"
    for what, at, how in (
        ("insulation", poles(bank)[0], "both poles to the frame, live (B3)"),
        ("sag", poles(bank)[0], "volts at rest and under load (E1, E2)"),
        ("capacity", "bank", "capacity test"),
    ):
        if (what, at) not in have:
            yield f"{what} of the bank: {how}"
