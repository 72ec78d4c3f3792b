"""Which baseline each group is held against, where parts of the bank were begun anew.

Gives: Turn, turns_of(), held_by(), beside(), modules_anew(). A turn is an hour in which something became another thing:
groups whose elements were remade, modules that were replaced. What was remade is projected out of the readings, and so
is the voltage of a module that was replaced, for all groups that keep their baseline from before; they lose a little of
what they hear, and nothing of their history. Groups that were remade begin a baseline of their own after the turn.
Limits: a group that can hardly be heard beside what was remade begins anew with it. A new module's current is taken
with its own gain: an error of 2 % of one link's resistance at most.
Source: least squares with directions left free is least squares beside them [stated law].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from bankwright.circuit.network import frozen
from bankwright.watch.joints.hours import HOUR
from bankwright.watch.joints.wiring import Wiring, branch_name
from bankwright.watch.renewals import Renewal

__all__ = ["Flags", "Turn", "beside", "held_by", "modules_anew", "turns_of"]

HEARD = 0.1  # of its own strength that a group must keep beside what was remade; our choice
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Turn:
    """From `hour` (since 1970, the one it fell into) on: groups that were remade, modules that were replaced."""

    hour: int
    groups: Flags  # (group,)
    modules: Flags  # (module,)
    shared: bool  # a group that several modules' currents pass is among them


def turns_of(wiring: Wiring, renewals: Sequence[Renewal]) -> tuple[Turn, ...]:
    """In the order of time; what is not of this wiring is left out."""
    found = []
    for each in renewals:
        parts = each.parts | {branch_name(name) for name in each.parts}
        groups = np.array([not parts.isdisjoint(group.names) for group in wiring.groups], bool)
        modules = np.array([name == each.module for name in wiring.modules], bool)
        if groups.any() or modules.any():
            shared = any(len(g.modules) > 1 for g, hit in zip(wiring.groups, groups, strict=True) if hit)
            found.append(Turn(int(each.time // HOUR), groups, modules, shared))
    return tuple(found)


def beside(wiring: Wiring, turns: Sequence[Turn]) -> Wiring:
    """The same wiring, with what these turns remade projected out of the modules' voltages."""
    if not turns:
        return wiring
    count = len(wiring.modules)
    groups = np.any([turn.groups for turn in turns], axis=0)
    modules = np.any([turn.modules for turn in turns], axis=0)
    free = np.concatenate([wiring.patterns[groups] @ wiring.projection, np.eye(count)[modules] @ wiring.projection])
    basis, sizes, _ = np.linalg.svd(free.T, full_matrices=False)
    gone = basis[:, sizes > 1e-6]
    return replace(wiring, projection=frozen(wiring.projection - gone @ gone.T))


def held_by(wiring: Wiring, turns: Sequence[Turn]) -> npt.NDArray[np.int64]:
    """How many of these turns each group's baseline comes after, (group,): 0 is the bank's first baseline.

    The earliest is taken that is no older than the group itself and beside which it can still be heard.
    """
    full = wiring.strength()
    found = np.full(len(full), len(turns))
    own = np.zeros(len(full), np.int64)
    for number, turn in enumerate(turns, 1):
        own[turn.groups] = number
    for epoch in range(len(turns) - 1, -1, -1):
        left = beside(wiring, turns[epoch:]).strength()
        found[(own <= epoch) & (left >= HEARD * full)] = epoch
    return found


def modules_anew(wiring: Wiring, turns: Sequence[Turn]) -> npt.NDArray[np.int64]:
    """The same for what a module's share and voltage are held against, (module,)."""
    found = np.zeros(len(wiring.modules), np.int64)
    for number, turn in enumerate(turns, 1):
        touched = turn.modules.copy()
        for group, hit in zip(wiring.groups, turn.groups, strict=True):
            if hit:
                touched |= np.array([name in group.modules for name in wiring.modules])
        found[touched | turn.shared] = number
    return found
