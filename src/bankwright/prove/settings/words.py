"""The settings card in words: one row as lines, and the page to print.

Gives: row_lines(), set_to_words(), window_words(), card_page().
Limits: no terminal layout (cli), no figures of its own.
"""

from __future__ import annotations

from bankwright.bank.model import Bank
from bankwright.forms.paper import heading, page, paragraph, table
from bankwright.forms.wording import amount_text, figure_text
from bankwright.prove.settings.card import SettingsCard
from bankwright.prove.settings.setting import Setting

__all__ = ["card_page", "row_lines", "set_to_words", "window_words"]


def set_to_words(row: Setting, units: str) -> str:
    """What to set."""
    if row.set_to is None:
        return "unknown"
    return row.set_to if isinstance(row.set_to, str) else figure_text(row.set_to, units)


def window_words(row: Setting, units: str) -> str:
    """Its window, with the ends that only caution."""
    low, high = (a if a is not None else b for a, b in zip(row.window, row.soft, strict=True))
    ends = [] if low is None else [f"from {amount_text(low, row.quantity, units)}"]
    ends += [] if high is None else [f"up to {amount_text(high, row.quantity, units)}"]
    return " ".join(ends)


def row_lines(card: SettingsCard, row: Setting, units: str) -> tuple[str, ...]:
    """Everything of a row below its first line."""
    lines = [row.why.text(units)]
    if row.beside is not None:
        lines.append(row.beside.text(units))
    lines += [f"Missing: {item.key}. {item.question or item.how}" for item in row.missing]
    lines.append(f"Source: {row.source}")
    entered = card.entered.get(row.id)
    if entered is not None:
        by = f" by {entered.who}" if entered.who else ""
        lines.append(f"Set: {entered.typed}, {entered.when}{by}: {card.verdicts[row.id]}")
    return tuple(lines)


def _cells(card: SettingsCard, row: Setting, units: str) -> tuple[str, ...]:
    entered = card.entered.get(row.id)
    box = "________" if entered is None else f"{entered.typed} ({card.verdicts[row.id]})"
    margin = "" if row.margin is None else f"x {row.margin:.2f}"
    return (row.what, set_to_words(row, units), window_words(row, units), margin, box)


def card_page(bank: Bank, card: SettingsCard) -> str:
    """One page to print: a table a device, with a box for what was set, then the reasons."""
    units = bank.units
    body = [paragraph(f"{bank.file}, {bank.digest[:12]}.", "note")]
    body += [paragraph(note.text(units), "caution") for note in card.notes]
    head = ("Setting", "Set to", "Window", "Margin", "Set, read back")
    for device in dict.fromkeys(row.device for row in card.rows):
        rows = [row for row in card.rows if row.device == device]
        body.append(heading(device))
        body.append(table(head, [_cells(card, row, units) for row in rows]))
        for row in rows:
            body.append(heading(row.what, 3))
            body += [paragraph(line, "note") for line in row_lines(card, row, units)]
    return page(f"Settings by hand: {bank.title or bank.file}", body)
