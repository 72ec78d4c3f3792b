"""Faults that can be planted in a pretend bank, as a closed list, and what each does to it.

Gives: FAULTS, Planted, planted(), faulted(). Written `reversed:M4`, `loose:L3+@M3+=1 mohm`, `low:M3=0.1 V`, `bond`,
`unplug:M4`, `tired:F1=0.5 mohm`.
Limits: one value each; resistances are added to what the file has.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from bankwright.bank.file.quantity_text import QuantityFault, parse
from bankwright.bank.model import Bank
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.nearest import did_you_mean
from bankwright.forms.toleranced import Toleranced

__all__ = ["FAULTS", "Planted", "faulted", "planted"]


@dataclass(frozen=True, slots=True)
class Sort:
    """A sort of fault: where it sits, its value, the check that should find it and the step of that check."""

    words: str
    place: str  # "module", "joint", "device", or nothing
    quantity: str
    usual: float
    code: str
    step: str


FAULTS: Mapping[str, Sort] = MappingProxyType(
    {
        "reversed": Sort("the leads of a module are exchanged", "module", "", 0.0, "V-ALONE-1", "B1"),
        "unplug": Sort("the data pair is open before a module", "module", "", 0.0, "V-SURVEY-1", "B5"),
        "low": Sort("a module is lower than the others", "module", "voltage", 0.1, "V-REST-1", "B6"),
        "bond": Sort("neutral and earth are joined twice", "", "", 0.0, "V-BOND-1", "D2"),
        "tired": Sort("a device or its holder has more resistance", "device", "resistance", 0.5e-3, "V-PATH-1", "E2"),
        "loose": Sort("a joint is loose", "joint", "resistance", 1e-3, "V-DROP-1", "E3"),
    }
)
_TEXT = re.compile(r"(?P<sort>[a-z]+)(?::(?P<at>[^=]+))?(?:=(?P<value>.+))?")


@dataclass(frozen=True, slots=True)
class Planted:
    """One fault in this bank."""

    sort: str
    at: str = ""
    value: float = 0.0  # SI

    @property
    def words(self) -> str:
        """What it is, and where."""
        return FAULTS[self.sort].words + (f": {self.at}" if self.at else "")

    def names(self, bank: Bank) -> frozenset[str]:
        """Places at which a finding about it may stand: its own, the link it sits in, the panel's conductor."""
        if self.sort == "bond":
            return frozenset({"panel.PE", "socket.N-PE"})
        if self.sort == "loose":
            return frozenset({self.at, *(j.link for j in bank.joints if j.name == self.at)})
        if self.sort == "tired":
            ways = (inverter.name for inverter in bank.inverters)  # sums along the way to each
            return frozenset({self.at, *(d.on for d in bank.devices if d.name == self.at), *ways})
        return frozenset({self.at})


def planted(text: str, bank: Bank) -> Planted:
    """Read one fault; QuestionError for a sort, a place or a value that cannot be."""
    match = _TEXT.fullmatch(text.strip())
    sort = FAULTS.get(match["sort"]) if match else None
    if match is None or sort is None:
        hint = did_you_mean(text.partition(":")[0], list(FAULTS), f"Faults: {', '.join(FAULTS)}", 3)
        raise QuestionError((Fault("--fault", "unknown-fault", f'found "{text}"', hint=hint),), "the options")
    at = (match["at"] or "").strip()
    known = _places(bank, sort.place)
    if at not in known:
        hint = did_you_mean(at, known, f"{sort.place or 'no place'}: {', '.join(known[:6]) or 'write it alone'}", 3)
        raise QuestionError((Fault("--fault", "which-place", f'found "{text}"', hint=hint),), "the options")
    return Planted(match["sort"], at, _value(text, sort, match["value"]))


def _value(text: str, sort: Sort, typed: str | None) -> float:
    if typed is None:
        return sort.usual
    try:
        if not sort.quantity:
            raise QuantityFault("no-value", f'found "{text}"; it takes no value', "")
        return parse(typed, sort.quantity).nominal
    except QuantityFault as fault:
        raise QuestionError((Fault("--fault", fault.code, fault.found, hint=fault.hint),), "the options") from fault


def _places(bank: Bank, place: str) -> list[str]:
    if not place:
        return [""] if bank.inverters else []
    if place == "module":
        return [module.name for module in bank.modules]
    return [each.name for each in (bank.joints if place == "joint" else bank.devices)]


def _more(value: Toleranced | None, by: float) -> Toleranced:
    base = value or Toleranced(0.0, 0.0, 0.0)
    return Toleranced(base.nominal + by, base.low + by, base.high + by)


def faulted(bank: Bank, faults: Iterable[Planted]) -> Bank:
    """The bank as it stands there: joints and devices with the resistances that were planted."""
    added = {fault.at: fault.value for fault in faults if fault.sort in ("loose", "tired")}
    joints = tuple(
        replace(j, resistance=_more(j.resistance, added[j.name])) if j.name in added else j for j in bank.joints
    )
    devices = tuple(
        replace(d, kind=replace(d.kind, resistance=_more(d.kind.resistance, added[d.name]))) if d.name in added else d
        for d in bank.devices
    )
    return bank.replaced(joints=joints, devices=devices)
