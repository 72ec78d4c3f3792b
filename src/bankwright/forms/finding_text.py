"""How a finding is said: figure, limit, what is left or over. Every face says it with the same words.

Gives: Against, against(), sentence_of(), verdict_text(), places_text(), headline().
Margin words: "left", "over", "short of"; never a bare minus.
Limits: no layout and no colour; those belong to the faces.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bankwright.forms.finding import Finding, Verdict, summary
from bankwright.forms.wording import Say, amount_text, figure_text, range_text, say

__all__ = ["Against", "against", "headline", "places_text", "sentence_of", "verdict_text"]

TIMES = 3.0  # of a limit: from there on a person sees "7 times" sooner than "600 %"


@dataclass(frozen=True, slots=True)
class Against:
    """The parts of `104 A, limit 100 A, 4 A over (4 %)`; empty where there is nothing to say."""

    figure: str
    band: str
    limit: str
    margin: str

    def __str__(self) -> str:
        """One line."""
        head = f"{self.figure} ({self.band})" if self.band else self.figure
        limit = f"{self.limit}: {self.margin}" if self.limit and self.margin else self.limit
        return ", ".join(part for part in (head, limit) if part)


def against(finding: Finding, units: str = "metric") -> Against:
    """Say figure, band, limit and margin of a finding, the margin at the worst end of the band."""
    figure = finding.figure
    if figure is None:
        return Against("", "", "", "")
    said, band = figure_text(figure, units), range_text(figure, units)
    if finding.bound is not None:
        said = f"{finding.bound[0]} {amount_text(finding.bound[1], figure.quantity, units)}"
    if finding.missing and figure.low is not None and figure.high is None:
        said = f"at least {said}"
    if finding.missing and figure.high is not None and figure.low is None:
        said = f"at most {said}"
    least, most = finding.limits
    if least is None and most is None:
        return Against(said, band, "limit not known" if finding.missing else "", "")
    side = _nearer_side(finding)
    limit = least if side == "least" else most
    assert limit is not None
    end = figure.value
    if side == "least" and figure.low is not None:
        end = figure.low
    if side == "most" and figure.high is not None:
        end = figure.high
    word = "at least" if side == "least" else "limit"
    return Against(
        said, band, f"{word} {amount_text(limit, figure.quantity, units)}", _margin(end, limit, finding, units)
    )


def _nearer_side(finding: Finding) -> str:
    least, most = finding.limits
    if least is None or most is None:
        return "most" if least is None else "least"
    figure = finding.figure
    assert figure is not None
    low = figure.value if figure.low is None else figure.low
    high = figure.value if figure.high is None else figure.high
    return "least" if low - least < most - high else "most"


def _margin(end: float, limit: float, finding: Finding, units: str) -> str:
    figure = finding.figure
    assert figure is not None
    side = _nearer_side(finding)
    room = end - limit if side == "least" else limit - end
    if room != room or abs(room) == float("inf"):
        return ""
    if figure.quantity == "temperature_degc":
        amount = amount_text(abs(room), "temperature_difference", units)
    else:
        amount = amount_text(abs(room), figure.quantity, units)
    share = "" if limit == 0 or end < 0 or figure.quantity == "temperature_degc" else f" ({_share(end, limit, side)})"
    if abs(room) <= 1e-9 * abs(limit):
        return "nothing left"
    where = " at the worst end" if end != figure.value else ""
    word = "left" if room > 0 else "over" if side == "most" else "short"
    return f"{amount} {word}{share}{where}"


def _share(end: float, limit: float, side: str) -> str:
    """What is left or over as a share of the limit: "4 %"; from three times on as "150 times the limit"."""
    if end >= TIMES * limit > 0:
        times = end / limit
        return f"{times:.{0 if times >= 9.95 else 1}f} times {'the limit' if side == 'most' else 'the least'}"
    return f"{_percent(abs((end - limit) / limit) * 100)} %"


def _percent(value: float) -> str:
    return f"{value:.0f}" if value >= 9.95 else f"{value:.2g}"


def sentence_of(finding: Finding) -> Say | None:
    """The sentence of a finding without a key of the file in it."""
    if finding.verdict == "unknown" and finding.figure is None and finding.missing:
        lacks = "; ".join(dict.fromkeys(item.lacks for item in finding.missing if item.lacks))
        return say("Not checked yet: {what}", what=lacks or "what it needs is not given")
    return finding.text


def verdict_text(verdict: Verdict) -> str:
    """A verdict in words for people: one that rests on a published range is "pass, assumed"."""
    return "pass, assumed" if verdict == "assumed" else verdict


def places_text(places: Sequence[str], most: int = 4) -> str:
    """Name places: `L1+, L2+ and 6 more`."""
    if len(places) <= most:
        return ", ".join(places)
    return f"{', '.join(places[: most - 1])} and {len(places) - most + 1} more"


def headline(findings: tuple[Finding, ...]) -> str:
    """Answer first: one sentence for the whole list."""
    count = summary(findings)
    fails, unknown, cautions, assumed = count["fail"], count["unknown"], count["caution"], count["assumed"]
    if fails:
        return f"The design is not right yet: {fails} check{'s' if fails > 1 else ''} fail{'' if fails > 1 else 's'}."
    if unknown:
        return f"Nothing fails, but {unknown} check{'s' if unknown > 1 else ''} could not be made."
    if cautions:
        return f"Nothing fails; {cautions} caution{'s' if cautions > 1 else ''} to read."
    if assumed:
        on = "one on an assumed value" if assumed == 1 else f"{assumed} of them on assumed values"
        return f"Every check that was made passes, {on}."
    return "Every check that was made passes."
