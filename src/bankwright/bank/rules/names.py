"""Rules on names: what may be one, none twice, every reference leads somewhere.

Gives: RULES. Limits: names of links and posts exist only after unfolding (bank/unfold/links, bank/unfold/devices).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from bankwright.bank.file.spans import Path
from bankwright.bank.file.toml_text import key_text
from bankwright.bank.written.told import Told
from bankwright.bank.written.validate import NOBODY
from bankwright.bank.written.wiring import ConductorW
from bankwright.forms.faults import Fault
from bankwright.forms.nearest import did_you_mean

__all__ = ["RULES"]

_PLAIN = re.compile(r"\w(?:[\w. -]*[\w.])?")
_SIGNED = re.compile(r"\w[\w. -]*[+-]?(?:\w|lead)?")
_LISTS = ("modules", "bars", "devices", "inverters", "chargers", "loads", "racks", "arrays")
_MEANT = frozenset({"main", "J"})  # words of the patterns


def names_can_be_names(told: Told) -> Iterator[Fault]:
    """Names end up in posts (`M1+`) and joints (`L3+@M4+`): links, bars and devices may bear a sign at their end."""
    for key in (*_LISTS, "links"):
        for path, entry in told.entries(key):
            signed = key in ("bars", "links", "devices")
            if entry.name == NOBODY:
                continue
            if not (_SIGNED if signed else _PLAIN).fullmatch(entry.name) or entry.name in _MEANT:
                extra = " and a sign at the end" if signed else ""
                right = f"Names hold letters, digits, spaces, dots, hyphens{extra}, and are not main or J"
                yield told.where.fault((*path, "name"), "not-a-name", f'found "{entry.name}"', right)


def no_name_twice(told: Told) -> Iterator[Fault]:
    """A name stands for one thing."""
    seen: dict[str, Path] = {}
    for key in _LISTS:
        for path, entry in told.entries(key):
            yield from _twice(told, seen, entry.name, path)
    links: dict[str, Path] = dict(seen)
    for path, entry in told.entries("links"):
        yield from _twice(told, links, entry.name, path)


def _twice(told: Told, seen: dict[str, Path], name: str, path: Path) -> Iterator[Fault]:
    if name in seen:
        line = told.where.line(seen[name])
        found = f'found "{name}", which line {line} already uses'
        yield told.where.fault((*path, "name"), "double-name", found, "Names are unique", "", also=seen[name])
    seen.setdefault(name, path)


def instruments_have_their_own_names(told: Told) -> Iterator[Fault]:
    """Instruments are named apart from the bank, but each once."""
    seen: dict[str, Path] = {}
    for path, entry in told.entries("instruments"):
        yield from _twice(told, seen, entry.name, path)


def no_address_twice(told: Told) -> Iterator[Fault]:
    """Two modules with one address upset the whole data bus."""
    seen: dict[int, tuple[str, Path]] = {}
    for path, module in told.entries("modules"):
        if module.address is None:
            continue
        if module.address in seen:
            name, other = seen[module.address]
            found = f"found {module.address}; {name} already has it (line {told.where.line(other)})"
            yield told.where.fault((*path, "address"), "double-address", found, "Addresses are unique", "", also=other)
        seen.setdefault(module.address, (module.name, path))


def no_serial_twice(told: Told) -> Iterator[Fault]:
    """A serial number is one module's."""
    seen: dict[str, tuple[str, Path]] = {}
    for path, module in told.entries("modules"):
        if module.serial is None:
            continue
        if module.serial in seen:
            name, other = seen[module.serial]
            found = f'found "{module.serial}"; {name} already has it (line {told.where.line(other)})'
            yield told.where.fault(
                (*path, "serial"), "double-serial", found, "Serial numbers are unique", "", also=other
            )
        seen.setdefault(module.serial, (module.name, path))


def inputs_exist(told: Told) -> Iterator[Fault]:
    """An array feeds an inverter or a charger of this file."""
    known = [entry.name for key in ("inverters", "chargers") for _, entry in told.entries(key)]
    for path, array in told.entries("arrays"):
        if array.input is not None and array.input not in known and not told.holes.excuses(array.input):
            hint = did_you_mean(array.input, known, f"Known: {', '.join(known) or 'none'}")
            found = f'found "{array.input}"; there is no such inverter or charger'
            yield told.where.fault((*path, "input"), "unknown-input", found, "", hint)


def kinds_exist(told: Told) -> Iterator[Fault]:
    """Every kind that is named is given, in the file or in an included one."""
    for key in ("modules", "devices", "inverters", "chargers", "racks"):
        for path, entry in told.entries(key):
            yield from _known(told, (*path, "kind"), entry.kind, key.removesuffix("s"))
    for path, entry in told.entries("arrays"):
        yield from _known(told, (*path, "kind"), entry.kind, "solar")
    for name, kind in told.kinds.module.items():
        if kind.breaker is not None and kind.breaker.backed_by is not None:
            yield from _known(told, ("kinds", "module", name, "breaker", "backed_by"), kind.breaker.backed_by, "device")


def lugs_exist(told: Told) -> Iterator[Fault]:
    """Every lug that a conductor names is a kind of lug."""
    for path, conductor in _conductors(told):
        for key in ("lug", "lug_from", "lug_to"):
            if getattr(conductor, key) is not None:
                yield from _known(told, (*path, key), getattr(conductor, key), "lug")


def _conductors(told: Told) -> Iterator[tuple[Path, ConductorW]]:
    wiring = told.written.wiring
    for key in ("link", "main", "branch"):
        if getattr(wiring, key) is not None:
            yield ("wiring", key), getattr(wiring, key)
    yield from told.entries("links")
    for key in ("inverters", "chargers", "loads"):
        for path, entry in told.entries(key):
            if entry.lead is not None:
                yield (*path, "lead"), entry.lead


def racks_exist(told: Told) -> Iterator[Fault]:
    """A module stands in a rack that is listed."""
    known = [rack.name for rack in told.written.racks]
    for path, module in told.entries("modules"):
        if module.rack is not None and module.rack not in known and not told.holes.excuses(module.rack):
            yield _unknown(told, (*path, "rack"), module.rack, known, "rack")


def _known(told: Told, path: Path, name: str, family: str) -> Iterator[Fault]:
    kinds: dict[str, Any] = getattr(told.kinds, family)
    if name not in kinds and not told.holes.excuses(name):
        yield _unknown(told, path, name, [*kinds, *(told.holes.names - {NOBODY})], f"kind of {family}")


def _unknown(told: Told, path: Path, name: str, known: list[str], what: str) -> Fault:
    table = "[[racks]]" if what == "rack" else f"[kinds.{what.split()[-1]}.{key_text(name)}]"
    listed = f"Known: {', '.join(known)}; or write {table}" if known else f"Write {table}"
    hint = did_you_mean(name, known, listed)
    return told.where.fault(path, f"unknown-{what.split()[0]}", f'found "{name}"; there is no such {what}', "", hint)


RULES = (
    names_can_be_names,
    no_name_twice,
    instruments_have_their_own_names,
    no_address_twice,
    no_serial_twice,
    kinds_exist,
    inputs_exist,
    lugs_exist,
    racks_exist,
)
