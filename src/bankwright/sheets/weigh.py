"""Values that no rule found: each is weighed by the ideas that stand near it, and goes to the key that it fits best.

Gives: weighed().
Takes: a Look, its kind, the answers of the rules. Which ideas count how much is in weights.toml.
Limits: a value that a rule has taken is not taken again. One value with enough behind it and no rival is a proposal,
all else a question. Footnotes, temperatures and a missing tolerance make a question.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

from bankwright.sheets.answer import Answer, Ask, Said, settle
from bankwright.sheets.concepts import ideas
from bankwright.sheets.measures import Measure
from bankwright.sheets.rules.common import bounded, says_ac, says_dc, timed, warm
from bankwright.sheets.view import Hit, Look, Seen

__all__ = ["weighed"]

HALF = 0.5  # of the weight of an idea that stands elsewhere in the sentence or over the row
WEAK = 1.5  # points below `sure` at which it is still a question
CLEAR = 1.0  # points that a value must be ahead of another one
_BASE = {
    "mA": 1e-3,
    "kA": 1e3,
    "mV": 1e-3,
    "kV": 1e3,
    "kW": 1e3,
    "mW": 1e-3,
    "ms": 1e-3,
    "us": 1e-6,
    "min": 60,
    "h": 3600,
}
_BASE |= {"kWh": 1e3, "mAh": 1e-3, "uF": 1e-6, "mF": 1e-3, "kA2s": 1e3}
_JOINT = re.compile(r"[,;(](?!\d)|\s(?:and|und|et|y|e|en|och|og|i|oraz|a|or|oder|ou|o|of|lub|eller|nebo)\s")


@dataclass(frozen=True, slots=True)
class _Weighed:
    """A value with the points that it has for a key."""

    hit: Hit
    points: float


@cache
def _table() -> dict[str, dict[str, dict[str, Any]]]:
    return tomllib.loads((Path(__file__).parent / "weights.toml").read_text(encoding="utf-8"))


def weighed(look: Look, kind: str, answers: Mapping[str, Answer]) -> dict[str, Answer]:
    """Answers to keys of the kind that have none yet."""
    wanted = {key: asks for key, asks in _table().get(kind, {}).items() if key not in answers}
    taken = {(said.spot.line, str(said.value)) for said in answers.values() if isinstance(said, Said)}
    found: dict[str, list[_Weighed]] = {}
    for seen in look.rows:
        for measure, near, later in _near(seen):
            hit = Hit(seen, measure)
            points = {key: p for key, asks in wanted.items() if (p := _points(hit, near, asks, later=later)) > 0}
            key = max(points, key=lambda k: points[k] / wanted[k]["sure"], default="")
            if key and (seen.row.line, _value(hit)) not in taken:
                found.setdefault(key, []).append(_Weighed(hit, points[key]))
    made = {key: _answer(some, wanted[key], look) for key, some in found.items()}
    told = {key: answer for key, answer in made.items() if answer is not None}
    return told | _times(found, told, answers)


def _near(seen: Seen) -> Iterator[tuple[Measure, str, bool]]:
    """Each value with a unit, the text that speaks of it (between the marks around it; its label), whether timed."""
    united = [m for m in seen.measured if m.dimension != "count"]
    label = f"{seen.row.label}: " if seen.row.values else ""
    edges = [0]
    for a, b in pairwise(united):
        joint = _JOINT.search(seen.text, a.end, b.start)
        edges.append(joint.start() if joint else b.start)
    edges.append(len(seen.text))
    for n, measure in enumerate(united):
        start = edges[n] if n == 0 or edges[n] < measure.start else united[n - 1].end
        end = edges[n + 1]
        timely = any(m.dimension == "time" and start <= m.start < end for m in united) and measure.dimension != "time"
        yield measure, f"{label}{seen.text[start:end]}", timely


def _points(hit: Hit, near: str, asks: Mapping[str, Any], *, later: bool) -> float:
    """Points of a value for a key; none where it cannot be its value."""
    if not _fits(hit, asks):
        return 0.0
    close = ideas(near) | ({hit.seen.direction} - {""}) | ideas(hit.seen.side)
    close |= {"timed"} if later or timed(hit) is not None else set()
    close |= {hit.measure.bound} - {""}  # most, least
    close |= {name for name, says in (("dc", says_dc), ("ac", says_ac)) if says(near)}
    far = hit.seen.around | ideas(_sentence(hit.seen))
    whole = close | far
    if close & set(asks["against"]) or not all(whole & set(need.split("|")) for need in asks["need"]):
        return 0.0
    if "timed" in asks and asks["timed"] != ("timed" in close):
        return 0.0
    told = {idea: float(weight) for idea, weight in asks["for"].items() if idea in whole}
    return sum(weight * (1.0 if idea in close else HALF) for idea, weight in told.items())


def _fits(hit: Hit, asks: Mapping[str, Any]) -> bool:
    measure = hit.measure
    if measure.dimension != asks["dimension"] or measure.ranges != (asks.get("shape") == "range"):
        return False
    by = _BASE.get(measure.unit, 1.0)
    return bool(asks["low"] <= float(measure.low) * by and measure.number() * by <= asks["high"])


def _sentence(seen: Seen) -> str:
    """The whole sentence of running text that a value stands in."""
    if seen.row.values:
        return ""
    sentences = re.split(r"(?<=[^\W\d_]|[)%Ω\d])\.\s+", seen.row.label)
    return next((s for s in sentences if seen.text.strip() in s), seen.text)


def _value(hit: Hit) -> str:
    return str(hit.said.value)


def _answer(some: list[_Weighed], asks: Mapping[str, Any], look: Look) -> Answer | None:
    best = max(w.points for w in some)
    if best < asks["sure"] - WEAK:
        return None
    choices = [w for w in some if w.points > best - WEAK]
    rivals = {_value(w.hit) for w in choices if w.points > best - CLEAR}
    top = [w.hit for w in choices if w.points == best]
    note = bounded(top, look)
    if note is not None:
        return note
    said = tuple({_value(w.hit): w.hit.said for w in choices}.values())
    if best < asks["sure"]:
        return Ask("it is not said in so many words", said)
    if len(rivals) > 1:
        return Ask("several values may be meant", said)
    return _with_conditions(top[0], asks)


def _with_conditions(hit: Hit, asks: Mapping[str, Any]) -> Answer:
    """A value that only holds at a temperature, has no tolerance or is not said to be the longest is asked."""
    if asks["dimension"] in ("current", "power") and warm(hit):
        return Ask("it holds at a temperature", (hit.said,))
    if asks.get("tolerance") and not hit.measure.tolerance:
        return Ask("how far it may be off is not said", (hit.said,))
    if asks.get("firm") and not {"within", "most"} & ideas(hit.before) and hit.measure.bound != "most":
        return Ask("that it takes no longer is not said", (hit.said,))
    return hit.said


def _times(
    found: Mapping[str, list[_Weighed]], told: Mapping[str, Answer], answers: Mapping[str, Answer]
) -> dict[str, Answer]:
    """The time of a surge that was found here."""
    surge = told.get("surge_power")
    if surge is None or "surge_time" in answers:
        return {}
    hits = [w.hit for w in found["surge_power"]]
    times = [hit.seen.said(after.text()) for hit in hits if (after := timed(hit))]
    answer = settle(times, "several are printed")
    return {"surge_time": answer} if answer is not None else {}
