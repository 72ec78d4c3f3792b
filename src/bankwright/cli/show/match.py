"""The two answers of Match on a terminal of 80 columns, and as JSON.

Gives: show_match(). Answer first: verdict 1, then verdict 2, each with its own findings, then what to do.
Limits: no engineering; words and figures come from match/.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bankwright.cli.show.findings import finding_lines, rule, verdict_word, wrap
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.sheets import Sheet, Step
from bankwright.forms.wording import Say, amount_text

if TYPE_CHECKING:
    from bankwright.job import Job
    from bankwright.job.matching import Match

__all__ = ["show_match"]

TIMES = ((0.001, "at once"), (60.0, "1 min"), (600.0, "10 min"), (3600.0, "1 h"))
JOINED = {
    "pass": "Yes, in the order below.",
    "caution": "Yes, in the order below, with the cautions.",
    "unknown": "Not before what is missing is known.",
    "fail": "No, not as they are.",
}
EQUAL = {
    "pass": "Yes, as far as voltage tells.",
    "assumed": "Yes, as far as voltage and assumed values tell.",
    "caution": "Yes, with the cautions.",
    "unknown": "Cannot be told yet.",
    "fail": "No.",
}


def show_match(job: Job, found: Match, passes: bool, kept: int | None, chart: Path | None) -> None:
    """Print everything, worst first under each answer."""
    bank, units = job.bank, job.units
    count = "1 module" if len(bank.modules) == 1 else f"{len(bank.modules)} modules"
    click.echo(f"{bank.title or bank.file}  ({bank.file}, {count}, {len(found.readings)} read)\n")
    if len(bank.modules) == 1:
        click.echo("One module only: there is nothing to join and nothing to compare with.")
    elif found.readings:
        click.echo(f"1  May they be joined?        {verdict_word(found.may_join)}: {JOINED[found.may_join]}")
    if found.charge and len(bank.modules) > 1:
        word = found.equally_charged
        click.echo(f"2  Are they equally charged?  {verdict_word(word)}: {EQUAL[word]}")
    _facts(found, units)
    _part("1  may they be joined?", found.about("joining"), units, passes)
    if len(bank.modules) > 1:
        _part("2  are they equally charged?", found.about("charge"), units, passes)
    _part("how they share", found.about("sharing"), units, True)
    _ranges(found)
    _settling(found)
    for number, sheet in enumerate(found.plans):
        _plan("ABCDEF"[number], sheet, units)
    for note in found.notes:
        click.echo(wrap(note))
    if chart:
        click.echo(wrap(f"Charts written to {chart} and {chart.stem}-volts{chart.suffix}."))
    if kept is not None:
        click.echo(f"Readings and verdicts kept in the logbook as {kept}.")
    click.echo("\nIt advises only. Local codes and a licensed electrician have the last word.")


def _facts(found: Match, units: str) -> None:
    if found.order:
        when = (
            "Gentlest order of closing" if found.may_join in ("pass", "caution") else "Gentlest order, once it may be"
        )
        click.echo(wrap(f"{when}: {', '.join(found.order)}."))
    if found.largest_difference is not None:
        most = amount_text(found.largest_difference, "voltage_drop", units)
        click.echo(wrap(f"Largest difference this bank takes at once, whichever way one lies: {most}."))


def _part(words: str, findings: Iterable[Finding], units: str, passes: bool) -> None:
    listed = tuple(findings)
    if not listed:
        return
    click.echo(rule(words))
    folded = 0
    for finding in listed:
        if finding.verdict == "pass" and not passes and finding.code not in ("M-MOST-1", "M-EVEN-1"):
            folded += 1
            continue
        click.echo("\n".join(finding_lines(finding.number, _gathered(finding), units)))
    if folded:
        click.echo(f"{folded} passes are folded; --all prints them.")


def _gathered(finding: Finding) -> Finding:
    """What is asked for in the same words of several modules, as one line."""
    asked: dict[str, list[str]] = {}
    for gap in finding.missing:
        asked.setdefault(gap.how, []).append(gap.key)
    missing = tuple(Missing(_keys(keys), how) for how, keys in asked.items())
    return replace(finding, missing=missing)


def _keys(keys: list[str]) -> str:
    """`readings.M1 to M5.rested` would be wrong where one is missing between: names are counted out, up to four."""
    return ", ".join(keys) if len(keys) < 4 else f"{', '.join(keys[:2])} and {len(keys) - 2} more"


def _ranges(found: Match) -> None:
    if not found.ranges:
        return
    click.echo(rule("charge that each reading allows"))
    by_name = {reading.module: reading for reading in found.readings}
    for item in found.ranges:
        volts = amount_text(by_name[item.module].voltage, "voltage", digits=4)
        loaded = "  (too little rest, or not told)" if item.loaded else ""
        click.echo(f"{item.module:<8} {volts:>9}   {100 * item.low:3.0f} to {100 * item.high:3.0f} %{loaded}")


def _settling(found: Match) -> None:
    if found.settled is None:
        return
    click.echo(rule("after joining: what flows between the modules, in A"))
    click.echo(f"{'':<10}" + "".join(f"{words:>17}" for _, words in TIMES))
    columns = [found.settled.at(time) for time, _ in TIMES]
    for k, name in enumerate(found.settled.names):
        cells = (_flow(column[0, k], column[2, k]) for column in columns)
        click.echo(f"{name:<10}" + "".join(f"{cell:>17}" for cell in cells))
    for words in found.settled.opened[:4]:
        click.echo(wrap(f"In this run {words}."))
    click.echo(wrap("All joined at once, no load; + gives, − takes; range over curves, resistances, meter."))


def _flow(low: float, high: float) -> str:
    """`+30 to +49`, plain 0 where nothing to speak of flows."""
    ends = [f"{value:+.0f}".replace("-", "−") if abs(value) >= 0.5 else "0" for value in (low, high)]
    return ends[0] if ends[0] == ends[1] else " to ".join(ends)


def _plan(letter: str, sheet: Sheet, units: str) -> None:
    click.echo(rule(f"plan {letter}: {sheet.title}"))
    said: set[str] = set()
    before: dict[str, int] = {}  # an act that stands in an earlier step, but for the module's name, is not repeated
    for number, step in enumerate(sheet.steps, 1):
        click.echo(wrap(f"{step.title}.{_as_before(step, before, units)}", 4, f"{number}."))
        for caution in step.cautions:
            words = caution.words.text(units)
            if words not in said:
                click.echo(wrap(words, 8, "    ! "))
                said.add(words)
        for act in step.acts:
            words, key = act.text(units), _key(act, step, units)
            if key not in before:
                click.echo(wrap(words, 6, "    - "))
            before.setdefault(key, number)
    for note in sheet.notes:
        click.echo(wrap(note.text(units)))


def _key(act: Say, step: Step, units: str) -> str:
    return " ".join("{}" if word.strip(".,:;") in step.at else word for word in act.text(units).split())


def _as_before(step: Step, before: dict[str, int], units: str) -> str:
    """Words that send the reader to the step where an act stands in full."""
    places = [before[key] for key in (_key(act, step, units) for act in step.acts) if key in before]
    if not places:
        return ""
    return f" Do as in step {places[0]}{'.' if len(places) == len(step.acts) else '; but:'}"
