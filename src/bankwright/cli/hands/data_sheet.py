"""A data sheet's proposals confirmed by a person, one after another, into a kind of a bank file.

Gives: confirm(). Each value is written when it is confirmed; the text before is kept beside the file, as at every edit.
"""

from __future__ import annotations

from collections.abc import Mapping

import click

from bankwright.cli.hands.lines import typed
from bankwright.cli.show.data_sheet import spot_text
from bankwright.cli.show.findings import rule, wrap
from bankwright.job import Job
from bankwright.job.sheets import Answer, Said, Value, shown, standing, taken

__all__ = ["confirm"]

HELP = "y or number  take it     Enter  leave it     .  stop; what was taken is in the file already"


def confirm(job: Job, family: str, name: str, answers: Mapping[str, Answer]) -> None:
    """Ask for each proposal whether it is taken."""
    click.echo(wrap(HELP))
    count = 0
    for key, answer in answers.items():
        now = standing(job, family, name, key)
        choices = (answer,) if isinstance(answer, Said) else answer.choices
        if now and now in [shown(choice.value) for choice in choices]:
            continue
        value = _asked(key, answer, now)
        if value is None:
            break
        if value == "":
            continue
        after, fault = taken(job, family, name, {key: value})
        if after is None:
            click.echo(wrap(f"Not taken: {fault}", 5, "     "))
            continue
        job, count = after, count + 1
    click.echo(f"{count} values taken into kinds.{family}.{name}. Next: bankwright plan {job.path}")


def _asked(key: str, answer: Answer, now: str) -> Value | None:
    """The confirmed value; "" when it is left, None to stop."""
    choices = (answer,) if isinstance(answer, Said) else answer.choices
    click.echo("\n" + rule(key))
    if now:
        click.echo(wrap(f"The file says {now}.", 5, "     "))
    if not isinstance(answer, Said):
        click.echo(wrap(f"{answer.why.capitalize()}.", 5, "     "))
    for n, choice in enumerate(choices, 1):
        click.echo(
            wrap(f"{shown(choice.value)}    {spot_text(choice.spot)}", 5, f"{n}" if len(choices) > 1 else "     ")
        )
    while True:
        said = typed("     take it? " if len(choices) == 1 else "     which? ", "")
        if said is None or said == ".":
            return None
        if not said or said.lower() in ("n", "no"):
            return ""
        if len(choices) == 1 and said.lower() in ("y", "yes"):
            return choices[0].value
        if said.isdecimal() and 1 <= int(said) <= len(choices):
            return choices[int(said) - 1].value
        click.echo(wrap("y, a number, Enter or a full stop", 5, "     "))
