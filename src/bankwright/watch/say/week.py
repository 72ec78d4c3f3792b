"""The last week in plain words, with figures and their bands.

Gives: Week, Fact, week_of(), fact_text(), week_words(), SHORT, WEEK. The same facts make the page, the document and the
short message.
Limits: energy is what the modules' own sensors tell, minute by minute; their gain is not known, so that it has no band.
What a section calls unknown is unknown here.
Sources: sums of minutes of the telemetry; everything else is the sections'.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.forms.checks import lacking
from bankwright.forms.wording import Figure, Say, say
from bankwright.logbook.telemetry.rollup import RollUp
from bankwright.watch.alarms.rules import RULES
from bankwright.watch.say.doubts import CONTRADICTED
from bankwright.watch.say.due import Due, due_words
from bankwright.watch.say.standing import Standing
from bankwright.watch.say.words import band_text, clause, day_text, first_sentence
from bankwright.watch.section import Asked, Lane, Row, Section

__all__ = ["SHORT", "WEEK", "Fact", "Week", "fact_text", "week_of", "week_words"]

WEEK, HOUR, MINUTE = 7 * 86400.0, 3600.0, 60.0
AHEAD = 30 * 86400.0  # s of what is due that the week names
SHORT = 1500  # letters of the short message at most
MOST = 5  # kinds of alarm that are named
FULL_HOUR = 55  # minutes of an hour in which all must be heard
KWH = 3.6e6  # J


@dataclass(frozen=True, slots=True)
class Fact:
    """One line: a name, the sentence, and its figures by name with their bands."""

    name: str
    words: Say
    figures: dict[str, Figure]


@dataclass(frozen=True, slots=True)
class Week:
    """A week until the last moment that was heard. [s since 1970]"""

    begin: float
    end: float
    standing: Standing
    facts: tuple[Fact, ...]
    due: tuple[Due, ...]


def week_of(asked: Asked, standing: Standing, sections: Sequence[Section], due: Sequence[Due]) -> Week:
    """Gather the week's facts from the telemetry and from what the sections found."""
    begin = asked.until - WEEK
    by_name = {section.name: section for section in sections}
    facts = [*_heard(asked, begin), *_carried(asked, begin), *_charge(by_name, begin), *_joints(by_name)]
    facts += [*_rows(by_name, "cells", "widest spread"), *_rows(by_name, "capacity", "capacity")]
    facts += [_alarms(asked, begin), *_contradicted(sections)]
    soon = [one for one in due if one.due is not None and one.due < asked.now + AHEAD]
    return Week(begin, asked.until, standing, tuple(facts), tuple(soon))


def _fact(name: str, words: str, **figures: Figure | str) -> Fact:
    return Fact(name, say(words, **figures), {k: v for k, v in figures.items() if isinstance(v, Figure)})


def _minutes(asked: Asked, quantity: str, begin: float) -> RollUp:
    names = tuple(module.name for module in asked.bank.modules)
    return asked.telemetry.rollup(quantity, names, begin, asked.until + MINUTE, every="minute")


