"""`bankwright draw`: the wiring in two sizes, the one-line diagram, the racks and the shares, as SVG files.

Gives: command. A thin shell over job and draw.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bankwright.cli.common import BANK_FILE, may_write, opened, output, stop_if_crashed

if TYPE_CHECKING:
    from bankwright.draw.pen.paper import Drawing
    from bankwright.forms.finding import Finding
    from bankwright.job import Job
    from bankwright.job.planning import Solution

__all__ = ["command"]


@click.command()
@click.argument("bank_file", type=BANK_FILE)
@click.option(
    "-o", "--out", "folder", type=click.Path(file_okay=False, path_type=Path), default=Path("."), help="Folder."
)
@click.option("--case", "case", metavar="CASE", help="Case whose currents are lettered; list names them all.")
@click.option("--plain", is_flag=True, help="Without findings.")
def command(bank_file: Path, folder: Path, case: str | None, plain: bool) -> None:
    """Draw the wiring, the one-line diagram and the rack.

    Example: bankwright draw barn.toml -o drawings. Writes wiring.svg,
    wiring-phone.svg, one-line.svg, rack.svg and shares.svg.
    """
    job = opened(bank_file)
    names = job.steady.names
    if case == "list":
        click.echo("\n".join(names) or "No case: nothing is fed by this bank.")
        return
    chosen = _chosen(case, names)
    solution = _solution(job, chosen)
    findings = () if plain else job.findings
    drawings = _drawings(job, solution, findings)
    may_write({f"--out {name}": folder / name for name in drawings}, bank_file)
    _make(folder)
    for name, drawing in drawings.items():
        path = output(folder / name, drawing.text + "\n", "--out", bank_file)
        click.echo(f"Written: {path}  {drawing.title}")
    if findings:
        _legend(findings, job.units)
    stop_if_crashed(findings)


def _make(folder: Path) -> None:
    from bankwright.forms.faults import Fault, QuestionError

    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        found = f"the folder {folder} cannot be made ({error.strerror})"
        raise QuestionError((Fault("--out", "no-folder", found),), "the options") from error


def _chosen(case: str | None, names: tuple[str, ...]) -> str | None:
    if case is None:
        return names[0] if names else None
    if case not in names:
        from bankwright.forms.nearest import did_you_mean

        hint = did_you_mean(case, names, "--case list names them all.")
        raise click.BadParameter(f"there is no case {case!r}. {hint}", param_hint="--case")
    return case


def _solution(job: Job, case: str | None) -> Solution | None:
    """The solved case; None, with the reason on the screen, where something stands in its way."""
    from bankwright.forms.faults import QuestionError

    if case is None:
        return None
    try:
        return job.solution(case)
    except QuestionError as error:
        click.echo(f"No currents: {error.faults[0].found}", err=True)
        return None


def _drawings(job: Job, solution: Solution | None, findings: tuple[Finding, ...]) -> dict[str, Drawing]:
    from bankwright import draw

    bank = job.bank
    found = {
        "wiring.svg": draw.wiring(bank, solution, findings),
        "wiring-phone.svg": draw.wiring(bank, solution, findings, "phone"),
        "one-line.svg": draw.one_line(bank),
        "rack.svg": draw.rack(bank),
    }
    if solution is not None:
        found["shares.svg"] = draw.shares(bank, solution, embedded=False)
    return found


def _legend(findings: tuple[Finding, ...], units: str) -> None:
    """The numbers in the balloons, one line each."""
    from bankwright.cli.show.findings import rule, wrap
    from bankwright.draw import numbered
    from bankwright.forms.finding_text import verdict_text

    listed = numbered(findings)
    if listed:
        click.echo(rule("numbers in the drawing"))
    for number, finding in listed:
        said = finding.text.text(units) if finding.text else finding.title
        click.echo(wrap(f"{verdict_text(finding.verdict)}  {finding.place}  {said}", 4, str(number)))
