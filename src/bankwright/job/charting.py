"""The door of the faces: what charts of Watch need beside its report.

Gives: Charted, charted(), and the names in __all__ from the rooms below.
Limits: nothing is drawn here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from bankwright.logbook.logbook import open_logbook
from bankwright.watch.report import Watching
from bankwright.watch.say.courses import Course, capacity_tests, courses_of
from bankwright.watch.say.doubts import CONTRADICTED
from bankwright.watch.say.words import band_text, day_text
from bankwright.watch.say.zones import ZONES, ZoneSpread, spreads_of
from bankwright.watch.section import Asked, Lane, Mark, Section

if TYPE_CHECKING:
    from bankwright.job import Job
    from bankwright.logbook.telemetry.store import Telemetry

__all__ = [
    "CONTRADICTED",
    "ZONES",
    "Charted",
    "Course",
    "Lane",
    "Mark",
    "Section",
    "Watching",
    "ZoneSpread",
    "band_text",
    "charted",
    "day_text",
]


@dataclass(frozen=True, slots=True)
class Charted:
    """What is drawn beside the lanes of the sections."""

    spreads: tuple[ZoneSpread, ...]
    courses: tuple[Course, ...]


def charted(job: Job, telemetry: Telemetry, found: Watching) -> Charted:
    """Gather it over the same stretch as the report."""
    asked = Asked(job.bank, telemetry, found.since, found.until, found.now)
    with open_logbook(job.path, job.bank, write=False) as book:
        tests = capacity_tests(book)
    return Charted(spreads_of(asked), courses_of(asked, tests))
