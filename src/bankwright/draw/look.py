"""What is lettered on a drawing and what is marked: all that changes from stage to stage.

Gives: Look, cable(), balloon_at(), titled(), pretty(), rating_words(), width_of().
Limits: no places; layout knows those.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from bankwright.bank.model import Device
from bankwright.draw.currents import amperes
from bankwright.draw.layout import Layout
from bankwright.draw.places import Mark
from bankwright.draw.sizes import cable_width
from bankwright.draw.svg import Markup, group
from bankwright.draw.symbols import SIGN, balloon, planned, wire

__all__ = ["Look", "balloon_at", "cable", "has_current", "pretty", "rating_words", "titled", "width_of"]


@dataclass(frozen=True, slots=True)
class Look:
    """Currents, findings and marks of one drawing."""

    current: Callable[[str], float | None]
    most: float  # largest current of any cable, A; 0 when none is known
    marks: Mapping[str, Mark] = field(default_factory=dict)
    marked: frozenset[str] = frozenset()
    made: frozenset[str] | None = None  # links and bars that stand; None: all
    texts: Mapping[str, str] = field(default_factory=dict)  # what a module says instead of its current
    prefix: str = "w"
    linked: bool = False  # balloons lead to their finding on the page

    def is_made(self, name: str) -> bool:
        """True when a link or bar is drawn as made."""
        return self.made is None or name in self.made or name in self.marked


def has_current(look: Look, name: str) -> bool:
    """True when the drawing letters a current beside this cable."""
    return look.made is None and look.current(name) is not None


def pretty(name: str) -> str:
    """A name with the minus sign that is printed: `L1-` -> `L1−`."""
    return name.replace("-", SIGN["-"])


def titled(look: Look, name: str, words: str = "") -> str:
    """What the ear is told of a cable, device or bar: name, words, current."""
    parts = [f"{pretty(name)} {words}".strip()]
    current = look.current(name)
    if current is not None:
        parts.append(amperes(abs(current)))
    if look.made is not None:
        parts.append("made" if name in look.made else "to be made")
    return ": ".join([parts[0], ", ".join(parts[1:])]) if parts[1:] else parts[0]


def width_of(lay: Layout, look: Look, name: str) -> float:
    """Width of a cable by its current."""
    current = None if look.made is not None else look.current(name)
    return cable_width(current, look.most, lay.heights.pitch)


def cable(lay: Layout, look: Look, name: str, pole: str, path: str) -> Markup:
    """Draw one cable: by its current, or dashed while it is still to be made."""
    if look.is_made(name):
        body = wire(path, width_of(lay, look, name), pole, name in look.marked)
    else:
        body = planned(path, pole)
    return group(body, title=titled(look, name), cls="link", data_place=name)


def balloon_at(look: Look, place: str, x: float, y: float) -> Markup:
    """Draw the balloon of a place, if a finding stands there."""
    mark = look.marks.get(place)
    if mark is None:
        return Markup("")
    return balloon(x, y, mark.label, mark.verdict, mark.title, f"#f{mark.number}" if look.linked else None)


def rating_words(device: Device) -> str:
    """The rating as printed beside a device."""
    return "rating not given" if device.kind.rating is None else amperes(device.kind.rating)
