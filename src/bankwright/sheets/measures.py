"""Measured values in printed text: "2500 mV ± 30 mV", "40...64 V", "14 500 A²s", "1,5 kA", "-20 to +55 °C".

Gives: Measure, Marks, marks_of(), measures().
Takes: text as printed, in any of the languages of this room, and the marks that its sheet writes numbers with.
Limits: one line at a time; a number without a unit is a measure of dimension "count". Which value a key wants is
decided elsewhere. Values keep their printed unit, in the spelling of the bank file.
Sources: spellings of units are common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

__all__ = ["Marks", "Measure", "marks_of", "measures"]

# printed spelling (as a pattern) -> unit of the bank file, dimension; longer ones first
_UNITS: tuple[tuple[str, str, str], ...] = (
    (r"k\s?A\s?(?:²|2|\^2)\s?[·.]?s", "kA2s", "let_through"),
    (r"A\s?(?:²|2|\^2)\s?[·.*]?\s?s(?:ec)?", "A2s", "let_through"),
    (r"kWh", "kWh", "energy"),
    (r"Wh", "Wh", "energy"),
    (r"mAh", "mAh", "charge"),
    (r"A[·.\s]?h", "Ah", "charge"),
    (r"kVA", "kVA", "apparent"),
    (r"VA", "VA", "apparent"),
    (r"k[Ww](?:att)?(?![a-z])", "kW", "power"),
    (r"mW", "mW", "power"),
    (r"W(?:att(?:s)?)?(?![a-zA-Z/])", "W", "power"),
    (r"(?:mV|Millivolt)(?![a-zA-Z])", "mV", "voltage"),
    (r"kV(?![a-zA-Z])", "kV", "voltage"),
    (r"V(?:olts?)?\s?(?:[dD]\.?[cC]\.?|[aA]\.?[cC]\.?|[cC]\.?\s?[cCaA]\.?|pc)?(?![a-zA-Z])", "V", "voltage"),
    (r"kA(?:[dD][cC]|[aA][cC])?(?![a-zA-Z])", "kA", "current"),
    (r"mA(?![a-zA-Z])", "mA", "current"),
    (r"A(?:mps?|mpere|mpère)?\s?(?:[dD][cC]|[aA][cC]|[cC][cCaA])?(?![a-zA-Z])", "A", "current"),
    (r"kHz", "kHz", "frequency"),
    (r"Hz", "Hz", "frequency"),
    (r"m\s?(?:Ω|Ω|[Oo]hms?)", "mohm", "resistance"),
    (r"[MkG]\s?(?:Ω|Ω|[Oo]hms?)", "Mohm", "insulation"),
    (r"[µμu]\s?(?:Ω|Ω|[Oo]hms?)", "uohm", "resistance"),
    (r"(?:Ω|Ω|[Oo]hms?)(?![a-zA-Z])", "ohm", "resistance"),
    (r"N\s?[·⋅.\-*]?\s?m(?![a-zA-Z])", "N m", "torque"),
    (r"(?:lbf?|#)\s?[·⋅.\-]?\s?in(?![a-z])|in(?:ch)?\s?[·⋅.\-]?\s?lbf?s?", "in lb", "torque"),
    (r"(?:lbf?)\s?[·⋅.\-]?\s?ft|f(?:oo)?t\s?[·⋅.\-]?\s?lbf?s?", "ft lb", "torque"),
    (r"mm(?:²|2\b)", "mm2", "area"),
    (r"mm(?![a-zA-Z])", "mm", "length"),
    (r"(?:m(?:et(?:er|re|ri|ros|rów|ry)s?|ètres?)?)(?![a-zA-ZÀ-ž²³/Ω'’])", "m", "length"),
    (r"(?:ft|feet|foot|′)(?![a-zA-Z·.\-])", "ft", "length"),
    (r"cm(?![a-zA-Z])", "cm", "length"),
    (
        r"(?:inch(?:es)?|″|”|\")(?![a-zA-Z])|in(?![a-zA-Z])(?!\s+(?!stud|bolt|lug|post|x\b|wide|deep|high)[^\W\d_])",
        "in",
        "length",
    ),
    (r"(?:HE|RU|U)(?![a-zA-Z])", "U", "length"),
    (r"kg(?![a-zA-Z])", "kg", "mass"),
    (r"g(?![a-zA-Z])", "g", "mass"),
    (r"lbs?(?![a-zA-Z])", "lb", "mass"),
    (r"[°º˚]\s?C|℃|degC|deg\s?C", "degC", "temperature"),
    (r"[°º˚]\s?F|℉|degF", "degF", "temperature"),
    (r"mF(?![a-zA-Z])", "mF", "capacitance"),
    (r"[µμu]F(?![a-zA-Z])", "uF", "capacitance"),
    (r"ms(?:ec)?(?![a-zA-Z])", "ms", "time"),
    (r"[µμu]s(?![a-zA-Z])", "us", "time"),
    (r"s(?:ec(?:onds?|s)?|ek(?:unden?)?\.?|eg(?:undos?)?|econdes?|econdi|econden|\.)?(?![a-zA-Z])", "s", "time"),
    (r"[Ss]ek(?:unden?)?\.?(?![a-z])|[Ss]econdes?|秒", "s", "time"),
    (r"min(?:utes?|uten?|uti|uut|utos?|\.)?(?![a-zA-Z])|分钟", "min", "time"),
    (r"h(?:ours?|rs?)?(?![a-zA-Z])", "h", "time"),
    (r"kJ(?![a-zA-Z])", "kJ", "heat"),
    (r"J(?![a-zA-Z])", "J", "heat"),
    (r"%", "%", "share"),
)
_ANY_UNIT = "|".join(f"(?P<u{n}>{pattern})" for n, (pattern, _, _) in enumerate(_UNITS))
_BARE_UNIT = "|".join(f"(?:{pattern})" for pattern, _, _ in _UNITS)
_SIGN = r"(?:[+\-−–]\s?(?=\d))?"
_FIGURE = r"\d{1,3}(?:[\u0020\u00a0\u202f\u2009'’]\d{3})+(?:[.,]\d+)?(?!\d)|\d+(?:[.,]\d+)*"
_VALUE = re.compile(rf"(?<![A-Za-z0-9_À-ÖØ-öø-ÿ,])(?<!\d\.)(?P<sign>{_SIGN})(?P<number>{_FIGURE})\s*(?:{_ANY_UNIT})?")
_FRACTION = re.compile(r"(?<![\w./])(\d+/\d+)\s*(?:in\b|inch|″|”|\")")
_TO = re.compile(
    r"\s*(?:to|bis|à|al?|tot|until|~|～|…|\.{2,3}|–|—|-|do|till|÷|至|até|až|till|fino a|jusqu'à|hasta)\s*",
    re.IGNORECASE,
)
_TIMES = re.compile(r"\s*(?:\(?[A-Za-z]\)?)?\s*[×xX*]\s*(?:\(?[A-Za-z]\)?)?\s*")
_STROKES = re.compile(r"\d\s*/\s*\d[\d.,]*\s*/\s*\d")  # three sides of a body
_TOLERANCE = re.compile(r"\s*\(?\s*(?:±|\+\s?/\s?[-−–]|\+-)\s*")
_BOUND = re.compile(
    r"(?P<most>≤|<=|<|⩽"
    r"|\bmax(?:imum|imal|imaal|imo|\.)?|\bup to\b|\bat most\b|\bno more than\b|\bau plus\b|\bal massimo\b|\bhoogstens\b"
    r"|\bno máximo\b|\bhögst\b|\bhøjst\b|\bnajwyżej\b|\bnejvýše\b|\bnot exceeding\b|不超过"
    r"|\bbis\b|\bhöchstens\b|\bjusqu'à|\bhasta\b|\btot\b)\s*$"
    r"|(?P<least>≥|>=|>|⩾|\bmin(?:imum|imal|\.)?|\bmindestens\b|\bau moins\b|\bal menos\b|\bminstens\b)\s*$",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Marks:
    """How a sheet writes numbers: its decimal mark."""

    decimal: str = "."


@dataclass(frozen=True, slots=True)
class Measure:
    """One value as printed.

    `low` and `high` differ for a range or a tolerance; `middle` is None for a range. Numbers are in `unit`.
    """

    dimension: str
    unit: str
    low: str
    middle: str | None
    high: str
    tolerance: str  # "30 mV", "10 %", or empty
    bound: str  # "most", "least", or empty
    start: int
    end: int
    printed: str

    @property
    def ranges(self) -> bool:
        """Whether two ends were printed."""
        return self.middle is None

    def text(self) -> str:
        """As the bank file writes it: "2500 mV +- 30 mV", "40 V to 64 V"."""
        unit = f" {self.unit}" if self.unit else ""
        if self.middle is None:
            return f"{self.low}{unit} to {self.high}{unit}"
        return f"{self.middle}{unit}" + (f" +- {self.tolerance}" if self.tolerance else "")

    def number(self) -> float:
        """The value, the upper end of a range, in `unit`."""
        return float(self.middle if self.middle is not None else self.high)


@dataclass(frozen=True, slots=True)
class _Raw:
    sign: str
    number: str
    unit: str
    dimension: str
    start: int
    end: int

    def value(self, marks: Marks) -> str:
        return ("-" if self.sign.strip() in ("-", "−", "–") else "") + _plain(self.number, marks)


def marks_of(text: str) -> Marks:
    """Which decimal mark a sheet writes, by what follows its marks: one or two figures make a decimal."""
    comma = len(re.findall(r"(?<![\d.,])\d{1,4},\d{1,2}(?![\d,.])", text))
    comma += len(re.findall(r"(?<![\d.,])\d{1,3}(?:\.\d{3})+,\d", text)) + len(re.findall(r"(?<!\d)0,\d{3}", text))
    point = len(re.findall(r"(?<![\d.,])\d{1,4}\.\d{1,2}(?![\d,.])", text)) + len(re.findall(r"(?<!\d)0\.\d{3}", text))
    return Marks("," if comma > point else ".")


def _plain(number: str, marks: Marks) -> str:
    """A printed number without thousands marks, with a decimal point."""
    number = re.sub(r"[\s\u00a0\u202f\u2009'’]", "", number)
    other = "." if marks.decimal == "," else ","
    if re.fullmatch(r"\d{1,3}(?:[.,]\d{3})+", number) and number.count(marks.decimal) == 0:
        return number.replace(other, "")
    if other in number and marks.decimal in number:
        return number.replace(other, "").replace(marks.decimal, ".")
    if number.count(".") + number.count(",") == 1 and other in number:
        return number.replace(other, ".")  # 3,65 on a sheet that else writes points: no thousands have two figures
    if number.count(marks.decimal) > 1:
        return number.replace(marks.decimal, "")
    return number.replace(marks.decimal, ".")


def _raws(text: str) -> Iterator[_Raw]:
    for found in _VALUE.finditer(text):
        unit, dimension = "", "count"
        for n, (_, symbol, of) in enumerate(_UNITS):
            if found.group(f"u{n}") is not None:
                unit, dimension = symbol, of
                break
        yield _Raw(found["sign"], found["number"], unit, dimension, found.start(), found.end())


@lru_cache(maxsize=4096)
def measures(text: str, marks: Marks) -> tuple[Measure, ...]:
    """Every measured value of a line, in order; ranges and tolerances are one value."""
    raws, made, n = tuple(_raws(text)), [], 0
    while n < len(raws):
        step, measure = _one(text, raws, n, marks)
        made.append(measure)
        n += step
    parts = tuple(_fractions(text))
    made = [m for m in made if not any(f.start <= m.start < f.end for f in parts)]
    return tuple(sorted((*_sides(text, made), *parts), key=lambda m: m.start))


def _sides(text: str, made: list[Measure]) -> list[Measure]:
    """Three sides of a body bear one unit, after the last: 442 x 480 x 133 mm."""
    out = list(made)
    for n in range(len(out) - 2, -1, -1):
        one, after = out[n], out[n + 1]
        joint = text[one.end : after.start]
        crossed = _TIMES.fullmatch(joint) or (joint.strip() == "/" and _STROKES.search(text))
        if one.dimension == "count" and after.dimension == "length" and crossed:
            out[n] = replace(one, dimension="length", unit=after.unit)
    return out


def _one(text: str, raws: tuple[_Raw, ...], n: int, marks: Marks) -> tuple[int, Measure]:
    first = raws[n]
    last, step, high, tolerance = first, 1, "", ""
    following = raws[n + 1] if n + 1 < len(raws) else None
    between = text[first.end : following.start] if following else ""
    if following and (_TO.fullmatch(between) or _signed(following, between)) and _joins(first, following, between):
        last, step, high = following, 2, following.value(marks)
    elif following and _joins_signed(first, following, between):
        last, step = following, 2
        high = following.number and _plain(following.number, marks)
    unit, dimension = (first.unit, first.dimension) if first.unit else (last.unit, last.dimension)
    after = raws[n + step] if n + step < len(raws) else None
    if (
        after
        and _TOLERANCE.fullmatch(text[last.end : after.start])
        and (dimension == "count" or after.dimension in (dimension, "share", "count"))
    ):
        tolerance = f"{_plain(after.number, marks)} {after.unit or unit}"
        if first.dimension == "count" and step == 1:
            unit, dimension = (after.unit, after.dimension) if after.dimension != "share" else ("", "count")
        last, step = after, step + 1
    bound = _BOUND.search(text[: first.start])
    low = first.value(marks)
    if high and first.unit and last.unit and first.unit != last.unit:
        low, high, unit = _alike(first, raws[n + 1], marks)
    kind = "" if bound is None else "most" if bound["most"] else "least"
    printed = text[first.start : last.end].strip()
    return step, Measure(
        dimension, unit, low, None if high else low, high or low, tolerance, kind, first.start, last.end, printed
    )


def _signed(following: _Raw, between: str) -> bool:
    """`-20 / +60 °C`: a stroke before a number with a plus."""
    return between.strip() == "/" and following.sign.strip() == "+" and following.dimension == "temperature"


def _joins(first: _Raw, following: _Raw, between: str) -> bool:
    """Whether two numbers are the ends of a range: the same dimension, or the first without a unit."""
    if first.dimension not in (following.dimension, "count"):
        return False
    return not (between.strip() in ("-", "–", "—", "") and following.sign and not between.strip())


def _joins_signed(first: _Raw, following: _Raw, between: str) -> bool:
    """`0-55 °C`, `40–64 V`: the dash was read as a sign of the second number."""
    dash = following.sign.strip() in ("-", "−", "–") and not between.strip()
    return dash and (first.dimension in (following.dimension, "count")) and bool(following.unit)


def _alike(first: _Raw, last: _Raw, marks: Marks) -> tuple[str, str, str]:
    """Ends of a range with two units of a dimension stay as printed; the caller's text needs one unit: the last."""
    factor = {
        ("mV", "V"): 1e-3,
        ("V", "mV"): 1e3,
        ("mA", "A"): 1e-3,
        ("A", "kA"): 1e-3,
        ("W", "kW"): 1e-3,
        ("ms", "s"): 1e-3,
    }
    by = factor.get((first.unit, last.unit), 1.0)
    low = float(first.value(marks)) * by
    return f"{low:g}", last.value(marks), last.unit


def _fractions(text: str) -> Iterator[Measure]:
    """Inch sizes as fractions: 5/16 in, 3/8\"."""
    for found in _FRACTION.finditer(text):
        f = found[1]
        yield Measure("length", "in", f, f, f, "", "", found.start(), found.end(), found[0].strip())
