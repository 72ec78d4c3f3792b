"""What is not known, as two short lists: questions to the maker and measurements to take.

Gives: Gap, questions(), measurements(), decisions(), told(), waiting(), waits(). Each list is ordered by how
many findings an answer would settle: an `unknown` that waits for it, or a caution that rests on a published range.
Limits: a question is worded so that it can be sent; the words come with each missing value.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from bankwright.forms.finding import Finding, Missing

__all__ = ["Gap", "decisions", "measurements", "questions", "told", "waiting", "waits"]


@dataclass(frozen=True, slots=True)
class Gap:
    """One thing to find out: its keys, the sentence, and the codes of the findings it would settle."""

    keys: tuple[str, ...]
    text: str
    settles: tuple[str, ...]  # codes
    findings: int  # how many findings, places counted
    alone: int  # how many of them wait for nothing else


def waits(finding: Finding) -> tuple[Missing, ...]:
    """What a finding waits for: what is missing, and what would take the place of what is assumed."""
    assumed = tuple(item.settle for item in finding.inputs if item.assumed and item.settle is not None)
    return tuple(dict.fromkeys((*finding.missing, *assumed)))


def _gaps(findings: Iterable[Finding], ask: Literal["maker", "measure", "decide"]) -> tuple[Gap, ...]:
    by_text: dict[str, list[tuple[Missing, Finding, bool]]] = {}
    for finding in findings:
        if finding.verdict in ("pass", "fail"):
            continue
        needed = waits(finding)
        for missing in needed:
            if missing.ask == ask:
                text = missing.question or missing.how
                by_text.setdefault(text, []).append((missing, finding, len(needed) == 1))
    gaps = [_gap(text, found) for text, found in by_text.items()]
    return tuple(sorted(gaps, key=lambda gap: (-gap.findings, -gap.alone, gap.keys)))


def _gap(text: str, found: list[tuple[Missing, Finding, bool]]) -> Gap:
    keys = tuple(dict.fromkeys(missing.key for missing, _, _ in found))
    codes = tuple(dict.fromkeys(finding.code for _, finding, _ in found))
    seen: dict[int, tuple[Finding, bool]] = {id(finding): (finding, alone) for _, finding, alone in found}
    size = {number: 1 + len(finding.more) for number, (finding, _) in seen.items()}
    alone = sum(size[number] for number, (_, only) in seen.items() if only)
    return Gap(keys, text, codes, sum(size.values()), alone)


def questions(findings: Iterable[Finding]) -> tuple[Gap, ...]:
    """Questions to put to makers, the most useful first."""
    return _gaps(findings, "maker")


def measurements(findings: Iterable[Finding]) -> tuple[Gap, ...]:
    """Measurements to take, the most useful first."""
    return _gaps(findings, "measure")


def decisions(findings: Iterable[Finding]) -> tuple[Gap, ...]:
    """Things that only the builder can settle, the most useful first."""
    return _gaps(findings, "decide")


def told(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings that say something: all but those that could not even give a figure."""
    return tuple(f for f in findings if f.verdict != "unknown" or f.figure is not None)


def waiting(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Unknown findings without any figure that wait for values: the two lists say for which."""
    return tuple(f for f in findings if f.verdict == "unknown" and f.figure is None and f.missing)
