"""Sentences become rows: for each value that a sentence names, a label made of what is said of it.

Gives: Told, said_in(), sentences(), told_of().
Takes: a row of running text, how its sheet writes numbers, the kind of the thing.
Limits: a value is taken only where the words around it fit one frame of prose.toml; two values of a dimension that no
comma parts are left alone, so is what is advised, usual or said of another thing.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

from bankwright.sheets.concepts import direction, ideas, negated, phrase, plain
from bankwright.sheets.figures import figures
from bankwright.sheets.measures import Marks, Measure, measures
from bankwright.sheets.row import Row

__all__ = ["Told", "said_in", "sentences", "told_of"]

FEW = 60.0  # W: what the electronics of a module may use
HIGH = 300.0  # m or ft: a lesser one is a distance
_ENDS = re.compile(r"(?<!\b[zdp]\.)(?<!\bca\.)(?:(?<=[.!?])|(?<=[.!?][)”“»]))\s+(?=[„“\"«(]?[^\W\d_a-zß-öø-ÿ])")
_MARK = re.compile(
    r"(?P<strong>;)|(?P<comma>,(?=\s)|:(?=\s)|\((?=\S)|\s[–—-]\s)"
    r"|\s(?P<word>and|und|sowie|et|y|e|ed|en|i|oraz|but|aber|mais|pero|ma|maar|ale|mas"
    r"|while|während|tandis que|mientras|mentre|terwijl|enquanto)\s"
)
_IF = re.compile(
    r"\W*(?:(?:and|und|et|y|e|en|i|oraz|but|aber|mais|pero|ma|maar|ale|mas)\s+)?"
    r"(?:if|when|once|should|at|as soon|wenn|sobald|falls|steigt|sinkt|fällt|bei|si|quand|lorsqu|dès|à|cuando|al|se"
    r"|quando|als|zodra|bij|gdy|jeśli|przy|ao)\b",
    re.IGNORECASE,
)
_AND = re.compile(r"\s*(?:and|und|sowie|et|y|e|ed|en|i|oraz|but|aber|mais|pero|ma|maar|ale|mas)\b", re.IGNORECASE)
_NEXT = re.compile(r";\s|,\s+(?:and|und|et|y|e|en|i|oraz|but|aber|mais|pero|ma|maar|ale|mas)\s")
_OR = re.compile(r"\W*(?:or|oder|ou|o|of|lub|albo)\W+(?:\w{1,4}\W+)?", re.IGNORECASE)
_ALSO = re.compile(
    r"\bdo(?:es)? (?:so|the same)|\blikewise|\bebenso|das(?:selbe)? (?:tut|gilt)"
    r"|de même|lo mismo|lo stesso|hetzelfde|to samo|o mesmo",
    re.IGNORECASE,
)
_BACK = re.compile(
    r"\s*(?:it|this|that|then|there|thereby|above|beyond|er|es|sie|dabei|dann|darüber|il|elle|cela|alors|au-delà|él|ella|esto|entonces"
    r"|esso|essa|allora|oltre|hij|het|dit|dan|daarboven|wtedy|to|ele|ela|isto|então|up|for|für|pendant|durante|per)\b",
    re.IGNORECASE,
)
_MERELY = re.compile(r"(?:form[ae]|maner[ao]|modo|servi[cz]i?o|régime|service|in|em)\s+continu\w*", re.IGNORECASE)
_KEPT = frozenset(  # what a value after "and" has from the one before it
    {
        "gives",
        "takes",
        "holds",
        "cuts",
        "breaks",
        "single",
        "destroyed",
        "never",
        "carries",
        "pushes",
        "drawn",
        "differ",
        "protection",
        "lasting",
        "weighs",
        "optional",
    }
)
_LINKED = ("current", "power", "voltage", "temperature", "let_through", "mass")
GUARDS = frozenset(
    {"advised", "hedged", "foreign", "optional", "packed", "stored", "warned"}
)  # no value of the thing as it is
_ELSEWHERE = frozenset({"advised", "foreign", "optional", "packed", "stored"})  # such a value counts for no rule at all


@dataclass(frozen=True, slots=True)
class Told:
    """A row made of a sentence, and the value that it took: its dimension and writing.

    The line of the row is the sentence as printed.
    """

    row: Row
    sentence: str
    taken: tuple[str, str] = ("", "")


@dataclass(frozen=True, slots=True)
class _Part:
    """A stretch of a sentence around its values: names of what is said in it; `lead` are those before its value."""

    text: str
    sentence: str
    values: tuple[Measure, ...]
    names: frozenset[str]
    lead: frozenset[str] = field(default_factory=frozenset)
    way: str = ""


@cache
def _table() -> tuple[dict[str, re.Pattern[str]], list[dict[str, Any]], list[dict[str, Any]]]:
    data = tomllib.loads((Path(__file__).parent / "prose.toml").read_text(encoding="utf-8"))
    return {name: re.compile(words) for name, words in data["words"].items()}, data["frame"], data["say"]


@cache
def _names(text: str) -> frozenset[str]:
    """Everything that is said in a text: ideas of a data sheet, and words of running text."""
    bare = plain(text)
    return ideas(text) | {name for name, words in _table()[0].items() if words.search(bare)}


def said_in(text: str) -> frozenset[str]:
    """Names of what a text says: ideas of a data sheet, and words of prose.toml."""
    return _names(text)


def sentences(row: Row) -> list[str]:
    """The sentences of a row, with figures for their number words."""
    return [figures(sentence) for sentence in _ENDS.split(row.label)]


def told_of(row: Row, marks: Marks, kind: str) -> list[Told]:
    """The rows that the sentences of running text make."""
    found: list[Told] = []
    over = _way(row.section, _names(row.section), kind)
    way, before = over, ""
    for printed in _ENDS.split(row.label):
        sentence, row = figures(printed).rstrip(" ."), replace(row, line=printed)
        carried = way if _BACK.match(sentence) else over
        parts = list(_with_end(list(_parts(sentence, marks, kind, carried, _names(before)))))
        for part in parts:
            found += (_told(row, part, m, kind) for m in part.values)
        found += _said(row, sentence, before, marks, kind)
        way, before = (parts[-1].way if parts else direction(sentence)), sentence
    return [told for told in found if told.row.label or told.taken[0]]


def _parts(sentence: str, marks: Marks, kind: str, carried: str, before: frozenset[str]) -> Iterator[_Part]:
    """The stretches of a sentence, one around each value or around values that no mark parts."""
    way, kept, last = carried, frozenset[str](), ""
    subject = frozenset[str]()
    also = frozenset({"cuts"}) & before if _ALSO.search(sentence) else frozenset[str]()
    for text in _stretches(sentence, marks):
        values = _found(text, marks)
        own, first = _names(_short(text, values)), next((m for m in values if m.dimension != "time"), None)
        if first is None:
            continue
        same, way = way, _way(text, own, kind) or way
        kept = kept if way == same else kept - {"lasting"}
        linked = (first.dimension == last and last in _LINKED) or {first.dimension, last} == {"charge", "energy"}
        subject = own & {"holders"} or (frozenset() if own & {"terminal"} else subject)
        names = own | also | subject | (kept if linked else frozenset()) | _facts(values, way, own)
        yield _Part(text, sentence, values, names, own, way)
        last = first.dimension
        kept = (kept if linked else frozenset()) | (_names(text[: first.start]) & _KEPT) | (own & {"optional", "cuts"})


def _short(text: str, values: Sequence[Measure]) -> str:
    """A stretch without the clause after its last value that says another thing: "..., and it never closes again"."""
    end = values[-1].end if values else 0
    found = _NEXT.search(text, end)
    return text[: found.start()] if found and text[end : found.start()].strip(" ,.") else text


def _found(text: str, marks: Marks) -> tuple[Measure, ...]:
    """Measured values and counts of something; no part of a name: "HM-5"."""
    counted = [m for m in measures(text, marks) if m.dimension != "count" or re.match(r"\s*[^\W\d]", text[m.end :])]
    counted += [m for m in measures(text, marks) if m.dimension == "count" and m.ranges and m not in counted]
    counted.sort(key=lambda m: m.start)
    return tuple(m for m in counted if not re.search(r"[A-Za-z][/-]?$", text[: m.start]))


def _with_end(parts: Sequence[_Part]) -> Iterator[_Part]:
    """The stretches; one of a current or power lasts where words after lesser values say so: "at 230 V for ever"."""
    flows = {"current", "power"}
    for n, part in enumerate(parts):
        rest = []
        for after in parts[n + 1 :]:
            if flows & {m.dimension for m in after.values}:
                break
            rest.append(after)
        lasts = flows & {m.dimension for m in part.values} and any("lasting" in p.lead for p in rest)
        yield replace(part, names=part.names | {"lasting"}) if lasts else part


def _stretches(sentence: str, marks: Marks) -> list[str]:
    found = _found(sentence, marks)
    cuts = [
        at for a, b in pairwise(found) if (at := _cut(sentence[a.end : b.start + 1])) is not None and (at := at + a.end)
    ]
    texts = [sentence[a:b] for a, b in pairwise([0, *cuts, len(sentence)])]
    out: list[str] = []
    for text in texts:
        timely = {m.dimension for m in measures(text, marks)} == {"time"}
        opens = _names(out[-1] + text) if out else frozenset()
        if timely and "cuts" in opens and not opens & {"closesagain", "recloses", "restarts"}:
            out[-1] += text
        else:
            out.append(text)
    return out


def _cut(between: str) -> int | None:
    """Where the words between two values part; None where no mark stands between them."""
    found = list(_MARK.finditer(between))
    strong = [m for m in found if m["strong"]]
    conditions = [m for m in found if _IF.match(between[m.end() - bool(m["word"]) :])]
    ands = [m for m in found if m["comma"] and _AND.match(between[m.end() :])]
    chosen = strong[:1] or conditions[:1] or ands[:1] or found[-1:]
    return chosen[0].start() if chosen else None


def _way(text: str, names: frozenset[str], kind: str) -> str:
    """Charge or discharge: said, or by its verb."""
    both = {"charge", "discharge"} & names
    said = direction(text) or (next(iter(both)) if len(both) == 1 else "")
    if said or {"charge", "discharge"} <= names or kind != "module":
        return said
    verbs = {"gives", "takes"} & names
    return {"gives": "discharge", "takes": "charge"}[next(iter(verbs))] if len(verbs) == 1 else ""


def _facts(values: Sequence[Measure], way: str, names: frozenset[str]) -> frozenset[str]:
    """Names of what the values and the direction are."""
    found = {"way", f"only {way}"} if way else set()
    kinds = {m.dimension for m in values}
    found |= {"timed"} & {"timed" for kind in kinds if kind == "time" and "timeconstant" not in names}
    found |= {"with current"} & {"with current" for kind in kinds & {"current", "power"}}
    return frozenset(found)


def _of_value(m: Measure) -> frozenset[str]:
    """Names of what one value can be."""
    volts = m.number() * (1e-3 if m.unit == "mV" else 1.0) if m.dimension == "voltage" else 0.0
    found = {"range"} if m.ranges else set()
    found |= {"cellvolts"} if 1.5 <= volts <= 4.5 and not m.ranges else set()
    found |= {"packvolts"} if 15 <= volts <= 1500 else set()
    found |= {"millivolts"} if 0 < volts < 1.5 else set()
    found |= {"few watts"} if m.unit in ("W", "mW") and m.number() <= FEW else set()
    found |= {"high ground"} if m.unit in ("m", "ft") and m.dimension == "length" and m.number() >= HIGH else set()
    return frozenset(found)


def _fits(names: frozenset[str], frame: dict[str, Any], about: frozenset[str] = frozenset()) -> bool:
    """Whether the names around a value, and those of all of its sentence, are those of a frame."""
    need = all(any(one in names for one in word.split("|")) for word in frame["need"])
    whole = all(any(one in about for one in word.split("|")) for word in frame.get("with", ()))
    return need and whole and not names & set(frame.get("none", ())) and not about & set(frame.get("away", ()))


def _told(row: Row, part: _Part, m: Measure, kind: str) -> Told:
    """The row of one value; one without a label where no frame fits it."""
    names, about = part.names | _of_value(m), _names(part.sentence)
    taken = (m.dimension, m.text())
    if names & _ELSEWHERE or "foreign" in about or _of_another(m, names, about):
        return Told(_row(row, "", ""), part.sentence, taken)
    for frame in _table()[1] if _alone(part, m) and not names & GUARDS else ():
        if frame["of"] != m.dimension or kind not in frame["kinds"].split() or not _fits(names, frame, about):
            continue
        if "counted" in frame and not re.match(r"\W*" + frame["counted"], plain(part.text[m.end :])):
            continue
        if m.dimension == "count" and (m.ranges == ("range" not in frame["need"]) or not 2 <= m.number() <= 300):
            continue
        label = frame["label"].replace("{way}", part.way)
        value = frame.get("value", "{value}").replace("{value}", _value(part, m)) + (
            _supply(part) if frame.get("dc") else ""
        )
        return Told(_row(row, label, value), part.sentence, taken)
    return Told(_row(row, "", ""), "")


def _alone(part: _Part, m: Measure) -> bool:
    """Whether no other value of its dimension stands beside it, but for one after an "or", which is asked too."""
    others = [o for o in part.values if o.dimension == m.dimension and o is not m]
    between = [part.text[min(m.end, o.end) : max(m.start, o.start)] for o in others]
    return m.dimension == "count" or all(_OR.fullmatch(text) for text in between)


def _of_another(m: Measure, names: frozenset[str], about: frozenset[str]) -> bool:
    """Whether a value is of a cell, of several modules, of a rack, of a holder or lid, of a heater, or of a test."""
    ranged = m.dimension == "temperature" and m.ranges
    return any(
        (
            m.dimension in ("mass", "energy", "charge") and about & {"ofcell", "several"},
            m.dimension == "length" and "racks" in about,
            m.dimension == "torque" and "holders" in names,
            m.dimension == "power" and "heats" in about,
            ranged and "tested" in about,
        )
    )


def _value(part: _Part, m: Measure) -> str:
    """A value with the time or temperature that it holds for."""
    times = [t for t in part.values if t.dimension == "time"]
    warm = [t for t in part.values if t.dimension == "temperature" and m.dimension in _LINKED[:2]]
    since = re.search(r"(\d[\d.,]*) ?(m?s|min)\b", part.sentence) if m.dimension == "resistance" else None
    if since:
        return f"{m.printed} after {since[0]}"
    if m.dimension in _LINKED[:2] and len(times) == 1:
        return f"{m.printed} for {times[0].printed}"
    return m.printed + (f" at {warm[0].printed}" if warm else "")


def _supply(part: _Part) -> str:
    """Whether the value is said to hold on DC or on AC, beside it or in its sentence."""
    for text in (part.text, part.sentence):
        text = _MERELY.sub(" ", text)
        dc, ac = phrase("dc").search(text), phrase("ac").search(text)
        if bool(dc) != bool(ac):
            return " DC" if dc else " AC"
    return ""


def _row(row: Row, label: str, value: str) -> Row:
    return replace(row, label=label, values=(value,), heads=(), group="", section="", jammed=False, near="")


def _clauses(sentence: str) -> Iterator[tuple[str, bool]]:
    """The clauses of a sentence, and the finer ones between each "and"."""
    for clause in _NEXT.split(sentence):
        yield clause, False
        yield from ((part, True) for part in re.split(r",\s|\s(?:and|und|sowie|et|y|e|ed|en|i|oraz)\s", clause))


def _said(row: Row, sentence: str, before: str, marks: Marks, kind: str) -> Iterator[Told]:
    """Rows of what a clause says without a value."""
    about = _names(sentence) | (_names(before) if _BACK.match(sentence) or len(sentence) < 160 else frozenset())
    for clause, fine in _clauses(sentence):
        found = measures(clause, marks)
        times = [m for m in found if m.dimension == "time" and not m.ranges]
        facts = {"one time"} if len(times) == 1 else set()
        facts |= {"one current"} if any(m.dimension == "current" for m in found) else set()
        facts |= {"cell volts"} if any("cellvolts" in _of_value(m) for m in measures(sentence, marks)) else set()
        facts |= {"denied"} if negated(clause) else set()
        for say in _table()[2]:
            if (
                fine == say.get("fine", False)
                and kind in say["kinds"].split()
                and _fits(_names(clause) | facts, say, about | facts)
            ):
                value = say["value"].replace("{time}", times[0].printed if times else "").replace("{clause}", clause)
                tries = " (so many times)" if times and phrase("tries").search(clause) else ""
                yield Told(_row(row, say["label"], value + tries), sentence)
