"""Banks in a rack, made in code: a chain and a busbar, all data invented."""

from __future__ import annotations

from typing import Literal

from bankwright.bank.model import Bank, Bar, Device, Inverter, Joint, Link, Module, Pole, Post, Rack, Site
from bankwright.bank.model_kinds import (
    Addressing,
    CableKind,
    DeviceKind,
    InverterKind,
    LugKind,
    ModuleKind,
    PostSpec,
    RackKind,
)
from bankwright.forms.origin import FileKey
from bankwright.forms.toleranced import exact

CABLE = CableKind("4/0 AWG", 107.2e-6, 0.1608e-3, "wiring.link.cable", "fine", 90.0, outer_diameter=0.0175)
LUG = LugKind("lug-M8", "kinds.lug.lug-M8", 0.0085, "M8", ("4/0 AWG",), ("fine",), 90.0, 0.030, "die 107")
KIND = ModuleKind(
    "M100",
    "kinds.module.M100",
    16,
    capacity_ah=100.0,
    energy_kwh=5.12,
    mass=46.0,
    height=3 * 0.04445,
    depth=0.48,
    posts=PostSpec(pairs=1, stud="M8", lugs=2, torque=10.0),
    address=Addressing(4, 1),
)
RACK = RackKind(
    "frame-24",
    "kinds.rack.frame-24",
    units=24,
    mass=40.0,
    width=0.6,
    depth=0.6,
    height=1.2,
    foot_width=0.6,
    foot_depth=0.6,
    first_unit_height=0.1,
    on="floor",
    footprint=0.36,
    anchors=4,
)
SWITCH = DeviceKind(
    "switch-300",
    "kinds.device.switch-300",
    "disconnect",
    300.0,
    80.0,
    poles=2,
    breaks_load=True,
    terminals=PostSpec(stud="M8", torque=12.0, lugs=1),
)
FUSE = DeviceKind(
    "fuse-300", "kinds.device.fuse-300", "fuse", 300.0, 80.0, 20e3, terminals=PostSpec(stud="M8", torque=12.0, lugs=1)
)
INVERTER = InverterKind(
    "inv-6k", "kinds.inverter.inv-6k", 6000.0, 0.93, terminals=PostSpec(stud="M8", torque=9.0, lugs=1)
)


def key(path: str) -> FileKey:
    return FileKey(path)


def _joint(name: str, link: str, post: str | None, device: str | None, torque: float | None) -> Joint:
    return Joint(name, link, post, device, exact(20e-6), "M8", torque, LUG, key(f"wiring.{link}"))


def cable(
    name: str,
    a: str,
    b: str,
    pole: Pole,
    role: Literal["link", "lead", "main", "branch"],
    length: float,
    devices: tuple[str, ...] = (),
    group: str | None = None,
    torque: float | None = 10.0,
) -> tuple[Link, list[Joint]]:
    made = [_joint(f"{name}@{a}", name, a, None, torque)]
    for device in devices:
        made += [_joint(f"{name}@{device}{side}", name, None, device, 12.0) for side in "ab"]
    made.append(_joint(f"{name}@{b}", name, b, None, torque))
    link = Link(
        name,
        a,
        b,
        pole,
        role,
        CABLE,
        length,
        tuple(j.name for j in made),
        devices,
        LUG,
        LUG,
        key(f"wiring.{name}"),
        None,
        group,
    )
    return link, made


def _modules(count: int, pairs: int = 1) -> tuple[Module, ...]:
    ends = ("+", "-") if pairs == 1 else ("+", "-", "+b", "-b")
    return tuple(
        Module(f"M{n}", KIND, n, tuple(f"M{n}{end}" for end in ends), key(f"modules[{n}]"), "R1", 1 + 3 * (n - 1))
        for n in range(1, count + 1)
    )


def _module_posts(modules: tuple[Module, ...]) -> list[Post]:
    return [
        Post(post, module.name, "module", "+" if "+" in post else "-", module.kind.posts, module.origin)
        for module in modules
        for post in module.posts
    ]


def chain(count: int, feed: Literal["same end", "opposite ends"] = "opposite ends") -> Bank:
    """A chain with one inverter, a fuse and a two-pole switch in the mains."""
    modules = _modules(count)
    made = []
    for n in range(1, count):
        for pole in ("+", "-"):
            made.append(cable(f"L{n}{pole}", f"M{n}{pole}", f"M{n + 1}{pole}", pole, "link", 0.32, group=f"L{pole}"))
    top = count if feed == "opposite ends" else 1
    made.append(cable("main+", f"M{top}+", "I1+", "+", "main", 1.5, ("F1", "S1")))
    made.append(cable("main-", "M1-", "I1-", "-", "main", 1.5, ("S1",)))
    devices = (
        Device("F1", FUSE, "main+", 0.2, key("devices[1]"), at="bank end"),
        Device("S1", SWITCH, "main+", 0.6, key("devices[2]"), ("main-",)),
    )
    return _bank(modules, made, devices, (), (("main+",), ("main-",)), "chain")


def busbar(count: int) -> Bank:
    """Leads to a bar a pole, a fuse a module, mains to one inverter with a two-pole switch."""
    modules = _modules(count)
    made = []
    for n in range(1, count + 1):
        made.append(cable(f"M{n}+lead", f"M{n}+", f"bar+{n}", "+", "lead", 0.6, (f"F{n}",), "leads+"))
        made.append(cable(f"M{n}-lead", f"M{n}-", f"bar-{n}", "-", "lead", 0.6, (), "leads-"))
    made.append(cable("main+", f"bar+{count + 1}", "I1+", "+", "main", 1.5, ("S1",)))
    made.append(cable("main-", f"bar-{count + 1}", "I1-", "-", "main", 1.5, ("S1",)))
    devices = (
        *(Device(f"F{n}", FUSE, f"M{n}+lead", 0.1, key(f"devices[{n}]")) for n in range(1, count + 1)),
        Device("S1", SWITCH, "main+", 0.5, key(f"devices[{count + 1}]"), ("main-",)),
    )
    spec = PostSpec(stud="M8", torque=11.0, lugs=1)
    bars = tuple(
        Bar(
            f"bar{pole}",
            pole,
            0.04,
            0.01,
            "copper",
            0.009,
            400.0,
            40.0,
            0.04,
            1,
            tuple(f"bar{pole}{n}" for n in range(1, count + 2)),
            spec,
            key(f"bars.{pole}"),
        )
        for pole in ("+", "-")
    )
    return _bank(modules, made, devices, bars, (("main+",), ("main-",)), "busbar")


def _bank(modules, made, devices, bars, feed, pattern) -> Bank:  # type: ignore[no-untyped-def]
    inverter = Inverter("I1", INVERTER, ("I1+", "I1-"), key("inverters[1]"))
    posts = _module_posts(modules)
    posts += [Post(p, bar.name, "bar", bar.pole, bar.spec, bar.origin) for bar in bars for p in bar.posts]
    terminals = INVERTER.terminals
    assert terminals is not None
    posts += [Post(f"I1{pole}", "I1", "inverter", pole, terminals, inverter.origin) for pole in ("+", "-")]
    return Bank(
        "Test rack, invented",
        "test.toml",
        "digest",
        "nec-2023",
        None,
        "metric",
        Site(key("site"), place="detached garage", seismic=9.80665, helpers=1),
        modules,
        tuple(posts),
        tuple(link for link, _ in made),
        tuple(joint for _, joints in made for joint in joints),
        bars,
        (),
        devices,
        (inverter,),
        racks=(Rack("R1", RACK, key("racks[1]")),),
        pattern=pattern,
        feed_posts=feed,
    )
