"""What the drawing reads from a solved network, and how amperes are written.

Gives: Currents (the little that is asked of a solution), reading(), case_name(), opened_in(), amperes(), watts().
A solution is anything with `current(name)`, or a mapping from names to amperes; a missing name is "not known".
Limits: one case, one variant; nothing is solved here.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any, Protocol

from bankwright.circuit.cases import parted_change

__all__ = ["Currents", "amperes", "case_name", "opened_in", "reading", "watts"]


class Currents(Protocol):
    """A solved case: the current of a link or a module by its name. [A]"""

    def current(self, name: str) -> Any:
        """Current of a link or a module; KeyError for a name that it does not hold."""
        ...


def reading(solution: Currents | Mapping[str, float] | None) -> Callable[[str], float | None]:
    """Return a function from a name to its current, None where it is not known."""

    def read(name: str) -> float | None:
        if solution is None:
            return None
        try:
            value = solution[name] if isinstance(solution, Mapping) else solution.current(name)
            found = float(value)
        except KeyError:
            return None
        return found if math.isfinite(found) else None

    return read


def case_name(solution: object) -> str | None:
    """Name of the case that was solved, if it says so; plain names to amperes have none."""
    case = getattr(solution, "case", None)
    return None if case is None else str(case.name)


def amperes(value: float) -> str:
    """Write a current as on the drawing: whole amperes from 10 A up, one decimal below."""
    if abs(value) >= 9.95:
        return f"{round(value):d} A".replace("-", "−")
    return "0 A" if abs(value) < 0.05 else f"{value:.1f} A".replace("-", "−")


def watts(value: float) -> str:
    """Write a power as on a plate: `8 kW`, `500 W`."""
    return f"{value / 1000:.3g} kW" if abs(value) >= 1000 else f"{value:.3g} W"


def opened_in(case: str | None) -> str:
    """What a case takes out of the circuit: "L2+" of "full discharge, L2+ open"; "" where it takes out nothing."""
    change = (case or "").partition(", ")[2]
    try:
        return parted_change(change)[0] if change else ""
    except KeyError:
        return ""
