"""State of all switches of a run: which modules are closed, which way they let current pass, what is being timed.

Gives: Switches, start(). A state never changes: each change gives a new one.
Limits: no time and no limits here (circuit/run/bounds, circuit/run/switchboard).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

__all__ = ["Switches", "start"]

Place = tuple[int, ...]  # variant, where there are any, and module


@dataclass(frozen=True, eq=False)
class Switches:
    """Axes: variant where there are any, module."""

    closed: np.ndarray
    may_charge: np.ndarray
    may_discharge: np.ndarray
    on: np.ndarray  # conducting now: closed, and no valve that holds back
    timing: np.ndarray  # 1 over-current out, -1 in, 0 none
    stopped: np.ndarray  # (variant,) at the end of a curve or table

    @property
    def valve(self) -> np.ndarray:
        """Modules that pass current one way only."""
        return np.asarray(self.closed & (self.may_charge ^ self.may_discharge))

    @property
    def free(self) -> np.ndarray:
        """Modules that pass current both ways."""
        return np.asarray(self.closed & self.may_charge & self.may_discharge)

    def opened(self, at: Place) -> Switches:
        """One module opens."""
        return replace(self, closed=_put(self.closed, at, False))

    def reclosed(self, at: Place) -> Switches:
        """One module closes again, both ways free."""
        closed, in_, out = (_put(each, at, True) for each in (self.closed, self.may_charge, self.may_discharge))
        return replace(self, closed=closed, may_charge=in_, may_discharge=out)

    def blocked(self, at: Place, side: str) -> Switches:
        """One module passes no more "charge" or "discharge"; with neither left it opens."""
        key = "may_charge" if side == "charge" else "may_discharge"
        new = replace(self, **{key: _put(getattr(self, key), at, False)})
        return new if new.may_charge[at] or new.may_discharge[at] else new.opened(at)

    def timed(self, at: Place, side: int) -> Switches:
        """Over-current of one module is timed: 1 out, -1 in, 0 no more."""
        return replace(self, timing=_put(self.timing, at, side))

    def conducting(self, on: np.ndarray) -> Switches:
        """Exactly these modules conduct."""
        return replace(self, on=on)

    def ended(self, variant: Place) -> Switches:
        """A variant stops: all its modules open."""
        return replace(self, stopped=_put(self.stopped, variant, True), closed=_put(self.closed, variant, False))


def start(shape: tuple[int, ...]) -> Switches:
    """All closed, both ways free."""
    yes = np.ones(shape, dtype=bool)
    return Switches(yes, yes, yes, yes, np.zeros(shape, dtype=int), np.zeros(shape[:-1], dtype=bool))


def _put(values: np.ndarray, at: Place, value: int) -> np.ndarray:
    new = values.copy()
    new[at] = value
    return new
