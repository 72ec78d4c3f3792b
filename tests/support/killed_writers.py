"""Writers of a logbook that are killed with SIGKILL, at random instants or at a chosen step of the engine.

Run as a program, since it forks, which a process with threads should not:
`killed_writers.py DIRECTORY ROUNDS SEED [steps]`.
Prints one JSON object: rounds, acknowledged, lost (acknowledged ids that are not in the reopened logbook), signals.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from pathlib import Path

from bankwright.logbook.check_repair import check
from bankwright.logbook.logbook import Logbook, open_logbook
from support.logbank import CLAMP, volts


def write_for_ever(bank_file: Path, pipe: int, seed: int, kill_at: int | None) -> None:
    """Append without end; an id goes to the pipe after its receipt came back."""
    draw = random.Random(seed)
    book = open_logbook(bank_file)
    book._connection.execute("PRAGMA wal_autocheckpoint = 30")  # so that kills meet checkpoints too
    if kill_at is not None:
        book.note("before")
        _kill_at_step(book, kill_at)
    while True:
        number = draw.randrange(4)
        if number == 0:
            receipt = book.tick(f"step.{draw.randrange(50)}", "torque")
        elif number == 1:
            receipt = book.hand_over("torque log", {"joints": ["x" * 40] * draw.randrange(200)})  # over several pages
        else:
            receipt = book.append_reading(volts("M1", round(draw.uniform(50, 54), 2)), CLAMP)
        os.write(pipe, (receipt.id + "\n").encode())


def _kill_at_step(book: Logbook, step: int) -> None:
    """Die inside the engine, after so many of its own instructions."""
    left = [step]

    def count() -> int:
        left[0] -= 1
        if left[0] <= 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return 0

    book._connection.set_progress_handler(count, 1)


def one_round(bank_file: Path, seed: int, kill_at: int | None) -> tuple[list[str], int]:
    """Fork a writer, kill it, return what it had acknowledged and the signal it died of."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reader)
        try:
            write_for_ever(bank_file, writer, seed, kill_at)
        finally:
            os._exit(3)
    os.close(writer)
    said = b""
    if kill_at is None:
        if seed % 2:  # every other one is let write first; the rest may die while they open the file
            said = os.read(reader, 65536)
        time.sleep(random.Random(seed).uniform(0.0, 0.06))
        os.kill(child, signal.SIGKILL)
    while part := os.read(reader, 65536):
        said += part
    os.close(reader)
    _, status = os.waitpid(child, 0)
    whole = said[: said.rfind(b"\n") + 1]
    return whole.decode().split(), os.WTERMSIG(status) if os.WIFSIGNALED(status) else -1


def main(directory: str, rounds: str, seed: str, steps: str = "") -> None:
    """Kill so many writers of one logbook, and look for every acknowledged id after each."""
    bank_file = Path(directory) / "orchard.toml"
    acknowledged: list[str] = []
    lost: set[str] = set()
    signals: dict[int, int] = {}
    for number in range(int(rounds)):
        ids, died_of = one_round(bank_file, int(seed) + number, 1 + number * int(steps) if steps else None)
        signals[died_of] = signals.get(died_of, 0) + 1
        acknowledged += ids
        with open_logbook(bank_file) as book:
            lost |= {id_ for id_ in ids if book.entry_by_id(id_) is None}
            assert book._connection.execute("PRAGMA quick_check").fetchall() == [("ok",)]
    with open_logbook(bank_file) as book:
        entries = list(book.entries())
    lost |= set(acknowledged) - {entry.id for entry in entries}
    report = check(bank_file.with_suffix(".logbook"))
    numbers = [entry.seq for entry in entries]
    told = {
        "acknowledged": len(acknowledged),
        "lost": sorted(lost),
        "signals": signals,
        "damage": [damage.words for damage in report.damage],
        "gapless": numbers == list(range(1, len(numbers) + 1)),
    }
    print(json.dumps(told))


if __name__ == "__main__":
    main(*sys.argv[1:])
