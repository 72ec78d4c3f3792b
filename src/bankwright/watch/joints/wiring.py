"""The wiring as its telemetry sees it: groups of elements that no reading of the modules can tell apart.

Gives: Wiring, Group, wiring_of(), branch_name(). An element lies in the way of a pattern of module currents, g
(modules,): its current is g'i, and its growth by r changes the modules' voltages by r g (g'i) beside what all of them
share. Elements with one pattern are one thing here (a lead and its joints; in a chain also the link beside it); a
mirror is parted from its group by the sign alone, since resistance grows. What all modules share (mains, bus voltage,
several loads at several places) is projected out: P.
Limits: linear; rings are taken at their nominal resistances, wiring cold (20 degC). What no module's current passes
otherwise than all others' (mains) is in no group, and growth common to all branches is never seen.
Source: loop analysis [stated law: Kirchhoff]; the derivative of a reduced network by one of its resistances is the
outer product of that element's currents [derived: Tellegen's theorem].
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bankwright.bank.model import Bank
from bankwright.circuit.network import Array, Network, frozen
from bankwright.circuit.run.bank import bank_ports
from bankwright.circuit.run.ports import Ports

__all__ = ["Group", "Wiring", "branch_name", "wiring_of"]

SEEN = 1e-6  # of a pattern's length: less than this of it is left beside what all share
APART = 1e-6  # ohm by which a load's place must part the modules' voltages to be projected out


@dataclass(frozen=True, slots=True)
class Group:
    """Elements that are one thing to the modules' readings; growth of a `mirror` looks like its shrinking."""

    names: tuple[str, ...]
    mirror: tuple[str, ...]
    modules: tuple[str, ...]  # whose current passes it


@dataclass(frozen=True, eq=False)
class Wiring:
    """Patterns (groups, modules), the projection (modules, modules), nominal resistances in the loops."""

    modules: tuple[str, ...]
    groups: tuple[Group, ...]
    patterns: Array  # (groups, modules)
    projection: Array  # (modules, modules), symmetric
    nominal: Array  # (modules, modules) [ohm]
    left_out: str  # what of the wiring was not known, in words

    @property
    def rank(self) -> int:
        """Independent differences of voltages that are left."""
        return round(float(np.trace(self.projection)))

    def strength(self) -> Array:
        """Part of each pattern's own square that the projection leaves, (groups,)."""
        found = np.einsum("em,mn,en->e", self.patterns, self.projection, self.patterns)
        return frozen(found)


def branch_name(module: str) -> str:
    """The one element of a module's branch, where the wiring is not known."""
    return f"branch of {module}"


def wiring_of(bank: Bank) -> Wiring:
    """Groups of the bank's own wiring; where the wiring is not known, one group a module: its branch."""
    ports, network, left_out = bank_ports(bank)
    projection = _projection(ports)
    if network is None or ports.edge_of_module is None:
        patterns = np.eye(len(ports.names))
        groups = tuple(Group((branch_name(name),), (), (name,)) for name in ports.names)
    else:
        groups, patterns = _groups(network, np.asarray(ports.edge_of_module), projection, ports.names)
    return Wiring(ports.names, groups, frozen(patterns), frozen(projection), ports.passive, left_out)


def _projection(ports: Ports) -> Array:
    """Away from what the modules share: the bus, and every load that sits at a place of its own."""
    count = len(ports.names)
    shared = [row / np.linalg.norm(row) for row in np.asarray(ports.fed) if np.any(row)] or [np.ones(count)]
    for column in np.asarray(ports.across).T:
        level = column - column.mean()
        if np.abs(level).max(initial=0.0) > APART:
            shared.append(level / np.linalg.norm(level))
    basis, sizes, _ = np.linalg.svd(np.array(shared).T, full_matrices=False)
    kept = basis[:, sizes > 1e-9 * sizes[0]]
    return np.asarray(np.eye(count) - kept @ kept.T)


def _groups(
    network: Network, of_module: Array, projection: Array, names: tuple[str, ...]
) -> tuple[tuple[Group, ...], Array]:
    """Elements by their pattern, up to its sign; mirrors are looked for among the groups that were found."""
    rows: dict[tuple[float, ...], list[str]] = {}
    for element, edge in zip(network.elements, network.edge_of, strict=True):
        pattern = of_module[edge]
        if element.kind == "module" or np.linalg.norm(projection @ pattern) < SEEN:
            continue
        rows.setdefault(_key(pattern), []).append(element.name)
    patterns = np.array(list(rows)).reshape(-1, len(names))
    turned = patterns @ projection
    groups = []
    for place, found in enumerate(rows.values()):
        apart = np.abs(turned + turned[place]) - 1e-5 * np.abs(turned[place])
        like = np.flatnonzero((apart <= 1e-6).all(axis=1)).tolist()
        mirror = tuple(name for other in like for name in list(rows.values())[other])
        through = tuple(n for n, part in zip(names, patterns[place], strict=True) if abs(part) > 1e-3)
        groups.append(Group(tuple(found), mirror, through))
    return tuple(groups), patterns


def _key(pattern: Array) -> tuple[float, ...]:
    rounded = np.round(pattern, 6) + 0.0
    first = rounded[np.flatnonzero(rounded)[0]]
    return tuple((rounded * np.sign(first) + 0.0).tolist())
