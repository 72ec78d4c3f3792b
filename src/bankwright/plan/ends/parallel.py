"""Conductors in parallel as one set: cables of one pole between the same two posts, or bars of the same owners.

Gives: sets_of(), unlike() (in what they differ), too_small().
Limits: two posts of one bar, junction or module count as one end.
Sources: NEC 310.10(G): 1/0 AWG and larger, same length, material, size, insulation, and ends [from memory]; IEC
60364-4-43 433.4.1: alike, else each by its share [from memory].
"""

from __future__ import annotations

from bankwright.bank.model import Bank, Link
from bankwright.handbook.wires import wire

__all__ = ["LEAST_IN_PARALLEL", "SAME_LENGTH", "sets_of", "too_small", "unlike"]

LEAST_IN_PARALLEL = "1/0 AWG"
SAME_LENGTH = 0.02  # share by which lengths may differ and are still called the same; common practice, no source


def _ends(bank: Bank, link: Link) -> frozenset[str]:
    owners = {post.name: (post.owner, post.pole) for post in bank.posts}
    return frozenset("".join(owners.get(end, (end, ""))) for end in (link.a, link.b))


def sets_of(bank: Bank) -> tuple[tuple[Link, ...], ...]:
    """All sets of two and more."""
    found: dict[tuple[str, frozenset[str]], list[Link]] = {}
    for link in bank.links:
        found.setdefault((link.pole, _ends(bank, link)), []).append(link)
    return tuple(tuple(row) for row in found.values() if len(row) > 1)


def unlike(members: tuple[Link, ...]) -> tuple[str, ...]:
    """In what the cables of a set differ."""
    found = []
    cables = [each.cable for each in members if each.cable is not None]
    if len({cable.size for cable in cables}) > 1:
        found.append("size")
    if len({cable.insulation_degc for cable in cables}) > 1:
        found.append("insulation")
    if len({cable.strands for cable in cables}) > 1:
        found.append("strands")
    lengths = [each.length for each in members if each.length is not None]
    if lengths and max(lengths) > min(lengths) * (1 + SAME_LENGTH):
        found.append("length")
    if len({frozenset(lug.name if lug else "" for lug in (m.lug_a, m.lug_b)) for m in members}) > 1:
        found.append("ends")
    return tuple(found)


def too_small(members: tuple[Link, ...]) -> tuple[str, ...]:
    """Sizes of a set under the least that the NEC book lets one put in parallel."""
    least = wire(LEAST_IN_PARALLEL).area
    sizes = dict.fromkeys(each.cable.size for each in members if each.cable is not None and each.is_cable)
    return tuple(size for size in sizes if wire(size).area < least * (1 - 1e-9))
