"""An import that is stopped goes on, one that is run again adds nothing, a file that has grown adds what is new."""

from __future__ import annotations

import dataclasses
import json
import os
import subprocess
import sys
import tracemalloc
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from bankwright.logbook.elsewhere import source
from bankwright.logbook.elsewhere.asked import Asked
from bankwright.logbook.elsewhere.bring import brought, looked_at
from bankwright.logbook.elsewhere.facts import Facts
from bankwright.logbook.elsewhere.mapping import as_toml, mapping_of
from bankwright.logbook.elsewhere.source import Source
from bankwright.logbook.elsewhere.told import NotUnderstood
from bankwright.logbook.telemetry.boots import FILE
from bankwright.logbook.telemetry.store import Telemetry

_TESTS = Path(__file__).parents[2]
FACTS = Facts(("M1", "M2"), 16, 200.0)
M1 = Asked(zone="UTC", module="M1")


def log(path: Path, rows: range, head: str = "time,voltage [V]") -> Path:
    body = [f"2026-03-14 {k // 60:02d}:{k % 60:02d},{52 + k / 1000:.3f}" for k in rows]
    path.write_text("\n".join([head, *body, ""]), "utf-8")
    return path


def volts(store: Telemetry, at: str = "M1") -> np.ndarray:
    return store.read("voltage", [at], 0.0, 4e9).value[:, 0]


def test_run_again_it_adds_nothing_also_under_another_name(tmp_path: Path) -> None:
    path = log(tmp_path / "old.csv", range(50))
    with Telemetry(tmp_path / "bank.logbook") as store:
        assert brought(looked_at(path, FACTS, M1, store=store), FACTS, store).rows == 50
        copy = tmp_path / "copy of old.csv"
        copy.write_bytes(path.read_bytes())
        look = looked_at(copy, FACTS, M1, store=store)
        assert look.before is not None
        assert look.before.rows == 50
        done = brought(look, FACTS, store)
        assert (done.rows, done.went_on) == (0, True)
        assert len(volts(store)) == 50


def test_a_file_that_has_grown_adds_what_is_new(tmp_path: Path) -> None:
    path = tmp_path / "old.csv"
    with Telemetry(tmp_path / "bank.logbook") as store:
        for rows, new in ((50, 50), (80, 30), (80, 0), (300, 220)):
            log(path, range(rows))
            assert brought(looked_at(path, FACTS, M1, store=store), FACTS, store).rows == new
        assert volts(store).tolist() == pytest.approx([52 + k / 1000 for k in range(300)])
        names = {boot.id for boot in store.boots() if boot.id.startswith(FILE)}
        assert len(names) == 1
        assert names.pop().startswith(f"{FILE}old.csv#")


def test_another_file_of_the_same_time_stands_beside_it_and_is_named(tmp_path: Path) -> None:
    one, two = log(tmp_path / "one.csv", range(50)), log(tmp_path / "two.csv", range(40, 90))
    with Telemetry(tmp_path / "bank.logbook") as store:
        brought(looked_at(one, FACTS, M1, store=store), FACTS, store)
        look = looked_at(two, FACTS, M1, store=store)
        assert any(name.startswith("one.csv#") for name in look.overlaps)
        assert brought(look, FACTS, store).rows == 50
        assert len(volts(store)) == 100  # rows of one moment are two readings until a person says otherwise


def test_again_stores_a_second_time_under_another_name(tmp_path: Path) -> None:
    path = log(tmp_path / "old.csv", range(20))
    with Telemetry(tmp_path / "bank.logbook") as store:
        first = brought(looked_at(path, FACTS, M1, store=store), FACTS, store)
        m2 = Asked(zone="UTC", module="M2")
        second = brought(looked_at(path, FACTS, m2, store=store, again=True), FACTS, store, again=True)
        assert first.source != second.source
        assert (len(volts(store)), len(volts(store, "M2"))) == (20, 20)


def test_what_was_begun_goes_on_as_it_was_begun(tmp_path: Path) -> None:
    path = log(tmp_path / "old.csv", range(20))
    with Telemetry(tmp_path / "bank.logbook") as store:
        brought(looked_at(path, FACTS, M1, store=store), FACTS, store)
        log(path, range(40))
        look = looked_at(path, FACTS, Asked(zone="Asia/Tokyo", module="M2"), store=store)
        assert any("begun with" in each.value for each in look.told.decided)
        assert brought(look, FACTS, store).rows == 20
        assert len(volts(store)) == 40
        assert len(volts(store, "M2")) == 0


