"""The network that feeds a short: resistances and voltages at one end of what is possible, modules to come included.

Gives: HOT_CONDUCTOR_DEGC, ShortNetwork, short_network(), cells_degc(), conductors_degc(), question_of().
"highest": ohmic resistance at its low end and the hottest cells, cold conductors,
charging voltage, chargers at their limit, and the planned extension. "lowest": resistance at the surge's duration (30 s
value where that is not given) at its high end and the coldest cells, hot conductors, 3.0 V a cell, no extension.
Extension: modules to come are copies of the last one, with copies of its leads when it sits on a bar, else right at its
posts; that is nearer than any place they can get, so the current is not too low.
Sources: I = Voc / (R_module/N + R_feeder) [stated law]; ends of the range after IEC 60364-4-43 practice [derived].
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from bankwright.bank.model import Bank, Module
from bankwright.circuit.cases import emf_of
from bankwright.circuit.network import Array, Edge, Element, Network
from bankwright.circuit.of_bank.cell_part import Question
from bankwright.circuit.of_bank.network import network_of
from bankwright.forms.finding import by_name
from bankwright.physics.conductor import temperature_factor

__all__ = [
    "EXTENSION",
    "HOT_CONDUCTOR_DEGC",
    "End",
    "ShortNetwork",
    "cells_degc",
    "conductors_degc",
    "question_of",
    "short_network",
]

End = Literal["highest", "lowest"]
EXTENSION = "extension"  # first word of the names of modules to come
HOT_CONDUCTOR_DEGC = 90.0  # where the insulation's rating is not given


@dataclass(frozen=True, eq=False, slots=True)
class ShortNetwork:
    """Edges without loads, with resistance and emf of each; `injected` are charger currents between two nodes."""

    network: Network
    resistance: Array  # (edges,)
    emf: Array  # (edges,)
    injected: tuple[tuple[str, str, float], ...]  # plus node, minus node, amperes


def short_network(bank: Bank, end: End) -> ShortNetwork:
    """Build the feeding network of one end of the range."""
    high = end == "highest"
    base = network_of(bank, question_of(bank, end), cells_degc(bank, end), fine=True)
    edges = [edge for edge in base.edges if edge.kind != "load"]
    if high:
        edges += _extension(bank, edges)
    network = Network.of(edges)
    elements = network.resistances("low" if high else "high") * _conductor_factor(bank, network, end)
    resistance = network.edge_resistances(elements)
    last = len(bank.modules) - 1
    each = emf_of(bank, "full" if high else "empty")
    emf = np.zeros(len(network.edges))
    emf[list(network.modules)] = [each[min(place, last)] for place in range(len(network.modules))]
    chargers = [(*c.posts, c.kind.current or 0.0) for c in bank.chargers] if high else []
    return ShortNetwork(network, resistance, emf, tuple(chargers))


def question_of(bank: Bank, end: End) -> Question:
    """Which resistance of the modules feeds a short at this end."""
    if end == "highest":
        return "ohmic"
    return "surge" if all(module.kind.resistance.surge is not None for module in bank.modules) else "dc"


def cells_degc(bank: Bank, end: End) -> float | None:
    """Temperature of the cells at this end; None: not given, 25 degC. [degC]"""
    site = bank.site
    if end == "lowest":
        return site.ambient_low_degc
    return None if site.ambient_high_degc is None else site.ambient_high_degc + (site.rack_rise or 0.0)


def conductors_degc(bank: Bank, network: Network, end: End) -> Array:
    """Temperature of every conductor (elements,): the coldest air, or the rating of its insulation. [degC]"""
    cold = 20.0 if bank.site.ambient_low_degc is None else bank.site.ambient_low_degc
    hot = {link.name: link.cable.insulation_degc or HOT_CONDUCTOR_DEGC for link in bank.links if link.cable is not None}
    metal = [
        cold if end == "highest" else hot.get(element.name.split("/")[0], HOT_CONDUCTOR_DEGC)
        for element in network.elements
    ]
    return np.array(metal)


def _conductor_factor(bank: Bank, network: Network, end: End) -> Array:
    """Resistance of conductors over that at 20 degC."""
    alpha = np.array([element.alpha for element in network.elements])
    return np.asarray(temperature_factor(conductors_degc(bank, network, end), alpha))


def _extension(bank: Bank, edges: list[Edge]) -> Iterator[Edge]:
    last = _last(bank)
    template = next(edge for edge in edges if edge.name == last.name)
    for number in range(1, bank.site.extension + 1):
        name = f"{EXTENSION} {number}"
        ends = {"+": template.head, "-": template.tail}
        for link in bank.links:
            if link.role != "lead" or not {link.a, link.b} & set(last.posts):
                continue
            far = link.b if link.a in last.posts else link.a
            parts = [e for edge in edges if _belongs(edge, link.name, link.devices) for e in edge.elements]
            copies = tuple(Element(f"{name} {e.name}", e.kind, e.resistance, e.alpha, e.origin) for e in parts)
            ends[link.pole] = f"{name}{link.pole}"
            yield Edge(f"{name} {link.name}", ends[link.pole], far, "passive", copies)
        own = template.elements[0]
        module = Element(name, "module", own.resistance, 0.0, own.origin, own.needs, own.how)
        yield Edge(name, ends["-"], ends["+"], "module", (module,))


def _last(bank: Bank) -> Module:
    """The module beside which those to come stand: the end of a chain; on bars the one whose name comes last.

    On bars the order of the file says nothing.
    """
    posts = {end for link in bank.links if link.role == "lead" for end in (link.a, link.b)}
    led = [module for module in bank.modules if posts & set(module.posts)]
    return max(led, key=lambda module: by_name(module.name)) if led else bank.modules[-1]


def _belongs(edge: Edge, link: str, devices: tuple[str, ...]) -> bool:
    return edge.name in (link, *devices) or edge.name.startswith(f"{link}|")
