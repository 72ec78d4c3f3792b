"""Measured values as edits of the bank file, which a person takes or leaves.

Gives: AsBuilt, as_built(). A module's resistance against its kind at the same age and temperature, its capacity, a
link's cable at 20 degC, a device of which there is one; each with what stands there now and what would.
Limits: only what the readings settle; a module that stands in the file by count has no entry of its own; a joint has
none either, it is in the file by its kind of cable.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from bankwright.bank.file.document import Document
from bankwright.bank.file.spans import path_text
from bankwright.bank.model import Bank, Link, Module
from bankwright.circuit.of_bank.at_age import resistance_at
from bankwright.forms.checks import NeedsValue
from bankwright.logbook.baseline import Baseline, Measured
from bankwright.physics.conductor import temperature_factor

__all__ = ["AsBuilt", "as_built"]

LEAST_FACTOR = 0.02  # a factor nearer to one than this says nothing; our choice


@dataclass(frozen=True, slots=True)
class AsBuilt:
    """One proposal: where, what stands there, what would; or why there is none (`edit` False)."""

    at: str
    path: str
    before: str
    after: str
    words: str
    edit: bool = True
    block: str = ""  # name of a [[links]] block to add; then `path` is its key

    def on(self, document: Document) -> Document:
        """The document with it; EditRefused when the file cannot take it."""
        if self.block:
            return document.with_block("links", {"name": self.block, self.path: self.after})
        return document.with_value(self.path, self.after)


def as_built(bank: Bank, document: Document, baseline: Baseline) -> tuple[AsBuilt, ...]:
    """Every value of the baseline that the file has a key for, in the order of the bank."""
    return tuple(
        each
        for part in (
            _modules(bank, document, baseline),
            _links(bank, document, baseline),
            _devices(bank, document, baseline),
        )
        for each in part
    )


def _entry(document: Document, table: str, name: str) -> tuple[int, Mapping[str, Any]] | None:
    rows = document.data.get(table, [])
    return next(((n, row) for n, row in enumerate(rows) if row.get("name") == name), None)


def _modules(bank: Bank, document: Document, baseline: Baseline) -> Iterator[AsBuilt]:
    for module in bank.modules:
        found = _entry(document, "modules", module.name)
        ohms, charge = baseline.value("resistance", module.name), baseline.value("capacity", module.name)
        if ohms is None and charge is None:
            continue
        if found is None or found[1].get("count", 1) != 1:
            words = "stands in the file by count: give it an entry of its own first"
            yield AsBuilt(module.name, module.origin.path, "", "", words, edit=False)
            continue
        path, row = path_text(("modules", found[0])), found[1]
        if ohms is not None:
            yield from _factor(
                module, ohms, f"{path}.resistance_factor", str(row.get("resistance_factor", "not given"))
            )
        if charge is not None:
            own = str(row.get("capacity", f"{module.kind.capacity_ah or 0:g} Ah by its kind"))
            yield AsBuilt(module.name, f"{path}.capacity", own, f"{charge.value:.1f} Ah", _told(charge))


def _factor(module: Module, ohms: Measured, path: str, before: str) -> Iterator[AsBuilt]:
    """Its resistance against that of its kind, both at the age and temperature at which it was measured."""
    try:
        kind = resistance_at(module, ohms.age or 30.0, ohms.degc)
    except NeedsValue:
        return
    factor = ohms.value / kind.nominal * (module.resistance_factor.nominal if module.resistance_factor else 1.0)
    half = _half(ohms)
    if abs(factor - 1.0) < LEAST_FACTOR and half < LEAST_FACTOR:
        return
    yield AsBuilt(module.name, path, before, f"{factor:.3f} +- {100 * half:.1f} %", _told(ohms))


def _half(value: Measured) -> float:
    """Half of its band over it. [-]"""
    if value.low is None or value.high is None or not value.value:
        return 0.05
    return max((value.high - value.low) / 2.0 / abs(value.value), 0.001)


def _links(bank: Bank, document: Document, baseline: Baseline) -> Iterator[AsBuilt]:
    for link in bank.links:
        value = baseline.value("resistance", link.name)
        if value is None or link.cable is None:
            continue
        bare = _cable(bank, link, value, baseline)
        if bare is None or bare <= 0.0:
            words = "its joints and devices are more than the whole: read them one by one"
            yield AsBuilt(link.name, link.origin.path, "", "", words, edit=False)
            continue
        after = f"{1e6 * bare:.1f} uohm +- {100 * _half(value):.1f} %"
        found = _entry(document, "links", link.name)
        path = "resistance" if found is None else path_text(("links", found[0], "resistance"))
        if link.length is not None:
            before = f"{1e6 * link.cable.ohm_per_m * link.length:.1f} uohm by size and length"
        else:
            before = "not given"
        if found is not None and "resistance" in found[1]:
            before = str(found[1]["resistance"])
        yield AsBuilt(link.name, path, before, after, _told(value), block=link.name if found is None else "")


def _cable(bank: Bank, link: Link, value: Measured, baseline: Baseline) -> float | None:
    """The cable alone at 20 degC: the link less its joints and devices, measured where they were."""
    rest = 0.0
    for joint in bank.joints_of(link.name):
        own = baseline.value("resistance", joint.name)
        if own is None and joint.resistance is None:
            return None
        rest += own.value if own is not None else joint.resistance.nominal if joint.resistance else 0.0
    for device in bank.devices_on(link.name):
        name = device.name if device.on == link.name else f"{device.name}@{link.name}"
        own = baseline.value("resistance", name)
        if own is None and device.kind.resistance is None:
            return None
        rest += own.value if own is not None else device.kind.resistance.nominal if device.kind.resistance else 0.0
    cable = value.value - rest
    degc = value.stated_degc if value.stated_degc is not None else value.degc
    return cable if degc is None else cable / float(temperature_factor(degc))


def _devices(bank: Bank, document: Document, baseline: Baseline) -> Iterator[AsBuilt]:
    for device in bank.devices:
        value = baseline.value("resistance", device.name)
        if value is None:
            continue
        alike = [each.name for each in bank.devices if each.kind.path == device.kind.path]
        if len(alike) > 1 or not document.has(device.kind.path):
            words = f"its kind is that of {', '.join(alike)}, or stands in another file: a kind of its own first"
            yield AsBuilt(device.name, device.kind.path, "", "", words, edit=False)
            continue
        path = f"{device.kind.path}.resistance"
        before = str(document.value(path)) if document.has(path) else "not given"
        if document.has(f"{device.kind.path}.drop"):
            continue  # its sheet's drop says it; a shunt is never re-calibrated by its own millivolts
        yield AsBuilt(
            device.name, path, before, f"{1e3 * value.value:.3f} mohm +- {100 * _half(value):.0f} %", _told(value)
        )


def _told(value: Measured) -> str:
    warm = f", {value.degc:.0f} °C" if value.degc is not None else ", temperature not read"
    aged = "" if value.age is None else f", {value.age:.0f} s after the step"
    return f"{value.source} of {value.when[:10]}{warm}{aged}"
