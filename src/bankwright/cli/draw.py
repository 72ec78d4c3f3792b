"""`bankwright draw`: the wiring in two sizes, the one-line diagram, the racks and the shares, as SVG files.

Gives: command. A thin shell over job and draw.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bankwright.cli.common import BANK_FILE, opened

if TYPE_CHECKING:
    from bankwright.circuit.solution import Solution
    from bankwright.draw.paper import Drawing
    from bankwright.forms.finding import Finding
    from bankwright.job import Job

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
    folder.mkdir(parents=True, exist_ok=True)
    for name, drawing in _drawings(job, solution, findings).items():
        path = drawing.save(folder / name)
        click.echo(f"Written: {path}  {drawing.title}")
    if findings:
        _legend(findings, job.units)


def _chosen(case: str | None, names: tuple[str, ...]) -> str | None:
    if case is None:
        return names[0] if names else None
    if case not in names:
        import difflib

        near = difflib.get_close_matches(case, names, 1)
        hint = f"Did you mean {near[0]!r}?" if near else "--case list names them all."
        raise click.BadParameter(f"there is no case {case!r}. {hint}", param_hint="--case")
    return case


def _solution(job: Job, case: str | None) -> Solution | None:
    """The solved case; None, with the reason on the screen, where something stands in its way."""
    from bankwright.circuit.errors import CircuitError

    if case is None:
        return None
    try:
        return job.steady.case(case)
    except CircuitError as error:
        click.echo(f"No currents: {case} cannot be solved. {error}", err=True)
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
    from bankwright.cli.show import rule, wrap
    from bankwright.draw import numbered

    listed = numbered(findings)
    if listed:
        click.echo(rule("numbers in the drawing"))
    for number, finding in listed:
        said = finding.text.text(units) if finding.text else finding.title
        click.echo(wrap(f"{finding.verdict}  {finding.code}  {said}", 4, str(number)))
