"""What one check found, and the one rule that turns it into a verdict.

Gives: Finding, Input, Missing, Verdict, VERDICTS, MAY_BE_ASSUMED, worst_first(), badness(), by_name(), summary().
Verdict and margin are derived here alone.
Rule: a code test (rating against need) passes at equality. A physical test (computed figure against a limit) fails
at a ratio of 1.00 or less and cautions below 1.05; temperatures by difference: fails at 0 K or less, cautions below
5 K. The worst end of the figure's band counts. Band of caution and steps in kelvin: common practice, no source.
Stand-ins (a published range for a value not given): better end fails: fail; worse end alone fails: unknown; worse end
in the band of caution: caution; worse end passes: caution, or "assumed" for the checks of MAY_BE_ASSUMED.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from typing import Literal

from bankwright.forms.codes import place_text
from bankwright.forms.origin import Origin, Source
from bankwright.forms.wording import Figure, Say

__all__ = [
    "MAY_BE_ASSUMED",
    "VERDICTS",
    "Finding",
    "Input",
    "Missing",
    "Verdict",
    "badness",
    "by_name",
    "summary",
    "worst_first",
]

Verdict = Literal["pass", "caution", "fail", "unknown", "assumed"]
VERDICTS: tuple[Verdict, ...] = ("fail", "unknown", "caution", "assumed", "pass")
# Checks that may pass on a published range: one stands here only because somebody put it here. Never: what keeps from
# fire, shock, burning conductors, overcharge, charging in the cold, bursting devices, crushing; whether modules may
# be joined; readings of Prove.
MAY_BE_ASSUMED = frozenset(
    ("P-SHARE-1", "P-SHARE-2", "P-SHARE-3", "P-SHARE-4", "P-DROP-1", "P-DROP-2", "P-TRIP-1", "P-START-1", "P-START-2")
    + ("P-SHUNT-1", "P-NUMBER-1", "M-EVEN-1")
)
CAUTION_RATIO, CAUTION_KELVIN = 1.05, 5.0  # common practice, no source; our choice for temperatures
EQUAL = 1e-9  # two figures closer than this share are equal: what was typed is binary inside
_DIGITS = re.compile(r"([0-9]+)")
_RANK = {"pass": 0, "assumed": 0.5, "caution": 1, "fail": 2}


@dataclass(frozen=True, slots=True)
class Missing:
    """Something needed that was not given, and how to obtain it."""

    key: str  # file key: "kinds.module.M100.resistance.ohmic"
    how: str  # one sentence for the person at the bank
    ask: Literal["maker", "measure", "decide"] = "maker"
    question: str = ""  # worded so that it can be sent to the maker, or the measurement to take
    lacks: str = ""  # what is lacking, where the key itself is given: "... is given without its tolerance"


@dataclass(frozen=True, slots=True)
class Input:
    """One number that went in: its symbol in the formula, what it is, where it came from."""

    symbol: str
    name: str
    figure: Figure | str  # a string for words: "single-phase", "4/0 AWG"
    origin: Origin
    assumed: bool = False  # a published range stands in for a value that the file does not give
    settle: Missing | None = None  # what would take the place of the assumption


@dataclass(frozen=True, slots=True)
class Finding:
    """Figure, limits, what went in, source, what to do. `limits` are (at least, at most) in SI."""

    code: str
    title: str
    at: tuple[str, ...]
    figure: Figure | None
    limits: tuple[float | None, float | None]
    source: Source
    do: Say
    test: Literal["code", "physical", "statement"] = "physical"
    case: str | None = None
    inputs: tuple[Input, ...] = ()
    missing: tuple[Missing, ...] = ()
    ends_at: Literal["fail", "caution"] = "fail"  # the worst that this check may say
    caution_limits: tuple[float | None, float | None] | None = None  # steps of its own: beyond these it cautions
    forced: Literal["caution", "fail", "unknown"] | None = (
        None  # a yes-or-no test that has no figure to compare; needs `formula`
    )
    formula: str = ""  # with the symbols of `inputs`
    text: Say | None = None  # the sentence: "M1 carries 104 A; its limit is 100 A"
    more: tuple[str, ...] = ()  # further places with the same finding, the worst stands in `at`
    number: int | None = None  # its place in the list it was told in, given once by forms/grouping; a pass has none
    crashed: str = ""  # what the check stopped with, where it crashed: nothing was concluded, the program ends with 3

    def __str__(self) -> str:
        """One line: `fail  P-CABLE-1  main+ needs 292 A; 4/0 AWG carries 230 A. At main+, main-.` in metric units."""
        words = self.title if self.text is None else self.text.text()
        where = ", ".join((*self.at, *self.more))
        case = f"; case {self.case}" if self.case else ""
        return f"{self.verdict}  {self.code}  {words.rstrip('.')}. At {where or 'the bank'}{case}."

    @property
    def place(self) -> str:
        """Where it stands on the sheet, for people: "Plan 3.1"; the code itself where it has no place."""
        return place_text(self.code)

    @property
    def assumed(self) -> bool:
        """True when a published range stood in for a value that was not given."""
        return any(item.assumed for item in self.inputs)

    @property
    def verdict(self) -> Verdict:
        """The verdict, derived from figure, band, limits, test, `ends_at`, assumed and missing."""
        return _verdict(self)

    @property
    def margin(self) -> float | None:
        """Ratio of limit to worst figure (figure to limit for a least value); kelvin for temperatures; None if open."""
        ends = _worst_ends(self)
        margins = [_margin(end, limit, side, self) for end, limit, side in ends if limit is not None]
        return min(margins) if margins else None

    @property
    def bound(self) -> tuple[Literal["at least", "at most"], float] | None:
        """What is sure of the figure of an `unknown` whose worse end alone fails: its better end; None elsewhere."""
        figure, (least, most) = self.figure, self.limits
        if figure is None or not self.assumed or self.verdict != "unknown" or (least is None) == (most is None):
            return None
        if _against(self, good_end=False) != "fail":
            return None
        end = figure.low if least is None else figure.high
        return None if end is None else ("at least" if least is None else "at most", end)

    @property
    def rests_on_range(self) -> bool:
        """True for `assumed`, and for a caution that the better end of a published range would not bring."""
        if not self.assumed or self.forced is not None or self.verdict not in ("assumed", "caution"):
            return False
        return not _compares(self) or _against(self, good_end=True) == "pass"

    @property
    def may_hide_fail(self) -> bool:
        """True for an `unknown` whose figure, where there is one, does not already stay inside its limits."""
        return self.verdict == "unknown" and self.ends_at == "fail"


def _by_difference(finding: Finding) -> bool:
    return finding.figure is not None and finding.figure.quantity in (
        "temperature_degc",
        "temperature_difference",
    )


def _worst_ends(finding: Finding) -> list[tuple[float, float | None, str]]:
    """Pair each limit with the end of the band that is worst for it."""
    figure = finding.figure
    if figure is None:
        return []
    low = figure.value if figure.low is None else figure.low
    high = figure.value if figure.high is None else figure.high
    return [(low, finding.limits[0], "least"), (high, finding.limits[1], "most")]


def _margin(end: float, limit: float, side: str, finding: Finding) -> float:
    """How far the end lies on the good side: kelvin, or a ratio that is 1 at the limit."""
    if _by_difference(finding):
        return end - limit if side == "least" else limit - end
    top, bottom = (end, limit) if side == "least" else (limit, end)
    if bottom <= 0:
        return math.inf if top >= bottom else -math.inf
    return top / bottom


def _grade(end: float, limit: float, side: str, finding: Finding) -> Verdict:
    if math.isnan(end):
        return "unknown"
    margin = _margin(end, limit, side, finding)
    difference = _by_difference(finding)
    even = 0.0 if difference else 1.0
    if finding.test == "code":
        return "pass" if margin >= even - EQUAL else "fail"
    if margin <= even + EQUAL:
        return "fail"
    return "caution" if margin < (CAUTION_KELVIN if difference else CAUTION_RATIO) else "pass"


def _worse(*verdicts: Verdict) -> Verdict:
    return max(verdicts, key=lambda v: _RANK.get(v, 1.5))


def _against(finding: Finding, good_end: bool) -> Verdict:
    """Grade against the limits, at the worst end of the band or (good_end) at its best end."""
    figure = finding.figure
    assert figure is not None
    low = figure.value if figure.low is None else figure.low
    high = figure.value if figure.high is None else figure.high
    least, most = (high, low) if good_end else (low, high)
    grades: list[Verdict] = ["pass"]
    if finding.limits[0] is not None:
        grades.append(_grade(least, finding.limits[0], "least", finding))
    if finding.limits[1] is not None:
        grades.append(_grade(most, finding.limits[1], "most", finding))
    if finding.caution_limits is not None:
        bottom, top = finding.caution_limits
        outside = (bottom is not None and least < bottom - EQUAL * abs(bottom)) or (
            top is not None and most > top + EQUAL * abs(top)
        )
        grades.append("caution" if outside else "pass")
    return _worse(*grades)


def _compares(finding: Finding) -> bool:
    limits = (*finding.limits, *(finding.caution_limits or ()))
    return finding.figure is not None and any(limit is not None for limit in limits)


def _verdict(finding: Finding) -> Verdict:
    """Fold everything into one verdict: the only place where that is done."""
    if finding.forced is not None:
        graded: Verdict = finding.forced
    elif not _compares(finding):
        graded = "unknown" if finding.missing else _on_a_range(finding) if finding.assumed else "pass"
    else:
        graded = _against(finding, good_end=False)
        if finding.missing or finding.assumed:
            graded = _not_firm(finding, graded)
    if graded == "fail" and finding.ends_at == "caution":
        return "caution"
    return graded


def _not_firm(finding: Finding, worst: Verdict) -> Verdict:
    """Where something is missing, or a published range stands in: the better end fails, the worse end passes."""
    if _against(finding, good_end=True) == "fail":
        return "fail"
    if finding.missing or worst in ("fail", "unknown"):
        return "unknown"
    return _on_a_range(finding) if worst == "pass" else "caution"


def _on_a_range(finding: Finding) -> Verdict:
    return "assumed" if finding.code in MAY_BE_ASSUMED else "caution"


def badness(finding: Finding) -> float:
    """The margin to sort by: rounding in the last digits does not tell two apart; infinite where nothing is compared.

    A finding with steps of caution of its own and no other limit is measured against those.
    """
    margin = finding.margin
    if margin is None and finding.caution_limits is not None:
        margin = replace(finding, limits=finding.caution_limits, caution_limits=None).margin
    if margin is None or math.isnan(margin):
        return math.inf
    return float(f"{margin:.9g}") if abs(margin) > EQUAL else 0.0


def by_name(name: str) -> tuple[str | int, ...]:
    """Sort names as people count: M2 stands before M10."""
    return tuple(int(part) if k % 2 else part for k, part in enumerate(_DIGITS.split(name)))


def worst_first(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Order: fail, unknown that may hide a fail, caution, other unknown, assumed, pass; by margin inside each."""
    order = {"fail": 0, "caution": 2, "assumed": 4, "pass": 5}

    def key(finding: Finding) -> tuple[float, float, str, tuple[tuple[str | int, ...], ...], str]:
        verdict = finding.verdict
        rank = (1 if finding.may_hide_fail else 3) if verdict == "unknown" else order[verdict]
        return rank, badness(finding), finding.code, tuple(map(by_name, finding.at)), finding.case or ""

    return tuple(sorted(findings, key=key))


def summary(findings: tuple[Finding, ...]) -> dict[Verdict, int]:
    """Count the verdicts, worst first."""
    return {verdict: sum(f.verdict == verdict for f in findings) for verdict in VERDICTS}
