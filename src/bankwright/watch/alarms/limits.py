"""Limits of the alarms of one module: the bank file's own, else the data sheet's, else common practice.

Gives: Limit, Limits, limits_of(), HOLD. Every limit carries its source; one that nobody gives is None and its rule does
not run.
Limits: a limit of the file is looked at when the file is read (bank/rules/watch): it never lies beyond the maker's.
Sources: data sheets, as the bank file has them; the rest is common practice, no source, and says so.
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.bank.model import Bank, Module
from bankwright.forms.origin import FileKey, Origin, Source

__all__ = ["HOLD", "Limit", "Limits", "limits_of"]

PRACTICE = Source("common practice", how_known="common practice, no source")
HOLD = 30.0  # s
BEFORE_TRIP = 0.05  # V before the maker's trip; common practice, no source
BEFORE_DEGC = 3.0  # K before the maker's limit; common practice, no source
SPREAD, SPREAD_ENDS = 0.03, 0.15  # V, at rest on the plateau, and near the ends [forum figures: 20 mV healthy; copy]
SHARE, SILENCE = 0.30, 120.0


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit in SI, and where it comes from."""

    value: float
    origin: Origin


@dataclass(frozen=True, slots=True)
class Limits:
    """Of one module."""

    cell_high: Limit | None
    cell_low: Limit | None
    spread: Limit
    spread_ends: Limit
    hot_charging: Limit | None
    hot: Limit | None
    cold_charging: Limit | None
    cold: Limit | None
    charge: Limit | None  # A
    discharge: Limit | None
    share: Limit
    silence: Limit


def limits_of(bank: Bank, module: Module) -> Limits:
    """Collect them."""
    own, kind = bank.watch, module.kind
    charge, discharge, path = kind.charge, kind.discharge, kind.path
    trip_high = None if charge.cell_trip is None else charge.cell_trip.nominal - BEFORE_TRIP
    trip_low = None if discharge.cell_trip is None else discharge.cell_trip.nominal + BEFORE_TRIP
    if trip_high is not None and charge.cell_full is not None and trip_high <= charge.cell_full:
        trip_high = trip_high + BEFORE_TRIP  # full and trip lie close: at the trip itself
    silence = max(5 * bank.bus.every, 60.0) if bank.bus is not None and bank.bus.every else SILENCE
    return Limits(
        _first("watch.cell_high", own.cell_high, f"{path}.charge.cell_trip", trip_high),
        _first("watch.cell_low", own.cell_low, f"{path}.discharge.cell_trip", trip_low),
        _sure("watch.cell_spread", own.cell_spread, _tighter(SPREAD, discharge.cell_spread)),
        _sure("watch.cell_spread_ends", own.cell_spread_ends, _tighter(SPREAD_ENDS, discharge.cell_spread)),
        _first("watch.temperature_high", _least(own.temperature_high_degc, charge.highest_degc),
               f"{path}.charge.highest", _less(charge.highest_degc, BEFORE_DEGC)),
        _first("watch.temperature_high", own.temperature_high_degc, f"{path}.discharge.highest",
               _less(discharge.highest_degc, BEFORE_DEGC)),
        _first("", None, f"{path}.charge.lowest", charge.lowest_degc),
        _first("watch.temperature_low", own.temperature_low_degc, f"{path}.discharge.lowest",
               _less(discharge.lowest_degc, -BEFORE_DEGC)),
        _first("", None, f"{path}.charge.continuous", charge.continuous),
        _first("", None, f"{path}.discharge.continuous", discharge.continuous),
        _sure("watch.share_off", own.share_off, SHARE),
        _sure("watch.silence", own.silence, silence),
    )  # fmt: skip


def _first(key: str, given: float | None, maker_key: str, maker: float | None) -> Limit | None:
    if given is not None:
        return Limit(given, FileKey(key))
    return None if maker is None else Limit(maker, FileKey(maker_key))


def _sure(key: str, given: float | None, usual: float) -> Limit:
    return Limit(usual, PRACTICE) if given is None else Limit(given, FileKey(key))


def _tighter(usual: float, maker: float | None) -> float:
    return usual if maker is None else min(usual, maker)


def _least(given: float | None, maker: float | None) -> float | None:
    """What is given, where it is tighter than the maker's."""
    return given if given is None or maker is None else min(given, maker)


def _less(value: float | None, by: float) -> float | None:
    return None if value is None else value - by
