"""The first conversation as states: one question at a time, back, leave, resume, the whole sheet at its end.

Gives: Talk, Offer, Known, said(), not_known(), offering(), using(), back(), go_to(), applying(), known(), enough(),
ended(), start_of(). As text to keep: text.
Pure: a state and what was typed give the next state. Terminal and page are two faces of it, so that the same answers
give the same file.
Limits: nothing is written here; the state is kept by kept, the file is made by texts/starter.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from bankwright.bank.talk.hearing import Heard, is_unknown
from bankwright.bank.talk.questions import ENOUGH, QUESTIONS, Question, hear, question
from bankwright.bank.texts.shelf import ANSWERS, Shelved
from bankwright.bank.texts.starter import Start

__all__ = [
    "Known",
    "Offer",
    "Talk",
    "applying",
    "back",
    "ended",
    "enough",
    "go_to",
    "known",
    "not_known",
    "offering",
    "said",
    "start_of",
    "using",
]

_WHOLE = ("modules", "cells", "inverters", "pairs")


@dataclass(frozen=True, slots=True)
class Offer:
    """What a data sheet says to a question: one value, or several to choose from, and the lines they came from."""

    key: str
    values: tuple[str, ...]
    line: str


@dataclass(frozen=True, slots=True)
class Talk:
    """Where the conversation stands. An answer None was given as "I do not know"."""

    answers: tuple[tuple[str, str | None], ...] = ()
    at: str = QUESTIONS[0].key  # "" when every question was answered
    heard: Heard | None = None  # what could not be taken of the question in hand
    offers: tuple[Offer, ...] = ()  # of data sheets; each is confirmed by a person, as an answer
    kinds: tuple[Shelved, ...] = ()  # of a file of kinds, at most one a family; their questions are not asked

    def answer(self, key: str) -> str | None:
        """An answer, None where there is none or it is not known."""
        return dict(self.answers).get(key)

    def offer(self, key: str) -> Offer | None:
        """What a data sheet says to a question; None where none was read or it is silent."""
        return next((offer for offer in self.offers if offer.key == key), None)

    @property
    def units(self) -> str:
        """Units that are shown."""
        return self.answer("units") or "metric"


@dataclass(frozen=True, slots=True)
class Known:
    """One line of the sheet so far."""

    number: int
    question: Question
    answer: str | None
    given: bool
    here: bool


def applying(talk: Talk) -> tuple[Question, ...]:
    """The questions that apply after what was answered."""
    answers = dict(talk.answers)
    out = {key for kind in talk.kinds for key in ANSWERS[kind.family]}
    if answers.get("inverters") == "0":
        out |= {"power", "lowest_voltage"}
    if answers.get("modules") == "1" and answers.get("pattern") == "chain":
        out.add("feed")
    if "breaker" in answers and answers["breaker"] is None:
        out.add("interrupts")
    return tuple(each for each in QUESTIONS if each.key not in out)


def _next(talk: Talk) -> str:
    given = dict(talk.answers)
    return next((each.key for each in applying(talk) if each.key not in given), "")


def _with(talk: Talk, text: str | None) -> Talk:
    answers = {**dict(talk.answers), talk.at: text}
    after = replace(talk, answers=tuple(answers.items()), heard=None)
    return replace(after, at=_next(after))


def said(talk: Talk, typed: str, unit: str = "") -> Talk:
    """Hear what was typed to the question in hand: taken, and the next is asked; else it is asked again, text kept."""
    if not talk.at:
        return talk
    if is_unknown(typed):
        return not_known(talk)
    if not typed.strip():
        return replace(talk, heard=Heard("refused", typed, words="Nothing was typed. I do not know is an answer too."))
    asked = question(talk.at)
    heard = hear(asked, typed, unit if unit in asked.units else asked.unit(talk.units))
    return _with(talk, heard.text) if heard.how == "taken" else replace(talk, heard=heard)


def not_known(talk: Talk) -> Talk:
    """Take "I do not know" as the answer."""
    return _with(talk, None) if talk.at else talk


def offering(talk: Talk, offers: tuple[Offer, ...]) -> Talk:
    """The conversation with what a data sheet says; a later sheet's word replaces an earlier one's."""
    new = {offer.key for offer in offers}
    return replace(talk, offers=(*(offer for offer in talk.offers if offer.key not in new), *offers))


def using(talk: Talk, family: str, kind: Shelved | None) -> Talk:
    """The conversation with a kind of a file of kinds, or without one of that family: then its questions are asked."""
    others = tuple(each for each in talk.kinds if each.family != family)
    after = replace(talk, kinds=others if kind is None else (*others, kind), heard=None)
    return replace(after, at=_next(after))


def back(talk: Talk) -> Talk:
    """Go back to the question before; at the first one, stay."""
    keys = [each.key for each in applying(talk)]
    place = keys.index(talk.at) if talk.at in keys else len(keys)
    return replace(talk, at=keys[max(place - 1, 0)], heard=None)


def go_to(talk: Talk, key: str) -> Talk:
    """Change one answer; a question that does not apply is not asked."""
    if key not in {each.key for each in applying(talk)}:
        return talk
    return replace(talk, at=key, heard=None)


def known(talk: Talk) -> tuple[Known, ...]:
    """The sheet so far, numbered: what is known, what is asked, what is still to come."""
    given = dict(talk.answers)
    return tuple(
        Known(number, each, given.get(each.key), each.key in given, each.key == talk.at)
        for number, each in enumerate(applying(talk), 1)
    )


def ended(talk: Talk) -> bool:
    """Whether every question that applies was answered and none is in hand."""
    return not talk.at


def enough(talk: Talk) -> bool:
    """Whether a first Plan would say something."""
    given = dict(talk.answers)
    asked = {each.key for each in applying(talk)}
    return all(key in given for key in ENOUGH if key in asked)


def start_of(talk: Talk) -> Start:
    """What the answers come to; what was not asked yet counts as not known."""
    made: dict[str, Any] = {"kinds": talk.kinds}
    of_kinds = {key: dict(kind.answers).get(key) for kind in talk.kinds for key in ANSWERS[kind.family]}
    for each in QUESTIONS:
        text = of_kinds.get(each.key, talk.answer(each.key)) or each.stands_in or None
        if text == "*":
            text = "nec-2023" if talk.units == "us" else "iec-60364"
        made[each.key] = int(text.split()[0]) if text is not None and each.key in _WHOLE else text
    if of_kinds.get("pairs", talk.answer("pairs")) is None:
        made["pairs"] = None
    return Start(**made)
