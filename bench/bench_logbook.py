"""Logbook beside bare SQLite doing the same durable insert, in one run: rows a second, open time, size.

Bare SQLite: one table with the same columns of a reading and one index over its id, write-ahead log,
synchronous = FULL, one commit a row. The logbook does more for each row: a second, self-checking copy, a look for
the same id, for corrections and for clock jumps. Prints; asserts nothing. `--rows N` sets the size of the large file
(1 million by default).
"""

from __future__ import annotations

import argparse
import random
import secrets
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from bankwright.forms.readings import Instant, Instrument, Reading, band
from bankwright.logbook.clocks import SystemClock
from bankwright.logbook.entries import Entry, new_id
from bankwright.logbook.logbook import open_logbook
from bankwright.logbook.write import insert_as_it_was

CLAMP = Instrument("clamp", "voltage", 0.005, 2, 0.1, 0.0, 60.0)
MODULES = [f"M{n}" for n in range(1, 17)]


def reading(draw: random.Random, now: Instant) -> Reading:
    value = round(draw.uniform(50, 54), 2)
    low, high = band(value, CLAMP) or (value, value)
    return Reading("voltage", draw.choice(MODULES), value, low, high, "clamp", f"{value} V", "Kim", now)


def bare(path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute(
        "CREATE TABLE reading(seq INTEGER PRIMARY KEY, id TEXT UNIQUE, at TEXT, quantity TEXT, value REAL, low REAL, "
        "high REAL, instrument TEXT, as_typed TEXT, who TEXT, wall TEXT, boot TEXT, monotonic REAL)"
    )
    return connection


_INSERT = (
    "INSERT INTO reading(id, at, quantity, value, low, high, instrument, as_typed, who, wall, boot, monotonic) "
    "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)


def insert_bare(connection: sqlite3.Connection, item: Reading) -> None:
    row = (secrets.token_hex(8), item.at, item.quantity, item.value, item.low, item.high, item.instrument,
           item.as_typed, item.who, item.when.wall, item.when.boot, item.when.monotonic)  # fmt: skip
    connection.execute(_INSERT, row)


def rate(act: Callable[[], object], seconds: float) -> float:
    """Times a second, counted over `seconds`."""
    count, start = 0, time.perf_counter()
    while time.perf_counter() - start < seconds:
        act()
        count += 1
    return count / (time.perf_counter() - start)


def acknowledged_rows(place: Path, rounds: int = 5, seconds: float = 1.0) -> None:
    """Turn about, so that both meet the same disk."""
    draw, clock = random.Random(1), SystemClock()
    connection = bare(place / "bare.db")
    rates: dict[str, list[float]] = {"bare": [], "logbook": []}
    with open_logbook(place / "fast.toml") as book:
        for _ in range(rounds):
            rates["bare"].append(rate(lambda: insert_bare(connection, reading(draw, clock.now())), seconds))
            rates["logbook"].append(rate(lambda: book.append_reading(reading(draw, clock.now())), seconds))
    connection.close()
    middle = {name: statistics.median(found) for name, found in rates.items()}
    print(f"acknowledged rows a second, one commit each (median of {rounds} rounds of {seconds:g} s)")
    print(f"  bare SQLite {middle['bare']:8.0f}   {min(rates['bare']):.0f} to {max(rates['bare']):.0f}")
    print(f"  logbook     {middle['logbook']:8.0f}   {min(rates['logbook']):.0f} to {max(rates['logbook']):.0f}")
    print(f"  ratio       {middle['logbook'] / middle['bare']:8.2f}")


def large_file(place: Path, rows: int) -> None:
    draw, now = random.Random(2), SystemClock().now()
    items = [reading(draw, now) for _ in range(1000)]
    connection = bare(place / "large.db")
    start = time.perf_counter()
    connection.execute("BEGIN")
    for n in range(rows):
        insert_bare(connection, items[n % 1000])
    connection.execute("COMMIT")
    bare_write = time.perf_counter() - start
    connection.close()
    start = time.perf_counter()
    with open_logbook(place / "large.toml") as book:
        entries = [
            Entry(
                "reading",
                "",
                i.at,
                who=i.who,
                when=now,
                quantity=i.quantity,
                value=i.value,
                low=i.low,
                high=i.high,
                instrument=i.instrument,
                as_typed=i.as_typed,
                origin="by hand",
                stored=now,
            )
            for i in items
        ]
        for first in range(0, rows, 50_000):
            numbers = range(first, min(first + 50_000, rows))
            part = [numbered(entries[n % 1000], n + 1) for n in numbers]
            insert_as_it_was(book._connection, part, numbers[-1] + 1)
    logbook_write = time.perf_counter() - start
    print(f"\n{rows} rows in large commits: bare {bare_write:.1f} s, logbook {logbook_write:.1f} s")
    sizes = {name: (place / name).stat().st_size for name in ("large.db", "large.logbook")}
    print(f"size: bare {sizes['large.db'] / rows:.0f} bytes a row, logbook {sizes['large.logbook'] / rows:.0f}, "
          f"ratio {sizes['large.logbook'] / sizes['large.db']:.2f}")  # fmt: skip
    open_times(place, rows)


def numbered(entry: Entry, number: int) -> Entry:
    from dataclasses import replace

    return replace(entry, id=new_id(), seq=number)


def timed(act: Callable[[], object], rounds: int = 9) -> float:
    """Median time of one call. [s]"""
    found = []
    for _ in range(rounds):
        start = time.perf_counter()
        act()
        found.append(time.perf_counter() - start)
    return statistics.median(found)


def open_times(place: Path, rows: int) -> None:
    def open_bare() -> None:
        connection = sqlite3.connect(place / "large.db", isolation_level=None)
        connection.execute("SELECT max(seq) FROM reading").fetchone()
        connection.close()

    def open_book(write: bool) -> None:
        with open_logbook(place / "large.toml", write=write) as book:
            book.entry(rows)

    plain = timed(open_bare)
    for write in (True, False):
        took = timed(lambda write=write: open_book(write))  # type: ignore[misc]
        words = "writing" if write else "reading"
        print(f"open for {words} and ask for the last row: {took * 1e3:.2f} ms, bare {plain * 1e3:.2f} ms, "
              f"ratio {took / plain:.1f}")  # fmt: skip
    with open_logbook(place / "large.toml", write=False) as book:
        took = timed(lambda: book.readings(at="M7.c3"), 5)
        print(f"readings of a place that has none: {took * 1e3:.2f} ms")
        took = timed(lambda: book.readings(at="M7", quantity="voltage"), 1)
        print(f"all {rows // 16} readings of one module: {took:.2f} s")
    with open_logbook(place / "large.toml") as book:
        print(f"append one reading to it: {timed(lambda: book.note('x'), 21) * 1e3:.2f} ms")


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    options.add_argument("--rows", type=int, default=1_000_000)
    rows = options.parse_args().rows
    with tempfile.TemporaryDirectory() as place:
        acknowledged_rows(Path(place))
        large_file(Path(place), rows)


if __name__ == "__main__":
    main()
