"""What the survey of the data bus told, as findings of the sheet; the record is the survey's own.

Gives: SURVEY, survey_of(), survey_findings(), survey_words().
Limits: that a module which is off falls silent is a tick of the hand; nothing is asked of the line here.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bankwright.bank.asks import asking
from bankwright.forms.codes import place_text
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say
from bankwright.prove.sheet.cards import SHEET_CARDS
from bankwright.prove.sheet.due import SurveyTold

__all__ = ["SURVEY", "survey_findings", "survey_of", "survey_words"]

SURVEY = "bus survey"  # kind of the result in the logbook
HEARD = Source("survey of the data bus", how_known="computed")


def survey_of(payload: Mapping[str, Any], when: str) -> tuple[SurveyTold, ...]:
    """The explanations of a record in the logbook; none where it is not of this form."""
    rows = payload.get("told") or ()
    return tuple(
        SurveyTold(
            str(row.get("code", "")),
            str(row.get("verdict", "unknown")),
            tuple(str(name) for name in row.get("at") or ()),
            str(row.get("title", "")),
            str(row.get("test", "")),
            when,
        )
        for row in rows
        if isinstance(row, Mapping)
    )


def survey_words(told: tuple[SurveyTold, ...]) -> str:
    """One line for the step: when, and what it said first."""
    if not told:
        return "bankwright survey FILE: no record yet; each address answers once, as planned."
    return f"Survey of {told[0].when[:16].replace('T', ' ')}: {told[0].title}."


def survey_findings(told: tuple[SurveyTold, ...], names: tuple[str, ...]) -> tuple[Finding, ...]:
    """Each explanation as the sheet's finding: what failed there fails here."""
    return tuple(_finding(each, names) for each in told)


def _finding(each: SurveyTold, names: tuple[str, ...]) -> Finding:
    card, at = SHEET_CARDS["V-SURVEY-1"], each.at or names
    figure = Figure(0.0 if each.verdict == "pass" else 1.0, "count")
    place = place_text(each.code)
    text = say("{title} ({place}, survey of {when})", title=each.title, place=place, when=each.when[:10])
    do = say("{test}", test=each.test or "bankwright survey FILE again.")
    if each.verdict == "fail":
        return card.found(at, figure, (None, 0.0), text, do, source=HEARD, case=place)
    missing = (asking("bus", each.test or "Survey again."),) if each.verdict == "unknown" else ()
    limits = (None, 0.0) if each.verdict == "caution" else None
    return card.found(
        at, figure, (None, None), text, do, source=HEARD, case=place, missing=missing, caution_limits=limits
    )
