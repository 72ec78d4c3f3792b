"""The network: nodes, edges between them, elements in series along each edge.

Gives: Element, Edge, Network. An edge is solved as one resistance; drawings and findings look at its elements.
Sign: a module's edge runs inside it from minus to plus, so discharge is positive; a load's edge runs from plus to
minus, so drawing is positive; a conductor's edge runs as it is named, from its first post to its second.
Limits: no bank is known here (circuit/of_bank), no load law (circuit/solver/laws), no temperature
(resistances are passed in).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

import numpy as np

from bankwright.bank.asks import asking
from bankwright.forms.assumed import Assumed
from bankwright.forms.checks import NeedsValue
from bankwright.forms.origin import Origin
from bankwright.forms.toleranced import Toleranced

__all__ = ["Array", "Edge", "EdgeKind", "Element", "Network", "frozen"]

Array = np.ndarray[tuple[Any, ...], np.dtype[np.float64]]
EdgeKind = Literal["passive", "module", "load"]
ElementKind = Literal["conductor", "joint", "device", "bar", "module"]


def frozen(values: object) -> Array:
    """A read-only float64 copy."""
    array = np.array(values, dtype=np.float64)
    array.setflags(write=False)
    return array


@dataclass(frozen=True, slots=True)
class Element:
    """One thing in the way of the current; `resistance` at 20 degC, None when nobody gave it."""

    name: str
    kind: ElementKind
    resistance: Toleranced | None
    alpha: float = 0.0  # 1/K about 20 degC
    origin: Origin | None = None
    needs: str = ""  # file key that would give a missing resistance
    how: str = ""  # how to get it
    assumed: bool = False  # a published range stands in for a value nobody gave


@dataclass(frozen=True, slots=True)
class Edge:
    """Elements in series between two nodes; a load has none."""

    name: str
    tail: str
    head: str
    kind: EdgeKind = "passive"
    elements: tuple[Element, ...] = ()


@dataclass(frozen=True, eq=False)
class Network:
    """Edges between named nodes; `nodes` in order of first mention, the first one is the zero of potential."""

    edges: tuple[Edge, ...]
    assumed: tuple[Assumed, ...] = ()  # values in it that nobody gave

    @classmethod
    def of(cls, edges: Iterable[Edge], assumed: Iterable[Assumed] = ()) -> Network:
        """Build from edges, each edge and element named once."""
        network = cls(tuple(edges), tuple(assumed))
        names = [edge.name for edge in network.edges] + [
            element.name for edge in network.edges for element in edge.elements if element.name != edge.name
        ]
        doubled = sorted({name for name in names if names.count(name) > 1}) if len(set(names)) < len(names) else []
        if doubled:
            raise ValueError(f"named twice: {', '.join(doubled)}")
        return network

    @cached_property
    def nodes(self) -> tuple[str, ...]:
        """Names of the nodes."""
        return tuple(dict.fromkeys(node for edge in self.edges for node in (edge.tail, edge.head)))

    @cached_property
    def node_index(self) -> dict[str, int]:
        """Place of each node in `nodes`."""
        return {name: place for place, name in enumerate(self.nodes)}

    @cached_property
    def edge_index(self) -> dict[str, int]:
        """Place of each edge; an element's name leads to the edge it lies in."""
        inside = {element.name: i for i, edge in enumerate(self.edges) for element in edge.elements}
        return inside | {edge.name: i for i, edge in enumerate(self.edges)}

    @cached_property
    def ends(self) -> np.ndarray:
        """Node numbers (edges, 2) of tail and head."""
        return np.array([[self.node_index[e.tail], self.node_index[e.head]] for e in self.edges], dtype=np.intp)

    @cached_property
    def end_pairs(self) -> tuple[tuple[int, int], ...]:
        """The same as pairs of Python numbers, for walks over the graph."""
        return tuple((int(tail), int(head)) for tail, head in self.ends)

    @cached_property
    def modules(self) -> tuple[int, ...]:
        """Numbers of the edges that are modules."""
        return tuple(i for i, edge in enumerate(self.edges) if edge.kind == "module")

    @cached_property
    def loads(self) -> tuple[int, ...]:
        """Numbers of the edges that are loads."""
        return tuple(i for i, edge in enumerate(self.edges) if edge.kind == "load")

    @cached_property
    def module_names(self) -> tuple[str, ...]:
        """Names of the modules, in the order of `modules`."""
        return tuple(self.edges[i].name for i in self.modules)

    @cached_property
    def load_names(self) -> tuple[str, ...]:
        """Names of the loads, in the order of `loads`."""
        return tuple(self.edges[i].name for i in self.loads)

    @cached_property
    def elements(self) -> tuple[Element, ...]:
        """All elements, edge by edge."""
        return tuple(element for edge in self.edges for element in edge.elements)

    @cached_property
    def element_index(self) -> dict[str, int]:
        """Place of each element in `elements`."""
        return {element.name: place for place, element in enumerate(self.elements)}

    @cached_property
    def edge_of(self) -> np.ndarray:
        """Edge number of each element (elements,)."""
        return np.array([i for i, edge in enumerate(self.edges) for _ in edge.elements], dtype=np.intp)

    @cached_property
    def series(self) -> Array:
        """0/1 product (elements, edges) that adds elements up to edges."""
        matrix = np.zeros((len(self.elements), len(self.edges)))
        matrix[np.arange(len(self.elements)), self.edge_of] = 1.0
        return matrix

    def resistances(self, end: Literal["nominal", "low", "high"] = "nominal") -> Array:
        """Resistance of every element at one end of its tolerance, at 20 degC; NaN where it was not given."""
        given = [element.resistance for element in self.elements]
        return frozen([np.nan if value is None else getattr(value, end) for value in given])

    def edge_resistances(self, element_resistance: Array, dead: np.ndarray | None = None) -> Array:
        """Add elements (..., elements) up to edges (..., edges).

        A missing one (NaN) is refused by the key that would give it, unless its edge is dead: then it does not matter.
        """
        added = self._added(element_resistance)
        if not np.isnan(added).any():
            return added
        missing = np.isnan(element_resistance).reshape(-1, len(self.elements)).any(axis=0)
        if missing.any() and dead is not None:
            missing = missing & ~dead[self.edge_of]
            element_resistance = np.where(dead[self.edge_of], 0.0, element_resistance)
        if missing.any():
            element = self.elements[int(np.flatnonzero(missing)[0])]
            how = element.how or f"It gives the resistance of {element.name}."
            raise NeedsValue(asking(element.needs or element.name, how))
        return self._added(element_resistance)

    def _added(self, element_resistance: Array) -> Array:
        """Sums over the elements of each edge, first ones, second ones, ... beside each other."""
        total = np.zeros((*element_resistance.shape[:-1], len(self.edges)))
        for edges, elements in self._layers:
            total[..., edges] += element_resistance[..., elements]
        return total

    @cached_property
    def _layers(self) -> tuple[tuple[np.ndarray, np.ndarray], ...]:
        """Edges with a first element and that element, edges with a second one, and so on."""
        first = np.concatenate([[0], np.cumsum([len(edge.elements) for edge in self.edges])[:-1]]).astype(np.intp)
        counts = np.array([len(edge.elements) for edge in self.edges])
        deep = [np.flatnonzero(counts > depth) for depth in range(int(counts.max(initial=0)))]
        return tuple((edges, first[edges] + depth) for depth, edges in enumerate(deep))

    @cached_property
    def shape(self) -> tuple[tuple[str, str, str, EdgeKind], ...]:
        """Edges without what is in them: networks of one shape share their trees and loops."""
        return tuple((edge.name, edge.tail, edge.head, edge.kind) for edge in self.edges)
