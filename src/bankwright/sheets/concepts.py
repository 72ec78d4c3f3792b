"""Which ideas of a data sheet stand in a text, in any language here: charge, current, protection, typical ...

Gives: ideas(), negated(), direction(), phrase(), plain().
Takes: text as printed; the words are in concepts.toml, vocabulary.toml and phrases.toml.
Limits: words, no grammar: "not" counts for the clause it stands in.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from functools import cache
from pathlib import Path

__all__ = ["direction", "ideas", "negated", "phrase", "plain"]


@cache
def _table() -> tuple[dict[str, re.Pattern[str]], dict[str, re.Pattern[str]], re.Pattern[str]]:
    data = tomllib.loads((Path(__file__).parent / "concepts.toml").read_text(encoding="utf-8"))
    return (
        {name: re.compile(pattern) for name, pattern in data["before"].items()},
        {name: re.compile(pattern) for name, pattern in _words(data["words"]).items()},
        re.compile(data["not"]["words"]),
    )


def _words(words: dict[str, str]) -> dict[str, str]:
    """The patterns of concepts.toml, each widened by the stems of vocabulary.toml."""
    more = tomllib.loads((Path(__file__).parent / "vocabulary.toml").read_text(encoding="utf-8"))
    made = dict(words)
    for name, languages in more.items():
        stems = dict.fromkeys(_stem(stem) for stems in languages.values() for stem in stems)
        made[name] = "|".join(filter(None, (made.get(name, ""), *stems)))
    return made


def _stem(text: str) -> str:
    """A stem as a pattern: it begins a word unless "~" stands before it, and ends one where "|" stands behind it."""
    within, ends = text.startswith("~"), text.endswith("|")
    bare = plain(text.strip("~|")).replace(" ", "[ '’-]")
    return ("" if within else r"\b") + bare + (r"\b" if ends else "")


@cache
def phrase(name: str) -> re.Pattern[str]:
    """A whole phrase as a pattern over printed text (phrases.toml); KeyError for a name that is not there."""
    table = tomllib.loads((Path(__file__).parent / "phrases.toml").read_text(encoding="utf-8"))
    whole = table[name].replace("{count}", table["count"]).replace("{cells}", table["cells"])
    return re.compile(whole, re.IGNORECASE)


@cache
def plain(text: str) -> str:
    """Small letters without accents, one kind of blank and dash."""
    text = re.sub("[Mm]aß(?=e|\\b)", "abmess", text)  # dimensions; without its letter it would be a mass
    text = text.lower().replace("ß", "ss").replace("ø", "o").replace("ł", "l").replace("æ", "ae")
    bare = unicodedata.normalize("NFKD", text.lower())
    bare = "".join(c for c in bare if not unicodedata.combining(c))
    return re.sub(r"\s+", " ", re.sub("[‐‑‒–—]", "-", bare)).strip()


@cache
def ideas(text: str) -> frozenset[str]:
    """Names of every idea that a text holds."""
    before, words, _ = _table()
    bare, found = plain(text), set()
    for name, pattern in before.items():
        if pattern.search(bare):
            found.add(name)
            bare = pattern.sub(" ", bare)
    return frozenset(found | {name for name, pattern in words.items() if pattern.search(bare)})


@cache
def negated(text: str) -> bool:
    """Whether a clause says no."""
    return bool(_table()[2].search(plain(text)))


def direction(text: str) -> str:
    """Charge or discharge, where a text says one of them by a word or by what it is about; else empty."""
    found = ideas(text)
    charge, discharge = "charge" in found, "discharge" in found
    if charge != discharge:
        return "charge" if charge else "discharge"
    if charge and discharge:
        return ""
    if "overvoltage" in found and "undervoltage" not in found:
        return "charge"
    if "undervoltage" in found and "overvoltage" not in found:
        return "discharge"
    return ""
