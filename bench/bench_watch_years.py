"""Opening `bankwright watch` on a logbook of ten years: the whole program, its start included.

`python bench/bench_watch_years.py` makes the logbook: 4 modules, 3652 kept days of joints, readings every five days,
every hour of the last month, an event every third day; opens it once (days of the other rooms are taken), then again.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / name) for name in ("src", "tests")]

from bankwright.forms.readings import Columns  # noqa: E402
from bankwright.logbook.telemetry.store import Telemetry, open_telemetry  # noqa: E402
from bankwright.watch.joints.daily import day_name  # noqa: E402
from bankwright.watch.joints.hours import FORM, packed, reduced  # noqa: E402
from support.joints.files import bank_of, bank_text  # noqa: E402
from support.joints.pretend import PretendBank  # noqa: E402

FIRST, MONTHS, MONTH, WIRING = 17000, 120, 30.4375, "chain opposite ends"


def readings(telemetry: Telemetry, names: tuple[str, ...]) -> None:
    """Few readings of a long time, and every hour of the last month."""
    for month in range(MONTHS):
        every = 3600.0 if month == MONTHS - 1 else 5 * 86400.0
        at = (FIRST + month * MONTH) * 86400.0 + np.arange(0, MONTH * 86400, every)
        draw, good = np.random.default_rng(month), np.zeros((len(at), 1), np.uint8)
        columns = []
        for k, name in enumerate(names):
            amps = draw.normal(0, 5, (len(at), 1))
            told = {"voltage": 52.8 - 0.01 * amps, "current": amps, "temperature_degc": np.full((len(at), 1), 20.0)}
            columns += [Columns(what, (name,), at + 0.1 * k, value, good) for what, value in told.items()]
        telemetry.append_dated(*columns, source="pretend")


def kept(telemetry: Telemetry, names: tuple[str, ...]) -> None:
    """Every day of joints, and an event now and then."""
    made = PretendBank(bank_of(len(names), WIRING), 1)
    some = [reduced(names, cycles, warm, k) for k, (cycles, warm) in enumerate(made.days(3))]
    for k in range(int(MONTHS * MONTH) - 1):
        day = replace(some[k % 3], hour=some[k % 3].hour % 24 + (FIRST + k) * 24)
        telemetry.put_state(day_name(FIRST + k), FORM, packed(day))
        if k % 3 == 0:
            telemetry.event("alarm-raised", at="M1", rule="hot", value=50.0, limit=49.0)


def main() -> None:
    """Make, open, open again with a watch in the hand."""
    names = tuple(module.name for module in bank_of(4, WIRING).modules)
    with tempfile.TemporaryDirectory() as place:
        file = Path(place) / "bench.toml"
        file.write_text(bank_text(4, WIRING), "utf-8")
        with open_telemetry(file) as telemetry:
            readings(telemetry, names)
            kept(telemetry, names)
        command = [sys.executable, "-m", "bankwright", "watch", str(file)]
        where = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
        for what in ("first opening: days of all rooms are taken", "opened again"):
            begin, before = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
            subprocess.run(command, env=where, capture_output=True, check=False)
            own = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - before
            print(f"{what:58} {time.perf_counter() - begin:7.2f} s   CPU {own:7.2f} s   target 2 s when opened again")


if __name__ == "__main__":
    main()
