"""A CAN bus as the bank file names it: its map, whose number is whose, the open source.

Gives: can_map_of(), whose_of(), can_targets(), can_source().
Limits: opens by bus/can/port.py alone.
"""

from __future__ import annotations

from pathlib import Path

from bankwright.bank.addresses import address_plan
from bankwright.bank.model import Bank
from bankwright.bus.can.decode import ONE, Whose
from bankwright.bus.can.port import open_can
from bankwright.bus.can.read import read_can_map
from bankwright.bus.can.signals import CanMap
from bankwright.bus.can.source import CanSource
from bankwright.bus.poll import Target
from bankwright.forms.faults import Fault, QuestionError

__all__ = ["can_map_of", "can_source", "can_targets", "whose_of"]


def _fault(path: str, found: str, hint: str) -> QuestionError:
    return QuestionError((Fault(path, "key-missing", found, "", hint),), "")


def can_map_of(bank: Bank, folder: Path) -> CanMap:
    """The map that the file names; MapError with its faults, QuestionError where none is named."""
    if bank.bus is None or bank.bus.map is None:
        raise _fault("bus.map", "no map is named", 'Write map = "FILE.toml" under [bus]: docs/bus.md says how')
    return read_can_map(folder / bank.bus.map)


def whose_of(bank: Bank, can_map: CanMap) -> Whose:
    """Number in a frame -> module: by the map's own names, else by the modules' addresses."""
    modules = [module.name for module in bank.modules]
    for name in can_map.names.values():
        if name not in modules:
            hint = f"The bank's modules: {', '.join(modules[:12])}"
            raise _fault("module.names", f'{can_map.file} names "{name}", which the bank does not have', hint)
    if can_map.names:
        return {int(number): name for number, name in can_map.names.items()}
    if can_map.by == "one":
        if len(modules) != 1:
            hint = 'Write names = { 0 = "M1" } under [module] of the map'
            raise _fault("module.by", f'by = "one", and the bank has {len(modules)} modules', hint)
        return {ONE: modules[0]}
    rows = address_plan(bank)
    found = {row.address - can_map.offset: row.module for row in rows if row.address is not None}
    if not found:
        hint = "Write address = { first = 1 } of its kind, or names under [module] of the map"
        raise _fault("kinds.module", "no module has an address", hint)
    return found


def can_targets(bank: Bank, can_map: CanMap) -> tuple[Target, ...]:
    """Modules that should be heard, by name, in the order of the file."""
    numbers = {name: number for number, name in whose_of(bank, can_map).items()}
    return tuple(Target(m.name, numbers[m.name]) for m in bank.modules if m.name in numbers)


def can_source(bank: Bank, can_map: CanMap, port: str | None, every: float) -> CanSource:
    """Open the bus that the file names, or another one; WireGone when it may not or cannot be opened."""
    line = bank.bus
    name = port or (line.port if line is not None else None)
    if name is None:
        raise _fault("bus.port", "no interface is named", 'Write port = "can0" under [bus], or give --port')
    rate = line.can.bit_rate if line is not None else None
    return CanSource(open_can(name, rate), can_map, whose_of(bank, can_map), every)
