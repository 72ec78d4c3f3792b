"""Export and backup hold everything: values, gaps, quality, both clocks; Parquet reads back with another program."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import numpy as np
import pytest

from bankwright.logbook.check_repair import check
from bankwright.logbook.errors import LogbookReadOnly
from bankwright.logbook.export import backup
from bankwright.logbook.telemetry.export import write_csv, write_parquet
from bankwright.logbook.telemetry.store import open_telemetry
from support.logbank import StepClock
from support.telemetry_rows import ALL, START, columns


def _filled(directory: Path) -> Path:
    clock = StepClock(known=None)
    with open_telemetry(directory / "orchard.toml", clock=clock) as store:
        for k in range(30):
            clock.passes(300)
            volts = [[52.6 + k / 1000, np.nan if k == 3 else 52.5]]
            store.append(columns("voltage", ("M1", "M2"), [clock.monotonic], volts, [[9 * (k == 5), 2 * (k == 3)]]))
        assert store.seal().blocks == 4
    return directory / "orchard.toml"


def test_csv_has_every_row_with_gaps_quality_and_both_clocks(tmp_path: Path) -> None:
    out = io.StringIO()
    with open_telemetry(_filled(tmp_path), write=False) as store:
        assert write_csv(store, out, *ALL) == 60
    rows = list(csv.DictReader(io.StringIO(out.getvalue())))
    first, second = ([row for row in rows if row["thing"] == name] for name in ("M1", "M2"))
    assert [row["voltage@M1 [V]"] for row in first[:6]] == [
        "52.600",
        "52.601",
        "52.602",
        "52.603",
        "52.604",
        "52.605!9",
    ]
    assert [row["voltage@M2 [V]"] for row in second[2:5]] == ["52.500", "!2", "52.500"]
    assert {row["voltage@M2 [V]"] for row in first} == {""}
    assert first[0]["time"] == first[0]["wall_clock"] == "2026-03-01T08:05:00.000Z"
    assert (first[0]["boot"], first[0]["own_clock"], first[0]["clock_known"]) == ("boot-a", "400.000", "")


def test_a_stretch_takes_only_what_lies_in_it(tmp_path: Path) -> None:
    out = io.StringIO()
    with open_telemetry(_filled(tmp_path), write=False) as store:
        assert write_csv(store, out, START + 600, START + 1200) == 4
        assert write_csv(store, out, START + 1e6, START + 2e6) == 0


def test_parquet_reads_back_the_same_by_another_program(tmp_path: Path) -> None:
    parquet = pytest.importorskip("pyarrow.parquet")
    with open_telemetry(_filled(tmp_path), write=False) as store:
        files = write_parquet(store, tmp_path / "out", *ALL)
        with pytest.raises(LogbookReadOnly, match="not empty"):
            write_parquet(store, tmp_path / "out", *ALL)
    assert [file.name for file in files] == ["2026-03-01_M1_1.parquet", "2026-03-01_M2_2.parquet"]
    assert sorted(tmp_path.joinpath("out").iterdir()) == files
    table = parquet.read_table(files[1])
    volts = table.column("voltage@M2").to_pylist()
    assert volts == [None if k == 3 else 52500 for k in range(30)]
    assert table.column("quality of voltage@M2").to_pylist()[3] == 2
    assert table.schema.field("voltage@M2").metadata == {b"step": b"0.001", b"unit": b"V", b"at": b"M2"}
    assert table.column("time")[0].as_py().timestamp() == START + 300


def test_a_backup_holds_telemetry_too(tmp_path: Path) -> None:
    bank_file = _filled(tmp_path)
    with open_telemetry(bank_file, clock=StepClock()) as store:
        backup(store.path, tmp_path / "copy.logbook")
        before = store.read("voltage", ("M1", "M2"), *ALL)
    assert check(tmp_path / "copy.logbook").is_whole
    with open_telemetry(tmp_path / "copy.toml", write=False) as copy:
        after = copy.read("voltage", ("M1", "M2"), *ALL)
    assert np.array_equal(after.value, before.value, equal_nan=True)
    assert np.array_equal(after.quality, before.quality)
    assert np.array_equal(after.time, before.time)
