"""Where each cable and bar of a bank lies, and the published point its warming is scaled from.

Gives: warming_of(). Links and leads lie in the loaded rack (room plus the rack's own rise), mains in the room.
Limits: no ambient given: 30 degC, the reference air of the tables. Bars and cables without a table row stay at the air.
Sources: NEC 2023 Table 310.16, or 310.17 for declared free air, 75 degC column; IEC 60364-5-52:2009 methods C and F,
90 degC columns, for metric sizes; each cited in the handbook.
"""

from __future__ import annotations

from bankwright.bank.model import Bank, Link
from bankwright.circuit.of_bank.warming import Warming
from bankwright.handbook.tables import OutsideTable, look_up

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
    if link.cable is None:
        return Warming(air_degc)
    free = link.cable.method == "free air"
    if link.cable.size.endswith("mm2"):
        table, columns, rise = "iec-60364-5-52/two-loaded", ("xlpe_f", "xlpe_c") if free else ("xlpe_c",), 60.0
    else:
        table, columns, rise = "nec-2023/310.17" if free else "nec-2023/310.16", ("a75",), 45.0
    for column in columns:
        try:
            return Warming(air_degc, rise, look_up(table, link.cable.size, column).value)
        except OutsideTable:
            continue
    return Warming(air_degc)
