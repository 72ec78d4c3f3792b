"""What to do, by verdict: the one hand through which every finding of a card goes.

Gives: by_verdict().
For `unknown` and for what rests on a published range the act is to settle the value, never to buy or to mend; for a
pass there is nothing to do. Where the worse end alone of a published range fails, the sentence says "at least" or "at
most". A rule or a limit from memory, or of another edition than the rule book's, says so in the sentence.
Limits: the verdict is derived in forms/finding; what a check says of a fail or a caution stays as it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from bankwright.forms.finding import Finding, Missing
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, Say, say

__all__ = ["by_verdict"]


def by_verdict(finding: Finding) -> Finding:
    """The finding with its act, and its sentence, as its verdict asks; an unknown names what would settle it."""
    lacking = tuple(dict.fromkeys(_stood(finding))) if finding.verdict == "unknown" else ()
    named = replace(finding, missing=finding.missing or lacking)
    return replace(named, do=_do(finding), text=_text(finding))


def _stood(finding: Finding) -> Iterator[Missing]:
    """What would take the place of each assumption."""
    yield from (item.settle for item in finding.inputs if item.assumed and item.settle is not None)


def _do(finding: Finding) -> Say:
    if finding.verdict == "pass":
        return Say("")
    if finding.verdict == "unknown":
        to_decide = finding.figure is not None and bool(finding.missing) and finding.missing[-1].ask == "decide"
        return finding.do if to_decide else _settling(finding)
    return _settling(finding) if finding.rests_on_range else finding.do


def _settling(finding: Finding) -> Say:
    """What would make it firm, one way after the other; what the check says where nothing is named."""
    needed = (*finding.missing, *_stood(finding))
    ways = dict.fromkeys(item.question if item.question and item.ask == "maker" else item.how for item in needed)
    return say("Settle first: {ways}", ways=" ".join(ways)) if ways else finding.do


def _text(finding: Finding) -> Say | None:
    """The sentence; a rule or limit that was not read in the edition in force says so."""
    said, words = _sure_end(finding), _how_known(finding)
    if said is None or not words or said.words.endswith(words):
        return said
    return say(f"{said.words.rstrip('.')} {words}", **said.figures)


def _how_known(finding: Finding) -> str:
    """As "(rule from memory)", "(limit read in the 2014 edition)"; empty where it was read or nothing is judged."""
    limits = [limit for limit in (*finding.limits, *(finding.caution_limits or ())) if limit is not None]
    if (finding.figure is None and finding.missing) or (not limits and finding.verdict not in ("fail", "caution")):
        return ""
    origins = [i.origin for i in finding.inputs if isinstance(i.figure, Figure) and i.figure.value in limits]
    sources = [("rule", finding.source), *(("limit", each) for each in origins if isinstance(each, Source))]
    told = ((what, source.caveat) for what, source in sources)
    return next((f"({what} {caveat})" for what, caveat in told if caveat), "")


def _sure_end(finding: Finding) -> Say | None:
    """The sentence; a figure of which only one end is sure is said by that end."""
    said, bound, figure = finding.text, finding.bound, finding.figure
    if said is None or bound is None or figure is None:
        return said
    word, end = bound
    words, figures = said.words, dict(said.figures)
    for name, shown in said.figures.items():
        if f"{word} {{{name}}}" in words:
            continue
        if isinstance(shown, Figure) and (shown.quantity, shown.value) == (figure.quantity, figure.value):
            words = words.replace("{" + name + "}", f"{word} {{{name}}}")
            figures[name] = Figure(end, figure.quantity)
    return say(words, **figures)
