"""Banks in a rack, written as TOML and read: a chain and a busbar with every piece that Buy and Build want; invented.

Gives: chain(), busbar(), cable(); KIND and RACK as the reader makes them.
"""

from __future__ import annotations

from functools import cache
from typing import Any, Literal

from bankwright.bank.model import Bank, Joint, Link, Pole
from bankwright.forms.origin import FileKey
from bankwright.forms.toleranced import exact
from support.banks import bank_with, only

__all__ = ["KIND", "RACK", "busbar", "cable", "chain"]

MODULE = only("cells", "capacity", "energy", "mass", "height", "depth", "posts", "address")
HEAD = {
    "title": "Test rack, invented",
    "rules": "nec-2023",
    "site": {"place": "detached garage", "seismic": "1 g", "helpers": 1},
}
TERMINALS = {"stud": "M8", "torque": "12 N m", "lugs": 1}
BOX = {"power": "6 kW", "efficiency": "93 %", "terminals": {"stud": "M8", "torque": "9 N m", "lugs": 1}}
KINDS: dict[str, Any] = {
    "kinds.rack.frame-24": {
        "units": 24, "mass": "40 kg", "width": "0.6 m", "depth": "0.6 m", "height": "1.2 m", "foot_width": "0.6 m",
        "foot_depth": "0.6 m", "first_unit_height": "0.1 m", "on": "floor", "footprint": "0.36 m2", "anchors": 4,
    },
    "kinds.device.switch-300": {
        "type": "disconnect", "rating": "300 A", "volts": "80 V", "poles": 2, "breaks_load": True,
        "terminals": TERMINALS,
    },
    "kinds.device.fuse-300": {
        "type": "fuse", "rating": "300 A", "volts": "80 V", "interrupts": "20 kA", "terminals": TERMINALS,
    },
    "kinds.lug.lug-M8": {
        "hole": "8.5 mm", "stud": "M8", "cables": ["4/0 AWG"], "strands": ["fine"], "rating": "90 degC",
        "barrel": "30 mm", "crimp": "die 107",
    },
}  # fmt: skip
BAR = {
    "width": "40 mm", "thickness": "10 mm", "material": "copper", "hole": "9 mm", "rating": "400 A",
    "rated_ambient": "40 degC", "spacing": "40 mm", "lugs_per_stud": 1, "stud": "M8", "torque": "11 N m",
}  # fmt: skip


def _cable(length: str) -> dict[str, Any]:
    return {
        "cable": "4/0 AWG", "strands": "fine", "insulation": "90 degC", "outer_diameter": "17.5 mm", "lug": "lug-M8",
        "length": length, "joint": "20 uohm",
    }  # fmt: skip


def _bank(count: int, wiring: dict[str, Any], fuses: list[dict[str, Any]], more: dict[str, Any], at: str) -> Bank:
    """Eight modules of three units fill a rack; those after them stand in the next one."""
    switch = {"name": "S1", "kind": "switch-300", "on": ["main+", "main-"], "at": at}
    modules = [
        {"name": f"M{n + 1}", "kind": "M100", "slot": 1 + n % 8, "rack": f"R{1 + n // 8}", "unit": 1 + 3 * (n % 8)}
        for n in range(count)
    ]
    racks = [{"name": f"R{1 + n}", "kind": "frame-24"} for n in range(1 + (count - 1) // 8)]
    tables = {**KINDS, "racks": racks, "modules": modules, **more, "devices": [*fuses, switch]}
    given: dict[str, Any] = {"head": HEAD, "inverter": BOX, "box": "inv-6k"}
    return bank_with(0, MODULE, more=tables, wiring={**wiring, "main": _cable("1.5 m")}, **given)


@cache
def chain(count: int, feed: Literal["same end", "opposite ends"] = "opposite ends") -> Bank:
    """A chain with one inverter, a fuse and a two-pole switch in the mains."""
    fuse = {"name": "F1", "kind": "fuse-300", "on": "main+", "at": "0.2 m"}
    return _bank(count, {"pattern": "chain", "feed": feed, "link": _cable("320 mm")}, [fuse], {}, "0.6 m")


@cache
def busbar(count: int) -> Bank:
    """Leads to a bar a pole, a fuse a module, mains to one inverter with a two-pole switch."""
    studs = [*(f"M{n}" for n in range(1, count + 1)), "main"]
    fuses = [{"name": f"F{n}", "kind": "fuse-300", "on": f"L{n}+", "at": "0.1 m"} for n in range(1, count + 1)]
    bars = {"bars": [{"name": f"bar{pole}", "pole": pole, **BAR, "studs": studs} for pole in "+-"]}
    return _bank(count, {"pattern": "busbar", "link": _cable("0.6 m")}, fuses, bars, "0.5 m")


KIND = chain(1).modules[0].kind
RACK = chain(1).racks[0].kind


def cable(
    name: str, a: str, b: str, pole: Pole, role: Literal["link", "lead", "main", "branch"], length: float,
    devices: tuple[str, ...] = (),
) -> tuple[Link, list[Joint]]:  # fmt: skip
    """A cable between any two posts, with its joints; by hand: no file takes one that ends nowhere or in a ring."""
    like, lug = chain(1).link("main+").cable, chain(1).joints[0].lug
    ends = [(f"{name}@{a}", a, None, 10.0)]
    ends += [(f"{name}@{device}{side}", None, device, 12.0) for device in devices for side in "ab"]
    ends.append((f"{name}@{b}", b, None, 10.0))
    key = FileKey(f"wiring.{name}")
    made = [Joint(n, name, post, device, exact(20e-6), "M8", torque, lug, key) for n, post, device, torque in ends]
    names = tuple(joint.name for joint in made)
    return Link(name, a, b, pole, role, like, length, names, devices, lug, lug, key, None, None), made
