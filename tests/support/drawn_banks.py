"""Banks to be drawn, built without a file, and currents for them. All values are invented.

Gives: Plan, drawn_bank(), invented_currents(). One builder for every arrangement that a drawing has to bear.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from bankwright.bank.model import Bank, Bar, Charger, Device, Inverter, Link, Load, Module, Post, Rack, Site
from bankwright.bank.model_kinds import (
    ChargeLimits,
    ChargerKind,
    DeviceKind,
    DischargeLimits,
    InverterKind,
    ModuleKind,
    PostSpec,
    RackKind,
)
from bankwright.forms.origin import FileKey

__all__ = ["Plan", "drawn_bank", "invented_currents"]

HERE = FileKey("made by hand")
KIND = ModuleKind(
    "M100", "kinds.module.M100", 16, discharge=DischargeLimits(100.0), charge=ChargeLimits(50.0),
    mass=46.0, height=0.1333,
)  # fmt: skip
INVERTER = InverterKind("inv-8k", "kinds.inverter.inv-8k", power=8000.0)
FRAME = RackKind("frame", "kinds.rack.frame", units=20)
CHARGER = ChargerKind("chg-60", "kinds.charger.chg-60", current=60.0)


def _device(kind: str, rating: float | None) -> DeviceKind:
    return DeviceKind(f"{kind}-{rating}", f"kinds.device.{kind}", kind, rating)  # type: ignore[arg-type]


def pair(name: str) -> tuple[str, str]:
    """The two posts of an inverter, charger or load."""
    return f"{name}+", f"{name}-"


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


class _Maker:
    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.posts: dict[str, Post] = {}
        self.links: list[Link] = []
        self.devices: list[Device] = []
        self.bars: list[Bar] = []

    def post(self, name: str, owner: str, kind: str) -> str:
        pole = "+" if "+" in name else "-"
        self.posts[name] = Post(name, owner, kind, pole, PostSpec(), HERE)  # type: ignore[arg-type]
        return name

    def link(self, name: str, a: str, b: str, role: str, kinds: tuple[str, ...] = ()) -> None:
        letters = {"fuse": "F", "breaker": "Q", "disconnect": "S", "shunt": "X"}
        names = []
        for kind in kinds:
            count = sum(d.kind.type == kind for d in self.devices) + 1
            rating = {"fuse": 400.0, "breaker": 250.0, "disconnect": 500.0, "shunt": 500.0}[kind]
            names.append(f"{letters[kind]}{count}")
            self.devices.append(Device(names[-1], _device(kind, rating), name, None, HERE))
        pole = "+" if "+" in name else "-"
        self.links.append(Link(name, a, b, pole, role, None, None, (), tuple(names), None, None, HERE))  # type: ignore[arg-type]

    def module(self, k: int) -> Module:
        name = f"M{k}"
        tails = ("", "b") if self.plan.pairs == 2 else ("",)
        posts = tuple(self.post(f"{name}{pole}{tail}", name, "module") for pole in "+-" for tail in tails)
        rack, left = None, k
        for number, size in enumerate(self.plan.racks, start=1):
            if 0 < left <= size:
                rack = f"R{number}"
            left -= size
        return Module(name, KIND, k, posts, HERE, rack=rack)

    def chain(self, pole: str) -> list[str]:
        n, tail = self.plan.modules, "b" if self.plan.pairs == 2 else ""
        for k in range(1, n):
            kinds = self.plan.on_leads if pole == "+" else ()
            self.link(f"L{k}{pole}", f"M{k}{pole}{tail}", f"M{k + 1}{pole}", "link", kinds)
        first, last = f"M1{pole}", f"M{n}{pole}{tail}"
        far = [last] if pole == "-" else [first]
        return {"same end": [first], "opposite ends": far, "both ends": [first, last]}[self.plan.feed]

    def busbar(self, pole: str) -> list[str]:
        n = self.plan.modules
        posts = tuple(self.post(f"bar{pole}{k}", f"bar{pole}", "bar") for k in range(1, n + 2))
        given = (None, None, "copper", None, None, None, None, None)
        self.bars.append(Bar(f"bar{pole}", pole, *given, posts, PostSpec(), HERE))  # type: ignore[arg-type]
        low_first = pole == "-" and self.plan.feed == "opposite ends"
        for k in range(1, n + 1):
            kinds = self.plan.on_leads if pole == "+" else ()
            self.link(f"L{k}{pole}", f"M{k}{pole}", posts[k if low_first else k - 1], "lead", kinds)
        return [posts[0] if low_first else posts[n]]

    def feed(self, pole: str, ends: list[str]) -> None:
        plan = self.plan
        fed = [f"I{k + 1}" for k in range(plan.inverters)] + [f"C{k + 1}" for k in range(plan.chargers)]
        fed += [f"D{k + 1}" for k in range(plan.loads)]
        kinds = {"I": "inverter", "C": "charger", "D": "load"}
        posts = [self.post(f"{name}{pole}", name, kinds[name[0]]) for name in fed]
        on_main = plan.on_mains if pole == "+" else ("shunt",)
        meet = len(fed) > 1 if plan.meet is None else plan.meet
        if meet:
            junction = self.post(f"J{pole}", f"J{pole}", "junction")
            for i, end in enumerate(ends):
                self.link(f"main{i + 1 if i else ''}{pole}", end, junction, "main", on_main)
            for name, post in zip(fed, posts, strict=True):
                self.link(f"{name}feed{pole}", junction, post, "branch", plan.on_branches if pole == "+" else ())
            return
        for i, end in enumerate(ends):
            for j, post in enumerate(posts):
                tag = "".join(str(k + 1) for k in (i, j) if k)
                self.link(f"main{tag}{pole}", end, post, "main", on_main)


def drawn_bank(plan: Plan) -> Bank:
    """Build the bank of a plan."""
    maker = _Maker(plan)
    modules = tuple(maker.module(k) for k in range(1, plan.modules + 1))
    for pole in "+-":
        if plan.pattern == "busbar":
            ends = maker.busbar(pole)
        elif plan.pattern == "chain":
            ends = maker.chain(pole)
        else:
            for name, a, b in plan.extra:
                if name.endswith(pole):
                    maker.link(name, a, b, "link")
            ends = [f"M1{pole}"]
        maker.feed(pole, ends)
    return Bank(
        title="made by hand", file="hand.toml", digest="0" * 64, book=None, storage_rules=None, units="metric",
        site=Site(HERE), modules=modules, posts=tuple(maker.posts.values()), links=tuple(maker.links), joints=(),
        bars=tuple(maker.bars), devices=tuple(maker.devices),
        inverters=tuple(Inverter(f"I{k + 1}", INVERTER, pair(f"I{k + 1}"), HERE) for k in range(plan.inverters)),
        chargers=tuple(Charger(f"C{k + 1}", CHARGER, pair(f"C{k + 1}"), HERE) for k in range(plan.chargers)),
        loads=tuple(Load(f"D{k + 1}", pair(f"D{k + 1}"), HERE, power=500.0) for k in range(plan.loads)),
        racks=tuple(Rack(f"R{k + 1}", FRAME, HERE) for k in range(len(plan.racks))),
        pattern=plan.pattern, feed=plan.feed,  # type: ignore[arg-type]
    )  # fmt: skip


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
