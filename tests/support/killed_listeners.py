"""Listeners that are killed with SIGKILL, at random instants or at a chosen instruction of the engine while sealing.

Run as a program, since it forks: `killed_listeners.py DIRECTORY ROUNDS SEED [random | seal]`.
Prints one JSON object: rounds, acknowledged, lost, doubled, changed, signals, sealed (rounds that died inside seal()).
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from pathlib import Path

import numpy as np

from bankwright.logbook.check_repair import check
from bankwright.logbook.telemetry.store import Telemetry, open_telemetry
from support.logbank import StepClock
from support.telemetry_rows import ALL, columns

EVERY = 20.0  # s of made-up time between readings: an hour is over after 180
MODULES = ("M1", "M2", "M3")


def value_at(own_clock: float, module: int) -> float:
    """What a module says at a moment: told by the moment alone, so that it can be asked for again."""
    return round(52 + (round(own_clock * 10) * 7919 + module * 104729) % 1000 / 1000, 3)


def listen(bank_file: Path, pipe: int, start: float, dies_sealing: int | None) -> None:
    """Append and seal without end; a moment goes to the pipe after its receipt came back."""
    clock = StepClock()
    clock.passes(start - clock.monotonic)
    store = open_telemetry(bank_file, clock=clock)
    store._connection.execute("PRAGMA wal_autocheckpoint = 20")  # so that kills meet checkpoints too
    for number in range(10**9):
        clock.passes(EVERY)
        now = clock.monotonic
        volts = [value_at(now, k) for k in range(len(MODULES))]
        store.append(columns("voltage", MODULES, [now], [volts]), columns("current", MODULES, [now], [volts]))
        os.write(pipe, f"{now}\n".encode())
        if number % 60 == 59:
            os.write(pipe, b"seal\n")
            if dies_sealing is not None and number >= 239:
                _kill_at(store, dies_sealing)
            store.seal()
            store._connection.set_progress_handler(None, 1)
            os.write(pipe, b"sealed\n")


def _kill_at(store: Telemetry, step: int) -> None:
    """Die inside the engine, after so many of its own instructions."""
    left = [step]

    def count() -> int:
        left[0] -= 1
        if left[0] <= 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return 0

    store._connection.set_progress_handler(count, 1)


def one_round(bank_file: Path, start: float, draw: random.Random, dies_sealing: int | None) -> tuple[list[str], int]:
    """Fork a listener, kill it, return what it said and the signal it died of."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reader)
        try:
            listen(bank_file, writer, start, dies_sealing)
        finally:
            os._exit(3)
    os.close(writer)
    said = b""
    if dies_sealing is None:
        said = os.read(reader, 65536) if draw.random() < 0.8 else b""
        time.sleep(draw.uniform(0.0, 0.08))
        os.kill(child, signal.SIGKILL)
    while part := os.read(reader, 65536):
        said += part
    os.close(reader)
    _, status = os.waitpid(child, 0)
    return said[: said.rfind(b"\n") + 1].decode().split(), os.WTERMSIG(status) if os.WIFSIGNALED(status) else -1


def judged(bank_file: Path, acknowledged: set[float]) -> dict[str, int]:
    """Look for every acknowledged moment, for one that is there twice, for a value that changed."""
    with open_telemetry(bank_file, clock=StepClock()) as store:
        got = store.read("voltage", MODULES, *ALL)
        current = store.read("current", MODULES, *ALL)
        (shift,) = {boot.shift_ms for boot in store.boots()}
        sums = store.rollup("voltage", MODULES, *ALL)
    own = np.round(got.time - shift / 1000, 3)
    right = np.array([[value_at(moment, k) for k in range(len(MODULES))] for moment in own])
    return {
        "lost": len(acknowledged - set(own.tolist())),
        "doubled": len(own) - len(set(own.tolist())),
        "changed": int((got.value != right).sum() + (current.value != np.round(right, 2)).sum()),
        "uncounted": int(3 * len(own) - sums.count.sum()),
    }


def main(directory: str, rounds: str, seed: str, where: str = "random") -> None:
    """Kill so many listeners of one logbook, one after the other."""
    bank_file, draw = Path(directory) / "orchard.toml", random.Random(int(seed))
    acknowledged: set[float] = set()
    signals: dict[int, int] = {}
    inside, start, worst = 0, 100.0, {"lost": 0, "doubled": 0, "changed": 0, "uncounted": 0}
    for number in range(int(rounds)):
        step = draw.randrange(1, 12_000) if where == "seal" else None
        words, died_of = one_round(bank_file, start, draw, step)
        signals[died_of] = signals.get(died_of, 0) + 1
        acknowledged.update(float(word) for word in words if word[0].isdigit())
        inside += words.count("seal") > words.count("sealed")
        start = max([start, *acknowledged]) + EVERY  # a row that was on its way may stand at the moment after
        if number % 5 == 4 or number == int(rounds) - 1:
            found = judged(bank_file, acknowledged)
            worst = {name: max(worst[name], found[name]) for name in worst}
    report = check(bank_file.with_suffix(".logbook"))
    told = {"acknowledged": len(acknowledged), **worst, "signals": signals, "inside_seal": inside,
            "damage": [damage.words for damage in report.damage], "rows": report.rows}  # fmt: skip
    print(json.dumps(told))


if __name__ == "__main__":
    main(*sys.argv[1:])
