"""`bankwright buy FILE`: the parts list on the terminal, as CSV, JSON or a page to print.

Gives: command. A thin shell: reads the bank and the shopping file, calls buy/, prints.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bankwright.cli.common import BANK_FILE

if TYPE_CHECKING:
    from bankwright.bank.model import Bank
    from bankwright.buy.cutting import Cutting
    from bankwright.buy.parts import PartLine, PartsList
    from bankwright.buy.stock import Shopping

__all__ = ["command"]


@click.command(help="Count every part that the bank needs.\n\nExample: bankwright buy orchard.toml --have shelf.toml")
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
@click.option("--json", "as_json", is_flag=True, help="Print the list as JSON.")
@click.option("--why", is_flag=True, help="Say of each line where it is used, why, and which file key causes it.")
@click.option("--strict", is_flag=True, help="Exit with 1 on unknowns too.")
def command(
    bank_file: Path,
    shopping_file: Path | None,
    spares: str | None,
    csv_file: Path | None,
    html_file: Path | None,
    as_json: bool,
    why: bool,
    strict: bool,
) -> None:
    """Read, count, print."""
    from bankwright.buy.pages import parts_csv, parts_json, parts_page
    from bankwright.buy.parts import parts
    from bankwright.cli.build_enter import write_page
    from bankwright.cli.common import finish, opened

    bank = opened(bank_file).bank
    listing = parts(bank, _shopping(shopping_file, spares))
    if csv_file is not None:
        write_page(csv_file, parts_csv(listing), "--csv")
    if html_file is not None:
        write_page(html_file, parts_page(bank, listing), "--html")
    if as_json:
        click.echo(parts_json(bank, listing))
    else:
        _show(bank, listing, why)
        for path in (csv_file, html_file):
            if path is not None:
                click.echo(f"Written: {path}")
    finish(listing.findings, strict)


def _shopping(path: Path | None, spares: str | None) -> Shopping:
    """Read the shopping file and lay the option over it."""
    import dataclasses

    from bankwright.bank.quantity_text import QuantityFault, parse
    from bankwright.buy.stock import DEFAULT, read_shopping
    from bankwright.forms.faults import Fault, QuestionError

    shopping = DEFAULT
    if path is not None:
        try:
            shopping = read_shopping(path.read_text(encoding="utf-8"), path.name)
        except (OSError, UnicodeDecodeError) as error:
            raise QuestionError((Fault("--have", "no-file", f"cannot read {path}: {error}"),), path.name) from None
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


def _show(bank: Bank, listing: PartsList, why: bool) -> None:
    from itertools import groupby

    from bankwright.buy.pages import rules_text
    from bankwright.cli.show import rule, wrap

    click.echo(f"Parts for {bank.title}")
    click.echo(f"{'order':>9} {'need':>9} {'spares':>7} {'have':>6}  part")
    for group, lines in groupby(listing.lines, key=lambda line: line.group):
        click.echo(rule(group))
        for line in lines:
            _show_line(line, bank.units, why)
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


def _show_line(line: PartLine, units: str, why: bool) -> None:
    from bankwright.buy.pages import amount
    from bankwright.cli.show import wrap

    order, need = amount(line.order, line, units), amount(line.need, line, units)
    if line.unmeasured:  # a length is still open: "at least", or nothing known at all
        order, need = (f">{order}", f">{need}") if line.need else ("?", "?")
    spares = amount(line.spares, line, units) if line.spares else ""
    have = amount(line.have, line, units) if line.have else ""
    mark = " (not settled)" if line.open else ""
    click.echo(wrap(f"{line.words}{mark}", 36, f"{order:>9} {need:>9} {spares:>7} {have:>6}"))
    if why:
        click.echo(wrap(f"for {', '.join(line.uses)}", 37))
        click.echo(wrap(f"why {line.why}; {', '.join(dict.fromkeys(o.path for o in line.origins))}", 37))
        click.echo(wrap(f"as  {line.item}", 37))


def _show_cutting(cutting: Cutting, currency: str, units: str) -> None:
    from bankwright.buy.pages import plan_text
    from bankwright.cli.show import wrap
    from bankwright.forms.wording import amount_text

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
    from bankwright.cli.show import show_findings

    if listing.findings:
        click.echo("")
        show_findings(listing.findings, units)
