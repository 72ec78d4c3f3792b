"""Watch, measured: days of 16 modules from raw telemetry, and a year of them from what the days keep.

`python bench/bench_watch.py [DAYS]` prints each figure beside its target. One thread of linear algebra. The year from
raw is not run: its figure is 365 times the mean day of so many (4) that were, written, read and kept as `watch --again`
does.
"""

from __future__ import annotations

import os
import resource
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path[:0] = [str(Path(__file__).parents[1] / name) for name in ("src", "tests")]

from bankwright.logbook.telemetry.store import open_telemetry  # noqa: E402
from bankwright.watch.joints.daily import day_name, rebuilt  # noqa: E402
from bankwright.watch.joints.hours import FORM, packed, reduced  # noqa: E402
from bankwright.watch.joints.section import section  # noqa: E402
from bankwright.watch.section import Asked  # noqa: E402
from support.joints.files import bank_of  # noqa: E402
from support.joints.pretend import PretendBank  # noqa: E402
from support.joints.written import write_day  # noqa: E402

FIRST = 20500


def told(what: str, begin: tuple[float, float], target: str) -> None:
    """Print wall and CPU time since a moment, and the most memory so far."""
    wall, own = time.perf_counter() - begin[0], time.process_time() - begin[1]
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{what:58} {wall:7.2f} s   CPU {own:7.2f} s   {memory:5.0f} MB   target {target}")


def now() -> tuple[float, float]:
    """Wall and CPU clock."""
    return time.perf_counter(), time.process_time()


def main() -> None:
    """Measure."""
    bank = bank_of(16, "chain opposite ends")
    names = tuple(module.name for module in bank.modules)
    made = PretendBank(bank, 1)
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 4
    days = list(made.days(count))
    with tempfile.TemporaryDirectory() as place, open_telemetry(Path(place) / "bench.toml") as telemetry:
        for k, (cycles, warm) in enumerate(days):
            write_day(telemetry, names, cycles, warm, k, FIRST)
        begin = now()
        done = sum(1 for _ in rebuilt(bank, telemetry, (FIRST + count) * 86400.0 + 3600.0))
        told(f"{done} days of 16 modules, polls as fast as the line, from raw", begin, f"under {2 * done} s")
        wall, own = ((ended - begun) / done * 365 for begun, ended in zip(begin, now(), strict=True))
        print(f"{'so a year (computed, not run)':58} {wall:7.0f} s   CPU {own:7.0f} s   {'':8}   target under 780 s")
    some = [reduced(names, cycles, warm, k) for k, (cycles, warm) in enumerate(days[:3])]
    with tempfile.TemporaryDirectory() as place, open_telemetry(Path(place) / "bench.toml") as telemetry:
        for k in range(365):
            day = some[k % 3]
            again = replace(day, hour=day.hour % 24 + (FIRST + k) * 24)
            telemetry.put_state(day_name(FIRST + k), FORM, packed(again))
        end = (FIRST + 365) * 86400.0
        for span, target in ((30, "under 2 s"), (365, "under 60 s and 1 GB")):
            begin = now()
            section(Asked(bank, telemetry, end - span * 86400.0, end, end))
            told(f"joints of 16 modules, {span} days shown of a year kept", begin, target)


if __name__ == "__main__":
    main()
