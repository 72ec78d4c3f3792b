"""The first conversation on a terminal: one question at a time, each answer heard at once.

Gives: converse(). A thin face of bank/talk: it prints, and hands on what was typed.
Limits: no answer is judged here; the file is written by the command.
"""

from __future__ import annotations

from pathlib import Path

import click

from bankwright.cli.hands.lines import offered, typed
from bankwright.cli.show.findings import rule, wrap
from bankwright.job.talking import (
    Question,
    Shelved,
    Talk,
    applying,
    back,
    ended,
    enough,
    go_to,
    keep,
    known,
    question,
    said,
    using,
)

__all__ = ["converse"]

KEYS = "?  I do not know     <  back     =  what is known so far     .  stop, answers are kept"
_WIDEST = 36  # of what stands for a thing on the sheet so far


def converse(bank_file: Path, talk: Talk, shelf: tuple[Shelved, ...] = ()) -> Talk | None:
    """Ask until the whole sheet is agreed to; None when the person stopped. Every answer is kept as it comes."""
    click.echo(wrap(KEYS))
    if shelf and not talk.answers:
        begun = _shelved(talk, shelf)
        if begun is None:
            return None
        talk = begun
        keep(bank_file, talk)
    told = enough(talk)
    while True:
        if ended(talk):
            after = _whole_sheet(talk)
        else:
            if enough(talk) and not told:
                told = True
                click.echo("\n" + rule("enough for a first Plan; w writes it now, or go on"))
            after = _one(talk)
        if after is None or isinstance(after, str):
            return None if after is None else talk
        talk = after
        keep(bank_file, talk)


def _shelved(talk: Talk, shelf: tuple[Shelved, ...]) -> Talk | None:
    """Offer the kinds that files of kinds beside the bank give; None to stop."""
    for family in dict.fromkeys(kind.family for kind in shelf):
        kinds = [kind for kind in shelf if kind.family == family]
        files = " and ".join(dict.fromkeys(kind.file for kind in kinds))
        click.echo("\n" + wrap(f"{files} beside this file gives kinds of {family}. Is yours one of them?", 6, "      "))
        for place, kind in enumerate(kinds, 1):
            click.echo(wrap(kind.words, 9, f"      {place}  "))
        answer = "again"
        while answer not in ("", "?", *(str(place + 1) for place in range(len(kinds)))):
            line = typed(f"      1 to {len(kinds)}; Enter: none of them:")
            if line is None or line == ".":
                return None
            answer = line.strip()
        if answer.isdecimal():
            taken = kinds[int(answer) - 1]
            talk = using(talk, family, taken)
            click.echo(f"      {taken.name}: {taken.file} is included, and its questions are not asked here.")
    return talk


def _one(talk: Talk) -> Talk | str | None:
    """Ask the question in hand once: the next state, "write", or None to stop."""
    asked = question(talk.at)
    if talk.heard is None:
        _show(talk, asked)
    unit = asked.unit(talk.units)
    label = unit or ("1 to " + str(len(asked.choices)) if asked.choices else "")
    offer = talk.offer(asked.key)
    said_by_sheet = offer.values[0] if offer is not None and len(offer.values) == 1 and not asked.choices else ""
    before = talk.heard.typed if talk.heard is not None else talk.answer(asked.key) or said_by_sheet
    answer = typed(f"      {label}:" if label else "      :", before)
    if answer is None or answer == ".":
        return None
    if answer == "" and said_by_sheet:
        answer = said_by_sheet  # Enter takes what the sheet says, where the line cannot hold it ready
    if answer == "<":
        return back(talk)
    if answer == "=":
        _sheet(talk)
        return go_to(talk, talk.at)
    if answer.lower() == "w" and enough(talk) and not asked.choices:
        return "write"
    return _heard(talk, asked, answer)


def _heard(talk: Talk, asked: Question, answer: str) -> Talk:
    """The next state after an answer, an offer settled on the way."""
    if asked.choices and answer.isdecimal() and 1 <= int(answer) <= len(asked.choices):
        answer = asked.choices[int(answer) - 1].text
    after = said(talk, answer)
    while after.heard is not None:
        taken = offered(after.heard)
        if taken is None:
            return after
        again = said(talk, taken)
        if again.heard == after.heard:
            return again
        after = again
    given = after.answer(asked.key)
    if given is None:
        click.echo(wrap(f"Left open. {asked.unknown}.", 6, "      "))
    elif given != answer:
        click.echo(f"      {given}")
    return after


def _show(talk: Talk, asked: Question) -> None:
    rows = applying(talk)
    number = [each.key for each in rows].index(asked.key) + 1
    click.echo("\n" + wrap(asked.ask, 6, f"{number}/{len(rows)}"))
    click.echo(wrap(asked.where, 6, "      "))
    for place, choice in enumerate(asked.choices, 1):
        click.echo(wrap(f"{choice.text}. {choice.price}".rstrip(), 9, f"      {place}  "))
    offer = talk.offer(asked.key)
    if offer is not None:
        click.echo(wrap(f'The sheet says {" or ".join(offer.values)}: "{offer.line}"', 6, "      "))
        if len(offer.values) == 1 and not asked.choices:
            click.echo("      Enter takes it.")
    if asked.sample and asked.unit(talk.units):
        click.echo(wrap(f"A bare number is in {asked.unit(talk.units)}; for example {asked.sample}.", 6, "      "))


def _sheet(talk: Talk) -> None:
    click.echo("\n" + rule("what is known so far"))
    for kind in talk.kinds:
        click.echo(wrap(f"{kind.words}; of {kind.file}", _WIDEST + 5, f"     {kind.family.capitalize()}"))
    for row in known(talk):
        answer = row.answer or "not known" if row.given else "this question" if row.here else "to come"
        click.echo(wrap(answer, _WIDEST + 5, f"{row.number:>3}  {row.question.short}"))


def _whole_sheet(talk: Talk) -> Talk | str | None:
    """Show everything before anything is written: "write", one answer to change, or None to stop."""
    _sheet(talk)
    click.echo("")
    rows = known(talk)
    while True:
        answer = typed(wrap("Enter: write the file.  A number: change that answer.  .: stop, answers are kept:"))
        if answer is None or answer == ".":
            return None
        if answer == "<":
            return back(talk)
        if answer.isdecimal() and 1 <= int(answer) <= len(rows):
            return go_to(talk, rows[int(answer) - 1].question.key)
        if answer.lower() in ("", "y", "yes", "w"):
            return "write"
        if answer == "=":
            _sheet(talk)
            continue
        click.echo(wrap(f'found "{answer}". A number from 1 to {len(rows)} changes that answer.', 6, "  x"))
