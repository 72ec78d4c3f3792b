"""The door of the faces: the conversation that makes the first file.

Gives: the names in __all__, from the rooms below; nothing is computed here.
"""

from __future__ import annotations

from bankwright.bank.talk.hearing import Heard
from bankwright.bank.talk.kept import forget, keep, kept
from bankwright.bank.talk.questions import QUESTIONS, Question, question
from bankwright.bank.talk.talk import (
    Offer,
    Talk,
    applying,
    back,
    ended,
    enough,
    go_to,
    known,
    not_known,
    offering,
    said,
    start_of,
    using,
)
from bankwright.bank.texts.shelf import ANSWERS, Shelved, shelf_of

__all__ = [
    "ANSWERS",
    "QUESTIONS",
    "Heard",
    "Offer",
    "Question",
    "Shelved",
    "Talk",
    "applying",
    "back",
    "ended",
    "enough",
    "forget",
    "go_to",
    "keep",
    "kept",
    "known",
    "not_known",
    "offering",
    "question",
    "said",
    "shelf_of",
    "start_of",
    "using",
]
