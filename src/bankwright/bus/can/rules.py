"""What joins the keys of a map of CAN frames, and the map with its DBC: each rule yields faults with their place.

Gives: faults_of(), unit_of(). Limits: single values are judged in can/written.py.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.file.spans import Path
from bankwright.bank.file.whereabouts import Whereabouts
from bankwright.bus.can.dbc import Dbc, DbcSignal, overlapping
from bankwright.bus.can.spots import Spot, spots
from bankwright.bus.can.written import CanMapW, CanModuleW, CanSignalW
from bankwright.bus.map.placeholders import holders, unknown_holders
from bankwright.bus.map.rules import quantity_faults
from bankwright.forms.faults import Fault
from bankwright.forms.nearest import did_you_mean
from bankwright.forms.quantities import QUANTITIES, Unit

__all__ = ["faults_of", "unit_of"]

MOST_VALUES = 2000
TAKES = {"id": {"shift", "width", "step"}, "signal": {"signal"}, "name": set[str](), "one": set[str]()}


def faults_of(written: CanMapW, module: CanModuleW, dbc: Dbc, where: Whereabouts) -> Iterator[Fault]:
    """All faults of the rules."""
    yield from _module(module, where)
    if not written.signals:
        yield where.fault(("signals",), "key-missing", "the map has no signals", "", "Write a [[signals]] block each")
    if sum(signal.repeat for signal in written.signals) > MOST_VALUES:
        yield where.fault(("signals",), "out-of-range", f"more than {MOST_VALUES} values")
        return
    seen: dict[str, int] = {}
    for number, signal in enumerate(written.signals):
        path: Path = ("signals", number)
        if signal.name in seen:
            found = f'found "{signal.name}" twice'
            yield where.fault((*path, "name"), "double-name", found, also=("signals", seen[signal.name]))
        seen.setdefault(signal.name, number)
        yield from quantity_faults(signal, path, where, needs_unit=False)
        yield from _names(signal, module, path, where)
        yield from _in_dbc(signal, module, dbc, path=path, where=where)
    yield from _layouts(written, module, dbc, where)


def _layouts(written: CanMapW, module: CanModuleW, dbc: Dbc, where: Whereabouts) -> Iterator[Fault]:
    """Each message that is used can be as the DBC lays it out."""
    first: dict[str, int] = {}
    for number, signal in enumerate(written.signals):
        for spot in spots(signal, module):
            first.setdefault(spot.message, number)
    for name, number in first.items():
        wrong = overlapping(dbc.messages[name]) if name in dbc.messages else ""
        if wrong:
            found, hint = f"the layout of {name} cannot be: {wrong}", f"Mend the message in {dbc.name}"
            yield where.fault(("signals", number, "message"), "not-allowed", found, "", hint)


def _module(module: CanModuleW, where: Whereabouts) -> Iterator[Fault]:
    for key in ("shift", "width", "step", "signal"):
        if getattr(module, key) is not None and key not in TAKES[module.by]:
            hint = f'Leave it out: by = "{module.by}" does not take it'
            yield where.fault(("module", key), "not-here", f'{key} is given for by = "{module.by}"', "", hint)
    if module.by == "signal" and module.signal is None:
        hint = 'Write signal = "NAME", the signal of the DBC that says it'
        yield where.fault(("module", "signal"), "key-missing", "which signal says the module is not given", "", hint)
    if module.by == "id":
        both = (module.shift is None) == (module.step is None)
        if both or (module.shift is None) != (module.width is None):
            found = "where the number stands in the identifier is not said once"
            hint = "Write shift and width (bits of the identifier), or step (from one module's identifier to the next)"
            yield where.fault(("module", "by"), "key-missing", found, "", hint)
        elif module.width is not None and (module.shift or 0) + module.width > 29:
            yield where.fault(("module", "width"), "out-of-range", "an identifier has 29 bits at most")
    for number in module.names:
        if not (number.lstrip("-").isascii() and number.lstrip("-").isdigit()):
            yield where.fault(
                ("module", "names"), "not-allowed", f'found "{number}"', "", 'Write { 0 = "M1", 1 = "M2" }'
            )


def _names(signal: CanSignalW, module: CanModuleW, path: Path, where: Whereabouts) -> Iterator[Fault]:
    for key in ("message", "signal"):
        for braces in unknown_holders(getattr(signal, key)):
            hint = "{n}, {module}, or {n:02} for 01, 02"
            yield where.fault((*path, key), "not-allowed", f'found "{braces}" in a name', "", hint)
    found = holders(signal.message) | holders(signal.signal)
    if ("module" in found) != (module.by == "name"):
        words = (
            'stands in no name, but by = "name"' if module.by == "name" else f'stands in a name, but by = "{module.by}"'
        )
        yield where.fault(
            (*path, "message"), "not-allowed", f"{{module}} {words}", "", 'by = "name" and {module} go together'
        )
    if signal.repeat > 1 and ("n" in found) == (signal.number_in is not None):
        hint = 'Write signal = "Cell{n}", or number_in = the signal that says which it is'
        yield where.fault((*path, "repeat"), "key-missing", f"{signal.repeat} of them, told apart by nothing", "", hint)
    if signal.repeat == 1 and ("n" in found or signal.number_in is not None):
        yield where.fault((*path, "repeat"), "key-missing", "how many of them is not said", "", "Write repeat = 16")
    if (signal.quantity == "flags") != (signal.bits is not None):
        yield where.fault((*path, "bits"), "key-missing", "flags and bits go together", "", 'bits = { 0 = "..." }')


def _in_dbc(signal: CanSignalW, module: CanModuleW, dbc: Dbc, *, path: Path, where: Whereabouts) -> Iterator[Fault]:
    every = list(spots(signal, module))
    there = [spot for spot in every if _there(spot, dbc)]
    if module.by == "name":  # of as many modules as the DBC has; each with all of them
        numbers = {spot.module for spot in there}
        every = [spot for spot in every if spot.module in numbers] or every[:1]
    for spot in every:
        fault = _missing(spot, dbc, path, where)
        if fault is not None:
            yield fault
            return
    for name in {spot.message for spot in every}:
        yield from _in_message(name, signal, module, dbc, path=path, where=where)
    found = dbc.messages[every[0].message].signals[every[0].signal]
    yield from _unit(signal, found, dbc, path, where)


def _there(spot: Spot, dbc: Dbc) -> bool:
    message = dbc.messages.get(spot.message)
    return message is not None and spot.signal in message.signals


def _missing(spot: Spot, dbc: Dbc, path: Path, where: Whereabouts) -> Fault | None:
    message = dbc.messages.get(spot.message)
    if message is None:
        hint = did_you_mean(spot.message, dbc.messages, _known(dbc.messages, f"Messages of {dbc.name}"))
        return where.fault((*path, "message"), "unknown-name", f'{dbc.name} has no message "{spot.message}"', "", hint)
    if spot.signal not in message.signals:
        hint = did_you_mean(spot.signal, message.signals, _known(message.signals, f"Signals of {message.name}"))
        found = f'message {message.name} has no signal "{spot.signal}"'
        return where.fault((*path, "signal"), "unknown-name", found, "", hint)
    return None


def _known(names: object, title: str) -> str:
    listed = list(names)  # type: ignore[call-overload]
    return f"{title}: {', '.join(listed[:20])}{', ...' if len(listed) > 20 else ''}"


def _in_message(
    name: str, signal: CanSignalW, module: CanModuleW, dbc: Dbc, *, path: Path, where: Whereabouts
) -> Iterator[Fault]:
    message = dbc.messages[name]
    for key, wanted, at in (("number_in", signal.number_in, path), ("signal", module.signal, ("module",))):
        if wanted is not None and wanted not in message.signals:
            hint = did_you_mean(wanted, message.signals, _known(message.signals, f"Signals of {name}"))
            yield where.fault((*at, key), "unknown-name", f'message {name} has no signal "{wanted}"', "", hint)


def unit_of(signal: CanSignalW, found: DbcSignal) -> Unit | None:
    """The unit of the scaled value: the map's own, or the DBC's."""
    row = QUANTITIES.get(signal.quantity)
    return row.unit_named(signal.unit if signal.unit is not None else found.unit.strip()) if row else None


def _unit(signal: CanSignalW, found: DbcSignal, dbc: Dbc, path: Path, where: Whereabouts) -> Iterator[Fault]:
    row = QUANTITIES.get(signal.quantity)
    if row is not None and signal.unit is None and unit_of(signal, found) is None:
        known = ", ".join(f'"{unit.symbol}"' for unit in row.units)
        said = f'gives it the unit "{found.unit}"' if found.unit else "gives it no unit"
        words = f"{dbc.name} {said}, which is none of a {signal.quantity}"
        yield where.fault((*path, "unit"), "key-missing", words, "", f"Write the unit of the scaled value: {known}")
    if found.scale == 0 and not found.is_float:
        yield where.fault(
            (*path, "signal"), "out-of-range", f"{dbc.name} scales {found.name} by 0: every value is alike"
        )
    low, high = _span(found)
    for raw in signal.not_available:
        if not low <= raw <= high:
            words = f"found {raw}; {found.name} has {found.bits} bits, {low} to {high}"
            yield where.fault((*path, "not_available"), "out-of-range", words)


def _span(found: DbcSignal) -> tuple[int, int]:
    if found.is_float:
        return -(2**63), 2**64
    return (-(1 << found.bits - 1), (1 << found.bits - 1) - 1) if found.signed else (0, (1 << found.bits) - 1)
