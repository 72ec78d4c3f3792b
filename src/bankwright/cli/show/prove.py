"""The load tests on a terminal of 80 columns.

Gives: show_shares(), show_share_plan(), show_millivolts().
Limits: no engineering; words and figures come from prove/.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import click

from bankwright.cli.show.findings import finding_lines, rule, tally, wrap
from bankwright.forms.as_json import dumps
from bankwright.forms.finding import Finding, Missing, summary
from bankwright.forms.wording import Figure, amount_text, figure_text

if TYPE_CHECKING:
    from bankwright.job import Job
    from bankwright.job.proving import MillivoltTest, Part, ShareTest, Typed, Wanted

__all__ = ["show_millivolts", "show_share_plan", "show_shares"]

CLOSING = "It advises only. Local codes and a licensed electrician have the last word."
CAUTION = (
    "High fault current: metal off hands, shrouded tips with 2 to 4 mm bare, the other pole covered, ampere socket "
    "empty. Two people. A joint is never undone with the main switch open alone."
)


def _head(job: Job, words: str) -> None:
    bank = job.bank
    click.echo(f"{bank.title or bank.file}  ({bank.file}, {len(bank.modules)} modules)\n{words}\n")


def _list(findings: Iterable[Finding], units: str, passes: bool) -> None:
    listed = tuple(findings)
    count = summary(listed)
    click.echo(tally(count))
    folded = 0
    for finding in listed:
        if finding.verdict == "pass" and not passes:
            folded += 1
            continue
        click.echo("\n".join(finding_lines(finding.number, finding, units)))
    if folded:
        click.echo(f"{folded} passes are folded; --all prints them.")


def _parts(parts: Iterable[Part], units: str) -> None:
    listed = tuple(parts)
    if not listed:
        return
    click.echo(rule("as measured: resistance with its 95 % band, copper at 20 °C"))
    for part in listed:
        if part.settled:
            click.echo(wrap(f"{part.name}: {_band(part.resistance, units)}; file {_band(part.due, units)}", 4))
    others = [part.name for part in listed if not part.settled]
    if others:
        click.echo(wrap(f"Of {', '.join(others)} these readings say hardly more than the file does."))


def _band(figure: Figure, units: str) -> str:
    low, high = figure.low, figure.high
    if low is None or high is None or low == high:
        return figure_text(figure, units)
    ends = (amount_text(value, figure.quantity, units) for value in (low, high))
    return f"{figure_text(figure, units)} ({' to '.join(ends)})"


def _end(kept: int | None) -> None:
    if kept is not None:
        click.echo(f"Readings and verdicts kept in the logbook as {kept}.")
    click.echo(f"\n{CLOSING}")


def show_shares(job: Job, found: ShareTest, passes: bool, kept: int | None) -> None:
    """Print the answer: findings, next reading, resistances as measured."""
    loads = ", ".join(amount_text(level.load, "current") for level in found.subject.levels) or "zero load only"
    _head(job, f"Share test at {loads}")
    _list(found.findings, job.units, passes)
    if found.next is not None:
        click.echo(rule("next reading"))
        click.echo(wrap(found.next.text(job.units)))
    _parts(found.parts, job.units)
    click.echo(wrap("It hardly finds a bad joint: bankwright prove millivolts does, and is always made too."))
    _end(kept)


def show_share_plan(job: Job, typed: Typed, as_json: bool) -> None:
    """Print what is due before anything is read."""
    from bankwright.job.proving import HOW, due_of

    rows, missing = due_of(job.bank, typed)
    if as_json:
        from bankwright.job.proof import share_plan_document

        click.echo(dumps(share_plan_document(job, HOW, rows, missing)))
        return
    _head(job, wrap("Share test: the figures due after the step of the load, 99 % over the tolerances."))
    click.echo(wrap(CAUTION, 4, "  ! "))
    _lacking(missing)
    for row in rows:
        click.echo(rule(f"at {amount_text(row.load, 'current')}, {amount_text(row.age, 'time')} after the step"))
        for name, figure in row.modules:
            click.echo(f"{name:<8} {_band(figure, job.units)}")
    click.echo(rule("how"))
    for number, words in enumerate(HOW, 1):
        click.echo(wrap(words, 4, f"{number}."))
    click.echo(f"\n{CLOSING}")


def show_millivolts(job: Job, found: MillivoltTest, passes: bool, kept: int | None) -> None:
    """Print the plan, or what the readings say."""
    subject, units = found.subject, job.units
    step = amount_text(subject.meter.step, "voltage_drop")
    assumed = "; its data sheet is not known: 0.5 % + 5 counts taken" if subject.meter.assumed else ""
    loads = ", ".join(amount_text(level.load, "current") for level in subject.levels)
    _head(job, wrap(f"Millivolt test at {loads}, meter with counts of {step}{assumed}"))
    click.echo(wrap(CAUTION, 4, "  ! "))
    _lacking(found.missing)
    if subject.reads:
        _list(found.findings, units, passes)
    if found.next is not None:
        click.echo(rule("next reading"))
        click.echo(wrap(found.next.text(units)))
    rows = found.wanted if not subject.reads else tuple(r for r in found.wanted if r.place.name in found.not_read)
    _wanted(rows, "where to read" if not subject.reads else "not read yet", units)
    _parts(found.parts, units)
    _end(kept)


def _wanted(rows: tuple[Wanted, ...], words: str, units: str) -> None:
    if not rows:
        return
    click.echo(rule(f"{words}: zero first, same points, then under load"))
    for row in rows:
        if row.missing:
            how = " ".join(dict.fromkeys(gap.how for gap in row.missing))
            click.echo(wrap(f"{row.place.name}: no figure is due. {how} Read and kept all the same.", 4))
            click.echo(wrap(f"Tips: {row.place.tips}.", 8, " " * 8))
            continue
        settled = "" if row.settles else "  [settles nothing with this meter and current]"
        click.echo(wrap(f"{row.place.name}: {_band(row.due, units)} due at {_band(row.current, units)}{settled}", 4))
        needs = f"to a tenth {_amps(row.tenth)}, to a half {_amps(row.half)}"
        needs = f"{_amps(row.half)} are enough" if row.tenth == row.half else needs
        click.echo(wrap(f"Tips: {row.place.tips}. Current: {needs}.", 8, " " * 8))


def _lacking(missing: Iterable[Missing]) -> None:
    for gap in missing:
        click.echo(wrap(f"No figure is due: needs {gap.key}: {gap.how}", 4, "  ? "))


def _amps(value: float) -> str:
    return "never" if value == float("inf") else amount_text(value, "current")
