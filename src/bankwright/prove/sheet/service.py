"""Part J of first power-up: capacity, baseline, in service, and the two looks after it.

Gives: service_steps(), SERVICE, SERVICE_BOX. The days of the looks follow from the day of the first tick.
Limits: capacity is judged in prove/capacity; what a seal keeps is in prove/gathered.
Source: 7 and 30 days, measure first: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from bankwright.prove.sheet.due import Facts, StepOf

__all__ = ["SERVICE", "SERVICE_BOX", "service_steps"]

SERVICE, SERVICE_BOX = "J2", "service"
LOOKS = (7, 30)  # days; common practice, no source


def service_steps(facts: Facts) -> Iterator[StepOf]:
    """J1 and J2."""
    counted = "capacity test" in facts.results
    sealed = "baseline" in facts.results
    yield StepOf(
        "J1",
        "Capacity by counted charge, down and back up",
        ("I1", "I2"),
        "one person",
        ("Within call, a day. Stop at once: a cell below 2.5 V, a module too warm, one off the data bus.",),
        (
            "Cells at 15 to 30 °C, a night without load. From full, a fifth of the capacity an hour, to a cell of "
            "2.8 V; rest an hour; back to the same full.",
            "bankwright prove capacity FILE: " + ("a record is in the logbook." if counted else "no record yet."),
        ),
        boxes=(("record", "Capacity test kept in the logbook"),),
    )
    yield StepOf(
        SERVICE,
        "Baseline sealed, in service; the second look",
        ("J1",),
        "one person",
        ("Measure first; torque only what grew, taken apart by its own sheet.",),
        (
            "bankwright prove baseline FILE --seal: " + ("sealed." if sealed else "not sealed yet."),
            "Millivolts, torque lines and temperatures again, at the same places and about the same load.",
        ),
        boxes=((SERVICE_BOX, "In service from today"), *(_look(facts, days) for days in LOOKS)),
    )


def _look(facts: Facts, days: int) -> tuple[str, str]:
    when = f"{days} days after it"
    if facts.in_service:
        when = f"on {date.fromisoformat(facts.in_service) + timedelta(days)}"
    return f"day {days}", f"Looked again {when}: millivolts, lines, temperatures"
