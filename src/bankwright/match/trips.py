"""Trips that a joining may reach: each module, the way its current flows, what it carries when the delay is over.

Gives: TripRow, trip_rows(). Where the data sheet gives no trip, the continuous limit stands for it: a trip never lies
below what a module carries for long; then the current at once must stay below it.
Limits: currents are those of the run after joining, all joined at once, no load and no charger.
Source: run of the bank over time; trips and limits as written in the bank file.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from bankwright.bank.model_kinds import ModuleKind
from bankwright.match.settle import Settled
from bankwright.match.subject import Subject

__all__ = ["TripRow", "trip_rows"]

AT_ONCE = 1e-3  # s
NONE_TO_SPEAK_OF = 0.05  # A
AFTER = "{module} carries {current} when its delay of {after} is over"
INSTEAD = "{module} carries {current} at once; what it carries for long opens nothing"


@dataclass(frozen=True, slots=True)
class TripRow:
    """One module on one side; `trip` None: neither trip nor limit is known."""

    module: str
    kind: ModuleKind
    trip: float | None
    delay: float
    middle: float
    peak: float
    what: str  # "charge trip", "continuous charge current"
    path: str
    words: str


def trip_rows(subject: Subject) -> list[TripRow]:
    """All modules and sides on which current flows."""
    return [] if subject.settled is None else list(_rows(subject, subject.settled))


def _rows(subject: Subject, settled: Settled) -> Iterator[TripRow]:
    for module in subject.bank.modules:
        k = settled.names.index(module.name)
        for side, sign in (("charge", -1.0), ("discharge", 1.0)):
            sheet = getattr(module.kind, side)
            delay = max(sheet.trip_delay or 0.0, AT_ONCE) if sheet.trip else AT_ONCE
            band = sign * settled.at(delay)[:, k]
            if sign * settled.at(AT_ONCE)[:, k].max() < NONE_TO_SPEAK_OF and band.max() < NONE_TO_SPEAK_OF:
                continue
            trip = sheet.trip.low if sheet.trip else sheet.continuous
            words = "{module} carries {current} when its delay of {after} is over"
            words = (
                words if sheet.trip else "{module} carries {current} at once; what it carries for long opens nothing"
            )
            what = f"{side} trip" if sheet.trip else f"continuous {side} current"
            path = f"{module.kind.path}.{side}.{'trip' if sheet.trip else 'continuous'}"
            middle, peak = max(float(band[1]), 0.0), max(float(np.max(band)), 0.0)
            if not sheet.trip and trip is not None and peak > trip:
                trip = None  # beyond the limit nobody knows where it opens
            yield TripRow(module.name, module.kind, trip, delay, middle, peak, what, path, words)
