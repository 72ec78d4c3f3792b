"""Pages to print: what is due, with boxes; the week in words.

Gives: due_page(), week_page().
Limits: plain paper, one file, nothing fetched; the look is that of every sheet to print.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from bankwright.bank.model import Bank
from bankwright.forms.paper import heading, listed, page, paragraph, table
from bankwright.watch.say.due import Due, State
from bankwright.watch.say.standing import Standing
from bankwright.watch.say.week import Week, fact_text
from bankwright.watch.say.words import day_text

__all__ = ["due_page", "week_page"]

CLOSING = "It advises only. Local codes and a licensed electrician have the last word."
CAUTION = (
    "A bank cannot be switched off as a whole: between its modules and the next open switch there is always its full "
    "voltage, and a short circuit there is an arc. Measure with covered probes, one pole at a time; undo no joint "
    "but by the sheet of bankwright build FILE --apart."
)
_HEADS: dict[State, str] = {
    "overdue": "Overdue",
    "now": "Now",
    "to come": "To come",
    "by the listener": "By the listener",
}


def due_page(bank: Bank, standing: Standing, due: Sequence[Due]) -> str:
    """The sheet of what is due."""
    body = [paragraph(f"{bank.file}, {bank.digest[:12]}.", "note"), paragraph(standing.sentence)]
    body.append(paragraph(CAUTION, "caution"))
    for state, head in _HEADS.items():
        ones = [one for one in due if one.state == state]
        if ones:
            body += [heading(head), *_table(ones), *_boxes(one for one in ones if one.due is not None)]
    if not due:
        body.append(paragraph("Nothing has a day yet: no load was ever seen, by the logbook or on the line."))
    return page(f"What is due: {bank.title or bank.file}", [*body, paragraph(CLOSING, "note")])


def _table(ones: Sequence[Due]) -> list[str]:
    rows = [(_day(one), one.act, _why(one), str(one.source)) for one in ones]
    return [table(("Day", "What", "Why", "Source"), rows)]


def _day(one: Due) -> str:
    return "" if one.due is None else day_text(one.due)


def _why(one: Due) -> str:
    places = "" if not one.at or one.origin == "schedule" else f" At {', '.join(one.at[:4])}."
    last = "" if one.last is None else f" Last done {day_text(one.last)}."
    return f"{one.why}.{places}{last}"


def _boxes(ones: Iterable[Due]) -> list[str]:
    return [listed((f"{one.title}: done on ____________ by ____________" for one in ones), boxes=True)]


def week_page(bank: Bank, found: Week) -> str:
    """The week on a page."""
    body = [paragraph(f"{day_text(found.begin)} to {day_text(found.end)}, UTC. {bank.file}.", "note")]
    body += [paragraph(found.standing.sentence), listed(f"{fact_text(fact, bank.units)}." for fact in found.facts)]
    if found.due:
        body += [heading("Due within 30 days"), *_table(found.due)]
    return page(f"The week: {bank.title or bank.file}", [*body, paragraph(CLOSING, "note")])
