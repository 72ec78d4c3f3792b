"""Opening `bankwright watch` on a logbook of ten years: the whole program, its start included.

`python bench/bench_watch_years.py [MODULES] [FOLDER]` makes the logbook (in FOLDER it stays and is used again): 4 or
so many modules, 3652 kept days of joints, readings every five days, every minute of the last month, every 2 s of its
last day, an event every third day. Then:
- `watch` where no listener ever ran: how long until it says what stands, and how long until it ends after Ctrl-C;
- what a listener does as days close (its looker), here all of ten years in one go, with most memory;
- `watch` after that, beside a listener that lives. The target is 2 s.
"""

from __future__ import annotations

import os
import resource
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import numpy as np

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / name) for name in ("src", "tests")]

from bankwright.bank.read import read_bank  # noqa: E402
from bankwright.forms.readings import Columns  # noqa: E402
from bankwright.logbook.clocks import SystemClock  # noqa: E402
from bankwright.logbook.connect import logbook_path  # noqa: E402
from bankwright.logbook.telemetry.store import Telemetry, open_telemetry  # noqa: E402
from bankwright.watch.joints.daily import day_name  # noqa: E402
from bankwright.watch.joints.hours import FORM, packed, reduced  # noqa: E402
from bankwright.watch.listening import beat  # noqa: E402
from bankwright.watch.looker import Looker  # noqa: E402
from support.joints.files import bank_of, bank_text  # noqa: E402
from support.joints.pretend import PretendBank  # noqa: E402

YEARS, MONTH, DAY, WIRING = 3652, 30, 86400.0, "chain opposite ends"
HISTORY, MINUTES, POLLS = 5 * DAY, 60.0, 2.0  # s from reading to reading: of ten years, the last month, its last day


def readings(telemetry: Telemetry, names: tuple[str, ...], first: int) -> None:
    """Few readings of a long time, every minute of the last month, every poll of its last day."""
    whole, late, last = first * DAY, (first + YEARS - MONTH) * DAY, (first + YEARS) * DAY
    spans = [(whole + k * 365 * DAY, min(whole + (k + 1) * 365 * DAY, late), HISTORY) for k in range(10)]
    spans += [(late + k * DAY, late + (k + 1) * DAY, MINUTES) for k in range(MONTH)]
    spans.append((last, last + DAY - 60.0, POLLS))
    for number, (begin, end, every) in enumerate(spans):
        at, draw = np.arange(begin, end, every), np.random.default_rng(number)
        good, columns = np.zeros((len(at), 1), np.uint8), []
        for k, name in enumerate(names):
            amps = 15 * np.sin(2 * np.pi * at / DAY)[:, None] + draw.normal(0, 3, (len(at), 1))
            told = {"voltage": np.round(52.8 - 0.01 * amps, 2), "current": np.round(amps, 2)}
            told["temperature_degc"] = np.full((len(at), 1), 20.0)
            columns += [Columns(what, (name,), at + 0.1 * k, value, good) for what, value in told.items()]
        telemetry.append_dated(*columns, source="pretend")


def kept(telemetry: Telemetry, names: tuple[str, ...], first: int) -> None:
    """Every day of joints but the last, and an event now and then."""
    made = PretendBank(bank_of(len(names), WIRING), 1)
    some = [reduced(names, cycles, warm, k) for k, (cycles, warm) in enumerate(made.days(3))]
    for k in range(YEARS - 1):
        day = replace(some[k % 3], hour=some[k % 3].hour % 24 + (first + k) * 24)
        telemetry.put_state(day_name(first + k), FORM, packed(day))
        if k % 3 == 0:
            telemetry.event("alarm-raised", at="M1", rule="hot", value=50.0, limit=49.0)


def made(file: Path, modules: int) -> None:
    """The logbook, unless it is there."""
    if logbook_path(file).exists():
        return
    names = tuple(module.name for module in bank_of(modules, WIRING).modules)
    file.write_text(bank_text(modules, WIRING), "utf-8")
    first = int(time.time() // DAY) - YEARS - 1
    with open_telemetry(file) as telemetry:
        readings(telemetry, names, first)
        kept(telemetry, names, first)


@contextmanager
def told(what: str) -> Iterator[None]:
    """Print wall and CPU time of what is done inside, by this process and those it started."""

    def spent() -> float:
        return sum(resource.getrusage(who).ru_utime for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))

    begin, before = time.perf_counter(), spent()
    yield
    print(f"{what:62} {time.perf_counter() - begin:7.2f} s   CPU {spent() - before:7.2f} s", flush=True)


def first_opened(command: list[str], where: dict[str, str]) -> None:
    """Nobody took the days: until it says what stands, and from Ctrl-C to its end."""
    with told("no listener ever: until what stands is said"):
        watch = subprocess.Popen(command, env=where, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
        assert watch.stderr is not None
        said = watch.stderr.readline()
    print(f"    {said[:100].strip()} ...")
    time.sleep(3.0)
    with told("  from Ctrl-C to the report without the days that are left"):
        watch.send_signal(signal.SIGINT)
        watch.communicate()


def main() -> None:
    """Make, open, let the looker work, open again, with a watch in the hand."""
    modules = int(sys.argv[1]) if len(sys.argv) > 1 else 4
    with tempfile.TemporaryDirectory() as place:
        file = Path(sys.argv[2] if len(sys.argv) > 2 else place) / "bench.toml"
        made(file, modules)
        print(f"{modules} modules, ten years, {logbook_path(file).stat().st_size / 1e6:.0f} MB, load {os.getloadavg()}")
        command = [sys.executable, "-m", "bankwright", "watch", str(file)]
        where = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
        first_opened(command, where)
        looker = Looker(read_bank(file), logbook_path(file), SystemClock())
        for what in ("the listener's look, what is left of ten years in one go", "the look an hour later"):
            with told(what):
                looker.look(())
                looker.wait(7200.0)
        print(f"    most memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")
        for what in ("opened beside a listener (target 2 s)", "opened again (target 2 s)"):
            with open_telemetry(file) as telemetry:
                beat(telemetry, SystemClock().now(), POLLS)
            with told(what):
                subprocess.run(command, env=where, capture_output=True, check=False)


if __name__ == "__main__":
    main()
