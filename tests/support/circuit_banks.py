"""Banks built by hand, without a file, for tests of the network. All values are invented.

Gives: chain_bank(), busbar_bank(); M100, a kind with all three resistances.
"""

from __future__ import annotations

from dataclasses import replace

from bankwright.bank.model import Bank, BarPiece, Charger, Device, Inverter, Joint, Link, Module, Post, Site
from bankwright.bank.model_kinds import (
    CableKind,
    ChargeLimits,
    ChargerKind,
    DeviceKind,
    DischargeLimits,
    InverterKind,
    ModuleKind,
    PostSpec,
    Resistances,
)
from bankwright.forms.origin import FileKey
from bankwright.forms.toleranced import Toleranced, exact

__all__ = ["FUSE", "INVERTER", "M100", "busbar_bank", "chain_bank"]

HERE = FileKey("made by hand")
CABLE = CableKind("4/0 AWG", 107.2e-6, 0.1608e-3, "wiring.link.cable", insulation_degc=90.0)
JOINT = Toleranced(20e-6, 10e-6, 30e-6)
M100 = ModuleKind(
    "M100",
    "kinds.module.M100",
    16,
    capacity_ah=100.0,
    resistance=Resistances(
        dc=Toleranced(0.014, 0.011, 0.017),
        surge=Toleranced(0.009, 0.007, 0.011),
        surge_after=10.0,
        ohmic=Toleranced(0.006, 0.005, 0.007),
        cells=exact(0.012),
    ),
    discharge=DischargeLimits(continuous=100.0, trip=Toleranced(150.0, 135.0, 165.0), trip_delay=3.0),
    charge=ChargeLimits(continuous=50.0, trip=Toleranced(110.0, 99.0, 121.0), trip_delay=3.0, cell_full=3.65),
)
FUSE = DeviceKind("fuse-300", "kinds.device.fuse-300", "fuse", 300.0, 80.0, 50e3, resistance=exact(0.3e-3))
CHARGER = ChargerKind("chg", "kinds.inverter.inv-6k.charger", 100.0, 48.0, 60.0)
INVERTER = InverterKind(
    "inv-6k",
    "kinds.inverter.inv-6k",
    power=6000.0,
    efficiency=0.93,
    surge_power=12_000.0,
    surge_time=5.0,
    lowest_voltage=48.0,
    cut_out=44.0,
    charger=CHARGER,
)


