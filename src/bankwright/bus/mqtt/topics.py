"""Topics with numbers in them: the filter that is subscribed to, and what a topic that comes says.

Gives: Topic, topic_of(), topic_fault(). `shed/{module}/cell/{n}` is subscribed to as `shed/+/cell/+`.
Limits: + for a level, never #: a map names what it reads. Source: MQTT 3.1.1, 4.7 (topics and filters), from memory.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from bankwright.bus.map.placeholders import HOLDER, unknown_holders

__all__ = ["Topic", "topic_fault", "topic_of"]

MOST = 1024  # characters


@dataclass(frozen=True, slots=True)
class Topic:
    """One topic of the map."""

    written: str
    filter: str
    pattern: re.Pattern[str]

    def said(self, topic: str) -> tuple[str | None, int | None] | None:
        """Module and number that a topic says; None when it is another topic."""
        found = self.pattern.fullmatch(topic)
        if found is None:
            return None
        groups = found.groupdict()
        n = groups.get("n")
        return groups.get("module"), None if n is None else int(n)


def topic_fault(text: str) -> str:
    """What is wrong with a topic of a map; empty: nothing."""
    if unknown_holders(text):
        return f'found "{unknown_holders(text)[0]}"; {{module}}, {{n}}, or {{n:02}} for 01, 02'
    if len(text) > MOST or "\0" in text:
        return "too long, or with a character that no topic has"
    if "#" in text:
        return "found #; name each level: {module} for the module, + for one that does not matter"
    if any("+" in level and level != "+" for level in text.split("/")):
        return "found + inside a level; it stands for a whole one"
    holders = [found[1] for found in HOLDER.finditer(text)]
    return "" if len(set(holders)) == len(holders) else "the same {} twice"


def topic_of(text: str) -> Topic:
    """A topic that has no fault."""
    levels = text.split("/")
    wanted = "/".join("+" if HOLDER.search(level) or level == "+" else level for level in levels)
    return Topic(text, wanted, re.compile("/".join(_level(level) for level in levels)))


def _level(level: str) -> str:
    if level == "+":
        return "[^/]*"
    at, found = 0, ""
    for holder in HOLDER.finditer(level):
        found += re.escape(level[at : holder.start()])
        found += "(?P<n>[0-9]{1,6})" if holder[1] == "n" else "(?P<module>[^/]{1,200})"
        at = holder.end()
    return found + re.escape(level[at:])
