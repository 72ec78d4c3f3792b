"""A row whose label and value stand on one line with nothing but a blank between: where the value begins.

Gives: inside(), runs_on(), split_row(), united().
Takes: a line of text.
Limits: a value is a measure, a thread, a code, a count with its word, or one of a few words; conditions of the label,
"at 25 °C", stay with it.
"""

from __future__ import annotations

import re

from bankwright.sheets.measures import Marks, Measure, measures
from bankwright.sheets.paragraphs import two_sentences

__all__ = ["inside", "runs_on", "split_row", "united"]

SENTENCES = 50  # letters: a longer line of two sentences is running text
PROSE = 110  # letters: a longer line of sentences is running text
FEWEST = 2  # small words of a sentence
SHORT = 70  # letters of a row whose value is no measure
_AT = re.compile(
    r"(?:\bat|\bfor|\bbei|\bfür|\bà|\ba|\bpour|\bpendant|\bper|\bbij|\bvoor|@|[,(/=]|\bfrom|\bab|\bmax\.?,)\s*$",
    re.IGNORECASE,
)
_SHORTENED = re.compile(r"\b(?:max|min|approx|ca|typ|nom|env|aprox|incl|opt|no|nr)\.$", re.IGNORECASE)
_SMALL = re.compile(r"(?<![\w/])[a-zß-öø-ÿ’'-]{2,}(?![\w/])")
_CODE = re.compile(
    r"(.{3,60}?[^\W\d_)])\s+((?:M\s?\d{1,2}|IP\s?\d\d|\d{1,2}S(?:\d{1,2}P)?|[0-9]/[0-9]{1,2} in)\b.{0,20})"
)
_BARE = re.compile(r"(.*[^\W\d_]\.?)\s+(\d{1,4}(?:\s*[-–]\s*\d{1,4})?)")
_COUNT = re.compile(r"(.*[^\W\d_][.)]?)\s+(\d{1,3}(?:\s+[^\W\d_]{1,12}){1,2})")
_TEXT = re.compile(
    r"(.{3,60}?[^\W\d_)])\s+((?:LFP|LiFePO\s?4|Li-?FePO4|yes|no|none|ja|nein|nej|nee|oui|non|aucun|s[ií]|sim|não|tak|nie|brak|ano"
    r"|ingen|geen|keine?|ninguno?|nessuno?|nenhum)\b[^.]{0,30})",
    re.IGNORECASE,
)


def runs_on(text: str) -> bool:
    """Whether a line is running text: sentences, or one long one that ends as such."""
    if _is_sentence(text):
        return True
    ends = re.search(r"\w[.;]\s", text) or (text.endswith(".") and ":" not in text)
    return (len(text) > PROSE and bool(ends)) or (len(text) > SENTENCES and bool(two_sentences(text)))


def _is_sentence(text: str) -> bool:
    """Whether a line is one sentence: it ends with a full stop, holds small words and no colon."""
    return (
        text.endswith(".") and not _SHORTENED.search(text) and ":" not in text and len(_SMALL.findall(text)) >= FEWEST
    )


def united(text: str, marks: Marks) -> list[Measure]:
    """Measures that have a unit."""
    return [m for m in measures(text, marks) if m.dimension != "count"]


def split_row(text: str, marks: Marks) -> tuple[str, str]:
    """Label and value of a row on one line: the value begins at the first measure that is no condition of the label."""
    if ":" in text and 0 < text.index(":") < len(text) - 1:
        label, value = text.split(":", 1)
        return label.strip(), value.strip()
    found = united(text, marks)
    for measure in found:
        before = text[: measure.start]
        last = measure is found[-1] or all(inside(text, m) for m in found if m.start > measure.start)
        if inside(text, measure) or (_AT.search(before) and not last) or not before.strip():
            if not before.strip():
                break
            continue
        bound = re.search(r"[≤≥<>±~≈]\s*$", before)
        chain = re.search(r"(?:\d[\d.,]*\s*/\s*)+$", before)  # 220/230/240 V
        start = chain.start() if chain else bound.start() if bound else measure.start
        return text[:start].strip(), text[start:].strip()
    if found and not text[: found[0].start].strip():
        return found[0].printed, text[found[0].end :].strip()
    return _in_words(text) if len(text) < SHORT else (text, "")


def _in_words(text: str) -> tuple[str, str]:
    """Label and value where the value is a thread, a code, a count or a word."""
    for pattern in (_CODE, _BARE, _COUNT, _TEXT):
        found = pattern.fullmatch(text)
        if found:
            return found[1], found[2]
    return text, ""


def inside(text: str, measure: Measure) -> bool:
    """Whether a measure stands in brackets that are open."""
    before = text[: measure.start]
    return before.count("(") > before.count(")")