class _Maker:
    """Collects the parts of a bank."""

    def __init__(self) -> None:
        self.posts: list[Post] = []
        self.links: list[Link] = []
        self.joints: list[Joint] = []
        self.devices: list[Device] = []
        self.pieces: list[BarPiece] = []

    def post(self, name: str, owner: str, kind: str) -> str:
        self.posts.append(Post(name, owner, kind, "+" if "+" in name else "-", PostSpec(), HERE))  # type: ignore[arg-type]
        return name

    def link(self, name: str, a: str, b: str, length: float, role: str, fuse: DeviceKind | None = None) -> None:
        ends = [Joint(f"{name}@{end}", name, end, None, JOINT, None, None, None, HERE) for end in (a, b)]
        inner: list[Joint] = []
        devices: tuple[str, ...] = ()
        if fuse is not None:
            device = f"F{len(self.devices) + 1}"
            self.devices.append(Device(device, fuse, name, 0.2, HERE))
            inner = [Joint(f"{name}@{device}{s}", name, None, device, JOINT, None, None, None, HERE) for s in "ab"]
            devices = (device,)
        joints = (ends[0], *inner, ends[1])
        self.joints += joints
        pole = "+" if "+" in name else "-"
        names = tuple(joint.name for joint in joints)
        self.links.append(Link(name, a, b, pole, role, CABLE, length, names, devices, None, None, HERE))  # type: ignore[arg-type]

    def modules(self, kinds: list[ModuleKind]) -> tuple[Module, ...]:
        made = []
        for k, kind in enumerate(kinds, start=1):
            posts = tuple(self.post(f"M{k}{pole}", f"M{k}", "module") for pole in "+-")
            made.append(Module(f"M{k}", kind, k, posts, HERE))
        return tuple(made)

    def inverters(self, feeds: list[tuple[str, str]], count: int) -> tuple[tuple[Inverter, ...], tuple[Charger, ...]]:
        made, chargers = [], []
        for n in range(1, count + 1):
            posts = (self.post(f"I{n}+", f"I{n}", "inverter"), self.post(f"I{n}-", f"I{n}", "inverter"))
            tag = str(n) if count > 1 else ""
            for far, (plus, minus) in enumerate(feeds):
                more = "far" if far else "main"
                self.link(f"{more}{tag}+", plus, posts[0], 1.5, "main", None if far else FUSE)
                self.link(f"{more}{tag}-", posts[1], minus, 1.5, "main")
            made.append(Inverter(f"I{n}", INVERTER, posts, HERE))
            chargers.append(Charger(f"I{n}charger", CHARGER, posts, HERE, of=f"I{n}"))
        return tuple(made), tuple(chargers)

    def bank(self, modules: tuple[Module, ...], inverters: int, feeds: list[tuple[str, str]], site: Site) -> Bank:
        made, chargers = self.inverters(feeds, inverters)
        plus, minus = tuple(f[0] for f in feeds), tuple(f[1] for f in feeds)
        return Bank(
            title="made by hand",
            file="",
            digest="",
            book=None,
            storage_rules=None,
            units="metric",
            site=site,
            modules=modules,
            posts=tuple(self.posts),
            links=tuple(self.links),
            joints=tuple(self.joints),
            pieces=tuple(self.pieces),
            devices=tuple(self.devices),
            inverters=made,
            chargers=chargers,
            feed_posts=(plus, minus),
        )


SITE = Site(HERE, ambient_low_degc=-5.0, ambient_high_degc=40.0, rack_rise=8.0)


def chain_bank(
    count: int, feed: str = "opposite ends", inverters: int = 1, kind: ModuleKind = M100, link: float = 0.32
) -> Bank:
    """A row of modules, links between neighbours."""
    maker = _Maker()
    modules = maker.modules([kind] * count)
    for k in range(1, count):
        for pole in "+-":
            maker.link(f"L{k}{pole}", f"M{k}{pole}", f"M{k + 1}{pole}", link, "link")
    last = f"M{count}"
    feeds = {
        "same end": [("M1+", "M1-")],
        "opposite ends": [(f"{last}+", "M1-")],
        "both ends": [("M1+", "M1-"), (f"{last}+", f"{last}-")],
    }[feed]
    return replace(maker.bank(modules, inverters, feeds, SITE), pattern="chain", feed=feed)  # type: ignore[arg-type]


def busbar_bank(count: int, inverters: int = 1, kind: ModuleKind = M100, lead: float = 0.8, fuses: bool = True) -> Bank:
    """Modules with leads of one length on a bar a pole, a branch fuse in every plus lead, mains at the last stud."""
    maker = _Maker()
    modules = maker.modules([kind] * count)
    for k in range(1, count + 2):
        for pole in "+-":
            maker.post(f"bar{pole}{k}", f"bar{pole}", "bar")
            if k > 1:
                name = f"bar{pole}[{k - 1}-{k}]"
                ends = (f"bar{pole}{k - 1}", f"bar{pole}{k}")
                maker.pieces.append(BarPiece(name, *ends, pole, "segment", f"bar{pole}", exact(5e-6), HERE))  # type: ignore[arg-type]
    for k in range(1, count + 1):
        maker.link(f"W{k}+", f"M{k}+", f"bar+{k}", lead, "lead", FUSE if fuses else None)
        maker.link(f"W{k}-", f"M{k}-", f"bar-{k}", lead, "lead")
    feeds = [(f"bar+{count + 1}", f"bar-{count + 1}")]
    return replace(maker.bank(modules, inverters, feeds, SITE), pattern="busbar")
