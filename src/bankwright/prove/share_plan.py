"""The share test before it is made: what every module should carry at each load, and how it is read.

Gives: ShareDue, share_due(), HOW. Band: 99 % over the tolerances of the file, the meter's limits not in it.
Limits: figures for one age of the step; those of a reading's own age are computed when it is judged.
Sources: order, times and loads: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bankwright.bank.model import Bank
from bankwright.circuit.inverse.looks import current_look
from bankwright.forms.wording import Figure
from bankwright.physics.reading import stray_field
from bankwright.prove.expected import Conditions, expected

__all__ = ["HOW", "ShareDue", "share_due"]

HOW = (
    "Steady heaters as load; nothing with a thermostat or in bursts. Second person present; stop at smell, smoke or a "
    "hot terminal. One pole is probed, the other covered.",
    "Zero first, always: all loads and chargers off for 2 min, then every module's current. It is taken off.",
    "Clamp: zero it closed, in place, the same way round, 15 cm from the mains (200 A make "
    f"{1e6 * stray_field(200.0, 0.05):.0f} uT at 5 cm, the earth 50); turn it for a second pass.",
    "Load on, wait 30 s, read up the rack and down again within 2 min of the step; note the age of each reading. Load "
    "off for 2 min, then the next load; three rounds.",
    "One load with its zero tells what can be told; more loads take noise away, they add no number.",
    "Then the millivolts of every joint and link, whatever the shares say.",
)


@dataclass(frozen=True, slots=True)
class ShareDue:
    """A load, how long after its step, and what every module that is on should carry there. [A], [s], [A]"""

    load: float
    age: float
    modules: tuple[tuple[str, Figure], ...]


def share_due(bank: Bank, under: Sequence[Conditions]) -> tuple[ShareDue, ...]:
    """Figures due under some conditions; NeedsValue (forms/checks) for what the file lacks."""
    found = []
    for each in under:
        due = expected(bank, each)
        on = (module.name for module in bank.modules if module.name not in each.off)
        rows = tuple((name, due.figure(current_look(name, "as read"))) for name in on)
        found.append(ShareDue(each.total, each.age, rows))
    return tuple(found)
