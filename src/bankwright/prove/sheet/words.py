"""The sheet of first power-up in words: lines of a reading, and the page to print.

Gives: place_words(), wait_words(), due_words(), read_words(), sheet_page(). An empty box says
`not measured`, never a dash.
Limits: no terminal layout (cli).
"""

from __future__ import annotations

from bankwright.bank.model import Bank
from bankwright.forms.carried import NOTHING, Carried, failed_part
from bankwright.forms.paper import heading, listed, page, paragraph, table
from bankwright.forms.wording import amount_text
from bankwright.prove.sheet.due import Due
from bankwright.prove.sheet.sheet import HANDED, ProveSheet, StepNow, Taken, way_back

__all__ = ["due_words", "place_words", "read_words", "sheet_page", "wait_words"]

FINE = frozenset({"voltage", "frame_voltage", "ac_voltage", "frequency"})  # told with four digits


def place_words(due: Due) -> str:
    """The place as it is typed."""
    return f"{due.at} to frame" if due.quantity == "frame_voltage" else due.at


def wait_words(now: StepNow) -> str:
    """What is not done yet before the step; "" for nothing."""
    names = [
        "Build's hand-over (bankwright build FILE --hand-over)" if each == HANDED[0] else each for each in now.waits
    ]
    return f"Waits for {', '.join(names)}." if names else ""


def due_words(due: Due, units: str) -> str:
    """What is due: the figure, and what it may lie between."""
    low, high = due.window
    ends = [] if low is None else [f"from {_amount(low, due.quantity, units)}"]
    ends += [] if high is None else [f"up to {_amount(high, due.quantity, units)}"]
    figure = "" if due.expected is None else _amount(due.expected.value, due.quantity, units)
    if due.missing:
        return f"unknown: {due.missing[0].how.rstrip('.')}"
    return " ".join(part for part in (figure, " ".join(ends)) if part) or "nothing: write down what it shows"


def read_words(taken: Taken, units: str) -> str:
    """What was read, with its verdict."""
    if taken.value is None:
        return "not measured"
    verdict = "" if taken.finding is None else f": {taken.finding.verdict}"
    return _amount(taken.value, taken.due.quantity, units) + verdict


def _amount(value: float, quantity: str, units: str) -> str:
    """Volts with the counts of a hand meter, else three digits."""
    return amount_text(value, quantity, units, 4 if quantity in FINE else 3)


def sheet_page(bank: Bank, sheet: ProveSheet, carried: Carried = NOTHING) -> str:
    """One page to print: what Plan fails, then every step with its boxes and readings, figures due beside each."""
    body = [paragraph(f"{bank.file}, {bank.digest[:12]}.", "note")]
    body += failed_part(carried, bank.units)
    for now in sheet.steps:
        body.append(_section(now, bank.units))
    body.append(paragraph(f"Not in this file: {'; '.join(sheet.absent)}.", "note"))
    body.append(paragraph("It advises only. Local codes and a licensed electrician have the last word.", "note"))
    return page(sheet.title, body)


def _section(now: StepNow, units: str) -> str:
    step = now.step
    parts = [heading(f"{step.id}. {step.title}", 3), paragraph(f"{step.hands}; {now.state}", "note")]
    parts += [paragraph(words, "caution") for words in (*now.locked_by, *step.cautions)]
    if now.state == "stopped":
        parts += [paragraph("Back to dead:", "caution"), listed(way_back(now))]
    parts.append(listed(step.acts))
    parts.append(listed((words for _, words in step.boxes), boxes=True))
    rows = [
        (place_words(each.due), each.due.words, due_words(each.due, units), read_words(each, units))
        for each in now.readings
    ]
    if rows:
        parts.append(table(("Where", "What", "Due", "Read"), rows))
    return f'<section class="step">{"".join(parts)}</section>'
