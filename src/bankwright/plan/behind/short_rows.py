"""The numbers behind a short: resistances at the end that was taken, the short itself as a wire without resistance.

Gives: shorts_named() (shorts that a case names, at every end), ShortFound, short_behind().
Limits: settled currents. "Its own resistance left out": what is available at a device's terminals.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from bankwright.circuit.of_bank.cell_part import REFERENCE_DEGC
from bankwright.circuit.of_bank.short_network import End, cells_degc, conductors_degc, question_of
from bankwright.circuit.shorts import Short, Shorts
from bankwright.plan.behind.parts import parts_of
from bankwright.plan.behind.rows import Behind, Draw, Row
from bankwright.plan.context import Plan

__all__ = ["ShortFound", "short_behind", "shorts_named"]

STILL = 1e-9  # of the largest current: rounding
_TAIL = re.compile(r", (?:all modules on|one module alone|(?P<module>.+) alone)$")


@dataclass(frozen=True, eq=False, slots=True)
class ShortFound:
    """One short with the network that feeds it; `left_out`: the device whose own resistance does not count."""

    shorts: Shorts
    short: Short
    left_out: str = ""
    inside: str = ""  # the module that is itself shorted: its place is the short


def shorts_named(plan: Plan, case: str, devices: tuple[str, ...]) -> Iterator[ShortFound]:
    """Every short that a case's name may stand for; none where it names no two places of this bank."""
    yield from _of_module(plan, case)
    tail = _TAIL.search(case)
    bare = case[: tail.start()] if tail else case
    ends: tuple[End, ...] = ("lowest",) if tail else ("highest", "lowest")
    for end in ends:
        for shorts in plan.faults.ends(end):
            for feeding in _fed(plan, shorts, tail):
                yield from _pair(feeding, bare)
                for device in devices if end == "highest" else ():
                    for found in _pair(_without(feeding, device), bare):
                        yield replace(found, left_out=device)


def _of_module(plan: Plan, case: str) -> Iterator[ShortFound]:
    """A short inside a module, fed by the others, or at its own posts, fed by itself alone."""
    for module in plan.bank.modules:
        for shorts in plan.faults.ends("highest"):
            if case == f"short inside {module.name}":
                yield ShortFound(shorts, shorts.inside(module.name), inside=module.name)
            if case == f"short at the posts of {module.name}":
                edge = shorts.feeding.network.edges[shorts.feeding.network.edge_index[module.name]]
                alone = shorts.alone(module.name)
                yield ShortFound(alone, alone.at(edge.head, edge.tail))


def _fed(plan: Plan, shorts: Shorts, tail: re.Match[str] | None) -> Iterator[Shorts]:
    if tail is None or tail[0] == ", all modules on":
        yield shorts
        return
    names = [module.name for module in plan.bank.modules]
    yield from (shorts.alone(name) for name in names if tail["module"] in (None, name))


def _pair(shorts: Shorts, bare: str) -> Iterator[ShortFound]:
    text = bare.removeprefix("short ").removeprefix("at ")
    for split in re.finditer(" to ", text):
        here, there = text[: split.start()], text[split.end() :]
        if {shorts.places.get(here), shorts.places.get(there)} == {"+", "-"}:
            yield ShortFound(shorts, shorts.at(here, there))


def _without(shorts: Shorts, device: str) -> Shorts:
    feeding = shorts.feeding
    resistance = feeding.resistance.copy()
    resistance[feeding.network.edge_index[device]] = 0.0
    return Shorts(shorts.bank, shorts.end, replace(feeding, resistance=resistance))


def short_behind(found: ShortFound, case: str) -> Behind:
    """Rows of all that carries current, chargers as draws, and the short itself."""
    bank, end, feeding = found.shorts.bank, found.shorts.end, found.shorts.feeding
    network, short = feeding.network, found.short
    given = cells_degc(bank, end)
    cells = REFERENCE_DEGC if given is None else given
    metal = conductors_degc(bank, network, end)
    degc = np.where([element.kind == "module" for element in network.elements], cells, metal)
    alpha = np.array([element.alpha for element in network.elements])
    ohm = network.resistances("low" if end == "highest" else "high") * (1.0 + alpha * (metal - 20.0))
    rows = []
    least = STILL * float(np.abs(short.edge_current).max())
    for place, edge in enumerate(network.edges):
        current = float(short.edge_current[place])
        if edge.kind == "passive" and abs(current) <= least:
            continue  # nothing flows there: it changes no sum
        if edge.name == found.inside:
            continue
        parts = parts_of(bank, network, place, ohm, degc, question=question_of(bank, end))
        if edge.name == found.left_out:
            parts = tuple(replace(part, ohm=0.0, factor=0.0, note="left out: does not count here") for part in parts)
        whole = sum(part.ohm for part in parts)
        rows.append(Row(edge.name, edge.kind, edge.tail, edge.head, float(feeding.emf[place]), whole, current, parts))
    draws = [
        Draw(f"charger at {a}", a, b, -amps, None, "its largest current") for a, b, amps in feeding.injected if amps
    ]
    plus, minus = _ends(found)
    draws.append(Draw("the short", plus, minus, short.current, 0.0, "no resistance"))
    words = "resistances at their low end, conductors cold" if end == "highest" else "at their high end, conductors hot"
    return Behind(case, words, cells, tuple(rows), tuple(draws))


def _ends(found: ShortFound) -> tuple[str, str]:
    """Plus and minus place of the short."""
    network = found.shorts.feeding.network
    if found.inside:
        edge = network.edges[network.edge_index[found.inside]]
        return edge.head, edge.tail
    here, there = found.short.place, found.short.opposite
    return (here, there) if found.shorts.places[here] == "+" else (there, here)
