"""Findings that say the same of several places, put together under the worst place; each numbered once.

Gives: together(), in_order(), ordered(), numbered(). One check that fails at eight links reads as one finding with
eight places, worst first. Two findings belong together when code, verdict, quantity, sides of the limit, direction,
words and the kinds of keys that are missing agree; a name of the place itself inside a key does not tell them apart.
A finding gets its number in `in_order` and keeps it on terminal, page, drawing and in JSON. Nothing here depends on
the order in which the findings come.
Limits: nothing is dropped; `more` names every further place.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import replace

from bankwright.forms.by_verdict import by_verdict
from bankwright.forms.finding import Finding, badness, by_name, worst_first
from bankwright.forms.wording import Say

__all__ = ["in_order", "numbered", "ordered", "together"]

NAMES_A_KIND = ("lug",)  # what a sentence names under these words holds for places of that kind only
_ENTRY = re.compile(r"\[\d+\]")


def _keys(finding: Finding) -> frozenset[str]:
    names = {*finding.at, *finding.more}
    parts = (_ENTRY.sub("[]", item.key).split(".") for item in finding.missing)
    return frozenset(".".join("*" if part in names else part for part in key) for key in parts)


def _kind(finding: Finding) -> tuple[object, ...]:
    quantity = None if finding.figure is None else finding.figure.quantity
    sides = tuple(limit is not None for limit in finding.limits)
    direction = "charge" if finding.case is not None and finding.case.startswith("full charge") else ""
    text = finding.text if finding.text is not None and finding.verdict != "pass" else Say("")
    said = text.words, *(text.figures.get(name) for name in NAMES_A_KIND)
    return finding.code, finding.verdict, quantity, sides, direction, _keys(finding), said, finding.do.words


def _rank(finding: Finding) -> tuple[float, float, tuple[tuple[str | int, ...], ...], str]:
    """The worst first; where nothing limits the figure, the largest: what is still to be chosen must bear it."""
    bad, figure = badness(finding), finding.figure
    size = 0.0 if figure is None or bad != math.inf else figure.value if figure.high is None else figure.high
    size = float(f"{size:.9g}") if math.isfinite(size) else 0.0
    return bad, -size, tuple(map(by_name, finding.at)), finding.case or ""


def together(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Put findings of one kind together, the one with the worst figure in front."""
    kinds: dict[tuple[object, ...], list[Finding]] = {}
    for finding in findings:
        kinds.setdefault(_kind(finding), []).append(finding)
    return tuple(_one(sorted(members, key=_rank)) for members in kinds.values())


def _one(members: list[Finding]) -> Finding:
    first, *rest = members
    if not rest:
        return first
    missing = tuple(dict.fromkeys(item for finding in members for item in finding.missing))
    places = dict.fromkeys((*first.more, *(place for finding in rest for place in (*finding.at, *finding.more))))
    more = tuple(place for place in places if place not in first.at)
    return by_verdict(replace(first, more=more, missing=missing))


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Sort worst first and give each that is no pass its number, from 1."""
    listed = worst_first(tuple(findings))
    numbers = iter(range(1, len(listed) + 1))
    return tuple(replace(f, number=None if f.verdict == "pass" else next(numbers)) for f in listed)


def ordered(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Put together, sort and number: fail, unknown that may hide a fail, caution, other unknown, assumed, pass."""
    return in_order(together(findings))


def numbered(findings: Iterable[Finding]) -> tuple[tuple[int, Finding], ...]:
    """Pair the findings that are no pass with their numbers; a list that was never numbered is numbered here."""
    found = tuple(findings)
    if any(finding.number is None and finding.verdict != "pass" for finding in found):
        found = in_order(found)
    return tuple(sorted(((f.number, f) for f in found if f.number is not None), key=lambda pair: pair[0]))
