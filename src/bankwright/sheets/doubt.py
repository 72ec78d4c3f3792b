"""Whether a sheet was understood: if not, everything that was found on it is asked.

Gives: doubted(), doubt_of().
Takes: a Look at a sheet, its answers.
Limits: two signs, counted: columns of values without known headings, and labels without a known word.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from bankwright.sheets.answer import Answer, Ask, Said
from bankwright.sheets.columns import is_value
from bankwright.sheets.view import Look, Seen

__all__ = ["doubt_of", "doubted"]

_TABLES = frozenset({"curve", "melting", "derating", "charge.by_temperature"})  # these want several values in a row
SEVERAL = 3  # rows of columns without headings
FEWEST = 6  # rows with values below which nothing is counted
SHARE = 0.2  # of the rows with values
KNOWN = 0.4  # share of them whose label holds a known word
WIDE = 4  # values: a wider row is a table over temperature or current


def doubt_of(look: Look) -> str:
    """Why a sheet was not understood; empty where it was."""
    rows = [seen for seen in look.rows if seen.row.values and any(m.dimension != "count" for m in seen.measured)]
    bare = [seen for seen in rows if not look.model and _columns_unknown(seen)]
    if len(bare) >= max(SEVERAL, SHARE * len(rows)):
        return "its columns have no headings that are known"
    known = sum(_known(seen) for seen in rows)
    return "few of its labels are known" if len(rows) >= FEWEST and known < KNOWN * len(rows) else ""


def _columns_unknown(seen: Seen) -> bool:
    """Whether a row has several values of one dimension and nothing over them."""
    row = seen.row
    if row.jammed:
        return True
    if re.fullmatch(r"[\s\d.,'’]+k?A\s*", row.label) and {m.dimension for m in seen.measured} == {"time"}:
        return False  # a point of a curve, which its own rule reads
    alone = 2 <= len(row.values) < WIDE and not row.heads and "/" not in row.label
    alike = len({m.dimension for m in seen.measured}) == 1 and len(seen.measured) >= len(row.values)
    return alone and alike and all(is_value(value) for value in row.values)


def _known(seen: Seen) -> bool:
    return bool(seen.label)


def doubted(answers: Mapping[str, Answer], doubt: str, look: Look) -> dict[str, Answer]:
    """Every value as a question, where there is a doubt; of a row of jammed values that one alone."""
    heaped = {seen.spot: seen for seen in look.rows if seen.row.jammed}
    made: dict[str, Answer] = {}
    for key, answer in answers.items():
        seen = heaped.get(answer.spot) if isinstance(answer, Said) and key not in _TABLES else None
        if isinstance(answer, Said) and (doubt or seen):
            others = _others(answer, seen) if seen else ()
            others = (Said(not answer.value, answer.spot),) if isinstance(answer.value, bool) else others
            made[key] = Ask(doubt or "which value is of which column is not known", (answer, *others))
        else:
            made[key] = answer
    return made


def _others(answer: Said, seen: Seen) -> tuple[Said, ...]:
    """The other values of a row of which one was taken."""
    mine = next((m for m in seen.measured if str(answer.value).startswith(m.text())), None)
    same = [m for m in seen.measured if mine and m.dimension == mine.dimension and m.text() != mine.text()]
    return tuple(seen.said(m.text()) for m in same)
