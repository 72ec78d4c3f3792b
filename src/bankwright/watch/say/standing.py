"""The one sentence on top: is it still well?

Gives: Standing, Verdict, standing_of(). "Well" needs every module heard within its time, every limit judged, and no
estimator unknown that this bank's readings could feed. What they can never feed is named in the same sentence with the
reading that stands in for it and when; overdue, it is missing. A sensor that another contradicts is named beside
whatever is said from it.
Limits: of what fails, is missing or is to be done three stand in the sentence, of what cannot be heard all; the
findings below it are the whole. No score, no share of health.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from bankwright.bank.model import Bank
from bankwright.forms.checks import lacking
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.grouping import in_order
from bankwright.forms.wording import Figure
from bankwright.watch.alarms.section import RUNS, STANDS, UNTOLD
from bankwright.watch.heard import HEARD, LISTENS
from bankwright.watch.joints.cards import GROWN
from bankwright.watch.say.doubts import Doubt, doubted, doubts_of, modules_in
from bankwright.watch.say.due import STANDS_IN, Due
from bankwright.watch.say.words import band_text, clause, day_text, first_sentence, month_text, several, things
from bankwright.watch.section import Section

__all__ = ["Standing", "Verdict", "standing_of"]

Verdict = Literal["not well", "cannot be told", "well as far as can be heard", "well"]
DAY = 86400.0
MOST = 3  # things that stand in the sentence
ALIKE = 3.0  # times as long a silence as another at most, to be said with it
KEYS = 3  # of the file that are named where they are missing


@dataclass(frozen=True, slots=True)
class Standing:
    """The sentence, and what it is made of: clauses of what fails, is missing, is to be done, cannot be heard."""

    verdict: Verdict
    sentence: str
    fails: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    to_do: tuple[str, ...] = ()
    not_heard: tuple[str, ...] = ()


def standing_of(bank: Bank, sections: Sequence[Section], due: Sequence[Due] = (), since: float = 0.0) -> Standing:
    """Judge all sections together; what was seen from `since` on, s since 1970, may be older."""
    told = list(_told(sections))
    doubts = doubts_of(bank, [finding for _, finding in told])
    say = _Saying(bank, doubts, due, since)
    failed = [(s, f) for s, f in told if f.verdict == "fail" and not f.crashed]
    failed.sort(key=lambda one: one[1].code != STANDS.code)  # what rings now stands first
    fails = tuple(say.thing(s, f) for s, f in failed)
    to_do = tuple(say.thing(s, f) for s, f in told if f.verdict == "caution")
    lacks = [f for _, f in told if _is_missing(sections, f)]
    missing = tuple(
        dict.fromkeys([*say.silent(sections, lacks), *(say.missing(f) for f in lacks if f.code != HEARD.code)])
    )
    stands_in = [one for one in due if one.origin == "stands in" and one.state != "overdue"]
    not_heard = tuple(map(_stands_in, stands_in))
    verdict = _verdict(fails, missing, not_heard)
    sentence = _sentence(verdict, fails, missing, to_do, _all_named(stands_in))
    return Standing(verdict, sentence, fails, missing, to_do, not_heard)


def _verdict(fails: Sequence[str], missing: Sequence[str], not_heard: Sequence[str]) -> Verdict:
    if fails:
        return "not well"
    if missing:
        return "cannot be told"
    return "well as far as can be heard" if not_heard else "well"


def _sentence(
    verdict: Verdict, fails: Sequence[str], missing: Sequence[str], to_do: Sequence[str], not_heard: str
) -> str:
    if verdict == "not well":
        rest = f". Cannot be told besides: {several(missing, MOST)}" if missing else ""
        also = f". To do besides: {several(to_do, MOST)}" if to_do else ""
        return f"Not well: {several(fails, MOST)}{rest}{also}."
    if verdict == "cannot be told":
        also = f". To do besides: {several(to_do, MOST)}" if to_do else ""
        return f"Cannot be told: {several(missing, MOST)}{also}."
    head = "Well" if verdict == "well" else "Well as far as can be heard"
    if to_do:
        head += f", with {things(len(to_do))} to do: {several(to_do, MOST)}"
    return f"{head}; {not_heard}." if not_heard else f"{head}."


def _all_named(ones: Sequence[Due]) -> str:
    """Every one of them in one clause: what stands in is never left to a list."""
    if len(ones) < 2:
        return "".join(map(_stands_in, ones))
    parts = [f"{one.why.partition(': ')[0]} ({one.title} {_month(one)})" for one in ones]
    return f"not to be heard here: {', '.join(parts)}"


def _stands_in(one: Due) -> str:
    """Joints cannot be heard here (one module alone): millivolts by March 2027."""
    what, _, why = one.why.partition(": ")
    return f"{what} cannot be heard here ({why}): {one.title} {_month(one)}"


def _month(one: Due) -> str:
    return "now" if one.state == "now" or one.due is None else f"by {month_text(one.due)}"


def _told(sections: Sequence[Section]) -> Iterator[tuple[Section, Finding]]:
    """Findings as they are listed, worst first, each with the section that it stands in."""
    home = {finding.code: section for section in sections for finding in section.findings}
    for finding in in_order(finding for section in sections for finding in section.findings):
        yield home[finding.code], finding


def _is_missing(sections: Sequence[Section], finding: Finding) -> bool:
    """What nobody could make, and what is unknown though this bank's readings could feed it."""
    answered = {code for section in sections for one in section.stand_ins for code in one.codes}
    return bool(finding.crashed) or (finding.verdict == "unknown" and finding.code not in answered)


