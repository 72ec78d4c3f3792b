"""Parts of an edge with where they sit: size and length of a stretch of cable, distance of a device along it.

Gives: parts_of(). Limits: a stretch of a cable says its own length, worked out from its ohms.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.model import Bank
from bankwright.circuit.network import Array, Element, Network
from bankwright.circuit.of_bank.cell_part import REFERENCE_DEGC, Question, module_resistance
from bankwright.plan.behind.rows import Part

__all__ = ["parts_of"]


def parts_of(
    bank: Bank, network: Network, edge: int, ohm: Array, degc: Array, *, question: Question
) -> tuple[Part, ...]:
    """Parts of an edge; `ohm` and `degc` of every element of the network as solved (elements,)."""
    return tuple(_parts(bank, network, edge, ohm, degc, question=question))


def _parts(bank: Bank, network: Network, edge: int, ohm: Array, degc: Array, *, question: Question) -> Iterator[Part]:
    for element in network.edges[edge].elements:
        place = network.element_index[element.name]
        value, warm = float(ohm[place]), float(degc[place])
        if element.kind == "module":
            yield _module(bank, element, value, warm, question)
            continue
        factor = 1.0 + element.alpha * (warm - 20.0)
        if not element.alpha:
            warm = 20.0
        yield Part(
            element.name, element.kind, value / factor, factor, value, warm, _note(bank, element, value / factor)
        )


def _module(bank: Bank, element: Element, value: float, warm: float, question: Question) -> Part:
    module = next((each for each in bank.modules if each.name == element.name), bank.modules[-1])
    cold = module_resistance(module, question, None)
    ends = () if cold is None else (cold.nominal, cold.low, cold.high)
    now = element.resistance
    base, factor = value, 1.0
    if now is not None and cold is not None and now.nominal:
        factor = now.nominal / cold.nominal
        base = min(ends, key=lambda end: abs(end * factor - value))
    said = {"dc": "some 30 s into a step", "surge": "at the surge's time", "ohmic": "ohmic"}[question]
    at = REFERENCE_DEGC if factor == 1.0 else warm
    return Part(
        element.name, "module", base, value / base if base else 1.0, value, at, f"resistance {said}, times f(T)"
    )


def _note(bank: Bank, element: Element, cold_ohm: float) -> str:
    said = ["a published range stands in, or it is left out"] if element.assumed else []
    link = next((each for each in bank.links if each.name == element.name.split("/")[0]), None)
    if element.kind == "conductor" and link is not None and link.resistance is not None:
        said.insert(0, "as measured")
    elif element.kind == "conductor" and link is not None and link.cable is not None:
        per = link.cable.ohm_per_m
        length = cold_ohm / per if per else 0.0
        said.insert(0, f"{link.cable.size}, {length:.5g} m of {per * 1e3:.5g} mohm a metre")
    device = next((each for each in bank.devices if each.name == element.name.split("@")[0]), None)
    if element.kind == "device" and device is not None:
        where = "place not given, taken at the start" if device.distance is None else f"{device.distance:.5g} m along"
        said.insert(0, f"{where} {element.name.partition('@')[2] or device.on}")
    return "; ".join(said)
