"""Where first power-up reads: poles, main switch, bars, far ends; and the figures that its expectations rest on.

Gives: poles(), main_switch(), far_end(), module_window(), Fill, fill_of(), bank_volts(), branch_ohms().
Limits: the main switch is the first disconnect on a main; without one the place is not known.
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.bank.asks import asking, wanted
from bankwright.bank.model import Bank, Module
from bankwright.forms.finding import Missing
from bankwright.forms.toleranced import Toleranced
from bankwright.handbook.cells import cell_voltage
from bankwright.prove.sheet.due import Facts

__all__ = ["Fill", "bank_volts", "branch_ohms", "far_end", "fill_of", "main_switch", "module_window", "poles"]

RESISTOR = 0.05  # tolerance where the sheet gives none; common practice, no source


def poles(bank: Bank) -> tuple[str, ...]:
    """One post of each pole where the mains meet the bank, plus first."""
    posts = [post for pole in bank.feed_posts for post in pole[:1] if post in bank]
    return tuple(posts if len(posts) == 2 else bank.modules[0].posts[:2])


def main_switch(bank: Bank) -> str | None:
    """Name of the first disconnect on a main."""
    mains = {link.name for link in bank.links if link.role == "main"}
    found = [d for d in bank.devices if d.kind.type == "disconnect" and (d.on in mains or mains & set(d.also_on))]
    return found[0].name if found else None


def far_end(bank: Bank, module: Module) -> str | None:
    """Post at the other end of the link at the module's plus post."""
    for link in bank.links:
        if module.posts[0] in (link.a, link.b):
            return link.b if link.a == module.posts[0] else link.a
    return None


def module_window(module: Module) -> tuple[float, float]:
    """Volts that a module can show with the right sign. [V]"""
    full = module.kind.charge.cell_full or cell_voltage("full").value
    return module.kind.cells * cell_voltage("empty").value, module.kind.cells * full


def bank_volts(facts: Facts) -> float | None:
    """Mean of what the modules read alone; None before that. [V]"""
    found = [facts.read("B1", "voltage", module.name) for module in facts.bank.modules]
    volts = [value for value in found if value is not None]
    return sum(volts) / len(volts) if volts else None


@dataclass(frozen=True, slots=True)
class Fill:
    """Resistor, capacitance of all inverters and their idle current; or what is missing."""

    resistor: float | None = None
    farads: Toleranced | None = None
    idle: float | None = None
    missing: tuple[Missing, ...] = ()
    part: float = RESISTOR  # tolerance of the resistor

    @property
    def left(self) -> float | None:
        """Voltage that stays over the resistor. [V]"""
        return None if self.resistor is None or self.idle is None else self.resistor * self.idle


def fill_of(bank: Bank) -> Fill:
    """The pre-charge behind the main: one resistor, that of the inverters' kind."""
    missing: list[Missing] = []
    resistors: set[float] = set()
    nominal = low = high = idle = 0.0
    for inverter in bank.inverters:
        kind, path = inverter.kind, inverter.kind.path
        resistor = kind.precharge.resistor if kind.precharge else None
        for value, key in (
            (resistor, "precharge.resistor"),
            (kind.capacitance, "capacitance"),
            (kind.standby_current, "standby_current"),
        ):
            missing += [asking(f"{path}.{key}")] if value is None else []
        resistors |= set() if resistor is None else {resistor}
        if kind.capacitance is not None:
            nominal, low, high = (
                nominal + kind.capacitance.nominal,
                low + kind.capacitance.low,
                high + kind.capacitance.high,
            )
        idle += kind.standby_current or 0.0
    if len(resistors) > 1:
        missing.append(
            asking("precharge", "Say which resistor bridges the main switch: the inverters have different ones.")
        )
    if missing or not bank.inverters:
        return Fill(missing=tuple(dict.fromkeys(missing)))
    band = Toleranced(nominal, low, high)
    parts = [i.kind.precharge.tolerance for i in bank.inverters if i.kind.precharge and i.kind.precharge.tolerance]
    part = max(parts, default=RESISTOR)
    return Fill(
        min(resistors), band if low < high else Toleranced(nominal, 0.8 * nominal, 1.2 * nominal), idle, part=part
    )


def branch_ohms(bank: Bank, module: Module) -> Toleranced:
    """Ohmic resistance of a module with both its links at 20 degC; NeedsValue. [ohm]"""
    own = wanted(module.kind.resistance.ohmic, f"{module.kind.path}.resistance.ohmic")
    wire = 0.0
    for link in bank.links:
        if {link.a, link.b} & set(module.posts) and link.role in ("link", "lead"):
            cable, path = link.cable, link.origin.path
            if not link.straight:
                wire += wanted(cable, f"{path}.cable").ohm_per_m * wanted(link.length, f"{path}.length")
            wire += sum(wanted(j.resistance, f"{path}.joint").nominal for j in bank.joints_of(link.name) if j.post)
    return Toleranced(own.nominal + wire, own.low + wire, own.high + wire)
