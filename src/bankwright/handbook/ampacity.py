"""What a rule book lets a conductor carry: base value, air, grouping, terminals, standard devices, bond.

Gives: base_ampacity(), ambient_factor(), grouping_factor(), termination_ampacity(), termination_rating(),
ratings_around(), bond_section(). Every answer is cited; beyond a table OutsideTable is raised.
Limits: copper. A size of the other system counts as the largest size with no less resistance (wires.counts_as), which
the answer names under `counted_as`. Which factors are multiplied with which is the check's matter.
Sources: the book and its tables.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from types import MappingProxyType

from bankwright.forms.checks import BeyondTable
from bankwright.forms.origin import Cited
from bankwright.handbook.books import Column, RuleBook
from bankwright.handbook.tables import OutsideTable, load, look_up
from bankwright.handbook.wires import counts_as, wire

__all__ = [
    "NoColumn",
    "ambient_factor",
    "base_ampacity",
    "bond_section",
    "grouping_factor",
    "ratings_around",
    "termination_ampacity",
    "termination_rating",
]

LEAST_DERIVED = 60.0  # degC: the least insulation that the books' correction tables know


class NoColumn(BeyondTable):
    """The book has no column for this way of laying or this low a rating."""

    def __init__(self, book: RuleBook, what: str) -> None:
        """Keep the parts; the message names them."""
        super().__init__(f"{book.title} has no column for {what}")
        self.book, self.what = book.id, what


def _candidates(columns: Iterable[Column], rating_degc: float, method: str | None = None) -> list[Column]:
    """Columns that may serve, best rating first: none rated above the conductor, none for another way of laying."""
    fitting = [c for c in columns if c.rating <= rating_degc and (method is None or method in c.methods)]
    return sorted(fitting, key=lambda c: -c.rating)


def _first_filled(book: RuleBook, columns: list[Column], size: str, strands: str | None, what: str) -> Cited:
    if not columns:
        raise NoColumn(book, what)
    label = counts_as(size, book.sizes, strands)
    if label is None:
        raise NoColumn(book, f"a size with the resistance of {size}")
    best = columns[0].rating
    last: OutsideTable | None = None
    for column in columns:
        if column.rating < best:
            break
        try:
            return _named(look_up(column.table, label, column.column), size, label, column.rating)
        except OutsideTable as error:
            last = error
    assert last is not None
    raise last


def _named(cited: Cited, size: str, label: str, rating: float) -> Cited:
    at = {**cited.at, "rating_degc": rating}
    if label != size:
        at["counted_as"] = label
    return Cited(cited.value, cited.origin, cited.low, cited.high, MappingProxyType(at))


def base_ampacity(book: RuleBook, size: str, insulation_degc: float, method: str, strands: str | None = None) -> Cited:
    """Current a conductor may carry at the table's own air; insulation above the best column uses that column. [A]

    Insulation of LEAST_DERIVED and more, below the least column of its way of laying: that column scaled to it by the
    heat law of the correction tables, current squared over rise [derived].
    """
    columns = _candidates(book.ampacity, insulation_degc, method)
    above = [c for c in book.ampacity if method in c.methods and c.rating > insulation_degc]
    if not columns and above and insulation_degc >= LEAST_DERIVED:
        return _scaled(book, min(above, key=lambda c: c.rating), size, insulation_degc, strands)
    return _first_filled(book, columns, size, strands, f'"{method}" and insulation of {insulation_degc:g} degC')


def _scaled(book: RuleBook, column: Column, size: str, insulation_degc: float, strands: str | None) -> Cited:
    """A column at a lower conductor temperature: the same heat for each kelvin of rise. [A]"""
    full = _first_filled(book, [column], size, strands, "")
    air = float(full.at["ambient_degc"])
    part = math.sqrt(max(insulation_degc - air, 0.0) / (column.rating - air))
    at = MappingProxyType({**full.at, "rating_degc": insulation_degc, "scaled_from_degc": column.rating})
    return Cited(full.value * part, full.origin, None, None, at)


def ambient_factor(book: RuleBook, insulation_degc: float, air_degc: float) -> Cited:
    """Factor for the air around the conductor; between two rows the hotter one, 0 past the column's last. [-]

    Past the last figure of a column the books print a dash: the conductor is not to be used in such air.
    """
    columns = _candidates(book.ambient, insulation_degc)
    if not columns:
        raise NoColumn(book, f"insulation of {insulation_degc:g} degC")
    table, column = load(columns[0].table), columns[0].column
    filled = [float(row[table.key]) for row in table.rows if row.get(column) is not None]
    if air_degc > max(filled):
        return Cited(0.0, table.source, at=MappingProxyType({"column": column, "last_row": max(filled)}))
    return look_up(table, max(air_degc, min(filled)), column, "next_larger")


def grouping_factor(book: RuleBook, conductors: int) -> Cited:
    """Factor for current-carrying conductors that lie together, both poles counted. [-]"""
    count = conductors if book.grouping.counts == "conductors" else (conductors + 1) // 2
    return look_up(book.grouping.table, max(count, 1), book.grouping.column, "next_larger")


def termination_ampacity(book: RuleBook, size: str, terminals_degc: float, strands: str | None = None) -> Cited:
    """Current at which a conductor of this size heats its terminals no further than their rating. [A]

    Terminals rated below the least column: that column scaled to them by the heat law [derived].
    """
    columns = _candidates(book.termination, terminals_degc)
    if not columns and book.termination:
        return _scaled(book, min(book.termination, key=lambda c: c.rating), size, terminals_degc, strands)
    return _first_filled(book, columns, size, strands, f"terminals of {terminals_degc:g} degC")


def termination_rating(book: RuleBook, rating: float) -> Cited | None:
    """Rating of terminals on which none is marked, by the circuit's rating; None where the book has no rule. [degC]"""
    factors = book.factors
    if factors.termination_small_up_to is None:
        return None
    small = rating <= factors.termination_small_up_to
    degc = factors.termination_small_degc if small else factors.termination_large_degc
    assert degc is not None
    return Cited(degc, book.source("termination"), at=MappingProxyType({"circuit_rating": rating}))


def ratings_around(book: RuleBook, ampacity: float, fuse: bool = False) -> tuple[float | None, float | None]:
    """The largest standard rating not above an ampacity and the smallest not below it; fuses have more of them. [A]"""
    table = book.ratings.fuses if fuse else book.ratings.table
    ratings = sorted(float(key) for key in load(table).row_keys())
    below = [rating for rating in ratings if rating <= ampacity]
    above = [rating for rating in ratings if rating >= ampacity]
    return (below[-1] if below else None), (above[0] if above else None)


def bond_section(book: RuleBook, device_rating: float, line: str) -> Cited:
    """Least section of the frame's bond, from the device ahead or, where the book asks it, from the line. [m2]"""
    if book.bond.by == "device":
        cited = look_up(book.bond.table, device_rating, "device", "next_larger")
        size = str(load(book.bond.table).row(cited.value)["size"])
        at = MappingProxyType({**cited.at, "size": size})
        return Cited(wire(size).area, cited.origin, None, None, at)
    section = wire(line).area * 1e6
    table = load(book.bond.table)
    row = next((row for row in table.rows if section <= float(row["line"])), None)
    if row is None:
        raise OutsideTable(table, f"a line of {section:g} mm2", "line", "its last row is smaller")
    share = table.value(row, "share") or 1.0
    least = table.value(row, "least") or 0.0
    area = least if least else section * share * 1e-6
    return Cited(area, table.source, None, None, MappingProxyType({"line": line, "line_mm2": section}))
