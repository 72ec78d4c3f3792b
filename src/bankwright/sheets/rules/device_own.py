"""What of a device's sheet is the device's own: not its accessory's, not another footnote's, not another thread's.

Gives: by_footnote(), of_its_own(), only_dc(), stud_of(), terminals_rated(), torque_of().
Takes: a Look, or rows of its terminals.
Limits: an accessory is known by the word that its row begins with.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import replace

from bankwright.sheets.answer import Answer, Ask, Said, settle
from bankwright.sheets.concepts import phrase
from bankwright.sheets.measures import measures
from bankwright.sheets.rules.common import bolts, says_ac, says_dc, torque
from bankwright.sheets.rules.told import rated_for
from bankwright.sheets.view import Look, Seen

__all__ = ["by_footnote", "of_its_own", "only_dc", "stud_of", "terminals_rated", "torque_of"]

_THREAD = re.compile(r"(?<![A-Za-z0-9])M\s?(\d{1,2})(?![\d.,])")


def of_its_own(rule: Callable[[Look], Answer | None]) -> Callable[[Look], Answer | None]:
    """The rule without the rows of accessories."""

    def own(look: Look) -> Answer | None:
        rows = tuple(s for s in look.rows if not phrase("accessory").match(s.row.label))
        return rule(look if len(rows) == len(look.rows) else replace(look, rows=rows))

    return own


def only_dc(look: Look) -> bool:
    """Whether the sheet speaks of DC and gives nothing for AC; "not for AC" gives nothing."""
    text = re.sub(r"(?i)\b(?:not|nicht|non|no|niet|nie)\b[^.;\n]{0,12}a\.? ?c\b", "", look.sheet.text)
    return says_dc(text) and not says_ac(text)


def by_footnote(answer: Answer | None, look: Look, dimension: str) -> Answer | None:
    """A question where a footnote of the row names another value on DC: which of them holds is not said."""
    if not isinstance(answer, Said):
        return answer
    rows = [s for s in look.rows if s.row.notes and s.spot == answer.spot]
    notes = [(s, m) for s in rows for note in s.row.notes for m in measures(note, look.marks)]
    found = [s.said(m.text()) for s, m in notes if m.dimension == dimension and not m.ranges and says_dc(m.printed)]
    return settle([answer, *found], "a footnote names another")


def stud_of(rows: Sequence[Seen]) -> Answer | None:
    """Thread of its terminal; a list of torques by their thread says none."""
    return bolts([s for s in rows if len(_by_thread(s)) < 2]) or bolts(rows)


def torque_of(rows: Sequence[Seen]) -> Answer | None:
    """Torque; of a list by threads, that of its own thread."""
    answer, stud = torque(rows), stud_of(rows)
    if not isinstance(answer, Ask) or not isinstance(stud, Said):
        return answer
    lists = [s for s in rows if len(_by_thread(s)) >= 2]
    mine = [s.said(_by_thread(s)[str(stud.value)]) for s in lists if str(stud.value) in _by_thread(s)]
    plain = torque([s for s in rows if s not in lists])
    return settle(mine, "several torques are printed") if mine and plain is None else answer


def terminals_rated(look: Look) -> Answer | None:
    """Temperature that its terminals are rated for; a question where only its conductors' is said: "for 75 °C wire"."""
    answer = rated_for(look)
    rows = [s for s in look.rows if s.label & {"terminal", "post"} and s.row.values]
    found = [s.said(f"{m[1]} degC") for s in rows for m in phrase("warm_conductors").finditer(s.text)]
    return answer if answer or not found else Ask("it is said of the conductors", tuple(found))


def _by_thread(seen: Seen) -> dict[str, str]:
    """Torques of a row by the thread that stands before each: "M6 5 Nm; M8 12 Nm"; empty where one has none."""
    made, at = dict[str, str](), 0
    for measure in seen.of("torque"):
        threads = _THREAD.findall(seen.text[at : measure.start])
        if len(threads) != 1 or measure.ranges:
            return {}
        made[f"M{threads[0]}"], at = measure.text(), measure.end
    return made
