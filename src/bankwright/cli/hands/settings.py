"""What was set at the devices, typed; and the card shown, printed or given as JSON.

Gives: settings(). A thin shell over job/settings.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bankwright.cli.common import finish, output

if TYPE_CHECKING:
    from bankwright.job import Job

__all__ = ["settings"]


def settings(
    job: Job, bank_file: Path, texts: tuple[str, ...], *, who: str, as_json: bool, html_file: Path | None, strict: bool
) -> None:
    """Keep what was set, then show the card with it."""
    from bankwright.cli.show.settings import show_settings
    from bankwright.job.logs import open_logbook
    from bankwright.job.settings import card_page, keep_set, settings_document, settings_of

    with open_logbook(bank_file, job.bank, write=bool(texts)) as book:
        if texts:
            keep_set(book, settings_of(job, book).rows, texts, who)
        card = settings_of(job, book)
    if html_file is not None:
        output(html_file, card_page(job.bank, card), "--html", bank_file)
    if as_json:
        from bankwright.forms.as_json import dumps

        click.echo(dumps(settings_document(job, card)))
    else:
        show_settings(job.bank.title or job.bank.file, card, job.bank.units)
        if html_file is not None:
            click.echo(f"Written: {html_file}")
    finish(card.findings, strict)
