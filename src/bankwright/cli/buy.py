"""`bankwright buy FILE`: the parts list on the terminal, as CSV, JSON or a page to print.

Gives: command. A thin shell: reads the bank and the shopping file, calls buy/, prints.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bankwright.cli.common import BANK_FILE
from bankwright.cli.hands.receiving import receiving, receiving_options
from bankwright.cli.show.carried import KNOW

if TYPE_CHECKING:
    from bankwright.forms.carried import Carried
    from bankwright.job import Job
    from bankwright.job.buying import Cutting, PartLine, PartsList, Shopping
    from bankwright.job.file import Bank

__all__ = ["command"]


@click.command(help="Count every part that the bank needs.\n\nExample: bankwright buy barn.toml --have shelf.toml")
@click.argument("bank_file", type=BANK_FILE)
@click.option(
    "--have",
    "shopping_file",
    type=click.Path(dir_okay=False, path_type=Path),
    help="What is there, reels, kits, prices (TOML).",
)
@click.option("--spares", metavar="SHARE", help='Spares of what is used up: "10 %"; "0 %" for none.')
@click.option("--csv", "csv_file", type=click.Path(dir_okay=False, path_type=Path), help="Write the list as CSV.")
@click.option("--html", "html_file", type=click.Path(dir_okay=False, path_type=Path), help="Write a page to print.")
@click.option("--explain", metavar="CODE", help="One check by code or place: formula, numbers put in, source.")
@click.option("--json", "as_json", is_flag=True, help="Print the list as JSON.")
@click.option("--why", is_flag=True, help="Say of each line where it is used, why, and which file key causes it.")
@receiving_options
@KNOW
@click.option("--strict", is_flag=True, help="Exit with 1 on unknowns, and on passes that rest on assumed values, too.")
def command(bank_file: Path, shopping_file: Path | None, spares: str | None, **given: Any) -> None:
    """Read, count, print."""
    from bankwright.cli.common import finish, may_write, opened
    from bankwright.job.buying import parts

    may_write({"--csv": given["csv_file"], "--html": given["html_file"]}, bank_file, shopping_file)
    job = opened(bank_file)
    if receiving(job, bank_file, given):
        return
    listing = parts(job.bank, _shopping(shopping_file, spares))
    if given["explain"] is not None:
        from bankwright.cli.show.explained import show_check
        from bankwright.job.explained import explained

        show_check(job, explained(job, given["explain"], "Buy", listing.findings), given["as_json"])
        return
    if given["know"]:
        from bankwright.cli.show.carried import know

        know(job, bank_file)
    _write(job, listing, bank_file, shopping_file, given)
    if given["as_json"]:
        from bankwright.forms.as_json import dumps
        from bankwright.job.documents import parts_document

        click.echo(dumps(parts_document(job, listing)))
    else:
        from bankwright.cli.show.carried import show_carried

        _show(job.bank, listing, given["why"], show_carried(job, bank_file))
        for path in (given["csv_file"], given["html_file"]):
            if path is not None:
                click.echo(f"Written: {path}")
    finish(listing.findings, given["strict"])


def _write(job: Job, listing: PartsList, bank_file: Path, shopping_file: Path | None, given: dict[str, Any]) -> None:
    """The list as CSV and as a page, where a file was named for it."""
    from bankwright.cli.common import output
    from bankwright.job.buying import parts_csv, parts_page

    if given["csv_file"] is not None:
        text = parts_csv(listing, units=job.units, carried=job.carried)
        output(given["csv_file"], text, "--csv", bank_file, shopping_file)
    if given["html_file"] is not None:
        page = parts_page(job.bank, listing, job.carried, _cards(bank_file, job))
        output(given["html_file"], page, "--html", bank_file, shopping_file)


def _cards(bank_file: Path, job: Job) -> dict[str, Any]:
    """What was received so far, for the print."""
    from bankwright.job.buying import received_of
    from bankwright.job.logs import open_logbook

    with open_logbook(bank_file, job.bank, write=False) as book:
        return dict(received_of(book))


def _shopping(path: Path | None, spares: str | None) -> Shopping:
    """Read the shopping file and lay the option over it."""
    import dataclasses

    from bankwright.forms.faults import Fault, QuestionError
    from bankwright.job.buying import DEFAULT, read_shopping
    from bankwright.job.quantity import QuantityFault, parse

    shopping = DEFAULT
    if path is not None:
        try:
            shopping = read_shopping(path.read_text(encoding="utf-8"), path.name)
        except (OSError, UnicodeDecodeError) as error:
            why = error.strerror if isinstance(error, OSError) else "it is no UTF-8 text"
            raise QuestionError((Fault("--have", "no-file", f"{path} cannot be read ({why})"),), path.name) from None
    if spares is None:
        return shopping
    try:
        share = parse(spares, "share").nominal
    except QuantityFault as bad:
        raise QuestionError((Fault("--spares", bad.code, bad.found, bad.hint),), "the options") from None
    if not 0 <= share <= 1:
        fault = Fault("--spares", "out-of-range", f'found "{spares}"', 'Write a share from "0 %" to "100 %"')
        raise QuestionError((fault,), "the options")
    return dataclasses.replace(shopping, spares=share)


def _show(bank: Bank, listing: PartsList, why: bool, carried: Carried) -> None:
    from itertools import groupby

    from bankwright.cli.show.findings import rule, wrap
    from bankwright.job.buying import rules_text

    click.echo(f"Parts for {bank.title}")
    click.echo(f"{'order':>9} {'need':>9} {'spares':>7} {'have':>6}  part")
    for group, lines in groupby(listing.lines, key=lambda line: line.group):
        click.echo(rule(group))
        for line in lines:
            _show_line(line, bank.units, why, carried.mark(line.at))
    if listing.cost is not None:
        left = f"; {listing.unpriced} lines without a price" if listing.unpriced else ""
        click.echo(f"\nTogether {listing.cost:.2f} {listing.shopping.currency}{left}.")
    click.echo("\n" + rule("cutting"))
    for cutting in listing.cuttings:
        _show_cutting(cutting, listing.shopping.currency, bank.units)
    click.echo(rule("how it was counted"))
    for text in rules_text(listing.shopping, bank.units):
        click.echo(wrap(text, 2))
    _show_findings(listing, bank.units)


def _show_line(line: PartLine, units: str, why: bool, failed: str) -> None:
    from bankwright.cli.show.findings import wrap
    from bankwright.job.buying import amount

    order, need = amount(line.order, line, units), amount(line.need, line, units)
    if line.unmeasured:  # a length is still open: "at least", or nothing known at all
        order, need = (f">{order}", f">{need}") if line.need else ("?", "?")
    spares = amount(line.spares, line, units) if line.spares else ""
    have = amount(line.have, line, units) if line.have else ""
    mark = " (not settled)" if line.open else ""
    click.echo(wrap(f"{line.words}{mark}", 36, f"{order:>9} {need:>9} {spares:>7} {have:>6}"))
    if failed:
        click.echo(wrap(f"! {failed}", 37))
    if why:
        click.echo(wrap(f"for {', '.join(line.uses)}", 37))
        click.echo(wrap(f"why {line.why}; {', '.join(dict.fromkeys(o.path for o in line.origins))}", 37))
        click.echo(wrap(f"as  {line.item}", 37))


def _show_cutting(cutting: Cutting, currency: str, units: str) -> None:
    from bankwright.cli.show.findings import wrap
    from bankwright.forms.wording import amount_text
    from bankwright.job.buying import plan_text

    click.echo(wrap(f"{cutting.words}: {len(cutting.wanted)} pieces", 2))
    if cutting.plan is None:
        for piece in cutting.wanted:
            click.echo(f"    {amount_text(piece.length, 'length', units):>9}  {piece.name}")
    else:
        click.echo(wrap(plan_text(cutting.plan, currency, units), 4, "    "))
        for cut in cutting.plan.cuts:
            pieces = ", ".join(f"{p.name} {amount_text(p.length, 'length', units)}" for p in cut.pieces)
            rest = amount_text(cut.rest, "length", units)
            click.echo(wrap(f"{cut.stock.name}, {cut.number}: {pieces}; {rest} left over", 8, "    "))
    for names in (names for names in cutting.equal if names[0] in cutting.strips):
        click.echo(wrap(f"Cut equal: {', '.join(names)}", 8, "    "))
    if cutting.unknown:
        click.echo(wrap(f"Length not known: {', '.join(cutting.unknown)}", 8, "    "))


def _show_findings(listing: PartsList, units: str) -> None:
    from bankwright.cli.show.findings import rule, show_findings

    if listing.findings:
        click.echo("\n" + rule("findings of this list"))
        show_findings(listing.findings, units)
