"""Banks to be drawn, written as TOML and read, and currents for them. All values are invented.

Gives: Plan, drawn_bank(), invented_currents(). One builder for every arrangement that a drawing has to bear.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from typing import Any

import numpy as np

from bankwright.bank.model import Bank
from support.banks import bank_of, only, written

__all__ = ["Plan", "drawn_bank", "invented_currents"]

MODULE = only("cells", "discharge.continuous", "charge.continuous", "mass", "height")
DEVICES = {"fuse": ("F", "400 A"), "breaker": ("Q", "250 A"), "disconnect": ("S", "500 A"), "shunt": ("X", "500 A")}


@dataclass(frozen=True)
class Plan:
    """What to build; the defaults are a chain of five with one inverter."""

    modules: int = 5
    pattern: str = "chain"  # chain | busbar | listed
    feed: str = "same end"
    pairs: int = 2  # posts a pole of a module
    inverters: int = 1
    chargers: int = 0
    loads: int = 0
    meet: bool | None = None  # cables meet at J+ and J-; None: when several things are fed
    on_mains: tuple[str, ...] = ("fuse", "disconnect")  # on the positive; a shunt on the negative
    on_branches: tuple[str, ...] = ()
    on_leads: tuple[str, ...] = ()  # of busbars, or in the links of a chain
    racks: tuple[int, ...] = ()  # modules a rack; empty: no rack is named
    extra: tuple[tuple[str, str, str], ...] = field(default=())  # listed links: name, post, post


def _names(letter: str, count: int) -> list[str]:
    return [f"{letter}{n}" for n in range(1, count + 1)]


def _fed(plan: Plan) -> list[str]:
    return _names("I", plan.inverters) + _names("C", plan.chargers) + _names("D", plan.loads)


def _meet(plan: Plan) -> bool:
    return len(_fed(plan)) > 1 if plan.meet is None else plan.meet


def _modules(plan: Plan) -> list[dict[str, Any]]:
    """Rows of the modules, rack after rack, each rack filled from slot 1."""
    if not plan.racks:
        return [{"name": f"M{n}", "kind": "M100", "slot": n} for n in range(1, plan.modules + 1)]
    places = [(f"R{rack}", slot) for rack, size in enumerate(plan.racks, 1) for slot in range(1, size + 1)]
    return [
        {"name": f"M{n}", "kind": "M100", "slot": slot, "rack": rack}
        for n, (rack, slot) in enumerate(places[: plan.modules], 1)
    ]


def _mains(plan: Plan) -> list[str]:
    """Cables from the bank: the mains, or where nothing meets the lead of each thing that is fed."""
    if not _meet(plan) and len(_fed(plan)) > 1:
        return [f"{name}{{pole}}lead" for name in _fed(plan)]
    return ["main{pole}", "main{pole}b"] if plan.feed == "both ends" and plan.pattern == "chain" else ["main{pole}"]


def _carried(plan: Plan) -> Iterator[tuple[str, str]]:
    """Sort of a device and the cable it sits in, in the order of their names."""
    for k in range(1, plan.modules + (plan.pattern == "busbar")):
        yield from ((sort, f"L{k}+") for sort in plan.on_leads)
    for main in _mains(plan):
        yield from ((sort, main.format(pole="+")) for sort in plan.on_mains)
    for name in _fed(plan) if _meet(plan) else ():
        yield from ((sort, f"{name}+lead") for sort in plan.on_branches)
    if plan.on_mains:
        yield from (("shunt", main.format(pole="-")) for main in _mains(plan))


def _devices(plan: Plan) -> list[dict[str, Any]]:
    counts: dict[str, int] = {}
    rows = []
    for sort, cable in _carried(plan):
        counts[sort] = counts.get(sort, 0) + 1
        rows.append({"name": f"{DEVICES[sort][0]}{counts[sort]}", "kind": sort, "on": cable})
    return rows


def _wiring(plan: Plan) -> dict[str, Any]:
    """A pattern with its cables of no known size; listed links end at the inverter themselves."""
    cable = {"length": "1 m"}
    made: dict[str, Any] = {"pattern": plan.pattern, "link": cable if plan.pattern != "listed" else None}
    if plan.pattern != "listed":
        made["feed"] = plan.feed
        made["main"] = cable if _fed(plan) and (_meet(plan) or len(_fed(plan)) == 1) else None
    return made


def _listed(plan: Plan) -> list[dict[str, Any]]:
    if plan.pattern != "listed":
        return []
    rows = [{"name": name, "from": a, "to": b, "length": "1 m"} for name, a, b in plan.extra]
    return rows + [{"name": f"main{p}", "from": f"M1{p}", "to": f"I1{p}", "length": "1 m"} for p in "+-"]


@cache
def drawn_bank(plan: Plan) -> Bank:
    """The bank of a plan, as the reader makes it."""
    lead = None if len(_fed(plan)) == 1 else {"length": "1 m"}
    tables: dict[str, Any] = {
        "format": 1,
        "title": "drawn, invented",
        "kinds.module.M100": {**MODULE, "posts": {"pairs": plan.pairs}},
        "kinds.inverter.inv-8k": {"power": "8 kW"},
        "kinds.charger.chg-60": {"current": "60 A"},
        "kinds.rack.frame": {"units": 20} if plan.racks else None,
        **{f"kinds.device.{sort}": {"type": sort, "rating": rating} for sort, (_, rating) in DEVICES.items()},
        "racks": [{"name": name, "kind": "frame"} for name in _names("R", len(plan.racks))] or None,
        "modules": _modules(plan),
        "wiring": _wiring(plan),
        "bars": [{"name": f"bar{p}", "pole": p} for p in "+-"] if plan.pattern == "busbar" else None,
        "links": _listed(plan) or None,
        "devices": _devices(plan) or None,
        "inverters": [{"name": n, "kind": "inv-8k", "lead": lead} for n in _names("I", plan.inverters)] or None,
        "chargers": [{"name": n, "kind": "chg-60", "lead": lead} for n in _names("C", plan.chargers)] or None,
        "loads": [{"name": n, "power": "500 W", "lead": lead} for n in _names("D", plan.loads)] or None,
    }
    return bank_of(written(tables))


def invented_currents(bank: Bank, amps_each: float = 140.0) -> dict[str, float]:
    """Currents of links and modules with equal resistances everywhere: enough to letter a drawing, proof of nothing."""
    nodes: dict[str, int] = {}
    edges: list[tuple[str, str, float, str]] = [(link.a, link.b, 0.45e-3, link.name) for link in bank.links]
    for module in bank.modules:
        plus = [p for p in module.posts if "+" in p]
        minus = [p for p in module.posts if "-" in p]
        edges += [(a, b, 4e-5, "") for a, b in ((plus[0], plus[-1]), (minus[0], minus[-1])) if a != b]
        edges.append((plus[0], minus[0], 0.010, module.name))
    for bar in bank.bars:
        edges += [(a, b, 5e-6, "") for a, b in zip(bar.posts, bar.posts[1:], strict=False)]
    for a, b, _, _ in edges:
        nodes.setdefault(a, len(nodes))
        nodes.setdefault(b, len(nodes))
    matrix, source = np.zeros((len(nodes), len(nodes))), np.zeros(len(nodes))
    for a, b, ohm, _ in edges:
        i, j = nodes[a], nodes[b]
        matrix[i, i] += 1 / ohm
        matrix[j, j] += 1 / ohm
        matrix[i, j] -= 1 / ohm
        matrix[j, i] -= 1 / ohm
    modules = {module.name for module in bank.modules}
    for a, b, ohm, name in edges:
        if name in modules:
            source[nodes[a]] += 52.0 / ohm
            source[nodes[b]] -= 52.0 / ohm
    for out, back in (*(i.posts for i in bank.inverters), *(load.posts for load in bank.loads)):
        source[nodes[out]] -= amps_each
        source[nodes[back]] += amps_each
    volts = np.linalg.lstsq(matrix, source, rcond=None)[0]
    flow = {}
    for a, b, ohm, name in edges:
        if name:
            drop = float(volts[nodes[a]] - volts[nodes[b]])
            flow[name] = (52.0 - drop) / ohm if name in modules else drop / ohm
    return flow
