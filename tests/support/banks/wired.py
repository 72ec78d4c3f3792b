"""Rows and bars of like modules for tests of the network, written as TOML and read. Values invented.

Gives: chain_bank(), busbar_bank(), on_a_common_bar(); FUSE, INVERTER and M100 as the reader makes them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any

from bankwright.bank.model import Bank
from bankwright.bank.model_kinds import ModuleKind, Resistances
from bankwright.forms.toleranced import Toleranced, exact
from support.banks import bank_with, only

__all__ = ["FUSE", "INVERTER", "M100", "busbar_bank", "chain_bank", "on_a_common_bar"]

MODULE = only("cells", "capacity", "resistance", "discharge", "charge")
HEAD = {"title": "wired, invented", "site": {"ambient": "-5 degC to 40 degC", "rack_rise": "8 K"}}
DEVICE = {"type": "fuse", "rating": "300 A", "volts": "80 V", "interrupts": "50 kA", "resistance": "0.3 mohm"}
BOX = {
    "power": "6 kW", "efficiency": "93 %", "surge_power": "12 kW", "surge_time": "5 s", "lowest_voltage": "48 V",
    "cut_out": "44 V", "charger": {"current": "100 A", "voltage": "48 V to 60 V"},
}  # fmt: skip


def _cable(length: float) -> dict[str, Any]:
    return {"cable": "4/0 AWG", "insulation": "90 degC", "length": f"{length:g} m", "joint": "20 uohm +- 10 uohm"}


@cache
def _read(count: int, inverters: int, fused: tuple[str, ...], bars: bool, feed: str | None, link: float) -> Bank:
    """Several inverters hang on leads from where the mains end; a fuse sits 0.2 m into each cable that is named."""
    studs = [*(f"M{k}" for k in range(1, count + 1)), "main"]
    rows = [{"name": f"bar{pole}", "pole": pole, "resistance": "5 uohm", "studs": studs} for pole in "+-"]
    branch = _cable(0.5) if inverters > 1 else None
    wiring = {"pattern": "busbar" if bars else "chain", "feed": feed, "link": _cable(link), "main": _cable(1.5)}
    more: dict[str, Any] = {
        "kinds.device.fuse-300": DEVICE,
        "bars": rows if bars else None,
        "devices": [
            {"name": f"F{n}", "kind": "fuse-300", "on": cable, "at": "0.2 m"} for n, cable in enumerate(fused, 1)
        ],
    }
    given: Mapping[str, Any] = {"head": HEAD, "inverter": BOX, "box": "inv-6k", "inverters": inverters, "slots": True}
    return bank_with(count, MODULE, wiring={**wiring, "branch": branch}, more=more, **given)


def _of_kind(bank: Bank, kind: ModuleKind | None) -> Bank:
    """With a kind that a test has changed in the place of the one that was read."""
    return bank if kind is None else bank.replaced(modules=tuple(replace(m, kind=kind) for m in bank.modules))


def chain_bank(
    count: int, feed: str = "opposite ends", inverters: int = 1, kind: ModuleKind | None = None, link: float = 0.32
) -> Bank:
    """A row of modules, links between neighbours, a fuse in the main."""
    return _of_kind(_read(count, inverters, ("main+",), False, feed, link), kind)


def busbar_bank(
    count: int, inverters: int = 1, kind: ModuleKind | None = None, lead: float = 0.8, fuses: bool = True
) -> Bank:
    """Modules with leads of one length on a bar a pole, a branch fuse in every plus lead, mains at the last stud."""
    leads = tuple(f"L{k}+" for k in range(1, count + 1)) if fuses else ()
    return _of_kind(_read(count, inverters, (*leads, "main+"), True, None, lead), kind)


FUSE = chain_bank(1).devices[0].kind
INVERTER = chain_bank(1).inverters[0].kind
M100 = chain_bank(1).modules[0].kind


def on_a_common_bar(count: int, amperes: float, dc: Toleranced) -> Bank:
    """Only the modules' own resistance decides: leads, joints and bars of no resistance are what no file can say."""
    bank = busbar_bank(count, kind=replace(M100, resistance=Resistances(dc=dc)), fuses=False)
    inverter = replace(INVERTER, power=amperes * 48.0, efficiency=1.0)
    return bank.replaced(
        joints=tuple(replace(joint, resistance=exact(0.0)) for joint in bank.joints),
        links=tuple(replace(link, length=1e-9) for link in bank.links),
        pieces=tuple(replace(piece, resistance=exact(0.0)) for piece in bank.pieces),
        inverters=tuple(replace(i, kind=inverter) for i in bank.inverters),
    )
