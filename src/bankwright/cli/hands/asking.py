"""The open questions of Plan on a terminal, one after another: heard, written, planned anew.

Gives: ask_in_turn(). The text before each answer is kept beside the file, as after every edit.
Limits: a question whose answer is a curve or a whole table is passed over; the forms of the page have it.
"""

from __future__ import annotations

import click

from bankwright.cli.hands.lines import offered, typed
from bankwright.cli.show.findings import rule, wrap
from bankwright.cli.show.turned import question_lines
from bankwright.forms.finding_text import verdict_text
from bankwright.job import Job
from bankwright.job.asking import Asked, Box, hear_box, is_unknown, open_questions, settled, tape, written

__all__ = ["ask_in_turn"]


def ask_in_turn(job: Job) -> None:
    """Ask until nothing is open, or the person stops."""
    passed: set[tuple[str, ...]] = set()
    click.echo(wrap("?  I do not know     Enter  later     .  stop; every answer is in the file already"))
    while True:
        open_ = open_questions(job)
        known = tape(job.findings, open_)
        question = next((q for q in open_ if q.box is not None and q.keys not in passed), None)
        if question is None:
            click.echo(rule("nothing more that can be answered here"))
            break
        click.echo("\n" + rule(f"{known.known} of {known.of} known"))
        click.echo("\n".join(question_lines(question)))
        after = _asked(job, question)
        if after is None:
            break
        passed.add(question.keys)
        job = after
    click.echo(f"Next: bankwright plan {job.path}")


def _asked(job: Job, question: Asked) -> Job | None:
    """Ask until the answer stands in the file, or is left open: the job then; None to stop."""
    box = question.box
    assert box is not None
    before = ""
    while True:
        answer = typed(wrap(_label(box), 5, "     "), before)
        if answer is None or answer == ".":
            return None
        if not answer or is_unknown(answer):
            if answer:
                click.echo(wrap(f"Left open; {question.settles} findings go on waiting for it.", 5, "     "))
            return job
        text, before = _heard(box, answer), answer
        after = _taken(job, question, text) if text else None
        if after is not None:
            return after


def _heard(box: Box, answer: str) -> str:
    """The answer as the file holds it, an offer settled on the way; "" to be asked again."""
    if box.choices and answer.isdecimal() and 1 <= int(answer) <= len(box.choices):
        answer = box.choices[int(answer) - 1]
    heard = hear_box(box, answer)
    while heard.how != "taken":
        again = offered(heard)
        if again is None or again == heard.typed:
            return ""
        heard = hear_box(box, again)
    return heard.text


def _label(box: Box) -> str:
    if box.choices:
        return "   ".join(f"{n} {choice}" for n, choice in enumerate(box.choices, 1)) + ":"
    unit = f"{box.units[0]}, " if box.units else ""
    return f"{unit}for example {box.sample}:" if box.sample else f"{unit or 'answer'}:"


def _taken(job: Job, question: Asked, text: str) -> Job | None:
    after, fault = written(job, question, text)
    if after is None:
        click.echo(wrap(f"Not written: {fault}", 6, "  x"))
        return None
    became = settled(question, after.findings)
    told = ", ".join(
        f"{number} {verdict_text(verdict)}" for verdict, number in sorted(became.items()) if verdict != "unknown"
    )
    waiting = f"{became['unknown']} wait for more" if became["unknown"] else ""
    said = "; ".join(part for part in (f"settled: {told}" if told else "", waiting) if part)
    click.echo(wrap(f"{text}. Written; {said}." if said else f"{text}. Written.", 5, "     "))
    return after
