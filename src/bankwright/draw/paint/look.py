"""What is lettered on a drawing and what is marked: all that changes from stage to stage.

Gives: Look, cable(), balloon_at(), titled(), link_words(), pretty(), rating_words(), width_of().
Limits: no places; layout knows those.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from bankwright.bank.model import Device, Link
from bankwright.draw.arrange.layout import Layout
from bankwright.draw.arrange.sizes import cable_width
from bankwright.draw.paint.currents import amperes
from bankwright.draw.paint.places import Mark
from bankwright.draw.pen.svg import Markup, group
from bankwright.draw.pen.symbols import SIGN, balloon, planned, wire

__all__ = ["Look", "balloon_at", "cable", "has_current", "link_words", "pretty", "rating_words", "titled", "width_of"]


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
    in_case: bool = False  # a case is shown: contacts stand as they do in it
    opened: str = ""  # what that case takes out: a link, a device, a module

    def is_closed(self, name: str) -> bool:
        """True when a contact is drawn closed: in a case, unless the case opens it."""
        return self.in_case and name != self.opened

    def stands(self, item: Device) -> str:
        """What follows a rating: ", closed" or ", open" of a contact in a case."""
        if not self.in_case or item.kind.type not in ("breaker", "disconnect"):
            return ""
        return ", closed" if self.is_closed(item.name) else ", open"

    def is_made(self, name: str) -> bool:
        """True when a link or bar is drawn as made."""
        if name == self.opened and self.made is None:
            return False
        return self.made is None or name in self.made or name in self.marked


def has_current(look: Look, name: str) -> bool:
    """True when the drawing letters a current beside this cable."""
    return look.made is None and look.current(name) is not None


def pretty(name: str) -> str:
    """A name with the minus sign that is printed: `L1-` -> `L1−`."""
    return name.replace("-", SIGN["-"])


def link_words(link: Link) -> str:
    """The name of a link, and what it is where it is no cable: a strap, or a post straight on its bar."""
    return pretty(link.name) + ("" if link.is_cable else " bolted" if link.straight else " strap")


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
    return balloon(x, y, mark.label, mark.verdict, mark.title, href=f"#f{mark.number}" if look.linked else None)


def rating_words(device: Device) -> str:
    """The rating as printed beside a device."""
    return "rating not given" if device.kind.rating is None else amperes(device.kind.rating)
