"""Words of the trade as they are used here: one list, for the terminal and for a tap on the page.

Gives: Word, words(), meaning(), near(), WORDS_IN (what finds them in a sentence).
Limits: explains a word, not a check; that is `plan --explain`.
Sources: the trade's own words; texts are ours.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from bankwright.forms.nearest import did_you_mean

__all__ = ["Word", "found_in", "meaning", "near", "words"]


@dataclass(frozen=True, slots=True)
class Word:
    """A word, its other spellings, what it means, and its neighbours."""

    word: str
    text: str
    also: tuple[str, ...] = ()
    see: tuple[str, ...] = ()

    @property
    def anchor(self) -> str:
        """Its id on the page of words."""
        return "w-" + re.sub(r"[^a-z0-9]+", "-", self.word.lower()).strip("-")


@cache
def words() -> tuple[Word, ...]:
    """Every word, in the order of the alphabet."""
    rows = tomllib.loads(files("bankwright.bank.texts").joinpath("words.toml").read_text("utf-8"))
    made = (Word(w, r["text"], tuple(r.get("also", ())), tuple(r.get("see", ()))) for w, r in rows.items())
    return tuple(sorted(made, key=lambda each: each.word.lower()))


def _plain(text: str) -> str:
    return re.sub(r"[^a-z0-9+]+", " ", text.lower()).strip()


@cache
def _by_spelling() -> dict[str, Word]:
    made: dict[str, Word] = {}
    for each in words():
        for spelling in (each.word, *each.also):
            for form in (spelling, f"{spelling}s"):
                made.setdefault(_plain(form), each)
    return made


def meaning(said: str) -> Word | None:
    """The word that is meant, in capitals or not, one or several; None where it is not in the list."""
    return _by_spelling().get(_plain(said))


def near(said: str) -> str:
    """Ask for what was perhaps meant."""
    return did_you_mean(said, [each.word for each in words()], "bankwright what lists the words.")


@cache
def _pattern() -> re.Pattern[str]:
    spellings = sorted({s for each in words() for s in (each.word, *each.also) if len(s) > 3}, key=len, reverse=True)
    return re.compile(r"(?<![\w-])(" + "|".join(map(re.escape, spellings)) + r")s?(?![\w-])", re.IGNORECASE)


def found_in(text: str) -> tuple[Word, ...]:
    """The words of the list that stand in a sentence, each once."""
    found = (meaning(match[1]) for match in _pattern().finditer(text))
    return tuple(dict.fromkeys(word for word in found if word is not None))
