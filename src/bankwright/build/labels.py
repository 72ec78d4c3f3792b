"""Texts of labels and signs, filled from computed figures: drafts for the inspector.

Gives: Label, labels(), FIGURES. Figures come in by name (see FIGURES);
what is not given stays an open line, never a guess.
Limits: wording of a label is the adopted code's and the inspector's; the layout is in report/.
Sources: NEC 2023 706.15(C) (label text read on a trade page), 706.15(B), 110.16 practice;
IEC books: common practice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bankwright.bank.addresses import address_plan
from bankwright.bank.model import Bank, Device
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, figure_text

__all__ = ["FIGURES", "Label", "labels"]

FIGURES: Mapping[str, str] = {
    "nominal voltage": "nominal voltage of the bank",
    "highest voltage": "highest voltage the bank can reach",
    "fault current": "largest fault current at the disconnect",
    "fault current at the bank": "largest fault current of the bank",
    "arc energy": "incident energy of an arc",
}
_DRAFT = "Draft for the inspector; the adopted code has the last word."


@dataclass(frozen=True, slots=True)
class Label:
    """One label: where it goes, its lines, what is still open."""

    id: str
    at: tuple[str, ...]
    place: str
    lines: tuple[str, ...]
    source: Source
    open: tuple[str, ...] = ()
    note: str = _DRAFT


def labels(bank: Bank, figures: Mapping[str, Figure | str] | None = None, date: str = "") -> tuple[Label, ...]:
    """All labels: disconnects, bank, modules, cables, fault page."""
    given = dict(figures or {})
    given.setdefault(
        "nominal voltage", Figure(max((m.kind.nominal_voltage for m in bank.modules), default=0.0), "voltage")
    )
    found = [
        _disconnect(bank, device, given, date)
        for device in bank.devices
        if device.kind.type in ("disconnect", "breaker")
    ]
    found.append(_bank_sign(bank, given, date))
    found += _module_labels(bank)
    found += _fuse_labels(bank)
    found += _cable_labels(bank)
    return tuple(found)


def _filled(bank: Bank, given: Mapping[str, Figure | str], names: tuple[str, ...]) -> tuple[list[str], list[str]]:
    lines, missing = [], []
    for name in names:
        value = given.get(name)
        if value is None:
            lines.append(f"{FIGURES[name].capitalize()}: ________")
            missing.append(FIGURES[name])
        else:
            said = value if isinstance(value, str) else figure_text(value, bank.units)
            lines.append(f"{FIGURES[name].capitalize()}: {said}")
    return lines, missing


def _date_line(date: str) -> str:
    return f"Computed on: {date or '________'}"


def _disconnect(bank: Bank, device: Device, given: Mapping[str, Figure | str], date: str) -> Label:
    of_bank = device.on not in bank or bank.link(device.on).role != "branch"
    nec = bank.book == "nec-2023" and of_bank
    head = "ENERGY STORAGE SYSTEM DISCONNECT" if nec else "Battery disconnect"
    if not of_bank:
        head = device.labels[0].capitalize() if device.labels else f"Disconnect in {device.on}"
    lines, missing = _filled(bank, given, ("nominal voltage", "fault current", "arc energy"))
    source = (
        Source("NEC", "2023", "706.15(C)", "read on a trade page")
        if nec
        else Source("labels at a battery switch", how_known="common practice, no source")
    )
    where = device.reach or "at the switch"
    body = (head, f"{device.name}: ON and OFF positions marked", *lines, _date_line(date))
    return Label(f"label.{device.name}", (device.name,), where, body, source, tuple(missing))


def _bank_sign(bank: Bank, given: Mapping[str, Figure | str], date: str) -> Label:
    kinds = sorted({module.kind.chemistry for module in bank.modules})
    lines, missing = _filled(bank, given, ("nominal voltage", "highest voltage", "fault current at the bank"))
    energy = [module.kind.energy_or_nominal for module in bank.modules]
    total = sum(e for e in energy if e is not None)
    known = energy and all(e is not None for e in energy)
    count = "1 module" if len(bank.modules) == 1 else f"{len(bank.modules)} modules"
    full = " (lithium iron phosphate)" if kinds == ["LFP"] else ""
    body = (
        f"Battery bank, {count}, {', '.join(kinds)}{full}",
        f"Energy: {total:.1f} kWh" if known else "Energy: ________",
        *lines,
        "Every module is a source: opening the main switch does not make the rack dead.",
        _date_line(date),
    )
    source = Source("sign at a battery", how_known="common practice, no source")
    return Label("label.bank", (), "at the rack, facing whoever comes", body, source, tuple(missing))


def _module_labels(bank: Bank) -> list[Label]:
    source = Source("names of the bank file", how_known="derived")
    found = []
    for row in address_plan(bank):
        address = "address ________" if row.address is None else f"address {row.address}"
        missing = () if row.address is not None else ("address",)
        found.append(
            Label(
                f"label.{row.module}", (row.module,), "front of the module", (row.module, address), source, missing, ""
            )
        )
    return found


def _fuse_labels(bank: Bank) -> list[Label]:
    source = Source("fuse kind of the bank file", how_known="derived")
    found = []
    for device in bank.devices:
        kind = device.kind
        if kind.type == "fuse":
            rating = "________ A" if kind.rating is None else f"{kind.rating:g} A"
            lines = (
                device.name,
                f"{kind.device_class or 'class ________'}, {rating}",
                "Replace with the same type only",
            )
            found.append(Label(f"label.{device.name}", (device.name,), "at the holder", lines, source, note=""))
    return found


def _cable_labels(bank: Bank) -> list[Label]:
    source = Source("names of the bank file", how_known="derived")
    return [
        Label(f"label.{link.name}", (link.name,), f"both ends, at {link.a} and {link.b}", (link.name,), source, note="")
        for link in bank.links
    ]