def test_a_mapping_is_kept_and_used_again(tmp_path: Path) -> None:
    path, kept = log(tmp_path / "old.csv", range(20)), tmp_path / "old-map.toml"
    look = looked_at(path, FACTS, M1)
    kept.write_text(as_toml(look.mapping), "utf-8")
    assert mapping_of(kept) == look.mapping
    other = tmp_path / "next.csv"
    other.write_text("made by a logger\n\n" + log(tmp_path / "x.csv", range(100, 130)).read_text("utf-8"), "utf-8")
    again = looked_at(other, FACTS, Asked(), kept=mapping_of(kept))
    assert again.may_store
    assert again.looked is not None
    assert again.looked.tally.kept == 30
    stranger = log(tmp_path / "stranger.csv", range(20), "time,current [A]")
    with pytest.raises(NotUnderstood, match=r"missing: voltage \[V\]"):
        looked_at(stranger, FACTS, Asked(), kept=mapping_of(kept))


@pytest.mark.parametrize("wrong", ["", "format = 2", "format = 1\n[file]\n", "not toml ["])
def test_a_mapping_that_is_none_is_refused(wrong: str, tmp_path: Path) -> None:
    kept = tmp_path / "map.toml"
    kept.write_text(wrong, "utf-8")
    with pytest.raises(NotUnderstood, match="no mapping"):
        mapping_of(kept)


def _kill(tmp_path: Path, *args: str, timeout: float = 120) -> dict[str, Any]:
    program = _TESTS / "support" / "killed_imports.py"
    paths = os.pathsep.join([str(_TESTS), str(_TESTS.parent / "src")])
    done = subprocess.run(
        [sys.executable, str(program), str(tmp_path), *args],
        env={**os.environ, "PYTHONPATH": paths}, capture_output=True, text=True, timeout=timeout, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and SIGKILL")
@pytest.mark.parametrize("how", [("6", "20260314"), ("4", "20260315", "steps")])
def test_killed_at_any_instruction_it_loses_and_doubles_nothing(how: tuple[str, ...], tmp_path: Path) -> None:
    found = _kill(tmp_path, *how)
    assert found["signals"].get("9", 0) >= 1
    assert (found["lost"], found["twice"], found["missing"]) == (0, 0, 0)
    assert found["kept"] == found["rows"]


@pytest.mark.soak
@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and SIGKILL")
@pytest.mark.parametrize("how", [("200", "1"), ("200", "2", "steps")])
def test_two_hundred_killed_imports_lose_and_double_nothing(how: tuple[str, ...], tmp_path: Path) -> None:
    """Imports killed 200 times at random and 200 times at chosen instructions of the engine, each run again."""
    found = _kill(tmp_path, *how, timeout=1800)
    assert (found["lost"], found["twice"], found["missing"]) == (0, 0, 0)
    assert found["kept"] == found["rows"]


def test_a_long_file_needs_no_more_memory_than_a_short_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Peak of Python's own memory while a short and a three times longer file are looked through, in small pieces."""
    monkeypatch.setattr(source, "_HEAD", 1 << 16)
    pieces = Source.chunks
    monkeypatch.setattr(Source, "chunks", lambda self, breaks=(), block=0: pieces(self, breaks, 1 << 16))
    peaks = []
    for times in (1, 3):
        path = log(tmp_path / f"{times}.csv", range(0))
        with path.open("a") as file:
            file.writelines(
                f"2026-03-{1 + k // 1440:02d} {k // 60 % 24:02d}:{k % 60:02d},52.{k % 9}\n"
                for k in range(13_000 * times)
            )
        sample = dataclasses.replace(looked_at(path, FACTS, M1).mapping, step=60.0)
        tracemalloc.start()
        look = looked_at(path, FACTS, M1, kept=sample)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
        assert look.looked is not None
        assert look.looked.tally.kept == 13_000 * times
    assert peaks[1] < 1.2 * peaks[0]


@pytest.mark.soak
def test_a_gigabyte_is_stored_in_bounded_memory(tmp_path: Path) -> None:
    """A log of a gigabyte is looked through and stored by the command, under 600 MB of memory."""
    path, bank = tmp_path / "old.csv", tmp_path / "barn.toml"
    bank.write_text((_TESTS.parent / "demo" / "barn.toml").read_text("utf-8"), "utf-8")
    row = ",".join(f"3.{300 + c}" for c in range(16))
    with path.open("w") as file:
        file.write("time," + ",".join(f"cell {c} [V]" for c in range(1, 17)) + "\n")
        for k in range(9_400_000):
            file.write(f"{1_700_000_000 + k},{row}\n")
    code = (
        "import resource, sys\nfrom bankwright.cli.main import main\n"
        "try:\n    main(sys.argv[1:])\nexcept SystemExit as end:\n    assert not end.code\n"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)\n"
    )
    args = [sys.executable, "-c", code, "import", str(bank), str(path), "--module", "M1", "--store"]
    done = subprocess.run(args, capture_output=True, text=True, timeout=3000, check=True)
    assert path.stat().st_size > 1e9
    assert "Stored: 9400000 rows" in done.stdout
    assert int(done.stdout.split()[-1]) < 600_000
