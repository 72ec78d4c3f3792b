"""Rules of tables over current and temperature: time over current of a fuse or breaker, share of the rating over air.

Gives: curve(), derating().
Takes: a Look.
Limits: melting or total clearing where the sheet says which; a table may be turned, with the times as labels.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise

from bankwright.sheets.answer import Answer, Ask
from bankwright.sheets.concepts import ideas
from bankwright.sheets.measures import Measure, measures
from bankwright.sheets.prose import said_in, sentences
from bankwright.sheets.rules.common import sentence_of
from bankwright.sheets.view import Look, Seen, models_of

__all__ = ["curve", "derating"]

FEWEST = 3  # points of a curve
_ENDS = {"least", "most"}  # columns of the earliest and of the latest time


@dataclass
class _Table:
    """Points of a table as they are gathered, and what is not clear of it."""

    first: Seen | None = None
    points: list[list[str]] = field(default_factory=list)
    paired: bool = False  # melting and clearing in one cell
    unclear: bool = False  # two times, of one model each or both of one

    def add(self, seen: Seen, current: str, time: str) -> None:
        self.first = self.first or seen
        self.points.append([current, time])


def curve(part: str) -> Callable[[Look], Answer | None]:
    """Time over current from a table: `curve` the longest time (clearing), `melting` the shortest."""

    def rule(look: Look) -> Answer | None:
        table = _gathered(look, part)
        first = table.first
        if len(table.points) < FEWEST or first is None:
            return _curve_in_prose(look, part)
        points = sorted(table.points, key=lambda point: _ampere(point[0]))
        if table.unclear:
            return Ask("which time is of which model is not said", (first.said(points),))
        if table.paired:
            return first.said(points)
        said = _table_ideas(look, first)
        clears = "clearing" in said
        about = "melting" in said and not (clears and "both" in said)  # "total melting time" is the clearing
        if about == clears:
            return Ask("melting or total clearing is not said", (first.said(points),))
        return first.said(points) if (part == "melting") == about else None

    return rule


def _curve_in_prose(look: Look, part: str) -> Answer | None:
    """Currents with their times within one sentence: "it clears 900 A in at most 14 s, 1500 A in ..."."""
    for seen in look.rows:
        for sentence in sentences(seen.row) if not seen.row.values else ():
            found = [m for m in measures(sentence, look.marks) if m.dimension in ("current", "time") and not m.ranges]
            currents, times = found[0::2], found[1::2]
            apart = {m.dimension for m in currents} == {"current"} and {m.dimension for m in times} == {"time"}
            if not apart or len(currents) != len(times) or len(times) < FEWEST:
                continue
            points = [[a.text(), t.text()] for a, t in zip(currents, times, strict=True)]
            about = said_in(sentence) & {"melts", "cleared"}
            if len(about) != 1:
                return Ask("melting or total clearing is not said", (seen.said(points),))
            if about == ({"melts"} if part == "melting" else {"cleared"}):
                return seen.said(points)
    return None


def _gathered(look: Look, part: str) -> _Table:
    table, several = _Table(), bool(models_of(look.sheet))
    for seen in look.rows:
        if seen.label & _ENDS and _leading_current(seen, look):
            if len(seen.of("time")) == 1 and ("most" in seen.label) == (part == "curve"):
                table.add(seen, str(_leading_current(seen, look)), seen.of("time")[0].text())
                table.paired = True
            continue
        current, times = _leading_current(seen, look), seen.of("time")
        if lined := _lined_up(seen, look, part):
            for a, t in lined:
                table.add(seen, a, t)
            table.paired = table.paired or bool(seen.label & _ENDS)
            continue
        if current is None and (turned := _leading_time(seen, look)):
            table.add(seen, *turned)
            continue
        if current is None or not 1 <= len(times) <= 2 or len(seen.of("current")) > (0 if seen.row.values else 1):
            continue
        if seen.label & {"delay", "protection"}:
            continue
        table.paired = table.paired or len(times) == 2
        table.unclear = table.unclear or (len(times) == 2 and several and "/" not in seen.text)
        table.add(seen, current, (times[-1] if part == "curve" else times[0]).text())
    return table


def _ampere(text: str) -> float:
    number, _, unit = text.partition(" ")
    return float(number) * (1e3 if unit == "kA" else 1.0)


def _leading_time(seen: Seen, look: Look) -> list[str] | None:
    """A table that is turned: the time as label, the current as value."""
    found = measures(seen.row.label, look.marks)
    alone = len(found) == 1 and found[0].dimension == "time" and len(seen.row.label) < 14 and not found[0].ranges
    current = seen.of("current")
    ready = alone and seen.row.values and len(current) == len(seen.measured) == 1 and not current[0].ranges
    return [current[0].text(), found[0].text()] if ready else None


def _lined_up(seen: Seen, look: Look, part: str) -> list[list[str]]:
    """Points of one row: a column taken for one cell, or the currents of a model under a row of times."""
    times, label = seen.of("time"), measures(seen.row.label, look.marks)
    if seen.row.values and len(times) >= FEWEST and {m.dimension for m in label} == {"current"}:
        mine = ("most" in seen.label) == (part == "curve") and seen.label & _ENDS
        pairs = zip(label, times, strict=True) if len(label) == len(times) and mine else ()
        return [[a.text(), t.text()] for a, t in pairs]
    n = look.rows.index(seen)
    over = look.rows[n - 1] if n and look.model and seen.row.label == look.model else None
    currents = seen.of("current")
    if over is None or len(currents) < FEWEST or len(over.of("time")) != len(currents):
        return []
    return [[a.text(), t.text()] for a, t in zip(currents, over.of("time"), strict=True)]


def _leading_current(seen: Seen, look: Look) -> str | None:
    if seen.row.values:
        found = measures(seen.row.label, look.marks) if re.fullmatch(r"[\s\d.,'’]+k?A\s*", seen.row.label) else ()
        return found[0].text() if len(found) == 1 else None
    current = seen.of("current")
    return current[0].text() if current and current[0].start <= 1 and seen.of("time") else None


def _table_ideas(look: Look, first: Seen) -> frozenset[str]:
    n = look.rows.index(first)
    above = [s.row.label or " ".join(s.row.values) for s in look.rows[max(0, n - 3) : n]]
    return ideas(" ".join(above)) | first.around


def derating(look: Look) -> Answer | None:
    """Share of the rated current over the temperature of the air."""
    for n, seen in enumerate(look.rows):
        warm = [m for m in seen.of("temperature") if not m.ranges]
        if len(warm) < 2:
            continue
        for other in look.rows[n + 1 : n + 3]:
            shares = other.of("share")
            if len(shares) == len(warm):
                return other.said([[w.text(), s.text()] for w, s in zip(warm, shares, strict=True)])
    pairs = [
        (s, s.of("temperature")[0] if s.of("temperature") else None, s.of("share"))
        for s in look.rows
        if len(s.of("share")) == 1 and (s.every & {"derating", "temperature"} or _ambient(s))
    ]
    points = [[_at(s, t), share[0].text()] for s, t, share in pairs if _at(s, t)]
    if len(points) >= 2:
        return pairs[0][0].said(points)
    factors = _factors(look)
    return factors[0][0].said([point for _, point in factors]) if len(factors) >= 2 else _derating_in_prose(look)


def _factors(look: Look) -> list[tuple[Seen, list[str]]]:
    """Temperatures under a heading of their own, and beside each a factor under its heading: 0.94 is 94 %."""
    made = []
    for warm, factor in pairwise(look.rows):
        if warm.row is not factor.row or len(warm.of("temperature")) != 1 or "derating" not in ideas(factor.side):
            continue
        bare = re.fullmatch(r"\s*([01])[.,](\d{1,3})\s*", factor.text)
        if bare and (share := float(f"{bare[1]}.{bare[2]}")) <= 1:
            made.append((factor, [warm.of("temperature")[0].text(), f"{100 * share:g} %"]))
    return made


def _ambient(seen: Seen) -> bool:
    """A row of a temperature and a share, under a heading of what it is over."""
    return (
        bool(seen.row.values)
        and bool(_at(seen, None))
        and bool((ideas(seen.side) | seen.around) & {"derating", "temperature"})
    )


def _derating_in_prose(look: Look) -> Answer | None:
    """Shares and temperatures in pairs within one sentence."""
    for seen in look.rows:
        sentence = "" if seen.row.values else sentence_of(seen)
        if not said_in(sentence) & {"derating", "ofrating"}:
            continue
        found = [m for m in measures(sentence, look.marks) if m.dimension in ("share", "temperature") and not m.ranges]
        shares, warm = found[0::2], found[1::2]
        if found and found[0].dimension == "temperature":
            shares, warm = warm, shares
        apart = {m.dimension for m in shares} == {"share"} and {m.dimension for m in warm} == {"temperature"}
        if apart and len(shares) == len(warm) >= 2:
            pairs = zip(warm, shares, strict=True)
            points = sorted(([w.text(), s.text()] for w, s in pairs), key=lambda point: float(point[0].split()[0]))
            return seen.said(points)
    return None


def _at(seen: Seen, temperature: Measure | None) -> str:
    if temperature is not None:
        return temperature.text()
    found = re.fullmatch(r"\s*([−+-]?\d+)\s*(?:°\s?(C|F)|(℃))\s*", seen.row.label)
    return f"{found[1].replace('−', '-')} deg{found[2] or 'C'}" if found else ""