def _heard(asked: Asked, begin: float) -> Iterator[Fact]:
    found = _minutes(asked, "voltage", begin)
    good = np.isfinite(found.mean.value).all(axis=1) if len(found.mean.time) else np.zeros(0, bool)
    hour = (found.mean.time[good] // HOUR).astype(np.int64)
    whole = int((np.unique(hour, return_counts=True)[1] >= FULL_HOUR).sum())
    words = "Every module was heard in {hours} of the 168 hours of the week"
    if whole < 168:
        words += "; what follows rests on what was heard"
    yield _fact("heard", words, hours=Figure(float(whole), "count"))


def _carried(asked: Asked, begin: float) -> Iterator[Fact]:
    """Energy out and in, and the largest current of a module."""
    amps, volts = _minutes(asked, "current", begin), _minutes(asked, "voltage", begin)
    if not len(amps.mean.time) or not np.array_equal(amps.mean.time, volts.mean.time):
        yield _fact("energy", "How much was given and taken is unknown: current and voltage were not read together")
        return
    power = np.nansum(amps.mean.value * volts.mean.value, axis=1)
    out, back = (float(part.sum()) * MINUTE / KWH for part in (power[power > 0], -power[power < 0]))
    yield _fact(
        "energy", "The bank gave {out} and took {back} by the modules' own sensors; how far they are off is not known",
        out=Figure(out, "energy_kwh"), back=Figure(back, "energy_kwh"),
    )  # fmt: skip
    for name, way, value in (("most given", "gave", amps.high.value), ("most taken", "took", -amps.low.value)):
        if np.isfinite(value).any() and np.nanmax(value) > 0:
            place = int(np.nanargmax(np.nanmax(np.where(np.isfinite(value), value, -np.inf), axis=0)))
            most = Figure(float(np.nanmax(value)), "current")
            when = float(amps.mean.time[int(np.nanargmax(value[:, place]))])
            words = "The largest current that a module " + way + " was {most}, {at} on {day}"
            yield _fact(name, words, most=most, at=amps.mean.at[place], day=day_text(when))


def _charge(by_name: dict[str, Section], begin: float) -> Iterator[Fact]:
    section = by_name.get("charge")
    lane = next((lane for lane in section.lanes if lane.name == "bank"), None) if section else None
    if lane is None or not (shown := _since(lane, begin)):
        yield _fact("charge", "The state of charge is unknown: too little was heard")
        return
    told = [k for k in shown if np.isfinite(lane.value[k])]
    if not told:
        words = "The state of charge is unknown all week: its 95 % band was wider than 20 points"
        yield _fact("charge", words)
        return
    ends = [min(told, key=lambda k: lane.value[k]), max(told, key=lambda k: lane.value[k])]
    low, high = (Figure(lane.value[k], "soc", lane.low[k], lane.high[k]) for k in ends)
    words = "The bank was at least {low} and at most {high} full, each with its 95 % band"
    if len(told) < len(shown):
        words += "; that is of {part} of {all} hours, in the others it could not be told"
        yield _fact("charge", words, low=low, high=high, part=str(len(told)), all=str(len(shown)))
    else:
        yield _fact("charge", words, low=low, high=high)


def _since(lane: Lane, begin: float) -> list[int]:
    return [k for k, time in enumerate(lane.time) if time >= begin]


def _joints(by_name: dict[str, Section]) -> Iterator[Fact]:
    section = by_name.get("joints")
    rows = [row for row in section.rows if row.figure is not None] if section else []
    if not rows:
        yield _fact("joints", f"Growth of joints is unknown{_lacks(section)}")
        return
    most = max(rows, key=lambda row: row.figure.value if row.figure else 0.0)
    assert most.figure is not None
    words = "Of all joints {at} stands highest above its baseline: {size} with 95 %"
    if most.limit is None:
        yield _fact("joints", words, at=most.name, size=most.figure)
    else:
        yield _fact("joints", words + ", limit {limit}", at=most.name, size=most.figure, limit=most.limit)


def _lacks(section: Section | None) -> str:
    """What is missing for it, as the section names it."""
    if section is None:
        return ""
    found = next((f for f in section.findings if f.verdict == "unknown" and f.missing), None)
    words = lacking(found.missing) if found else next((n.text() for n in section.notes), "")
    return f": {clause(first_sentence(words))}" if words else ""


def _rows(by_name: dict[str, Section], name: str, what: str) -> Iterator[Fact]:
    """The row that stands out: the widest spread, the least capacity."""
    section = by_name.get(name)
    rows: list[Row] = [row for row in section.rows if row.figure is not None] if section else []
    if not rows:
        yield _fact(name, f"The {what} is unknown{_lacks(section)}")
        return
    pick = max if name == "cells" else min
    row = pick(rows, key=lambda row: row.figure.value if row.figure else 0.0)
    assert row.figure is not None
    words = (
        "The widest spread of cells now is that of {at}: {value}"
        if name == "cells"
        else ("The least capacity is that of {at}: {value}")
    )
    yield _fact(name, words, at=row.name, value=row.figure)


def _alarms(asked: Asked, begin: float) -> Fact:
    raised = [e for e in asked.telemetry.events("alarm-raised") if e.time >= begin]
    if not raised:
        return _fact("alarms", "No alarm was raised")
    kinds = sorted({f"{e.at}: {_rule(str(e.detail.get('rule', '')))}" for e in raised})
    rules = "; ".join(kinds[:MOST]) + (f"; and {len(kinds) - MOST} more" if len(kinds) > MOST else "")
    if len(raised) == 1:
        return _fact("alarms", "One alarm was raised ({rules})", rules=rules)
    return _fact(
        "alarms", "{count} alarms were raised ({rules})", count=Figure(float(len(raised)), "count"), rules=rules
    )


def _rule(name: str) -> str:
    return RULES[name][0] if name in RULES else name


def _contradicted(sections: Sequence[Section]) -> Iterator[Fact]:
    """Each sensor that another one contradicts, once: what rests on it is doubtful."""
    notes = [note for section in sections for note in section.notes if note.words == CONTRADICTED]
    for sensor, place in dict.fromkeys((str(n.figures["sensor"]), str(n.figures["place"])) for n in notes):
        yield _fact("contradicted", "{sensor} is contradicted by others ({place}): what rests on it is doubtful",
                    sensor=sensor, place=place)  # fmt: skip


def fact_text(fact: Fact, units: str = "metric") -> str:
    """The sentence of a fact, its figures with their bands."""
    given = {k: v if isinstance(v, str) else band_text(v, units) for k, v in fact.words.figures.items()}
    return fact.words.words.format(**given)


def week_words(found: Week, units: str = "metric") -> str:
    """The short message: sentence, facts, what is due; cut after a whole line."""
    lines = [f"{day_text(found.begin)} to {day_text(found.end)}. {found.standing.sentence}"]
    lines += [f"{fact_text(fact, units)}." for fact in found.facts]
    lines += [f"{due_words(one)}." for one in found.due]
    while len("\n".join(lines)) > SHORT and len(lines) > 1:
        lines.pop()
    return "\n".join(lines)[:SHORT]
