"""The settings card of a bank: Plan's figures of what holds, Prove's rows, the logbook's entries, put together.

Gives: settings_of(), settings_document(); SettingsCard, row_lines(), set_to_words(), window_words(), card_page(),
keep_set() from the rooms below.
Limits: nothing is judged here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from bankwright.forms.as_json import plain
from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Missing, summary
from bankwright.plan.allowed import Allowed, allowed, rebound
from bankwright.prove.settings.card import Grounds, SettingsCard, settings_card
from bankwright.prove.settings.entry import keep_set, set_so_far
from bankwright.prove.settings.setting import Held
from bankwright.prove.settings.words import card_page, row_lines, set_to_words, window_words

if TYPE_CHECKING:
    from bankwright.job import Job
    from bankwright.logbook.logbook import Logbook

__all__ = [
    "SettingsCard",
    "card_page",
    "keep_set",
    "row_lines",
    "set_to_words",
    "settings_document",
    "settings_of",
    "window_words",
]


def _held(found: Allowed) -> Held:
    return Held(found.total, found.with_all, found.one_away, found.module, found.case, found.missing)


def _rebound(job: Job, name: str) -> float | tuple[Missing, ...]:
    try:
        return rebound(job.plan, name)
    except NeedsValue as error:
        return error.missing


def settings_of(job: Job, book: Logbook | None) -> SettingsCard:
    """The card of the bank with what was set so far."""
    rebounds = {inverter.name: _rebound(job, inverter.name) for inverter in job.bank.inverters}
    grounds = Grounds(_held(allowed(job.plan, "charge")), _held(allowed(job.plan, "discharge")), rebounds)
    return settings_card(job.bank, grounds, set_so_far(book))


def settings_document(job: Job, card: SettingsCard) -> dict[str, Any]:
    """The card as JSON values."""
    from bankwright.job.documents import head

    body = {"rows": card.rows, "entered": card.entered, "verdicts": card.verdicts, "notes": card.notes}
    body |= {"count": summary(card.findings), "findings": card.findings}
    return {**head(job, "settings"), **{key: plain(value) for key, value in body.items()}}
