"""Columns of several models in pasted text, where nothing but blanks parts them: "Rated current 63 A 125 A 250 A".

Gives: apart(), jammed(), names_in().
Takes: a line of text; how many models the sheet holds.
Limits: the values of one row are written alike, or are a dash; a row that does not divide stays whole, and one in which
values stand side by side without a mark between them is jammed: which is of which model is not known.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from bankwright.sheets.columns import HEAD_WORDS, is_model_label
from bankwright.sheets.concepts import phrase
from bankwright.sheets.measures import Marks, measures

__all__ = ["apart", "jammed", "names_in"]

_NAME = re.compile(r"(?<!\S)([A-Z][A-Za-z]{0,7}(?:[-/][A-Za-z]{1,4})?)[ -](\d+[A-Za-z0-9./-]*)(?!\S)")
_DASH = re.compile(r"[—–-]|n/a", re.IGNORECASE)
_MARK = re.compile(r"(?:\d\)|[*†‡]+|[¹²³⁴])")
_THREAD = re.compile(r"(?<!\S)M\d{1,2}(?![\w.])")
_SAYS = re.compile(r"(?<!\S)(?:yes|no|ja|nein|nee|oui|non|s[ií]|sim|não|tak|nie)(?=[\s,;]|$)", re.IGNORECASE)
_GLUE = "\u2060"
_WORDS = re.compile(r"(?:yes|no|ja|nein|nee|oui|non|s[ií]|sim|não|nej|tak|nie|ano|ne|是|否)", re.IGNORECASE)


def names_in(text: str) -> tuple[str, ...]:
    """Names with a blank, "PW 50 PW 100 PW 200", that end a line after at most one short label; empty for none."""
    found = list(_NAME.finditer(text))
    names = tuple(m[0] for m in found)
    if len(names) < 2 or len(set(names)) < len(names) or len({m[1] for m in found}) > 1:
        return ()
    head, whole = text[: found[0].start()].strip(), text[found[0].start() :].split()
    label = not head or HEAD_WORDS.search(head) or is_model_label(head) or len(head.split()) == 1
    units = any(m.dimension != "count" for name in names for m in measures(name, Marks()))
    return names if label and not units and whole == " ".join(names).split() else ()


def apart(text: str, count: int) -> tuple[str, tuple[str, ...]] | None:
    """Label and values of a row of so many models, read from its end: the longest values that are written alike."""
    begun = _begun_alike(text, count)
    if begun is not None:
        return begun
    tokens = _tokens(text)
    for size in range(min(8, len(tokens) // max(1, count - 1)), 0, -1):
        found = _from_the_end(tokens, size, count)
        if found is not None:
            label, parts = found
            return " ".join(label), tuple(" ".join(part).replace(_GLUE, " ") for part in parts)
    return None


def _begun_alike(text: str, count: int) -> tuple[str, tuple[str, ...]] | None:
    """Values of unlike ends that begin with a thread, with yes or no, or are lists of standards."""
    for pattern in (_THREAD, _SAYS):
        starts = [m.start() for m in pattern.finditer(text)]
        if count > 1 and len(starts) == count and text[: starts[0]].strip() and "," in text[starts[0] :]:
            parts = [text[a:b].strip() for a, b in zip(starts, [*starts[1:], len(text)], strict=True)]
            return text[: starts[0]].strip(), tuple(parts)
    found = list(phrase("standard").finditer(text))
    if not found or text[found[-1].end() :].strip() or not text[: found[0].start()].strip():
        return None
    starts = [found[0].start(), *(b.start() for a, b in pairwise(found) if not text[a.end() : b.start()].strip())]
    if count < 2 or len(starts) != count:
        return None
    parts = [text[a:b].strip() for a, b in zip(starts, [*starts[1:], len(text)], strict=True)]
    return text[: starts[0]].strip(), tuple(parts)


def _tokens(text: str) -> list[str]:
    """Words of a row; the mark of a footnote stays with its value."""
    made: list[str] = []
    for word in text.split():
        if made and _MARK.fullmatch(word):
            made[-1] += _GLUE + word
        else:
            made.append(word)
    return made


def _from_the_end(tokens: Sequence[str], size: int, count: int) -> tuple[Sequence[str], list[Sequence[str]]] | None:
    at, parts, shapes = len(tokens), list[Sequence[str]](), set[tuple[str, ...]]()
    for _ in range(count):
        if at < 1:
            return None
        step = 1 if _is_nothing(tokens, at - 1) else size
        part = tokens[max(0, at - step) : at]
        parts.insert(0, part)
        at -= step
        if not (step == 1 and _DASH.fullmatch(part[0])):
            shapes.add(tuple(_shape(token) for token in part))
    same = (
        size == 1 and count > 1 and len({part[0] for part in parts}) == 1 and at > 0 and tokens[at - 1] != parts[0][0]
    )
    if at < 1 or len(shapes) != 1 or not (_tells(next(iter(shapes))) or same):
        return None
    return tokens[:at], parts


def _is_nothing(tokens: Sequence[str], n: int) -> bool:
    """Whether a dash stands for no value, and not between the two ends of a range."""
    ends = [*tokens[n - 1 : n], *tokens[n + 1 : n + 2]]
    return bool(_DASH.fullmatch(tokens[n])) and not (len(ends) == 2 and all(re.search(r"^[\d.,−-]+$", e) for e in ends))


def _shape(token: str) -> str:
    """A word without its figures; yes and no are alike."""
    bare = re.sub(r"\d+(?:[.,]\d+)*", "#", token.split(_GLUE)[0])
    return "?" if _WORDS.fullmatch(bare) else bare


def _tells(shape: tuple[str, ...]) -> bool:
    """Whether a value begins with a figure, a sign, a thread, or is yes or no."""
    return shape[0] == "?" or (bool(re.match(r"[≤≥<>±~+−–-]*[A-Z]?#|[≤≥<>±]$", shape[0])) and "#" in "".join(shape))


def jammed(text: str, marks: Marks, *, whatever: bool = False) -> bool:
    """Whether values of one kind, or `whatever` they are, stand side by side with nothing but a blank between them."""
    found = [m for m in measures(text, marks) if m.dimension != "count"]
    return any(
        (whatever or (a.dimension == b.dimension and a.unit == b.unit)) and not text[a.end : b.start].strip()
        for a, b in pairwise(found)
    )