@dataclass(frozen=True, slots=True)
class _Saying:
    """Clauses of the sentence."""

    bank: Bank
    doubts: Sequence[Doubt]
    due: Sequence[Due]
    since: float

    def thing(self, section: Section, finding: Finding) -> str:
        """What was found, and where it rests on a sensor that another contradicts, that too."""
        if finding.code == GROWN.code and finding.figure is not None:
            said = self._grown(section, finding)
        elif finding.code == LISTENS.code:
            said = f"no listener runs ({clause(first_sentence(finding.do.text()).partition(';')[0])})"
        else:
            said = clause(finding.title if finding.text is None else finding.text.text(self.bank.units))
            act = clause(first_sentence(finding.do.text(self.bank.units)))
            said = f"{said} ({_also(finding)}{act})"
        rests = finding.code not in (UNTOLD.code, RUNS.code)
        doubts = doubted(self.bank, section, finding, self.doubts) if rests else ()
        if doubts:
            said += f" [{' and '.join(one.words for one in doubts)} {'is' if len(doubts) == 1 else 'are'} contradicted]"
        return said

    def _grown(self, section: Section, finding: Finding) -> str:
        """The branch of M4 has grown by so much since; which joint in it: millivolts by then."""
        assert finding.figure is not None
        names = modules_in(self.bank, finding.at)
        where = f"the branch of {names[0]}" if len(names) == 1 else " and ".join(finding.at[:2])
        gaps = {} if finding.text is None else finding.text.figures
        began = min((mark.time for lane in section.lanes for mark in lane.marks), default=None)
        since = "" if began is None else f" since {day_text(began)}"
        if began is not None and began - self.since < DAY:
            since += " or before"
        seat = str(gaps.get("seat", ""))
        seat = f" ({seat})" if seat.startswith("the shares do not") else ""
        over, by = _over(finding, self.bank.units), " now"
        if finding.verdict != "fail":
            over, by = "", next((_by(one) for one in self.due if one.id == finding.code), by)
        return (
            f"{where} {gaps.get('has', 'has')} grown by {band_text(finding.figure, self.bank.units)}{since}{over}{seat}"
            f", which joint in it cannot be told from here: millivolts{by}"
        )

    def silent(self, sections: Sequence[Section], lacks: Sequence[Finding]) -> Iterator[str]:
        """Who is silent, in one clause: never heard, or how long ago."""
        silent = [f for f in lacks if f.code == HEARD.code]
        never = [name for f in silent if f.figure is None for name in (*f.at, *f.more)]
        late = [f for f in silent if f.figure is not None]
        if never:
            yield f"{_who(never, len(self.bank.modules))} {'was' if len(never) == 1 else 'were'} never heard"
        ages = {row.name: row.figure for section in sections if section.name == "heard" for row in section.rows}
        told = [(name, ages.get(name) or f.figure) for f in late for name in (*f.at, *f.more)]
        if told:
            yield " and ".join(self._late([(name, figure) for name, figure in told if figure is not None]))

    def _late(self, told: Sequence[tuple[str, Figure]]) -> Iterator[str]:
        """Those that are silent for about as long, together; the longest first."""
        rest = sorted(told, key=lambda one: -one[1].value)
        first = True
        while rest:
            like = [one for one in rest if one[1].value * ALIKE >= rest[0][1].value]
            rest = rest[len(like) :]
            ago = f"{'up to ' if len(like) > 1 else ''}{band_text(like[0][1], self.bank.units)} ago"
            who = _who([name for name, _ in like], len(self.bank.modules))
            yield f"{who} {'was' if len(like) == 1 else 'were'} last heard {ago}" if first else f"{who} {ago}"
            first = False

    def missing(self, finding: Finding) -> str:
        """What is lacking, in a clause."""
        if finding.crashed:
            part = "" if finding.text is None else finding.text.figures.get("name", "")
            return f"{finding.crashed.partition(':')[0]} stopped the part on {part}"
        words = _lacking(finding.missing) or clause(finding.title)
        if finding.code == STANDS_IN.code or not finding.figure or finding.text is None:
            return words
        return f"{clause(finding.text.text(self.bank.units))} ({words})"


def _who(names: Sequence[str], count: int) -> str:
    everybody = len(names) > MOST and len(names) == count
    return f"all {count} modules" if everybody else ", ".join(sorted(names, key=_in_order))


def _in_order(name: str) -> list[tuple[int, str]]:
    """M2 before M10."""
    return [(int(part), "") if part.isdigit() else (-1, part) for part in re.split(r"(\d+)", name)]


def _by(one: Due) -> str:
    if one.due is None or one.state == "now":
        return " now"
    return f"{', overdue since' if one.state == 'overdue' else ' by'} {day_text(one.due)}"


def _over(finding: Finding, units: str) -> str:
    most = finding.limits[1]
    if most is None or finding.figure is None:
        return ""
    return f", its limit is {band_text(Figure(most, finding.figure.quantity), units)}"


def _also(finding: Finding) -> str:
    return f"and at {', '.join(finding.more[:3])}: " if finding.more else ""


def _lacking(missing: Sequence[Missing]) -> str:
    """As everywhere; where many keys of the file are missing, the first few."""
    keys = [item for item in missing if not item.lacks]
    if len(keys) <= KEYS:
        return lacking(tuple(missing))
    rest = tuple(item for item in missing if item.lacks)
    named = ", ".join(item.key for item in keys[:KEYS])
    words = f"{named} and {len(keys) - KEYS} more are not given"
    return "; ".join(part for part in (words, lacking(rest) if rest else "") if part)
