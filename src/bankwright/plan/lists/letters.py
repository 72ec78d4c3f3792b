"""Letters to makers: the open questions of each product as a mail text, and the answers of one that came back.

Gives: letters(), answers_in(). The questions stand in a letter word for word, each with a line for its answer, so that
a reply is read by the same words.
Limits: what is measured or decided at home is in no letter; nothing is sent from here.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator

from bankwright.plan.lists.asked import Asked

__all__ = ["answers_in", "letters"]

WIDE = 76
_ANSWER = "Answer:"


def letters(open_: Iterable[Asked], title: str) -> tuple[str, ...]:
    """One mail text for each product that a maker is asked of, those with most to settle first."""
    by_kind: dict[str, list[Asked]] = {}
    for question in open_:
        if question.who == "maker" and question.kind:
            by_kind.setdefault(question.kind, []).append(question)
    return tuple(_letter(kind, rows, title) for kind, rows in by_kind.items())


def _letter(kind: str, rows: list[Asked], title: str) -> str:
    family, _, name = kind.partition(" ")
    product = family if name == family else f"{family} {name}"
    whose = f" ({title})" if title else ""
    head = (
        f"Subject: Technical data of the {product}\n\nHello,\n\n"
        + textwrap.fill(
            f"I am planning a home battery bank{whose} with your {product} and need the data below, with the "
            "tolerance where there is one. DC figures, please, with the voltage and the temperature they hold for. "
            "A line may stay empty where you have no figure.",
            WIDE,
        )
        + "\n\n"
    )
    body = "\n".join(_question(number, row) for number, row in enumerate(rows, 1))
    return f"{head}{body}\nThank you.\n"


def _question(number: int, row: Asked) -> str:
    asked = textwrap.fill(row.text, WIDE, initial_indent=f"{number}. ", subsequent_indent="   ")
    sample = row.box.sample if row.box else ""
    form = f"   (for example: {sample})\n" if sample else ""
    return f"{asked}\n{form}   {_ANSWER} \n"


def _plain(text: str) -> str:
    return "".join(c for c in text.casefold() if c.isalnum())


def answers_in(text: str, open_: Iterable[Asked]) -> Iterator[tuple[Asked, str]]:
    """The answers in a letter that came back, quoted (`> `) or not: each to the question before it."""
    by_words = {_plain(question.text): question for question in open_ if question.who == "maker"}
    heap = ""
    for line in text.splitlines():
        said = line.lstrip("> \t").rstrip()
        if not said.startswith(_ANSWER):
            heap = f"{heap} {said}"
            continue
        plain, answer = _plain(heap), said.removeprefix(_ANSWER).strip()
        heap = ""
        found = [q for words, q in by_words.items() if words in plain]
        if answer and found:
            yield max(found, key=lambda q: len(q.text)), answer
