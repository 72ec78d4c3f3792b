"""The parts list written out: CSV, JSON, a page to print.

Gives: parts_csv(), parts_page(), rules_text(), plan_text(). Words and units as the bank's file asks
for.
Limits: no layout for the terminal (cli/buy), no drawing of the cuts (draw/).
"""

from __future__ import annotations

import csv
import io
from itertools import groupby

from bankwright.bank.file.quantity_text import parse
from bankwright.bank.model import Bank
from bankwright.buy.cut import CutPlan
from bankwright.buy.cutting import Cutting
from bankwright.buy.lines import PartLine, PartsList
from bankwright.buy.parts import TRIAL_END
from bankwright.buy.receiving import Received, card_part
from bankwright.buy.stock import Shopping
from bankwright.forms.carried import NOTHING, Carried, failed_part
from bankwright.forms.constants import FOOT
from bankwright.forms.csv_text import csv_cell
from bankwright.forms.finding import Finding
from bankwright.forms.finding_text import verdict_text
from bankwright.forms.paper import heading, listed, page, paragraph, table
from bankwright.forms.wording import amount_text

__all__ = [
    "amount",
    "bare",
    "order_words",
    "parts_csv",
    "parts_page",
    "plan_text",
    "rules_text",
    "shown_unit",
    "typed_amount",
]


_HEAD = (
    "order",
    "need",
    "spares",
    "have",
    "unit",
    "words",
    "group",
    "item",
    "used",
    "why",
    "file key",
    "price",
    "cost",
    "open",
    "failed design",
)


_COLUMNS = ("Order", "Need", "Spares", "Have", "What", "Where")


def _ordered(line: PartLine) -> tuple[float | None, float | None, float, float]:
    """Order, need, spares, have; None where a length is open and nothing is known."""
    unknown = bool(line.unmeasured) and not line.need
    return (None if unknown else line.order, None if unknown else line.need, line.spares, line.have)


def shown_unit(line: PartLine, units: str) -> str:
    """The unit in which amounts of a line are shown and typed: piece, m or ft."""
    return "piece" if line.unit != "m" else "ft" if units == "us" else "m"


def bare(value: float | None, line: PartLine, units: str) -> str:
    """An amount as a number alone, in the unit shown; "?" where it is not settled."""
    if value is None:
        return "?"
    return f"{value / FOOT if shown_unit(line, units) == 'ft' else value:.6g}"


def typed_amount(text: str, line: PartLine, units: str) -> float:
    """Read an amount of a line: a length with its unit, or a number in the unit shown. QuantityFault, ValueError."""
    plain = text.strip().replace(" ", "")
    if line.unit != "m":
        return float(plain)
    if plain.replace(".", "", 1).isdecimal():
        return float(plain) * (FOOT if shown_unit(line, units) == "ft" else 1.0)
    return parse(text, "length").nominal


def _price(line: PartLine, units: str) -> float:
    """Price of a piece, or of the unit shown."""
    return (line.price or 0.0) * (FOOT if shown_unit(line, units) == "ft" else 1.0)


def order_words(line: PartLine, units: str) -> tuple[str, str]:
    """Order and need in words: "?" where nothing is known, "at least" where some lengths are open."""
    order, need = amount(line.order, line, units), amount(line.need, line, units)
    if not line.unmeasured:
        return order, need
    return (f"at least {order}", f"at least {need}") if line.need else ("?", "?")


def amount(value: float, line: PartLine, units: str = "metric") -> str:
    """Print an amount of a line: a count, or a length in the bank's units."""
    return amount_text(value, "length", units) if line.unit == "m" else f"{value:g}"


