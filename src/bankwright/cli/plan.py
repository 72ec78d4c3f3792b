"""`bankwright plan`: findings of a bank, worst first; one explained; a suggestion."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bankwright.cli.common import BANK_FILE, finish, opened

if TYPE_CHECKING:
    from bankwright.forms.finding import Finding
    from bankwright.job import Job

__all__ = ["command"]


@click.command()
@click.argument("bank_file", type=BANK_FILE)
@click.option("--json", "as_json", is_flag=True, help="Findings as JSON.")
@click.option("--case", "case", metavar="CASE", help="Currents of one case; --case list names them all.")
@click.option("--explain", metavar="CODE", help="One check by code or place: formula, numbers put in, source.")
@click.option("--at", "at", metavar="PLACE", help="With --explain: that place alone, with every number solved for it.")
@click.option("--all", "passes", is_flag=True, help="Print every finding in full, what passes too.")
@click.option(
    "--strict", is_flag=True, help="End with exit code 1 when something is unknown, or passes on assumed values."
)
@click.option("--suggest", is_flag=True, help="Look for the least change that passes.")
@click.option("--put-in", "put_in", is_flag=True, help="With --suggest: put the change into the file.")
def command(bank_file: Path, **given: Any) -> None:
    """Check a bank before anything is bought.

    Example: bankwright plan barn.toml. Ends with 0 when nothing fails, 1 when
    something does, 2 when the file has faults.
    """
    if given["put_in"] and not given["suggest"]:
        raise click.UsageError("--put-in goes with --suggest.")
    if given["at"] is not None and given["explain"] is None:
        raise click.UsageError("--at goes with --explain.")
    job = opened(bank_file)
    if given["case"] is not None:
        from bankwright.cli.show.case import show_case

        show_case(job, given["case"], given["as_json"])
    elif given["explain"] is not None:
        _explain(job, given["explain"], given["at"], given["as_json"])
    elif given["suggest"]:
        from bankwright.cli.show.suggest import run_suggest

        run_suggest(job, given["put_in"], given["as_json"])
    else:
        _findings(job, given["as_json"], given["passes"], given["strict"])


def _findings(job: Job, as_json: bool, passes: bool, strict: bool) -> None:
    findings = job.findings
    if as_json:
        from bankwright.forms.as_json import dumps
        from bankwright.job.documents import findings_document

        click.echo(dumps(findings_document(job)))
    else:
        _show(job, findings, passes)
    finish(findings, strict)


def _show(job: Job, findings: tuple[Finding, ...], passes: bool) -> None:
    from bankwright.cli.show.findings import show_closing, show_findings, wrap
    from bankwright.cli.show.gaps import show_gaps
    from bankwright.cli.show.turned import show_turned

    bank = job.bank
    book = bank.book or "no rule book named"
    modules = "1 module" if len(bank.modules) == 1 else f"{len(bank.modules)} modules"
    click.echo(f"{bank.title or bank.file}  ({bank.file}, {book}, {modules})\n")
    if passes:
        show_findings(findings, job.units, passes=True)
        show_gaps(findings, True)
    else:
        show_turned(job, findings)
    show_closing(job.not_checked)
    click.echo("\n" + wrap("It advises only. Local codes and a licensed electrician have the last word."))


def _explain(job: Job, text: str, at: str | None, as_json: bool) -> None:
    from bankwright.cli.show.explained import show_check
    from bankwright.job.explained import explained

    show_check(job, explained(job, text, "Plan", at=at), as_json)
