"""Which lugs and terminals share one bolt.

Gives: Bolt, bolts(), bolt_of(), direct_seats(). A post is one bolt, a terminal of a device is one; a device that sits
straight on a post (no cable between) shares the post's bolt, two devices back to back share one.
Limits: how a holder is built is its maker's word; distances are those of the bank file.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from bankwright.bank.model import Bank, Joint, Link

__all__ = ["Bolt", "bolt_of", "bolts", "cable_lengths", "direct_seats"]


@dataclass(frozen=True, slots=True)
class Bolt:
    """One bolt: its place (a post, else the first joint) and the joints under its nut."""

    place: str
    joints: tuple[Joint, ...]

    @property
    def owner(self) -> Joint:
        """The joint whose post or terminal carries the stud."""
        return next((joint for joint in self.joints if joint.post is not None), self.joints[0])


def cable_lengths(bank: Bank, link: Link) -> tuple[float | None, ...]:
    """Lengths of the cables that make up a link, from `a` to `b`: one more than it has devices."""
    if not link.devices:
        return (link.length,)
    places = {device.name: device.distance for device in bank.devices_on(link.name)}
    marks = [places.get(name) for name in link.devices]
    ends: list[float | None] = [0.0, *marks, link.length]
    return tuple(None if a is None or b is None else max(b - a, 0.0) for a, b in itertools.pairwise(ends))


def direct_seats(bank: Bank, link: Link) -> tuple[tuple[Joint, Joint], ...]:
    """Pairs of joints of a link with no cable between them."""
    joints, lengths = bank.joints_of(link.name), cable_lengths(bank, link)
    if len(joints) != 2 * len(lengths):
        return ()
    return tuple((joints[2 * k], joints[2 * k + 1]) for k, length in enumerate(lengths) if length == 0.0)


def bolts(bank: Bank) -> tuple[Bolt, ...]:
    """All bolts, in the order of their first joints."""
    place = {joint.name: joint.post or joint.name for joint in bank.joints}
    for link in bank.links:
        for first, second in direct_seats(bank, link):
            keep, gone = place[first.name], place[second.name]
            if second.post is not None:
                keep, gone = gone, keep
            place = {name: keep if where == gone else where for name, where in place.items()}
    found: dict[str, list[Joint]] = {}
    for joint in bank.joints:
        found.setdefault(place[joint.name], []).append(joint)
    return tuple(Bolt(where, tuple(joints)) for where, joints in found.items())


def bolt_of(bank: Bank) -> dict[str, Bolt]:
    """Bolts by joint."""
    return {joint.name: bolt for bolt in bolts(bank) for joint in bolt.joints}
