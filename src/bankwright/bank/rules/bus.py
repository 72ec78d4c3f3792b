"""Rules on the data bus: what the wire needs, names that exist, pins that differ.

Gives: RULES. Limits: a line that is wired badly (a third terminator, a split pair) is told by the address sheet and the
survey, not here.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator

from bankwright.bank.model_bus import ADDRESSES
from bankwright.bank.written.told import Told
from bankwright.forms.faults import Fault

__all__ = ["RULES"]

PLACES = ("computer", "end")
ONLY_ON = {
    "host": ("tcp", "mqtt"),
    "port": ("serial", "can"),
    **dict.fromkeys(("baud", "parity", "stop_bits", "rts", "dtr"), ("serial",)),
    "timeout": ("serial", "tcp"),
}  # key -> wires that have it
_CAN_PORT = re.compile(r"[A-Za-z][A-Za-z0-9_.]{0,14}|(virtual|udp):[A-Za-z0-9_.:-]{1,60}")
ASKED = ("serial", "tcp")  # wires on which modules are asked at addresses of Modbus


def wire_has_what_it_needs(told: Told) -> Iterator[Fault]:
    """Keys of the other wire stand in vain."""
    bus = told.written.bus
    if bus is None:
        return
    for key, where in ONLY_ON.items():
        if getattr(bus, key) is not None and bus.wire not in where:
            hint = f"Leave it out, or write wire = {' or '.join(chr(34) + wire + chr(34) for wire in where)}"
            yield told.where.fault(("bus", key), "not-here", f'{key} is given for wire = "{bus.wire}"', "", hint)
    if bus.wire not in ASKED and bus.protocol != "modbus":
        hint = "Leave it out: it is for modules that are asked"
        found = f'protocol is given for wire = "{bus.wire}"'
        yield told.where.fault(("bus", "protocol"), "not-here", found, "", hint)
    if bus.wire in ("tcp", "mqtt") and bus.host is not None:
        host, colon, port = bus.host.partition(":")
        needs_port = bus.protocol == "ascii frames"
        is_port = port.isascii() and port.isdigit() and 0 < int(port) < 65536
        if not host or ((colon or needs_port) and not is_port):
            hint = 'Write "192.168.1.20" or "192.168.1.20:502"'
            if needs_port:
                hint = 'Write "192.168.1.20:4001": a serial server has no usual port, its own page shows it'
            yield told.where.fault(("bus", "host"), "not-allowed", f'found "{bus.host}"', "", hint)


def keys_of_sunspec(told: Told) -> Iterator[Fault]:
    """Its keys stand with it alone; a map does not stand with it."""
    bus = told.written.bus
    if bus is None:
        return
    for key, here in (("device", True), ("positive", True), ("map", False)):
        if getattr(bus, key) is not None and (bus.protocol == "sunspec") != here:
            hint = 'Write protocol = "sunspec"'
            if key == "map":
                hint = "Leave it out: the devices tell their own registers"
            found = f'{key} is given for protocol = "{bus.protocol}"'
            yield told.where.fault(("bus", key), "not-here", found, "", hint)


def names_on_the_bus_exist(told: Told) -> Iterator[Fault]:
    """The cable goes by modules of the bank; terminators sit at places of it."""
    bus = told.written.bus
    if bus is None:
        return
    modules = [module.name for _, module in told.entries("modules")]
    listed = {"order": (bus.order or (), ()), "terminators": (bus.terminators or (), PLACES)}
    at = () if bus.polarised_at is None else (bus.polarised_at,)
    listed["polarised_at"] = (at, (*PLACES, "none"))
    for key, (names, more) in listed.items():
        for name in names:
            if name not in modules and name not in more and not told.holes.excuses(name):
                known = ", ".join([*modules[:12], *more])
                yield told.where.fault(("bus", key), "unknown-name", f'found "{name}"', "", f"Known here: {known}")
        if len(set(names)) < len(names):
            yield told.where.fault(("bus", key), "double-name", "a name stands twice", "Each once")


def can_port_is_an_interface(told: Told) -> Iterator[Fault]:
    """A CAN interface is named as the system names it; buses inside one machine have a word before them."""
    bus = told.written.bus
    if bus is None or bus.wire != "can":
        if bus is not None and bus.can.bit_rate is not None:
            yield told.where.fault(
                ("bus", "can"), "not-here", f'can is given for wire = "{bus.wire}"', "", "Leave it out"
            )
        return
    if bus.port is not None and not _CAN_PORT.fullmatch(bus.port):
        hint = 'Write "can0"; inside the machine "vcan0", or what bankwright pretend prints'
        yield told.where.fault(("bus", "port"), "not-allowed", f'found "{bus.port}"', "", hint)


def broker_can_be_meant(told: Told) -> Iterator[Fault]:
    """A password has one place, a certificate its key, and files of TLS need it."""
    bus = told.written.bus
    if bus is None:
        return
    own = bus.mqtt
    if bus.wire != "mqtt":
        if own != type(own)():
            found = f'mqtt is given for wire = "{bus.wire}"'
            yield told.where.fault(("bus", "mqtt"), "not-here", found, "", "Leave it out")
        return
    if own.password_in is not None and own.password_file is not None:
        yield told.where.fault(
            ("bus", "mqtt", "password_file"), "not-here", "the password has two places", "", "One of them"
        )
    if own.user is None and (own.password_in or own.password_file) is not None:
        yield told.where.fault(
            ("bus", "mqtt", "user"), "key-missing", "a password, and no user", "", 'Write user = "..."'
        )
    for key in ("ca", "certificate", "key"):
        if getattr(own, key) is not None and not own.tls:
            yield told.where.fault(("bus", "mqtt", key), "not-here", f"{key} without tls", "", "Write tls = true")
    if (own.certificate is None) != (own.key is None):
        yield told.where.fault(("bus", "mqtt", "key"), "key-missing", "a certificate and its key go together")


def pins_differ(told: Told) -> Iterator[Fault]:
    """One pin carries one signal."""
    bus = told.written.bus
    for key in ("module_pins", "computer_pins"):
        pins = getattr(bus, key, None)
        if pins is None:
            continue
        used = [pin for pin in (pins.d1, pins.d0, pins.common, pins.supply) if pin is not None]
        if len(set(used)) < len(used):
            yield told.where.fault(("bus", key), "double-pin", "two signals on one pin", "A pin carries one signal")


def map_lies_beside(told: Told) -> Iterator[Fault]:
    """The map lies in the folder of the bank file or below it."""
    bus = told.written.bus
    if bus is None or bus.map is None:
        return
    folder = os.path.realpath(told.where.main.path.parent)
    real = os.path.realpath(os.path.join(folder, bus.map)) if "\0" not in bus.map else ""
    if not real.startswith(folder.rstrip(os.sep) + os.sep):
        hint = "A map lies in the folder of the bank file or below it"
        yield told.where.fault(("bus", "map"), "include-outside", f'found "{bus.map}"', "", hint)


def addresses_are_those_of_modules(told: Told) -> Iterator[Fault]:
    """Modbus: 0 is broadcast, 248 to 255 are reserved (MODBUS over Serial Line V1.02, 2.2); text: 255 is all."""
    bus = told.written.bus
    if bus is None or bus.wire not in ASKED:
        return
    first, last = ADDRESSES[bus.protocol]
    for path, module in told.entries("modules"):
        if module.address is not None and not first <= module.address <= last:
            found = f"found {module.address}; a module on this bus has one of {first} to {last}"
            yield told.where.fault((*path, "address"), "out-of-range", found)


RULES: tuple[Callable[[Told], Iterator[Fault]], ...] = (
    wire_has_what_it_needs,
    keys_of_sunspec,
    names_on_the_bus_exist,
    can_port_is_an_interface,
    broker_can_be_meant,
    pins_differ,
    map_lies_beside,
    addresses_are_those_of_modules,
)
