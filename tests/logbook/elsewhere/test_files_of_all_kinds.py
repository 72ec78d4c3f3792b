"""Files of other programs, invented, each with its truth: what is kept, what is asked, what is refused."""

from __future__ import annotations

import random
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from bankwright.logbook.elsewhere import quick
from bankwright.logbook.elsewhere.asked import Asked
from bankwright.logbook.elsewhere.bring import Look, brought, looked_at
from bankwright.logbook.elsewhere.convert import Converter
from bankwright.logbook.elsewhere.facts import Facts
from bankwright.logbook.elsewhere.told import NotUnderstood
from bankwright.logbook.telemetry.store import Telemetry
from support.foreign_logs import CASES, Case


def looked(case: Case, folder: Path) -> tuple[Look, Facts]:
    path = folder / "old.csv"
    path.write_bytes(case.data)
    told: dict[str, Any] = dict(case.told)
    count = int(told.pop("modules", 1))
    facts = Facts(tuple(f"M{k + 1}" for k in range(count)), 16, 100.0 * count)
    return looked_at(path, facts, Asked(**told)), facts


def words(look: Look) -> str:
    told = look.told
    lines = [f"{d.what} {d.value} {d.why}" for d in (*told.decided, *told.checks, *told.left)]
    return "\n".join(lines)


@pytest.mark.parametrize("case", [c for c in CASES if not c.refused and not c.open], ids=lambda c: c.name)
def test_what_is_understood_is_stored_as_it_was(case: Case, tmp_path: Path) -> None:
    look, facts = looked(case, tmp_path)
    assert look.told.open == []
    assert look.looked is not None
    tally = look.looked.tally
    assert tally.kept == case.kept
    for part, count in case.rejected.items():
        assert sum(r.count for r in tally.rejected.values() if part in r.reason) == count, tally.rejected
    assert sum(r.count for r in tally.rejected.values()) == sum(case.rejected.values())
    for part in case.says:
        assert part in words(look)
    with Telemetry(tmp_path / "bank.logbook") as store:
        assert brought(look, facts, store).rows == case.kept
        for (quantity, at), values in case.values.items():
            found = store.read(quantity, [at], 0.0, 4e9)
            expected = np.array([np.nan if v is None else v for v in values])
            step = next(s.step for s in store.signals() if (s.quantity, s.at) == (quantity, at))
            assert found.value[:, 0] == pytest.approx(expected, abs=0.51 * max(step, 0.001), nan_ok=True), (
                quantity,
                at,
            )
            if case.first is not None:
                assert datetime.fromtimestamp(found.time[0], UTC) == case.first
            if case.last is not None:
                assert abs(found.time[-1] - case.last.timestamp()) < 180


@pytest.mark.parametrize("case", [c for c in CASES if c.open], ids=lambda c: c.name)
def test_what_has_two_meanings_is_asked_and_not_stored(case: Case, tmp_path: Path) -> None:
    look, facts = looked(case, tmp_path)
    assert tuple(each.what for each in look.told.open) == case.open
    assert all("--" in each.option for each in look.told.open)
    assert not look.may_store
    if case.kept:
        assert look.looked is not None
        assert look.looked.tally.kept == case.kept
    with Telemetry(tmp_path / "bank.logbook") as store:
        with pytest.raises(NotUnderstood, match="Nothing was stored"):
            brought(look, facts, store)
        assert store.signals() == ()


@pytest.mark.parametrize("case", [c for c in CASES if c.refused], ids=lambda c: c.name)
def test_what_is_no_log_is_refused_by_name(case: Case, tmp_path: Path) -> None:
    with pytest.raises(NotUnderstood) as refusal:
        looked(case, tmp_path)
    (fault,) = refusal.value.faults
    assert fault.code == case.refused
    assert fault.found
    assert fault.hint


UNDERSTOOD = [c for c in CASES if not c.refused and not c.open]


