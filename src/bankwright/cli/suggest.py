"""What `bankwright plan --suggest` prints, and the writing of the changed file.

Gives: run_suggest(). Progress goes to standard error; Ctrl-C ends the search with what was found so far.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from bankwright.job import Job
    from bankwright.plan.suggest import Suggestion

__all__ = ["run_suggest"]


def run_suggest(job: Job, write: bool, as_json: bool) -> None:
    """Search, print, write when told; exit code 1 when something still fails."""
    from bankwright.plan.suggest import suggest

    def tell(line: str) -> None:
        if sys.stderr.isatty():
            click.echo(f"\r{line:<78}", nl=False, err=True)

    made = suggest(job.document, tell)
    if sys.stderr.isatty():
        click.echo("\r" + " " * 78 + "\r", nl=False, err=True)
    if as_json:
        _json(job, made)
    else:
        _show(job, made)
    if write and made.taken:
        saved = made.after.save()
        click.echo(f"Written: {saved.path.name}; the previous text is {saved.path.name}.previous.", err=as_json)
    sys.exit(0 if made.cures_all else 1)


def _json(job: Job, made: Suggestion) -> None:
    from bankwright.cli.common import json_head
    from bankwright.forms.as_json import dumps

    body = {
        **json_head(job, "suggestion"),
        "cures_all": made.cures_all,
        "interrupted": made.interrupted,
        "changes": [{"words": taken.move.words, "edits": taken.move.edits, "did": taken.did} for taken in made.taken],
        "still_fails": made.blocked,
        "look_for": made.look_for,
        "text": made.after.text,
    }
    click.echo(dumps(body))


def _show(job: Job, made: Suggestion) -> None:
    from bankwright.cli.show import rule, wrap
    from bankwright.forms.finding import summary
    from bankwright.forms.finding_text import against, places_text
    from bankwright.plan.compare import changed_keys

    was, now = summary(made.was), summary(made.now)
    if not was["fail"]:
        click.echo("Nothing fails; there is nothing to mend. Cautions and unknowns: see bankwright plan.")
        return
    if made.interrupted:
        click.echo("The search was stopped; this is what it had found.")
    for number, taken in enumerate(made.taken, 1):
        click.echo(wrap(taken.move.words, 4, f"{number}."))
        for row in taken.did:
            if row.verdict_changed:
                before = row.before.verdict if row.before else "not there"
                after = row.after.verdict if row.after else "gone"
                click.echo(wrap(f"{row.title} [{row.code}]: {before} -> {after}", 8, "      - "))
    copper = [volume * 8960 for volume in made.copper]  # kg; density of copper at 20 degC, 8 960 kg/m3 [from memory]
    counts = "; ".join(f"{verdict} {was[verdict]} -> {now[verdict]}" for verdict in ("fail", "unknown", "caution"))
    click.echo("\n" + wrap(f"{counts}; copper in cables {copper[0]:.1f} kg -> {copper[1]:.1f} kg.", 0))
    click.echo(f"{made.looked_at} changed banks looked at.")
    if made.dominant:
        causes = ", ".join(f"{name} {share * 100:.0f} %" for name, share in made.dominant[:3])
        click.echo(wrap(f"What the spread of the largest share comes from: {causes}.", 0))
    if made.blocked:
        click.echo(rule("no change of this file's parts mends these"))
        for finding in made.blocked:
            where = places_text((*finding.at, *finding.more))
            click.echo(wrap(f"{finding.title} [{finding.code}], at {where}: {against(finding, job.units)}", 4, "  x"))
    if made.look_for:
        click.echo(rule("look for"))
        for spec in made.look_for:
            click.echo(wrap(spec.text(job.units), 4, "  -"))
    click.echo(rule("in the file"))
    for key in changed_keys(made.before.data, made.after.data):
        click.echo(wrap(f"{key.path}: {key.before or 'not given'} -> {key.after or 'not given'}", 4))
