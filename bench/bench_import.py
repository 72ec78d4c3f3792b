"""An old log read and stored, beside a bare loop over the csv module and DuckDB's reader, in one run.

Data: one module with 16 cells, volts, amperes, charge and two probes at 1 Hz, made up (fixed seed), times as texts. The
bare loop parts the fields and makes nothing of them. DuckDB finds types by itself and fills a table in memory. Here:
looked through (everything is parted, converted, judged and counted), and stored (the same again, packed, committed and
synced). Each is the best of so many rounds. Prints; asserts nothing. `--megabytes N` (64 by default), `--rounds N` (2).
"""

from __future__ import annotations

import argparse
import csv
import resource
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from bankwright.logbook.elsewhere.asked import Asked
from bankwright.logbook.elsewhere.bring import brought, looked_at
from bankwright.logbook.elsewhere.facts import Facts
from bankwright.logbook.telemetry.store import Telemetry

FACTS = Facts(("M1",), 16, 100.0)
START = datetime(2025, 1, 1, tzinfo=UTC)
HEADINGS = ["time", "voltage [V]", "current [A]", "soc [%]", *(f"cell {c} [V]" for c in range(1, 17)), "temp 1 [°C]"]


def write_log(path: Path, megabytes: float) -> int:
    """Write about so many MB; how many rows."""
    draw, rows = np.random.default_rng(5), 0
    with path.open("w", encoding="utf-8") as file:
        file.write(",".join(HEADINGS) + "\n")
        while file.tell() < megabytes * 1e6:
            amps = 30 * np.sin((rows + np.arange(3600)) / 5000) + draw.normal(0, 0.02, 3600)
            cells = 3.3 - amps[:, None] * 6e-4 + draw.normal(0, 6e-4, (3600, 16))
            for k in range(3600):
                stamp = (START + timedelta(seconds=rows + k)).strftime("%Y-%m-%d %H:%M:%S")
                parts = [f"{cells[k].sum():.2f}", f"{amps[k]:.2f}", f"{62 - amps[k] / 50:.1f}"]
                parts += [f"{cell:.3f}" for cell in cells[k]]
                file.write(f"{stamp},{','.join(parts)},{22 + amps[k] / 30:.1f}\n")
            rows += 3600
    return rows


def bare_loop(path: Path) -> int:
    """Part every line."""
    count = 0
    with path.open(encoding="utf-8", newline="") as file:
        for _ in csv.reader(file):
            count += 1
    return count


def duck(path: Path) -> int:
    """DuckDB's reader into a table in memory."""
    import duckdb

    link = duckdb.connect()
    link.execute(f"CREATE TABLE log AS SELECT * FROM read_csv('{path}')")
    (count,) = link.execute("SELECT count(*) FROM log").fetchone() or (0,)
    return int(count)


def best(act: Callable[[], object], rounds: int) -> float:
    """Shortest time, s."""
    times = []
    for _ in range(rounds):
        begin = time.perf_counter()
        act()
        times.append(time.perf_counter() - begin)
    return min(times)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--megabytes", type=float, default=64)
    parser.add_argument("--rounds", type=int, default=2)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        path, told = Path(folder) / "old.csv", Asked(zone="UTC")
        rows = write_log(path, asked.megabytes)
        size, values = path.stat().st_size / 1e6, rows * (len(HEADINGS) - 1)
        print(f"{size:.0f} MB, {rows} rows, {values / 1e6:.1f} million values")
        look = looked_at(path, FACTS, told)

        def store() -> None:
            book = Path(folder) / "bank.logbook"
            for old in Path(folder).glob("bank.logbook*"):
                old.unlink()
            with Telemetry(book) as telemetry:
                brought(look, FACTS, telemetry)

        bare = best(lambda: bare_loop(path), asked.rounds)
        other = best(lambda: duck(path), asked.rounds)
        looked = best(lambda: looked_at(path, FACTS, told), asked.rounds)
        stored = best(store, asked.rounds)
        for name, seconds in (("bare loop over the csv module", bare), ("DuckDB's reader, all cores", other),
                              ("looked through here", looked), ("stored here", stored)):  # fmt: skip
            ratio = f"{seconds / bare:.2f} of the bare loop, {seconds / other:.1f} of DuckDB"
            print(f"{name:32} {seconds:7.2f} s  {size / seconds:6.1f} MB/s  {ratio}")
        print(f"logbook: {(Path(folder) / 'bank.logbook').stat().st_size / values:.2f} bytes a value")
        print(f"most memory of this process: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()
