"""Where millivolts are read: every joint, link and device, with the tips' places and what is of its kind.

Gives: Spot, spots(), needed_current(), settles(). The current that a meter needs for a resistance to a part of it is
counts / ((part - gain) R).
Limits: only places in a line that carries current; inner bars and bar segments where the file knows them.
Sources: post to lug's palm, then palm to barrel, not nut or bolt head [common practice, no source]; 5 counts + 0.5 %
[derived]; at least 20 A, because a film on a contact breaks down with current [trade page, read].
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from bankwright.bank.model import Bank, Joint, Link
from bankwright.prove.meters import Millivolts

__all__ = ["LEAST_CURRENT", "Spot", "needed_current", "settles", "spots"]

LEAST_CURRENT = 20.0  # A
GATE = 0.5  # a reading settles nothing when the counts alone exceed this part of what is due


@dataclass(frozen=True, slots=True)
class Spot:
    """One place to read: its link, where the two tips go, and the sort it is compared within."""

    name: str
    kind: Literal["joint", "link", "device"]
    link: str
    tips: str
    like: str  # places with one text here are alike


def spots(bank: Bank) -> tuple[Spot, ...]:
    """Every link, then its joints and devices, in the order of the bank."""
    return tuple(place for link in bank.links for place in _of_link(bank, link))


def _of_link(bank: Bank, link: Link) -> Iterator[Spot]:
    size = "" if link.cable is None else link.cable.size
    length = "" if link.length is None else f"{link.length:.3f}"
    like = f"link {link.group or link.role} {size} {length} {len(link.devices)}"
    yield Spot(link.name, "link", link.name, f"from {link.a} itself to {link.b} itself", like)
    for joint in bank.joints_of(link.name):
        yield Spot(joint.name, "joint", link.name, _tips(joint), _sort(bank, joint, size))
    for device in bank.devices_on(link.name):
        name = device.name if device.on == link.name else f"{device.name}@{link.name}"
        tips = f"terminal to terminal of {device.name}, on its own metal, not on nuts or lugs"
        yield Spot(name, "device", link.name, tips, f"device {device.kind.name}")


def _tips(joint: Joint) -> str:
    post = f"{joint.post} itself" if joint.post else f"the terminal of {joint.device} itself"
    return f"one on {post} (not the nut, not the bolt head), one on the palm of the lug"


def _sort(bank: Bank, joint: Joint, size: str) -> str:
    owner = joint.device and next(d.kind.name for d in bank.devices if d.name == joint.device)
    if owner is None:
        owner = next((post.owner_kind for post in bank.posts if post.name == joint.post), "")
    return f"joint {size} {joint.stud} {owner}"


def needed_current(ohms: float, part: float, meter: Millivolts) -> float:
    """Current that settles a resistance to a part of it with a meter's counts and gain; infinite when none does. [A]"""
    room = (part - meter.gain) * ohms
    return meter.digits * meter.step / room if room > 0.0 else float("inf")


def settles(volts: float, meter: Millivolts) -> bool:
    """Do the counts alone stay below half of the figure that is due?"""
    return meter.digits * meter.step <= GATE * abs(volts)
