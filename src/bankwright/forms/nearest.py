"""What was probably meant by a word that is not known: one way to look, one way to say it.

Gives: nearest(), near_words(), did_you_mean(), UnknownName. Capitals, and the three ways to part words ("-", "_",
blank), do not matter.
Limits: by spelling alone; how near is near is the common default of such comparisons, our choice.
"""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

__all__ = ["UnknownName", "did_you_mean", "near_words", "nearest"]

NEAR = 0.5  # of 1: share of letters in common and in order; M1 and M9 are near, our choice


def _plain(word: str) -> str:
    return word.casefold().replace("-", "_").replace(" ", "_")


def near_words(word: str, known: Iterable[str], most: int = 3, near: float = NEAR) -> tuple[str, ...]:
    """List the known words that are spelt nearly like this one, the nearest first; at most so many."""
    listed = list(dict.fromkeys(known))
    same = [other for other in listed if other.casefold() == word.casefold()]
    if same:
        return tuple(same[:most])
    plain: dict[str, str] = {}
    for other in listed:
        plain.setdefault(_plain(other), other)
    return tuple(plain[found] for found in get_close_matches(_plain(word), plain, most, near))


def nearest(word: str, known: Iterable[str], near: float = NEAR) -> str | None:
    """Give the word that was probably meant; None when nothing is near."""
    found = near_words(word, known, 1, near)
    return found[0] if found else None


def did_you_mean(word: str, known: Iterable[str], otherwise: str = "", most: int = 1) -> str:
    """Ask for what is near, `Did you mean "M1" or "M2"?`; say `otherwise` when nothing is."""
    found = near_words(word, known, most)
    asked = " or ".join(f'"{other}"' for other in found)
    return f"Did you mean {asked}?" if found else otherwise


class UnknownName(KeyError):
    """A name that is not there: what was asked for, and what is spelt nearly like it."""

    def __init__(self, what: str, name: object, known: Iterable[str]) -> None:
        """Keep the name; `what` says what it should name: "module", "case"."""
        listed = list(known)
        some = f"There are {', '.join(listed[:4])}{' ...' if len(listed) > 4 else ''}" if listed else "There is none"
        self.name = name
        super().__init__(f"there is no {what} {name!r}. {did_you_mean(str(name), listed, some + '.', 3)}")

    def __str__(self) -> str:
        """The sentence, without the quotes that a KeyError puts around it."""
        return str(self.args[0])