def parts_csv(listing: PartsList, units: str = "metric", carried: Carried = NOTHING) -> str:
    """The list as CSV, one line a part; lengths in m, in ft for a bank in US units; what Plan fails stands on top."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    for text in (carried.headline, *carried.lines(units), "[ ] I know") if carried else ():
        writer.writerow([csv_cell(text)])
    writer.writerow(_HEAD)
    for line in listing.lines:
        writer.writerow(
            [
                *(bare(value, line, units) for value in _ordered(line)),
                shown_unit(line, units),
                csv_cell(line.words),
                line.group,
                csv_cell(line.item),
                csv_cell("; ".join(line.uses)),
                csv_cell(line.why),
                "; ".join(dict.fromkeys(origin.path for origin in line.origins)),
                "" if line.price is None else f"{_price(line, units):g}",
                "" if line.cost is None else f"{line.cost:.2f}",
                csv_cell("; ".join(missing.how for missing in line.open)),
                carried.mark(line.at),
            ]
        )
    return out.getvalue()


def rules_text(shopping: Shopping, units: str = "metric") -> tuple[str, ...]:
    """The rules that were counted with, in words."""
    kerf, trim, strip = (amount_text(v, "height", units) for v in (shopping.kerf, shopping.trim, shopping.strip))
    return (
        f"Cut length: length in the file (hole to hole), plus {shopping.routing:.0%} for routing, plus {trim} at each "
        f"end to cut it square. Kerf {kerf} a cut.",
        f"Stripped ends lie inside that length: as long as the lug's barrel, {strip} where the lug does not say.",
        f"Spares: {shopping.spares:.0%} of the need, at least one, of what is used up; one fuse of each type. One "
        f"spare lug of each kind and {amount_text(TRIAL_END, 'height', units)} of each cable are for the trial crimp; "
        "with reels it comes from what is left over.",
        "Common practice, no source; the makers' sheets win.",
    )


def plan_text(plan: CutPlan, currency: str, units: str = "metric") -> str:
    """How good a cut plan is known to be, in a sentence."""
    if plan.priced:
        cost, bound = (f"{value:.2f} {currency}".strip() for value in (plan.cost, plan.bound))
    else:
        cost, bound = (amount_text(value, "length", units) for value in (plan.cost, plan.bound))
    if plan.proven:
        return f"Costs {cost}; proven least."
    more = f"no plan costs less than {bound}, so at most {plan.gap:.1%} could be saved"
    return f"Costs {cost}; {more}. Not proven ({plan.method})."


def parts_page(
    bank: Bank, listing: PartsList, carried: Carried = NOTHING, cards: dict[str, Received] | None = None
) -> str:
    """A page to print and take to the shop."""
    units = bank.units
    body = [paragraph(f"{bank.file}, {bank.digest[:12]}. Numbers are counted from the bank file.", "note")]
    body += failed_part(carried, units)
    findings = [f for f in listing.findings if f.verdict != "pass"]
    if findings:
        body.append(heading("Settle first"))
        body.append(listed(_settle(f, units) for f in findings))
    for group, lines in groupby(listing.lines, key=lambda line: line.group):
        body.append(heading(group.capitalize()))
        body.append(
            table(
                ("Order", "Need", "Spares", "Have", "What", "Where"),
                (_row(line, units, carried.mark(line.at)) for line in lines),
                (0, 1, 2, 3),
            )
        )
    if listing.cost is not None:
        left = f"; {listing.unpriced} lines without a price" if listing.unpriced else ""
        body.append(paragraph(f"Together {listing.cost:.2f} {listing.shopping.currency}{left}."))
    body.append(heading("Cutting"))
    for cutting in listing.cuttings:
        body += _cutting_page(cutting, listing.shopping, units)
    body += card_part(bank, cards or {})
    body.append(heading("How it was counted"))
    body.append(listed(rules_text(listing.shopping, units)))
    return page(f"Parts: {bank.title}", body)


def _settle(finding: Finding, units: str) -> str:
    said = finding.text.text(units) if finding.text else ""
    how = " ".join(item.how for item in finding.missing) or finding.do.text(units)
    return f"{verdict_text(finding.verdict)}: {finding.title}. {said} {how}"


def _row(line: PartLine, units: str, failed: str) -> tuple[str, ...]:
    uses = "; ".join(line.uses[:6]) + (f" and {len(line.uses) - 6} more" if len(line.uses) > 6 else "")
    spares, have = (amount(v, line, units) if v else "" for v in (line.spares, line.have))
    order, need = order_words(line, units)
    words = f"{line.words} (not settled)" if line.open else line.words
    return (order, need, spares, have, f"{words}; {failed}" if failed else words, uses)


def _cutting_page(cutting: Cutting, shopping: Shopping, units: str) -> list[str]:
    body = [heading(cutting.words, 3)]
    rows = [(w.name, _length(w.length, units), _strip_text(cutting, w.name, units)) for w in cutting.wanted]
    body.append(table(("Piece", "Cut", "Strip"), rows, (1,)))
    if cutting.plan is not None:
        body.append(paragraph(plan_text(cutting.plan, shopping.currency, units)))
        cuts = [
            (
                f"{cut.stock.name}, {cut.number}",
                ", ".join(p.name for p in cut.pieces),
                amount_text(cut.rest, "length", units),
            )
            for cut in cutting.plan.cuts
        ]
        body.append(table(("From", "Pieces in order", "Left over"), cuts, (2,)))
    if cutting.unknown:
        body.append(paragraph(f"Length not known: {', '.join(cutting.unknown)}.", "note"))
    return body


def _length(value: float, units: str) -> str:
    return amount_text(value, "length", units)


def _strip_text(cutting: Cutting, name: str, units: str) -> str:
    return " and ".join(amount_text(strip, "height", units) for strip in cutting.strips.get(name, ()))