@pytest.mark.parametrize("case", UNDERSTOOD, ids=lambda c: c.name)
def test_the_quick_way_and_the_slow_way_say_the_same(
    case: Case, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    look, facts = looked(case, tmp_path)
    ways = []
    for arrow in (quick._arrow(), None):
        monkeypatch.setattr(quick, "_arrow", lambda arrow=arrow: arrow)
        work = Converter(look.mapping, facts)
        done = [work.read(chunk) for chunk in look.source.chunks(block=1500)]
        ways.append((done, work.tally, work.misses))
    (fast, one, _), (slow, two, misses) = ways
    assert misses >= 1
    assert (one.rows, one.kept, one.repeated, one.gap_count) == (two.rows, two.kept, two.repeated, two.gap_count)
    assert {r.reason: r.count for r in one.rejected.values()} == {r.reason: r.count for r in two.rejected.values()}
    for a, b in zip(fast, slow, strict=True):
        assert np.array_equal(a.lines, b.lines)
        assert np.array_equal(a.ms, b.ms)
        for left, right in zip(a.columns, b.columns, strict=True):
            assert (left.quantity, left.at) == (right.quantity, right.at)
            assert np.array_equal(left.value, right.value, equal_nan=True)
            assert np.array_equal(left.quality, right.quality)


def test_the_quick_way_is_taken_where_nothing_is_odd(tmp_path: Path) -> None:
    taken = {}
    for case in UNDERSTOOD:
        look, facts = looked(case, tmp_path)
        work = Converter(look.mapping, facts)
        pieces = sum(1 for chunk in look.source.chunks(block=1500) if work.read(chunk))
        taken[case.name] = pieces > work.misses
    assert taken["iso with Z, units in brackets"]
    assert taken["German, decimal commas, date and clock apart, charging positive, mark of UTF-8"]
    assert not taken["long, with a column of modules"]
    assert sum(taken.values()) >= 12


ODD_BYTES = (
    b"9" * 40,
    b"1e999",
    b"nan",
    b"2026-02-30",
    b"#",
    b"\xff\xfe",
    b'"""',
    b"0x",
    b"\xe2\x88\x92",
    b"\x00,;\t\r",
)


def damaged(data: bytes, draw: random.Random) -> bytes:
    """A file with a few bytes changed, lost, doubled, exchanged, or odd ones put in."""
    out = bytearray(data[:6000])
    for _ in range(draw.choice((1, 1, 2, 5, 20))):
        at, act = draw.randrange(len(out) or 1), draw.randrange(5)
        if act == 0 and out:
            out[at] = draw.randrange(256)
        elif act == 1:
            del out[at : at + draw.randrange(1, 30)]
        elif act == 2:
            out[at:at] = out[max(0, at - 200) : at]
        elif act == 3:
            lines = bytes(out).split(b"\n")
            draw.shuffle(lines)
            out = bytearray(b"\n".join(lines))
        else:
            out[at:at] = draw.choice(ODD_BYTES)
    return bytes(out)


def is_stored_or_refused(number: int, folder: Path) -> None:
    draw = random.Random(number)
    path, facts = folder / "old.csv", Facts(("M1", "M2"), 16, 200.0)
    path.write_bytes(damaged(draw.choice(CASES).data, draw))
    told = Asked(zone=draw.choice(("UTC", "Europe/Berlin")), module="M1", positive="charging", start=("2026-01-01",))
    try:
        look = looked_at(path, facts, told)
    except NotUnderstood:
        return
    if look.may_store and look.looked is not None:
        with Telemetry(folder / f"{number}.logbook") as store:
            assert brought(look, facts, store).rows == look.looked.tally.kept


def test_a_damaged_file_is_stored_as_far_as_it_goes_or_refused(tmp_path: Path) -> None:
    for number in range(40):
        is_stored_or_refused(number, tmp_path)


@pytest.mark.soak
@pytest.mark.parametrize("seed", [1, 2])
def test_thousands_of_damaged_files_are_stored_or_refused(seed: int, tmp_path: Path) -> None:
    """Files of other programs damaged at random, 2,000 a seed: stored as far as they go, or refused by name."""
    for number in range(seed * 100_000, seed * 100_000 + 2000):
        is_stored_or_refused(number, tmp_path)
