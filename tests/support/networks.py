"""Hand-made networks of all shapes for tests of the solver. All values are invented.

Gives: ladder(), star(), scrambled() (rings, unequal modules, several loads), exact elements.
"""

from __future__ import annotations

import random

from bankwright.circuit.network import Edge, Element, Network
from bankwright.forms.toleranced import exact

__all__ = ["FEEDS", "conductor", "ladder", "load", "module", "scrambled", "star"]

FEEDS = ("same end", "opposite ends", "both ends")


def module(name: str, ohms: float) -> Edge:
    return Edge(name, f"{name}-", f"{name}+", "module", (Element(name, "module", exact(ohms)),))


def conductor(name: str, tail: str, head: str, ohms: float) -> Edge:
    return Edge(name, tail, head, "passive", (Element(name, "conductor", exact(ohms)),))


def load(name: str, plus: str, minus: str) -> Edge:
    return Edge(name, plus, minus, "load")


def ladder(count: int, feed: str, ohms: float | list[float], link: float, main: float = 0.0, loads: int = 1) -> Network:
    """Modules in a row, links between neighbours on both poles, mains at the feed."""
    each = ohms if isinstance(ohms, list) else [ohms] * count
    edges = [module(f"M{k + 1}", each[k]) for k in range(count)]
    for k in range(1, count):
        edges += [conductor(f"L{k}{pole}", f"M{k}{pole}", f"M{k + 1}{pole}", link) for pole in "+-"]
    last = f"M{count}"
    ends = {"same end": ("M1+", "M1-"), "opposite ends": (f"{last}+", "M1-"), "both ends": ("M1+", "M1-")}[feed]
    for n in range(1, loads + 1):
        plus, minus = f"I{n}+", f"I{n}-"
        edges += [conductor(f"main{n}+", ends[0], plus, main), conductor(f"main{n}-", minus, ends[1], main)]
        if feed == "both ends":
            edges += [conductor(f"far{n}+", f"{last}+", plus, main * 1.5 + 1e-5)]
            edges += [conductor(f"far{n}-", minus, f"{last}-", main * 1.5 + 1e-5)]
        edges.append(load(f"I{n}", plus, minus))
    return Network.of(edges)


def star(ohms: list[float], leads: list[float], segment: float, main: float, loads: int = 1) -> Network:
    """Every module with its own leads on a bar per pole, the mains at the bars' last studs."""
    edges = []
    for k, (r, lead) in enumerate(zip(ohms, leads, strict=True), start=1):
        edges += [module(f"M{k}", r)]
        edges += [conductor(f"W{k}{pole}", f"M{k}{pole}", f"bar{pole}{k}", lead) for pole in "+-"]
        if k > 1:
            edges += [conductor(f"S{k}{pole}", f"bar{pole}{k - 1}", f"bar{pole}{k}", segment) for pole in "+-"]
    end = len(ohms)
    for n in range(1, loads + 1):
        edges += [conductor(f"main{n}+", f"bar+{end}", f"I{n}+", main)]
        edges += [conductor(f"main{n}-", f"I{n}-", f"bar-{end}", main), load(f"I{n}", f"I{n}+", f"I{n}-")]
    return Network.of(edges)


def scrambled(seed: int) -> Network:
    """A ladder or star with unequal everything, and up to two rings closed by further links."""
    luck = random.Random(seed)
    count, loads = luck.randint(2, 9), luck.randint(1, 3)
    ohms = [luck.uniform(0.004, 0.03) for _ in range(count)]
    main = luck.uniform(1e-4, 2e-3)
    if luck.random() < 0.4:
        made = star(ohms, [luck.uniform(1e-4, 1e-3) for _ in ohms], luck.uniform(1e-6, 1e-4), main, loads)
    else:
        made = ladder(count, luck.choice(FEEDS), ohms, luck.uniform(5e-5, 2e-3), main, loads)
    extra = []
    for n in range(luck.randint(0, 2)):
        pole = luck.choice("+-")
        first, second = luck.sample(range(1, count + 1), 2)
        extra.append(conductor(f"ring{n}", f"M{first}{pole}", f"M{second}{pole}", luck.uniform(1e-4, 1e-3)))
    return Network.of((*made.edges, *extra))
