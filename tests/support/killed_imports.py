"""Imports that are killed with SIGKILL, at random instants or at a chosen instruction of the engine, and run again.

Run as a program, since it forks: `killed_imports.py DIRECTORY ROUNDS SEED [steps]`. Prints one JSON object: signals,
rows of the file, rows in the logbook at the end, how many stand there twice, acknowledged bytes that were lost.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from collections import Counter
from pathlib import Path

from bankwright.logbook.elsewhere.asked import Asked
from bankwright.logbook.elsewhere.bring import Look, brought, looked_at
from bankwright.logbook.elsewhere.facts import Facts
from bankwright.logbook.telemetry.store import Telemetry

FACTS, ROWS, BLOCK = Facts(("M1",), 16, 100.0), 3000, 500


def made(folder: Path) -> Path:
    """A log of so many rows, each with a value of its own."""
    path = folder / "old.csv"
    rows = (
        f"2026-03-{14 + k // 86400:02d}T{k // 3600 % 24:02d}:{k // 60 % 60:02d}:{k % 60:02d}Z,{40 + k / 1000:.3f}"
        for k in range(ROWS)
    )
    path.write_text("time,voltage [V]\n" + "\n".join(rows) + "\n")
    return path


def one_round(look: Look, book: Path, draw: random.Random, steps: bool) -> tuple[int, int]:
    """Fork an import, kill it; bytes that it had acknowledged, and what it died of."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reader)
        with Telemetry(book) as store:
            if steps:
                _kill_at_step(store, draw.randrange(200, 25_000))
            brought(look, FACTS, store, progress=lambda done, _: os.write(writer, f"{done}\n".encode()), block=BLOCK)  # type: ignore[arg-type, return-value]
        os._exit(0)
    os.close(writer)
    if not steps:
        time.sleep(draw.uniform(0.02, 0.3))
        os.kill(child, signal.SIGKILL)
    told = b""
    while part := os.read(reader, 65536):
        told += part
    os.close(reader)
    _, status = os.waitpid(child, 0)
    whole = [int(line) for line in told.split(b"\n")[:-1]]
    return max(whole, default=0), os.WTERMSIG(status) if os.WIFSIGNALED(status) else 0


def _kill_at_step(store: Telemetry, step: int) -> None:
    left = [step]

    def count() -> int:
        left[0] -= 20
        if left[0] <= 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return 0

    store._connection.set_progress_handler(count, 20)


def main() -> None:
    """Kill, look, kill again; then let one run to its end."""
    folder, rounds, draw, steps = Path(sys.argv[1]), int(sys.argv[2]), random.Random(sys.argv[3]), "steps" in sys.argv
    path, book = made(folder), folder / "bank.logbook"
    look = looked_at(path, FACTS, Asked())
    signals: Counter[int] = Counter()
    lost = 0
    for _ in range(rounds):
        acknowledged, died = one_round(look, book, draw, steps)
        signals[died] += 1
        with Telemetry(book) as store:
            again = looked_at(path, FACTS, Asked(), store=store)
        lost += acknowledged > (again.before.bytes if again.before is not None else 0)
        if died == 0:  # it came to the end: begin with a new logbook
            book.unlink()
    with Telemetry(book) as store:
        brought(look, FACTS, store, block=BLOCK)
        brought(look, FACTS, store, block=BLOCK)
        values = store.read("voltage", ["M1"], 0.0, 4e9)
    kept = Counter(values.value[:, 0].round(3).tolist())
    expected = {round(40 + k / 1000, 3) for k in range(ROWS)}
    twice = sum(count - 1 for count in kept.values())
    told = {"signals": signals, "rows": ROWS, "kept": len(values.time), "twice": twice}
    print(json.dumps(told | {"missing": len(expected - set(kept)), "lost": lost}))


if __name__ == "__main__":
    main()
