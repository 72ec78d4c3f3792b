"""Findings that say the same of several places, put together under the worst place.

Gives: grouped(), ordered(). One check that fails at eight links reads as one finding with eight places, worst first.
Two findings belong together when code, verdict, quantity, missing keys and direction agree.
Limits: nothing is dropped; `more` names every further place.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import replace

from bankwright.forms.finding import Finding, worst_first

__all__ = ["grouped", "ordered"]

_ENTRY = re.compile(r"\[\d+\]")


def _kind(finding: Finding) -> tuple[object, ...]:
    quantity = None if finding.figure is None else finding.figure.quantity
    sides = tuple(limit is not None for limit in finding.limits)
    direction = "charge" if finding.case is not None and finding.case.startswith("full charge") else ""
    keys = frozenset(_ENTRY.sub("[]", item.key) for item in finding.missing)
    text = finding.text.words if finding.text is not None and finding.verdict != "pass" else ""
    return finding.code, finding.verdict, quantity, sides, direction, keys, text, finding.do.words


def _badness(finding: Finding) -> float:
    margin = finding.margin
    return math.inf if margin is None else margin


def grouped(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Put findings of one kind together, the worst one in front."""
    kinds: dict[tuple[object, ...], list[Finding]] = {}
    for finding in findings:
        kinds.setdefault(_kind(finding), []).append(finding)
    return tuple(_together(members) for members in kinds.values())


def _together(members: list[Finding]) -> Finding:
    first, *rest = sorted(members, key=_badness)
    missing = tuple(dict.fromkeys(item for finding in (first, *rest) for item in finding.missing))
    places = dict.fromkeys(place for finding in rest for place in finding.at)
    more = tuple(place for place in places if place not in first.at)
    return replace(first, more=more, missing=missing)


def ordered(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Put together and sort: fail, unknown that may hide a fail, caution, other unknown, pass."""
    return worst_first(grouped(findings))
