"""Telemetry beside general-purpose stores on the same data, in one run: bytes a point, time to ask, share of a core.

Data: 16 modules x 23 signals at 1 Hz, made up (fixed seed): a flat voltage curve over the state of charge, sun and
appliances, cells in steps of 1 mV with 0.6 mV of noise, current in steps of 10 mA with 20 mA of noise, charge in 0.1 %,
temperatures in 0.1 degC. Polls come with a few ms of jitter, as they do on a bus. Real modules will be noisier or
quieter: the figures are those of this data. Beside it: Parquet (pyarrow, zstd 3, delta-packed, sorted by module) and
DuckDB's own file, both with the values in the same whole steps, and the mark that the Gorilla paper reports for its own
data (Pelkonen et al., PVLDB 8(12), 2015: 1.37 bytes a point). Prints; asserts nothing. `--hours N` (24 by default).
"""

from __future__ import annotations

import argparse
import math
import os
import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from bankwright.forms.readings import Columns, Instant
from bankwright.logbook.telemetry.store import Telemetry, open_telemetry

MODULES, CELLS, PROBES = 16, 16, 4
SIGNALS = 3 + PROBES + CELLS
START = datetime(2026, 3, 1, tzinfo=UTC).timestamp()
UPTIME = 1000.0  # s that the machine had been on when the data begins
YEARS, DISK = 10, 64e9


class BenchClock:
    """A clock that is set by hand; both of its clocks run as one."""

    def __init__(self) -> None:
        self.monotonic = UPTIME

    def now(self) -> Instant:
        wall = datetime.fromtimestamp(START + self.monotonic - UPTIME, UTC).isoformat(timespec="milliseconds")
        return Instant(wall, "bench", self.monotonic, True)


def load(second: np.ndarray, draw: np.random.Generator) -> np.ndarray:
    """Current of the whole bank over a day, positive when it gives. [A]"""
    of_day = second % 86400
    hour = of_day / 3600
    day = (hour > 6.5) & (hour < 17.5)
    sun = -160 * np.clip(np.sin((hour - 6.5) / 11 * math.pi), 0, None) * day
    cloudy = np.interp(of_day, np.arange(0, 86700, 300), draw.random(289)) > 0.7
    kettle = np.interp(of_day, np.arange(0, 87000, 600), draw.random(145)) > 0.85
    return sun * np.where(cloudy, 0.5, 1.0) + 18 + 6 * np.sin(hour / 24 * 2 * math.pi) + 40.0 * kettle


