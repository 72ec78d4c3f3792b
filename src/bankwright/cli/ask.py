"""`bankwright ask`: the open questions of Plan in turn, each answer written at once; or as letters to makers."""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bankwright.cli.common import BANK_FILE, opened

if TYPE_CHECKING:
    from bankwright.job import Job
    from bankwright.job.asking import Asked

__all__ = ["command"]


@click.command()
@click.argument("bank_file", type=BANK_FILE)
@click.option("--letter", is_flag=True, help="The open questions as mail texts, one for each maker's product.")
@click.option("--reply", type=click.Path(path_type=Path), help="A letter that came back: its answers are taken.")
def command(bank_file: Path, letter: bool, reply: Path | None) -> None:
    """Answer what Plan asks, what settles most first; or as letters to makers.

    Each answer is heard, written into the file (the text before is kept
    beside it) and planned anew. Without a terminal the questions are printed.
    Example: bankwright ask barn.toml
    """
    from bankwright.job.asking import open_questions

    if letter and reply is not None:
        raise click.UsageError("--letter and --reply do not go together.")
    job = opened(bank_file)
    open_ = open_questions(job)
    if letter:
        from bankwright.job.asking import letters

        made = letters(open_, job.bank.title)
        click.echo("\n".join(made) if made else "No question to a maker is open.", nl=not made)
    elif reply is not None:
        _reply(job, open_, reply)
    elif sys.stdin.isatty():
        from bankwright.cli.hands.asking import ask_in_turn

        ask_in_turn(job)
    else:
        from bankwright.cli.show.turned import question_lines

        for question in open_:
            click.echo("\n".join(question_lines(question)))


def _reply(job: Job, open_: tuple[Asked, ...], reply: Path) -> None:
    """Take the answers of a letter that came back; what cannot be taken is said, and nothing else is lost."""
    from bankwright.job.asking import answers_in, hear_box, written

    try:
        text = reply.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise click.BadParameter(f"{reply} cannot be read: {error}", param_hint="--reply") from error
    tally: Counter[str] = Counter()
    for question, typed in answers_in(text, open_):
        heard = hear_box(question.box, typed) if question.box else None
        if heard is None or heard.how != "taken":
            why = heard.words if heard else "the forms of the page take this one."
            offer = f" Perhaps {heard.offers[0]}?" if heard and heard.offers else ""
            click.echo(f"Not taken: {question.text}\n    {typed}\n    {why}{offer}")
            tally["not taken"] += 1
            continue
        after, fault = written(job, question, heard.text)
        if after is None:
            click.echo(f"Not taken: {question.text}\n    {typed}\n    {fault}")
            tally["not taken"] += 1
        else:
            job = after
            tally["taken"] += 1
    answers = "1 answer" if tally["taken"] == 1 else f"{tally['taken']} answers"
    click.echo(f"{answers} taken, {tally['not taken']} not. Next: bankwright plan {job.path}")
    sys.exit(2 if tally["not taken"] else 0)
