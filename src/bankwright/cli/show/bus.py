"""The data bus on a terminal: a survey's explanations, the address sheet, polls.

Gives: show_survey(), show_addresses(), show_poll(), show_heard(), poll_line().
"""

from __future__ import annotations

from collections.abc import Iterable

import click

from bankwright.cli.show.findings import rule, verdict_word, wrap
from bankwright.forms.codes import place_text
from bankwright.forms.wording import amount_text
from bankwright.job.bus import (
    AddressRow,
    Cycle,
    Explanation,
    Facts,
    Framing,
    Known,
    LinePlan,
    PollPlan,
    RegisterMap,
    Speaking,
    double_addresses,
    ohm_words,
    switch_picture,
    switch_words,
)

__all__ = ["poll_line", "show_addresses", "show_heard", "show_poll", "show_survey"]


def show_survey(facts: Facts, told: Iterable[Explanation], units: str) -> None:
    """How many were found, then each explanation: observed, how sure, next test."""
    planned, heard = len(facts.planned_modules), len(facts.heard_modules)
    speed = f" at {facts.framing}" if facts.framing else ""
    click.echo(wrap(f"{heard} of {planned} modules can be heard{speed}. {facts.requests} reading requests were sent."))
    for each in told:
        click.echo("")
        click.echo(wrap(each.title, 11, verdict_word(each.verdict, 10) + " "))
        click.echo(wrap(each.observed.text(units), 13, "  observed   "))
        click.echo(wrap(f"{each.sure}: {each.why}.", 13, "  how sure   "))
        if each.test is not None:
            click.echo(wrap(each.test.text(units), 13, "  next test  "))
        click.echo(wrap(place_text(each.code), 13))


def show_addresses(rows: tuple[AddressRow, ...], line: LinePlan, units: str, *, wires: bool = True) -> None:
    """Addresses with their switches, cables, what to measure, remarks; `wires`: the computer itself hangs on them."""
    click.echo(rule("addresses"))
    for row in rows:
        _address(row)
    for address, names in double_addresses(rows).items():
        click.echo(
            wrap(
                f"{' and '.join(names)} have one address, {address}: the whole line suffers.",
                11,
                verdict_word("fail", 10) + " ",
            )
        )
    click.echo(wrap("Set switches with the module off; most modules read them only when they wake.", 2))
    if wires:
        click.echo(rule("cables, from the computer"))
        click.echo(wrap(" - ".join(("computer", *line.order)), 2))
        click.echo(rule("what to measure"))
        text = f"All modules and the adapter off: between the two data wires {ohm_words(line)}; about 0 Ω is a short."
        click.echo(wrap(text, 2))
    for each in line.remarks:
        click.echo(wrap(f"{each.says.text(units)} ({each.key})", 11, verdict_word(each.verdict, 10) + " "))


def _address(row: AddressRow) -> None:
    if row.address is None:
        ask = row.missing.question if row.missing else ""
        click.echo(wrap(f"{row.module}: not known. {ask}", 2))
        return
    if row.fault:
        click.echo(wrap(f"{row.module}: {row.fault}.", 11, verdict_word("fail", 10) + " "))
        return
    words = f"; switches {switch_words(row.switches)}" if row.switches else ""
    click.echo(wrap(f"{row.module}: address {row.address}{words}.", 2))
    for text in switch_picture(row):
        click.echo(f"      {text}")
    if row.switches and row.turned != row.switches:
        click.echo(wrap(f"if its switches count from the other end: {switch_words(row.turned)}", 6))


def show_poll(plan: PollPlan, register_map: Known, framing: Framing | None, units: str) -> None:
    """Requests of a poll, the shortest cycle, whether the wished one fits."""
    click.echo(rule("polling"))
    asked = ", ".join(block.words for block in plan.blocks)
    what = " registers" if isinstance(register_map, RegisterMap) else ""
    click.echo(wrap(f"{register_map.title or register_map.file}: each module is asked for {asked}{what}.", 2))
    if plan.apart:
        click.echo(
            wrap(
                "Current and voltage come in different requests: not of one moment.",
                11,
                verdict_word("caution", 10) + " ",
            )
        )
    if plan.cycle is None:
        click.echo(wrap("Over TCP the line itself sets no limit: the poll is measured when it runs.", 2))
        return
    click.echo(wrap(f"Shortest poll at {framing}: {amount_text(plan.cycle, 'time', units)}.", 2))
    cost = amount_text(plan.silent_cost, "time", units)
    text = f"A silent module costs {cost} each time it is asked, so it is asked less and less often."
    click.echo(wrap(text, 2))
    if plan.wished is not None:
        fits = "is possible" if plan.fits else "is not possible: a higher speed, fewer registers or a longer time"
        mark = verdict_word("pass" if plan.fits else "fail", 10) + " "
        click.echo(wrap(f"A poll every {amount_text(plan.wished, 'time', units)} {fits}.", 11, mark))


def show_heard(speaking: Speaking) -> None:
    """What is heard of each module on a bus that speaks by itself, and whose number is whose."""
    click.echo(rule("listening"))
    values = speaking.listing.signals
    title = speaking.listing.title or speaking.listing.file
    click.echo(wrap(f"{title}: {len(values)} values of each module are heard; nothing is ever asked.", 2))
    numbers = ", ".join(f"{target.unit} is {target.name}" for target in speaking.targets)
    click.echo(wrap(f"Numbers as they are sent: {numbers}.", 2))
    every = amount_text(speaking.every, "time")
    click.echo(wrap(f"Of each value the last of every {every} is kept, with the time at which it came.", 2))


def poll_line(cycle: Cycle, modules: int, stored: int) -> str:
    """One poll in a line."""
    if cycle.words:
        return _overheard_line(cycle, stored)
    took = amount_text(cycle.took, "time")
    silent = [each.module for each in cycle.heard if not each.values]
    tail = f"; silent: {', '.join(silent)}" if silent else ""
    return f"poll {cycle.number}: {cycle.answered} of {modules} answered in {took}, {stored} values{tail}"


def _overheard_line(cycle: Cycle, stored: int) -> str:
    """One cycle of a bus that speaks by itself; a module that has nothing new is not silent yet."""
    silent = [each.module for each in cycle.heard if each.outcome is not None and not each.values]
    tail = f"; silent: {', '.join(silent)}" if silent else ""
    return f"{cycle.number}: {cycle.words}, {stored} values{tail}"