def hour_of(begin: int, seed: int) -> list[Columns]:
    """One hour of readings of all modules, from second `begin` of the data."""
    draw = np.random.default_rng([seed, begin])
    second = np.arange(begin, begin + 3600, dtype=float)
    bank = load(second, np.random.default_rng([seed, begin // 86400]))
    clock = UPTIME + second + np.abs(draw.normal(0, 0.004, 3600))
    columns = []
    for module in range(1, MODULES + 1):
        part = bank / MODULES * (1 + 0.02 * math.sin(module))
        current = part + draw.normal(0, 0.02, 3600)
        soc = 0.55 - 0.25 * np.sin(second / 86400 * 2 * math.pi + 0.3) + 0.01 * math.sin(module)
        curve = 3.28 + 0.03 * np.tanh((soc - 0.55) * 6) + 0.0003 * np.arange(CELLS)[:, None] - part * 0.0006
        cells = curve.T + draw.normal(0, 6e-4, (3600, CELLS))
        warm = 24 + 3 * np.sin(second / 86400 * 2 * math.pi)[:, None] + 0.4 * np.arange(PROBES)
        probes = warm + draw.normal(0, 0.04, (3600, PROBES))
        name, when = f"M{module}", clock + 0.03 * module
        parts = (
            ("voltage", (name,), cells.sum(axis=1, keepdims=True) + draw.normal(0, 0.003, (3600, 1))),
            ("current", (name,), current[:, None]),
            ("soc", (name,), soc[:, None]),
            ("temperature_degc", tuple(f"{name}.t{k}" for k in range(1, PROBES + 1)), probes),
            ("cell_voltage", tuple(f"{name}.c{k}" for k in range(1, CELLS + 1)), cells),
        )
        columns += [Columns(q, at, when, value, np.zeros(value.shape, np.uint8)) for q, at, value in parts]
    return columns


def filled(place: Path, hours: int) -> tuple[Telemetry, BenchClock, dict[str, float]]:
    """Receive and seal so many hours; how long and how large."""
    clock = BenchClock()
    store = open_telemetry(place / "bench.toml", clock=clock)
    empty = store.path.stat().st_size
    receiving, sealing = 0.0, 0.0
    for hour in range(hours):
        columns = hour_of(3600 * hour, 1)
        clock.monotonic = UPTIME + 3600 * (hour + 1)
        before = time.process_time()
        store.append(*columns)
        receiving += time.process_time() - before
        clock.monotonic += 121 if hour == hours - 1 else 0
        before = time.process_time()
        store.seal()
        sealing += time.process_time() - before
    store._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return store, clock, {"empty": empty, "receiving": receiving, "sealing": sealing}


def points_of(hours: int) -> int:
    return hours * 3600 * MODULES * SIGNALS


def sizes(store: Telemetry, hours: int, spent: dict[str, float]) -> None:
    """Bytes a point, by part, and ten years of it."""
    points = points_of(hours)

    def share(question: str) -> float:
        return store._connection.execute(question).fetchone()[0] / points

    blocks = share("SELECT sum(length(block)) FROM sealed")
    minutes, hourly = (share(f"SELECT sum(length(sums)) FROM {table}") for table in ("minute", "hour"))
    pages, free, size = (store._connection.execute(f"PRAGMA {name}").fetchone()[0]
                         for name in ("page_count", "freelist_count", "page_size"))  # fmt: skip
    used = (pages - free) * size
    print(f"{points / 1e6:.1f} million points ({MODULES} modules x {SIGNALS} signals x {hours} h at 1 Hz)")
    print(f"  sealed blocks      {blocks:6.3f} bytes a point (time, both clocks and row numbers included)")
    print(f"  minutes, hours     {minutes:6.3f}, {hourly:6.3f}")
    print(f"  pages of the file  {used / points:6.3f} all together, with indexes and half-filled pages")
    ten = used / hours * 24 * 365.25 * YEARS
    print(f"  {YEARS} years: {ten / 1e9:.1f} GB, {ten / DISK:.0%} of 64 GB")
    print(f"  one signal: a day {used / points * 86400 / 1e3:.0f} kB, a year {used / points * 31557600 / 1e6:.1f} MB")
    rates = {name: points / spent[name] / 1e6 for name in ("receiving", "sealing")}
    print(f"  in large appends {rates['receiving']:.2f} M points a second, sealing {rates['sealing']:.2f} M")


def wide(hours: int) -> dict[str, np.ndarray]:
    """The same readings as columns of whole steps, sorted by module and time."""
    from bankwright.logbook.telemetry.frames import step_of

    found: dict[str, list[np.ndarray]] = {}
    every = [hour_of(3600 * hour, 1) for hour in range(hours)]
    for module in range(MODULES):
        for columns in every:
            mine = columns[5 * module : 5 * module + 5]
            found.setdefault("module", []).append(np.full(3600, module + 1, np.int16))
            found.setdefault("time", []).append(np.round(mine[0].time * 1000).astype(np.int64))
            for each in mine:
                for k in range(len(each.at)):
                    steps = np.round(each.value[:, k] / step_of(each.quantity)).astype(np.int32)
                    found.setdefault(f"{each.quantity}_{k + 1}", []).append(steps)
    return {name: np.concatenate(parts) for name, parts in found.items()}


def others(place: Path, hours: int) -> None:
    """Parquet and DuckDB with the same data; left out where they are not installed."""
    try:
        import duckdb
        import pyarrow as arrow
        import pyarrow.parquet as parquet
    except ImportError as error:
        print(f"  (no comparison: {error})")
        return
    points = points_of(hours)
    table = arrow.table(wide(hours))
    ways = {
        "Parquet, as it comes": {"compression": "zstd", "compression_level": 3},
        "Parquet, delta-packed": {"compression": "zstd", "compression_level": 3, "use_dictionary": False,
                                  "column_encoding": dict.fromkeys(table.column_names, "DELTA_BINARY_PACKED")},
    }  # fmt: skip
    for name, options in ways.items():
        if "column_encoding" in options:
            table = table.set_column(0, "module", table["module"].cast(arrow.int32()))
        parquet.write_table(table, place / "bench.parquet", **options)
        print(f"  {name:22} {(place / 'bench.parquet').stat().st_size / points:6.3f} bytes a point, no sums")
    question = "SELECT time, cell_voltage_7 FROM {} WHERE module = 7"
    with duckdb.connect(str(place / "bench.duckdb")) as connection:
        connection.register("rows", table)
        connection.execute("CREATE TABLE reading AS SELECT * FROM rows ORDER BY module, time")
        connection.execute("CHECKPOINT")
        asked = timed(lambda: connection.execute(question.format("reading")).fetchnumpy())
        from_parquet = timed(lambda: connection.execute(question.format(f"'{place / 'bench.parquet'}'")).fetchnumpy())
    print(f"  DuckDB's own file      {(place / 'bench.duckdb').stat().st_size / points:6.3f} bytes a point, no sums")
    print("  Gorilla, published       1.370 bytes a point, on data of its own")
    print(f"  a day of one cell: DuckDB {asked * 1e3:.1f} ms, DuckDB on Parquet {from_parquet * 1e3:.1f} ms")


def timed(act: Callable[[], object], rounds: int = 9) -> float:
    """Median time of one call by the wall. [s]"""
    return both(act, rounds)[0]


def both(act: Callable[[], object], rounds: int = 9) -> tuple[float, float]:
    """Median time of one call by the wall, and of a core alone, which other programs do not lengthen. [s]"""
    found = []
    for _ in range(rounds):
        wall, core = time.perf_counter(), time.process_time()
        act()
        found.append((time.perf_counter() - wall, time.process_time() - core))
    walls, cores = zip(*found, strict=True)
    return statistics.median(walls), statistics.median(cores)


def told(act: Callable[[], object], rounds: int = 9) -> str:
    """Both times in words."""
    wall, core = both(act, rounds)
    return f"{wall * 1e3:.1f} ms by the wall, {core * 1e3:.1f} ms of a core"


def questions(store: Telemetry, hours: int) -> None:
    end = START + hours * 3600
    day = told(lambda: store.read("cell_voltage", ("M7.c7",), START, end))
    bank = told(lambda: store.read("current", [f"M{k}" for k in range(1, MODULES + 1)], START, end, grid=1.0), 3)
    minutes = told(lambda: store.rollup("cell_voltage", ("M7.c7",), START, end, every="minute"))
    print(f"{hours} h of one signal, every reading: {day} (asked for: a day under 60 ms)")
    print(f"{hours} h of one signal by the minute: {minutes}")
    print(f"{hours} h of the currents of all modules on one grid: {bank}")


def a_year(store: Telemetry, hours: int) -> None:
    """A year by the hour: the sums of the measured hours, repeated over a year, in the table that is asked."""
    connection = store._connection
    connection.execute("BEGIN")
    rows = connection.execute("SELECT * FROM hour WHERE block_no <= ?", (hours * MODULES,)).fetchall()
    for again in range(1, 8766 // hours + 1):
        shift = again * hours * 3_600_000
        moved = [(f, b, mono + shift, block + again * 10**6, sums, crc) for f, b, mono, block, sums, crc in rows]
        connection.executemany("INSERT INTO hour VALUES (?, ?, ?, ?, ?, ?)", moved)
    connection.execute("COMMIT")
    end = START + 365.25 * 86400
    answer = store.rollup("cell_voltage", ("M7.c7",), START, end)
    year = told(lambda: store.rollup("cell_voltage", ("M7.c7",), START, end))
    print(f"a year of one signal by the hour ({len(answer.mean.time)} hours, lowest, mean, highest, count): "
          f"{year} (asked for: under 50 ms)")  # fmt: skip


def share_of_a_core(place: Path, together: int, seconds: int = 1200) -> None:
    """Polls at 1 Hz, so many in a commit, and the sealing of what was received."""
    clock = BenchClock()
    columns = hour_of(0, 2)
    with open_telemetry(place / f"live-{together}.toml", clock=clock) as store:
        handed, before, wall = written(), time.process_time(), time.perf_counter()
        for first in range(0, seconds, together):
            part = slice(first, first + together)
            now = [Columns(c.quantity, c.at, c.time[part], c.value[part], c.quality[part]) for c in columns]
            clock.monotonic = UPTIME + first + together - 0.01
            store.append(*now)
        spent, took = time.process_time() - before, time.perf_counter() - wall
        handed = written() - handed
        clock.monotonic += 7300
        before = time.process_time()
        sealed = store.seal()
        sealing = (time.process_time() - before) * seconds / (sealed.rows / MODULES)
    print(f"{together} poll{'s' if together > 1 else ''} of {MODULES} modules a commit: "
          f"{spent / seconds * 1e3:.2f} ms of a core a poll ({took / seconds * 1e3:.2f} ms by the wall), "
          f"sealing {sealing / seconds * 1e3:.2f} ms")  # fmt: skip
    print(f"  together {(spent + sealing) / seconds:.2%} of one core at 1 Hz (asked for: under 5 %); "
          f"{handed / seconds * 86400 / 1e6:.0f} MB a day handed to the disk")  # fmt: skip


def written() -> int:
    """Bytes that this process handed to the system so far; 0 where it does not tell."""
    try:
        return int(Path("/proc/self/io").read_text().split("wchar: ")[1].split()[0])
    except OSError:
        return 0


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    options.add_argument("--hours", type=int, default=24)
    hours = options.parse_args().hours
    with tempfile.TemporaryDirectory(dir=os.environ.get("BENCH_ROOM")) as name:
        place = Path(name)
        store, _, spent = filled(place, hours)
        sizes(store, hours, spent)
        print("the same data elsewhere")
        others(place, hours)
        questions(store, hours)
        a_year(store, hours)
        store.close()
        for together in (1, 10):
            share_of_a_core(place, together)


if __name__ == "__main__":
    main()
