"""The same place on the other pole: where a short from pole to pole lies.

Gives: Twins, twins_of(): link() the cable of the other pole that goes the same way, place() the place on it at the same
share of its length.
Limits: cables are matched by their names (`main+`, `main-`), else by what they join; a bar's stud goes with the cable
that lands on it; a place without such a cable has no twin.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from bankwright.bank.model import Bank, Link
from bankwright.plan.zones.wiring import Wiring

__all__ = ["Twins", "twins_of"]


def _swapped(name: str) -> str:
    return name.replace("+", "\0").replace("-", "+").replace("\0", "-")


@dataclass(frozen=True, eq=False)
class Twins:
    """Twin cables and places of a bank."""

    wiring: Wiring

    @property
    def bank(self) -> Bank:
        """The bank."""
        return self.wiring.bank

    @cached_property
    def links(self) -> dict[str, str]:
        """Cable -> cable of the other pole."""
        found: dict[str, str] = {}
        names = {link.name for link in self.bank.links}
        for link in self.bank.links:
            other = _swapped(link.name)
            if other in names and other != link.name:
                found[link.name] = other
                continue
            like = self._like(link)
            if like is not None:
                found[link.name] = like
        return found

    def _like(self, link: Link) -> str | None:
        """The cable of the other pole that joins most of the same things."""
        own = self._owners(link)
        best, most = None, 0
        for other in self.bank.links:
            shared = len(own & self._owners(other)) if other.pole != link.pole and other.role == link.role else 0
            if shared > most:
                best, most = other.name, shared
        return best

    def _owners(self, link: Link) -> set[str]:
        owners = {post.name: post.owner for post in self.bank.posts}
        return {owners.get(end, end).rstrip("+-") for end in (link.a, link.b)}

    @cached_property
    def places(self) -> dict[str, str]:
        """Place -> place of the other pole."""
        found: dict[str, str] = {}
        for name, other in self.links.items():
            theirs = self._shares(other, self.bank.link(name))
            for place, share in self._shares(name, None):
                found.setdefault(place, min(theirs, key=lambda each: abs(each[1] - share))[0])
        for post in self.wiring.sources:
            found.setdefault(post, _swapped(post))
        return found

    def _shares(self, name: str, like: Link | None) -> list[tuple[str, float]]:
        """Places of a cable with their share of its way; turned round where the twin runs the other way."""
        row = self.wiring.of_link[name]
        whole = sum(stretch.length or 0.0 for stretch in row)
        at, found = 0.0, [(row[0].tail, 0.0)]
        for number, stretch in enumerate(row, 1):
            at += stretch.length or 0.0
            found.append((stretch.head, at / whole if whole else number / len(row)))
        if like is not None and self._turned(self.bank.link(name), like):
            found = [(place, 1.0 - share) for place, share in found]
        return found

    def _turned(self, link: Link, like: Link) -> bool:
        owners = {post.name: post.owner.rstrip("+-") for post in self.bank.posts}
        first = owners.get(link.a) == owners.get(like.b) or owners.get(link.b) == owners.get(like.a)
        same = owners.get(link.a) == owners.get(like.a) or owners.get(link.b) == owners.get(like.b)
        return first and not same


def twins_of(wiring: Wiring) -> Twins:
    """Match the two poles of a bank."""
    return Twins(wiring)
