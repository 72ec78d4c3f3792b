"""State of charge, measured: what a year of 16 modules costs, and where the time goes.

`python bench/bench_watch_charge.py [DAYS]` takes so many (365) days: simulated days of 16 modules read every 60 s are
cut into blocks, and the same days are taken again and again, with an hour between two rounds in which nobody listened.
One thread of linear algebra; the processor's own time counts, the load of the machine is printed beside it.
"""

from __future__ import annotations

import os
import sys
import time
from dataclasses import replace
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path[:0] = [str(Path(__file__).parents[1] / name) for name in ("src", "tests")]

import numpy as np  # noqa: E402

from bankwright.watch.charge.blocks import Resistances, blocks_of  # noqa: E402
from bankwright.watch.charge.estimator import Estimator  # noqa: E402
from bankwright.watch.charge.facts import Facts  # noqa: E402
from support.charged_banks import CAPACITY, CELLS, OHMIC, QUICK, SLOW, month, others  # noqa: E402

TRUTH, COUNT, SIMULATED = "18650", 16, 5


def facts() -> Facts:
    """Nominal values, and the curves of other cells."""
    each = [np.full(COUNT, part / CELLS) for part in (OHMIC, QUICK, SLOW)]
    names = tuple(f"M{m + 1}" for m in range(COUNT))
    parts = Resistances(each[0], each[1], 35.0, each[2], 1000.0)
    return Facts(names, np.full(COUNT, CAPACITY), np.full(COUNT, float(CELLS)), parts, np.zeros(COUNT), others(TRUTH))


def main() -> None:
    """Measure."""
    days = int(sys.argv[1]) if len(sys.argv) > 1 else 365
    known, true = facts(), month(TRUTH, COUNT, SIMULATED, 61)
    readings = [true.time] * COUNT, list(true.current.T), list((true.volts / CELLS).T)
    begin = time.process_time()
    blocks, _ = blocks_of(*readings, known.resistances, known.capacity_ah)
    cut = (time.process_time() - begin) / SIMULATED
    estimator, begin, taken = Estimator.begin(known), time.process_time(), 0
    for k in range(0, days, SIMULATED):
        on = blocks.start < min(SIMULATED, days - k) * 86400.0
        away = k * 86400.0 + k // SIMULATED * 3600.0
        part = replace(blocks, **{name: getattr(blocks, name)[on] for name in blocks.__slots__})
        estimator.take(replace(part, start=part.start + away, end=part.end + away))
        taken += len(part)
    own = time.process_time() - begin
    print(f"load of the machine                 {os.getloadavg()[0]:8.1f}")
    print(f"cut a day of 16 modules, 60 s polls {cut:8.3f} s CPU")
    print(f"take {days} days, {taken} blocks          {own:8.2f} s CPU, {own / taken * 1000:.2f} ms a block")
    print(f"so a year                           {own / days * 365:8.1f} s CPU   target under 60 s")


if __name__ == "__main__":
    main()
