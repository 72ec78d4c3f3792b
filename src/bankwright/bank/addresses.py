"""The address plan: which module answers to which address, and how its switches stand.

Gives: AddressRow, address_plan(), switch_picture(), switch_words(), double_addresses(). A pure function of the bank;
no port is opened here.
Limits: switches are read as a binary number, switch 1 the lowest bit unless the file says otherwise (common practice,
no source): the module's own manual has the last word, some keep switches of the same block for other purposes.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, Module
from bankwright.bank.model_bus import ADDRESSES
from bankwright.bank.model_kinds import Addressing
from bankwright.bank.places import standing_order
from bankwright.forms.finding import Missing
from bankwright.forms.origin import FileKey

__all__ = ["AddressRow", "address_plan", "double_addresses", "switch_picture", "switch_words"]


@dataclass(frozen=True, slots=True)
class AddressRow:
    """One module's address: None where the bank file does not say how this kind counts."""

    module: str
    address: int | None
    switches: tuple[bool, ...]  # True: on; switch 1 first; empty where the kind has none or cannot show the address
    origin: FileKey
    given: bool  # written for this module, not counted
    missing: Missing | None = None
    fault: str = ""  # "needs 5 switches, the kind has 4"
    turned: tuple[bool, ...] = ()  # as they would stand if the switches counted from the other end


def _switches(address: int, how: Addressing) -> tuple[bool, ...]:
    """How the switches stand, switch 1 first; none where they cannot show the address."""
    shown, count = address - (how.base or 0), how.switches or 0
    if not 0 <= shown < 2**count:
        return ()
    bits = tuple(bool(shown >> bit & 1) != (how.on_is == "zero") for bit in range(count))
    return bits[::-1] if how.order == "first is highest" else bits


def _row(bank: Bank, module: Module, counted: int | None) -> AddressRow:
    how = module.kind.address
    given = module.address is not None
    address = module.address if given else counted
    origin = module.origin if given else bank.key(f"{module.kind.path}.address")
    if address is None:
        missing = asking(f"{module.kind.path}.address.first", "Read it in the module's manual.")
        return AddressRow(module.name, None, (), origin, False, missing)
    switches = _switches(address, how)
    fault = _fault(bank, address, how)
    return AddressRow(module.name, address, switches, origin, given, None, fault, switches[::-1])


def _fault(bank: Bank, address: int, how: Addressing) -> str:
    shown = address - (how.base or 0)
    if how.switches is not None and not 0 <= shown < 2**how.switches:
        return f"address {address} needs {max(shown.bit_length(), 1)} switches, the kind has {how.switches}"
    if how.most is not None and address > how.most:
        return f"address {address} is above {how.most}, the highest of the kind"
    if bank.bus is not None and bank.bus.wire in ("serial", "tcp"):
        first, last = ADDRESSES[bank.bus.protocol]
        if not first <= address <= last:
            return f"address {address} is none of a module on this bus: {first} to {last}"
    return ""


def address_plan(bank: Bank) -> tuple[AddressRow, ...]:
    """Addresses of all modules, in the order in which they stand; counted from the kind's first unless written."""
    ordered = standing_order(bank)
    written = {module.address for module in ordered if module.address is not None}
    taken = set(written)
    counted: dict[str, int] = {}
    for module in ordered:
        first = module.kind.address.first
        if module.address is not None or first is None:
            continue
        number = first
        while number in taken or number == module.kind.address.reserved:
            number += 1
        taken.add(number)
        counted[module.name] = number
    return tuple(_row(bank, module, counted.get(module.name)) for module in ordered)


def double_addresses(rows: tuple[AddressRow, ...]) -> dict[int, tuple[str, ...]]:
    """Addresses that more than one module would answer to."""
    holders: dict[int, list[str]] = defaultdict(list)
    for row in rows:
        if row.address is not None:
            holders[row.address].append(row.module)
    return {address: tuple(names) for address, names in holders.items() if len(names) > 1}


def switch_picture(row: AddressRow) -> tuple[str, ...]:
    """Draw the switches in three lines of text: the side that is up, the side that is down, the numbers."""
    if not row.switches:
        return ()
    up = " ".join("#" if on else "." for on in row.switches)
    down = " ".join("." if on else "#" for on in row.switches)
    numbers = " ".join(str(number + 1) for number in range(len(row.switches)))
    return (f"on   {up}", f"off  {down}", f"     {numbers}")


def switch_words(switches: tuple[bool, ...]) -> str:
    """Say how switches stand: `1 and 3 on; 2, 4 off`."""
    on = [str(number) for number, each in enumerate(switches, 1) if each]
    off = [str(number) for number, each in enumerate(switches, 1) if not each]
    parts = [f"{', '.join(found)} {word}" for found, word in ((on, "on"), (off, "off")) if found]
    return "; ".join(parts)
