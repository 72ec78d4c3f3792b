"""What a rating on a device's sheet is worth on DC: the one function that every check of a rating asks.

Gives: Worth, rated(), told(), breaker_of(). A device that is rated for AC only, or built to a standard for AC only, has
no DC rating (Worth.not_dc says why); a breaker answers for no more than the end of its part of the standard; a figure
that is the AC rating of the fuse's class is doubted: "is this the DC figure?". Poles not used do not count.
Limits: a sheet that prints AC figures other than its class's own as DC is not seen through.
Sources: handbook breakers/dc-ends, ul-248/classes; IEC 60898-1 and IEC 61009-1 cover AC only [from memory].
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from bankwright.bank.asks import asking, wanted
from bankwright.bank.model import Device, Module
from bankwright.bank.model_kinds import DeviceKind
from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Input, Missing
from bankwright.forms.trace import given
from bankwright.forms.wording import Figure
from bankwright.handbook.tables import load
from bankwright.plan.context import Plan

__all__ = ["Worth", "breaker_of", "rated", "told"]

What = Literal["volts", "interrupts"]
AC_STANDARDS = ("60898-1", "61009-1", "60898")  # from memory; 60898-2 and -3 name their DC part themselves
DC_PARTS = ("60898-2", "60898-3")
_WORDS = {"volts": ("U_dc", "DC voltage rating", "voltage"), "interrupts": ("Icn", "DC interrupting rating", "current")}


@dataclass(frozen=True, slots=True)
class Worth:
    """A rating in SI, where it comes from, why it is none on DC, and what is doubted."""

    value: float
    origin: Input
    not_dc: str = ""
    missing: tuple[Missing, ...] = ()


def breaker_of(module: Module) -> Device | None:
    """The breaker inside a module as a device with all its poles in use; None where its kind has none."""
    kind = module.kind.breaker
    if kind is None:
        return None
    return Device(module.name, kind, module.name, 0.0, module.origin, poles_used=kind.poles)


def told(worth: Worth) -> Figure | str:
    """The rating as it stands in a sentence."""
    return f"nothing ({worth.not_dc})" if worth.not_dc else worth.origin.figure


def rated(plan: Plan, device: Device, what: What) -> Worth:
    """A device's rating on DC for the poles used; NeedsValue where it is not given."""
    kind, key = device.kind, f"{device.kind.path}.{what}"
    symbol, name, quantity = _WORDS[what]
    why = _ac_only(kind)
    given_value = kind.volts if what == "volts" else kind.interrupts
    if why:
        path = f"{kind.path}.ac_rating_only" if kind.ac_rating_only else f"{kind.path}.class"
        return Worth(0.0, Input(symbol, f"{device.name}: {why}", Figure(0.0, quantity), plan.bank.key(path)), why)
    value = wanted(given_value, key)
    if (kind.poles or 1) > 1 and device.poles_used is None:
        raise NeedsValue(asking(f"{device.origin.path}.poles_used"))
    if what == "interrupts" and (device.poles_used or 99) < (kind.poles or 1):
        how = f"The rating holds for {kind.poles} poles in series; {device.poles_used} is used."
        raise NeedsValue(asking(key, how))
    capped = _cap(device, what, value)
    if capped is not None:
        return capped
    origin = given(symbol, f"{name} of {device.name}", value, quantity, plan.bank.key(key))
    return Worth(value, origin, "", _doubts(kind, what, value, key))


def _ac_only(kind: DeviceKind) -> str:
    name = (kind.device_class or "").lower()
    if kind.ac_rating_only:
        return "its rating is for AC only"
    if any(part in name for part in AC_STANDARDS) and not any(part in name for part in DC_PARTS):
        return f"{kind.device_class} is a standard for AC"
    return ""


def _cap(device: Device, what: What, value: float) -> Worth | None:
    """The end of a breaker's part of its standard, where the label says more."""
    table, kind = load("breakers/dc-ends"), device.kind
    symbol, _, quantity = _WORDS[what]
    for row in table.rows:
        part = str(row["part"]).lower().removeprefix("iec ")
        end = table.value(row, "interrupting" if what == "interrupts" else "volts")
        if kind.type == "breaker" and end is not None and part in (kind.device_class or "").lower() and value > end:
            words = f"{end / 1e3:g} kA" if what == "interrupts" else f"{end:g} V"
            name = f"{device.name}: {row['part']} ends at {words}, whatever the label"
            return Worth(end, Input(symbol, name, Figure(end, quantity), table.source))
    return None


def _doubts(kind: DeviceKind, what: What, value: float, key: str) -> tuple[Missing, ...]:
    """What to ask where the figure is the AC rating of the fuse's class."""
    table = load("ul-248/classes")
    name = (kind.device_class or "").lower().removeprefix("class ").strip()
    for row in table.rows:
        own = str(row["fuse_class"]).lower()
        if kind.type != "fuse" or not (name == own or (own == "r" and name.startswith("rk"))):
            continue
        if not str(row["dc"]).startswith("optional"):
            continue
        figures = [float(v) for v in re.findall(r"(\d+)(?= V| or)", str(row["voltage"]))]
        if what == "interrupts":
            figures = [table.value(row, "ac_interrupting") or 0.0]
        if any(abs(value - each) < 1e-6 * each for each in figures):
            words = f"{value:g} V" if what == "volts" else f"{value / 1e3:g} kA"
            question = (
                f"{told} is the AC rating of class {row['fuse_class']}: what does the sheet of {kind.name} say for DC?"
            )
            return (asking(key, f"{words} is the AC rating of its class: is this the DC figure?", question),)
    return ()
