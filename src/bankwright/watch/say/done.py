"""What was done of the upkeep, as the logbook tells it.

Gives: Done, done_of(), NOTHING_DONE, TASK_DONE, BY_HAND. A task is done by an event of its own (`TASK_DONE`,
bankwright watch FILE --done TASK), and by the readings that are its matter: a round of millivolts over all joints,
voltages of all modules, a capacity test.
Limits: a round counts from its oldest reading, each joint by its latest; readings that were struck or corrected do not
count. A test of Prove that was handed over counts from its own moment.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from bankwright.bank.model import Bank
from bankwright.logbook.clocks import wall_seconds
from bankwright.logbook.logbook import Logbook

__all__ = ["BY_HAND", "NOTHING_DONE", "TASK_DONE", "Done", "done_of"]

TASK_DONE = "upkeep-done"  # code of the event; its detail `task` names the task
BY_HAND = (
    "millivolts",
    "capacity test",
    "full charge",
    "standing draw",
)  # beside the schedule's own tasks, what may be done
_TESTS = {"millivolt test": "millivolts", "capacity test": "capacity test"}


@dataclass(frozen=True, slots=True)
class Done:
    """When each thing was last done, s since 1970, and when the bank's life in the logbook begins."""

    last: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    begin: float | None = None

    def of(self, *names: str) -> float | None:
        """The latest of these; None where none was ever done."""
        found = [self.last[name] for name in names if name in self.last]
        return max(found, default=None)


NOTHING_DONE = Done()


def done_of(bank: Bank, book: Logbook) -> Done:
    """Read the logbook."""
    found: dict[str, float] = {}
    for entry in book.entries(kind="event"):
        if entry.body.get("code") == TASK_DONE:
            _later(found, str(entry.body.get("task", "")), wall_seconds(entry.moment))
    for kind, name in _TESTS.items():
        result = book.latest_result(kind)
        if result is not None:
            _later(found, name, wall_seconds(result.when))
    _later(found, "millivolts", _round(_joint_times(bank, book)))
    volts = book.latest_readings("voltage")
    told = (volts.get(module.name) for module in bank.modules)
    _later(found, "voltages", _round(None if one is None else wall_seconds(one.when) for one in told))
    return Done(MappingProxyType(found), _begin(book))


def _later(found: dict[str, float], name: str, time: float | None) -> None:
    if time is not None:
        found[name] = max(time, found.get(name, time))


def _round(times: Iterable[float | None]) -> float | None:
    """The oldest of all; None where one is missing, or there are none."""
    whole = list(times)
    told = [time for time in whole if time is not None]
    return min(told) if told and len(told) == len(whole) else None


def _joint_times(bank: Bank, book: Logbook) -> Iterable[float | None]:
    """Of each joint: when its drop or resistance, or that of its cable, was last read."""
    latest: dict[str, float] = {}
    for quantity in ("voltage_drop", "resistance"):
        for at, reading in book.latest_readings(quantity).items():
            latest[at] = max(wall_seconds(reading.when), latest.get(at, 0.0))
    for joint in bank.joints:
        told = [latest[name] for name in (joint.name, joint.link) if name in latest]
        yield max(told, default=None)


def _begin(book: Logbook) -> float | None:
    """When the bank first carried a load, as far as the logbook tells: the first test of Prove that was handed over."""
    for entry in book.entries(kind="result"):
        if entry.body.get("kind") in ("share test", *_TESTS):
            return wall_seconds(entry.moment)
    return None
