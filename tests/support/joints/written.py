"""Days of a pretend bank as telemetry of a logbook, each module at its own moments."""

from __future__ import annotations

import numpy as np

from bankwright.forms.readings import Columns
from bankwright.logbook.telemetry.store import Telemetry
from bankwright.watch.joints.cycles import Cycles
from support.joints.pretend import SLOT


def write_day(
    telemetry: Telemetry, names: tuple[str, ...], cycles: Cycles, warm: np.ndarray, day: int, first: int
) -> None:
    """Store a day; `first`: number since 1970 of the day that the pretend bank calls 0."""
    columns = []
    for k, name in enumerate(names):
        time = cycles.time + first * 86400.0 + k * SLOT
        good = np.zeros((len(time), 1), np.uint8)
        columns.append(Columns("voltage", (name,), time, cycles.voltage[:, k : k + 1], good))
        columns.append(Columns("current", (name,), time, cycles.current[:, k : k + 1], good))
        hours = (first + day) * 86400.0 + 3600.0 * np.arange(24) + 60.0 + k * SLOT
        told = np.zeros((24, 1), np.uint8)
        columns.append(Columns("temperature_degc", (name,), hours, warm[:, k : k + 1], told))
    telemetry.append_dated(*columns, source="pretend")
