"""What one check found, and the one rule that turns it into a verdict.

Gives: Finding, Input, Missing, Verdict, worst_first(). The verdict and the margin are derived here and nowhere else.
Rule: a code test (rating against need) passes at equality. A physical test (computed figure against a limit) fails
at a ratio of 1.00 or less and cautions below 1.05; temperatures by difference: fails at 0 K or less, cautions below
5 K. The worst end of the figure's band counts. Band of caution and steps in kelvin: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from bankwright.forms.origin import Origin, Source
from bankwright.forms.wording import Figure, Say

__all__ = ["VERDICTS", "Finding", "Input", "Missing", "Verdict", "summary", "worst_first"]

Verdict = Literal["pass", "caution", "fail", "unknown"]
VERDICTS: tuple[Verdict, ...] = ("fail", "unknown", "caution", "pass")
CAUTION_RATIO, CAUTION_KELVIN = 1.05, 5.0  # common practice, no source; our choice for temperatures
EQUAL = 1e-9  # two figures closer than this share are equal: what was typed is binary inside
_RANK = {"pass": 0, "caution": 1, "fail": 2}


@dataclass(frozen=True, slots=True)
class Missing:
    """Something needed that was not given, and how to obtain it."""

    key: str  # file key: "kinds.module.M100.resistance.ohmic"
    how: str  # one sentence for the person at the bank
    ask: Literal["maker", "measure", "decide"] = "maker"
    question: str = ""  # worded so that it can be sent to the maker, or the measurement to take


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
    forced: Literal["caution", "fail"] | None = None  # a yes-or-no test that has no figure to compare; needs `formula`
    formula: str = ""  # with the symbols of `inputs`
    text: Say | None = None  # the sentence: "M1 carries 104 A; its limit is 100 A"
    more: tuple[str, ...] = ()  # further places with the same finding, the worst stands in `at`

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


def _verdict(finding: Finding) -> Verdict:
    """Fold everything into one verdict: the only place where that is done."""
    has_limit = any(limit is not None for limit in (*finding.limits, *(finding.caution_limits or ())))
    if finding.forced is not None:
        graded: Verdict = finding.forced
    elif finding.figure is None or not has_limit:
        graded = "unknown" if finding.missing else "pass"
    else:
        graded = _against(finding, good_end=False)
        if finding.missing or finding.assumed:
            best = _against(finding, good_end=True)
            graded = "fail" if best == "fail" else "unknown" if finding.missing or graded == "fail" else "caution"
    if graded == "fail" and finding.ends_at == "caution":
        return "caution"
    return graded


def worst_first(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Order: fail, unknown that may hide a fail, caution, other unknown, pass; by margin inside each."""
    order = {"fail": 0, "caution": 2, "pass": 4}

    def key(finding: Finding) -> tuple[float, float, str, tuple[str, ...]]:
        verdict = finding.verdict
        rank = (1 if finding.may_hide_fail else 3) if verdict == "unknown" else order[verdict]
        margin = finding.margin
        return rank, math.inf if margin is None else margin, finding.code, finding.at

    return tuple(sorted(findings, key=key))


def summary(findings: tuple[Finding, ...]) -> dict[Verdict, int]:
    """Count the verdicts, worst first."""
    return {verdict: sum(f.verdict == verdict for f in findings) for verdict in VERDICTS}
