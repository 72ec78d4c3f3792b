"""What `bankwright plan --suggest` prints, and the writing of the changed file.

Gives: run_suggest(). Progress goes to standard error; Ctrl-C ends the search with what was found so far.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from bankwright.cli.common import stop_if_crashed
from bankwright.cli.terminal import progress

if TYPE_CHECKING:
    from bankwright.job import Job
    from bankwright.job.suggesting import Suggestion

__all__ = ["run_suggest"]


def run_suggest(job: Job, put_in: bool, as_json: bool) -> None:
    """Search, print, write when told; exit code 1 when something still fails."""
    from bankwright.job.suggesting import suggest

    made = suggest(job.document, progress)
    progress("")
    if as_json:
        from bankwright.forms.as_json import dumps
        from bankwright.job.documents import suggestion_document

        click.echo(dumps(suggestion_document(job, made)))
    else:
        _show(job, made)
    if put_in and made.taken:
        saved = made.after.save()
        click.echo(f"Put in: {saved.path.name}; the previous text is {saved.path.name}.previous.", err=as_json)
    stop_if_crashed((*made.was, *made.now))
    sys.exit(0 if made.cures_all else 1)


def _show(job: Job, made: Suggestion) -> None:
    from bankwright.cli.show.findings import wrap
    from bankwright.forms.finding import VERDICTS, summary
    from bankwright.forms.finding_text import verdict_text
    from bankwright.forms.wording import amount_text

    was, now = summary(made.was), summary(made.now)
    if not was["fail"]:
        click.echo("Nothing fails; there is nothing to mend. Cautions and unknowns: see bankwright plan.")
        return
    click.echo(made.heading + ".\n")
    if made.interrupted:
        click.echo("The search was stopped; this is what it had found.")
    _show_taken(made)
    # kg; density of copper at 20 degC, 8 960 kg/m3 [from memory]
    copper = [amount_text(volume * 8960, "mass", job.units) for volume in made.copper]
    counts = "; ".join(f"{verdict_text(v)} {was[v]}, then {now[v]}" for v in VERDICTS[:-1])
    click.echo("\n" + wrap(f"{counts}; copper in cables {copper[0]}, then {copper[1]}.", 0))
    click.echo(f"{made.looked_at} changed banks looked at.")
    if made.dominant:
        causes = ", ".join(f"{name} {share * 100:.0f} %" for name, share in made.dominant[:3])
        click.echo(wrap(f"What the spread of the largest share comes from: {causes}.", 0))
    _show_left(job, made)


def _show_taken(made: Suggestion) -> None:
    """Each change, and the verdicts it turns."""
    from bankwright.cli.show.findings import wrap
    from bankwright.forms.finding_text import verdict_text

    for number, taken in enumerate(made.taken, 1):
        click.echo(wrap(taken.move.words, 4, f"{number}."))
        for row in taken.did:
            if row.verdict_changed:
                before = verdict_text(row.before.verdict) if row.before else "not there"
                after = verdict_text(row.after.verdict) if row.after else "gone"
                click.echo(wrap(f"{row.title} [{row.place}]: {before}, then {after}", 8, "      - "))


def _show_left(job: Job, made: Suggestion) -> None:
    """What still fails, what to look for, and the keys that change."""
    from bankwright.cli.show.findings import rule, wrap
    from bankwright.forms.finding_text import against, places_text
    from bankwright.job.planning import changed_keys

    if made.blocked:
        click.echo(rule(made.left_over))
        for finding in made.blocked:
            where = places_text((*finding.at, *finding.more))
            click.echo(wrap(f"{finding.title} [{finding.place}], at {where}: {against(finding, job.units)}", 4, "  x"))
    if made.look_for:
        click.echo(rule("look for"))
        for spec in made.look_for:
            click.echo(wrap(spec.text(job.units), 4, "  -"))
    click.echo(rule("in the file"))
    for key in changed_keys(made.before.data, made.after.data):
        click.echo(wrap(f"{key.path}: is {key.before or 'not given'}, will be {key.after or 'not given'}", 4))
