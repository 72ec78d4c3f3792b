"""The address plan: which module answers to which address, and how its switches stand.

Gives: AddressRow, address_plan(), switch_picture(), double_addresses(). A pure function of the bank; no port is
opened here.
Limits: switches are read as a binary number, switch 1 the lowest bit (common practice, no source): the module's own
manual has the last word, some count otherwise or keep switches for other purposes.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from bankwright.bank.model import Bank, Module
from bankwright.bank.places import standing_order
from bankwright.forms.finding import Missing
from bankwright.forms.origin import FileKey

__all__ = ["AddressRow", "address_plan", "double_addresses", "switch_picture"]


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


def _switches(address: int, count: int) -> tuple[bool, ...]:
    return tuple(bool(address >> bit & 1) for bit in range(count)) if 0 <= address < 2**count else ()


def _row(bank: Bank, module: Module, counted: int | None) -> AddressRow:
    how = module.kind.address
    given = module.address is not None
    address = module.address if given else counted
    origin = module.origin if given else bank.key(f"{module.kind.path}.address")
    if address is None:
        question = "From which number do the module addresses count, and how many switches set them?"
        missing = Missing(f"{module.kind.path}.address.first", "Read it in the module's manual.", "maker", question)
        return AddressRow(module.name, None, (), origin, False, missing)
    fault = ""
    if how.switches is not None and not 0 <= address < 2**how.switches:
        fault = f"address {address} needs {max(address.bit_length(), 1)} switches, the kind has {how.switches}"
    elif how.most is not None and address > how.most:
        fault = f"address {address} is above {how.most}, the highest of the kind"
    return AddressRow(module.name, address, _switches(address, how.switches or 0), origin, given, None, fault)


def address_plan(bank: Bank) -> tuple[AddressRow, ...]:
    """Addresses of all modules, in the order in which they stand; counted from the kind's first unless written."""
    ordered = standing_order(bank)
    written = {module.address for module in ordered if module.address is not None}
    taken = set(written)
    counted: dict[str, int] = {}
    for module in tuple(reversed(ordered)) if _from_the_top(ordered) else ordered:
        first = module.kind.address.first
        if module.address is not None or first is None:
            continue
        number = first
        while number in taken:
            number += 1
        taken.add(number)
        counted[module.name] = number
    return tuple(_row(bank, module, counted.get(module.name)) for module in ordered)


def _from_the_top(ordered: tuple[Module, ...]) -> bool:
    return bool(ordered) and ordered[0].kind.address.order == "first is highest"


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
