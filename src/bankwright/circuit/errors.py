"""What can be wrong with a network, by name.

    CircuitError
      IllPosed                  found on the graph before any solve; .names says where
        FloatingPart            posts that no edge ties to the rest of the bank
        BridgedModule           both posts of a module lie in one passive part
        LoadWithoutReturn       a load from which no way leads through a module and back
        RingWithoutResistance   a ring of zero ohms, whose current is undefined
      NotDeliverable            the loads ask more than the modules can give

Gives: the classes above. Limits: faults of the bank file are forms/faults; they come earlier. A value that was
never given is NeedsValue (forms/checks), which is no fault of the network.
"""

from __future__ import annotations

from collections.abc import Iterable

__all__ = [
    "BridgedModule",
    "CircuitError",
    "FloatingPart",
    "IllPosed",
    "LoadWithoutReturn",
    "NotDeliverable",
    "RingWithoutResistance",
]


class CircuitError(Exception):
    """Root of the tree."""


class IllPosed(CircuitError):
    """The network has no single answer; `names` are the posts, edges or loads to look at."""

    words = "{}"

    def __init__(self, names: Iterable[str]) -> None:
        """Keep the names, print them in the words of the class."""
        self.names = tuple(names)
        super().__init__(self.words.format(", ".join(self.names)))


class FloatingPart(IllPosed):
    """Posts without any tie to the rest."""

    words = "not connected to the rest of the bank: {}. Add the missing link, or remove the part."


class BridgedModule(IllPosed):
    """A module short-circuited by links; the names are the module and then the path."""

    words = "a module is short-circuited by its own links: {}. One of these links goes to the wrong pole."


class LoadWithoutReturn(IllPosed):
    """A load that no module can feed."""

    words = "no module can feed: {}. No way leads from one terminal through a module to the other terminal."


class RingWithoutResistance(IllPosed):
    """A ring of zero ohms."""

    words = "a ring without resistance: {}. Its current has no single value; give one of its parts a resistance."


class NotDeliverable(CircuitError):
    """The power asked for is more than the modules can give; `fraction` of all of it is the most they can."""

    def __init__(self, case: str, fraction: float) -> None:
        """Keep case and fraction."""
        self.case, self.fraction = case, fraction
        super().__init__(f"{case}: cannot be delivered; at most {fraction:.1%} of the power asked for")
