"""Lines of running text in pasted text become paragraphs: a line that broke because the next word did not fit goes on.

Gives: paragraphs(), two_sentences().
Takes: lines with their numbers.
Limits: a line of a table or of a list is none: running text has words in small letters, and its lines are about alike.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

__all__ = ["paragraphs", "two_sentences"]

SHORTEST = 36  # letters of a line of running text
WORDS = 4  # words in small letters in such a line
NEAR = 8  # lines to either side that show how wide the column is
SLACK = 0.08  # of the width: letters are not alike wide
LOOSE = 0.25  # the same before a line that begins in small letters
_SMALL = re.compile(r"(?<![\w/])[a-zß-öø-ÿ’'-]{2,}(?![\w/])")
_SENTENCE = re.compile(r"\w{4}[.)]\s+[^\W\da-zß-öø-ÿ]|\w{3}\.$")
_TWO = re.compile(r"(?:[^\W\d_]{3}|[%°AVW])[.;]\s+[^\W\da-zß-öø-ÿ]")
_SMALL_LETTER = re.compile(r"[a-zß-öø-ÿ]")
_OPEN = re.compile(  # a comma, or a little word after which more must come
    r"(?:,|\s(?:a|à|al|au|de|du|del|des|di|da|do|to|of|the|in|en|et|y|e|bis|von|vom|für|und|oder|der|die|das|le|la|les|el|los"
    r"|las|il|van|het|met|op|or|and|with|at|by|mit|im|am|zu|ou|und|och|med|na|do|o|i))$"
)
_UNIT = re.compile(r"(?:[mk]?[AVW]h?|kVA|m?Ω|kg|mm|cm|ms|s|min|h|°[CF]|ft|in|lbs?|Hz|%|N[ ·]?m|A²s)(?![^\W\d_])")
_ENDED = re.compile(r"[.:;!?。]$")


def paragraphs(lines: Sequence[tuple[int, str]]) -> list[tuple[int, str]]:
    """The same lines, those of one paragraph as one; each with the number of its first line."""
    out: list[tuple[int, str]] = []
    last = ""
    for at, (n, line) in enumerate(lines):
        text = line.strip()
        if out and _goes_on(last, text, _width(lines, at - 1)):
            out[-1] = (out[-1][0], f"{out[-1][1].rstrip()} {text}")
        else:
            out.append((n, line))
        last = text
    return out


def two_sentences(text: str) -> bool:
    """Whether a line ends as a sentence and holds the end of another."""
    return text.endswith(".") and bool(_TWO.search(text))


def _width(lines: Sequence[tuple[int, str]], at: int) -> int:
    """The widest line of running text around a line."""
    near = [line.strip() for _, line in lines[max(0, at - NEAR) : at + NEAR + 1]]
    return max((len(text) for text in near if _prose(text)), default=0)


def _prose(text: str) -> bool:
    return len(text) >= SHORTEST and len(_SMALL.findall(text)) >= WORDS


def _labelled(text: str) -> bool:
    """Whether a line begins with a label and a colon, and no sentence ends after it."""
    return ":" in text[:40] and not _SENTENCE.search(text.partition(":")[2])


def _goes_on(last: str, text: str, width: int) -> bool:
    """Whether running text broke at the end of a line."""
    if re.search(r"\d$", last) and _UNIT.match(text) and _prose(last):
        return True  # the unit of the line before
    if last.endswith(";") and _SMALL_LETTER.match(text) and _prose(last):
        return True
    if not _prose(last) or _labelled(last) or _ENDED.search(last) or not text:
        return False
    word = len(text.split(" ", 1)[0])
    slack = (LOOSE if _SMALL_LETTER.match(text) else SLACK) * width
    if "\t" in last + text or len(last) + 1 + word + slack <= width:
        return False
    if re.match(r"[\d+−-]", text) and len(_SMALL.findall(text)) >= WORDS:
        return True  # the number of the line before
    sentences = _SENTENCE.search(last) or _SENTENCE.search(text)
    return bool(_SMALL_LETTER.match(text) or sentences or _OPEN.search(last))
