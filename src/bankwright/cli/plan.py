"""`bankwright plan`: findings of a bank, worst first; one explained; a suggestion."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

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
@click.option("--explain", metavar="CODE", help="Formula, numbers put in and their origin, source.")
@click.option("--all", "passes", is_flag=True, help="Print what passes too.")
@click.option("--strict", is_flag=True, help="End with exit code 1 when something is unknown.")
@click.option("--suggest", is_flag=True, help="Look for the least change that passes.")
@click.option("--write", is_flag=True, help="With --suggest: write the changed file (the previous one is kept).")
def command(
    bank_file: Path,
    as_json: bool,
    case: str | None,
    explain: str | None,
    passes: bool,
    strict: bool,
    suggest: bool,
    write: bool,
) -> None:
    """Check a bank before anything is bought.

    Example: bankwright plan barn.toml. Ends with 0 when nothing fails, 1 when
    something does, 2 when the file has faults.
    """
    if write and not suggest:
        raise click.UsageError("--write goes with --suggest.")
    job = opened(bank_file)
    if case is not None:
        from bankwright.cli.show_case import show_case

        show_case(job, case, as_json)
        return
    if explain is not None:
        _explain(job, explain, as_json)
        return
    if suggest:
        from bankwright.cli.suggest import run_suggest

        run_suggest(job, write, as_json)
        return
    findings = job.findings
    if as_json:
        _json(job, findings)
    else:
        _show(job, findings, passes)
    finish(findings, strict)


def _show(job: Job, findings: tuple[Finding, ...], passes: bool) -> None:
    from bankwright.cli.show import show_closing, show_findings
    from bankwright.cli.show_gaps import show_gaps
    from bankwright.plan.checks import CHECKS
    from bankwright.plan.gaps import waiting
    from bankwright.plan.not_checked import not_checked

    bank = job.bank
    book = bank.book or "no rule book named"
    modules = "1 module" if len(bank.modules) == 1 else f"{len(bank.modules)} modules"
    click.echo(f"{bank.title or bank.file}  ({bank.file}, {book}, {modules})\n")
    show_findings(
        findings,
        job.units,
        passes=passes,
        elsewhere=() if passes else waiting(findings),
    )
    show_gaps(findings, passes)
    show_closing(not_checked(CHECKS, job.bank.book))
    click.echo("\nIt advises only. Local codes and a licensed electrician have the last word.")


def _json(job: Job, findings: tuple[Finding, ...]) -> None:
    from bankwright.cli.common import json_head
    from bankwright.forms.as_json import dumps
    from bankwright.forms.finding import summary
    from bankwright.plan.checks import CHECKS
    from bankwright.plan.gaps import decisions, measurements, questions
    from bankwright.plan.not_checked import not_checked

    body = {
        **json_head(job, "findings"),
        "rules": job.bank.book,
        "count": summary(findings),
        "findings": findings,
        "questions": questions(findings),
        "measurements": measurements(findings),
        "decisions": decisions(findings),
        "not_checked": list(not_checked(CHECKS, job.bank.book)),
    }
    click.echo(dumps(body))


def _explain(job: Job, code: str, as_json: bool) -> None:
    import difflib

    from bankwright.cli.show import show_explained
    from bankwright.plan.checks import CHECKS

    known = {item.code: item for item in CHECKS}
    found = known.get(code.upper())
    if found is None:
        near = difflib.get_close_matches(code.upper(), known, 1)
        hint = f"Did you mean {near[0]}?" if near else f"Codes: {', '.join(known)}."
        raise click.BadParameter(f"there is no check {code}. {hint}", param_hint="--explain")
    chosen = tuple(finding for finding in job.findings if finding.code == found.code)
    if as_json:
        from bankwright.cli.common import json_head
        from bankwright.forms.as_json import dumps

        about = {"code": found.code, "title": found.title, "why": found.why, "findings": chosen}
        click.echo(dumps({**json_head(job, "explained"), **about}))
        return
    click.echo(f"{found.code}  {found.title}\n")
    show_explained(chosen, found.why, job.units)
    if not chosen:
        click.echo("\nThis check found nothing to speak of in this bank: what it looks at is\nnot there.")
