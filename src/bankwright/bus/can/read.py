"""A map of CAN frames read from its file and its DBC, or all faults with line and column.

Gives: read_can_map(). MapError with its faults.
Limits: the DBC lies beside the map or below it; both are guarded as a bank file is.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from pathlib import Path
from types import MappingProxyType

from bankwright.bank.file.includes import opened
from bankwright.bank.file.quantity_text import parse_range
from bankwright.bank.file.whereabouts import Whereabouts
from bankwright.bank.written.validate import validated
from bankwright.bus.can.dbc import Dbc, DbcFault, DbcMessage, DbcSignal, read_dbc
from bankwright.bus.can.rules import faults_of, unit_of
from bankwright.bus.can.signals import CanMap, CanValue, Meant, Route
from bankwright.bus.can.spots import Spot, spots
from bankwright.bus.can.written import CanMapW, CanModuleW, CanSignalW
from bankwright.bus.map.read import MapError
from bankwright.forms.faults import Fault

__all__ = ["read_can_map"]

ID_BITS = 0x1FFFFFFF
CYCLES, LEAST, USUAL = (
    5.0,
    2.0,
    10.0,
)  # cycles of the DBC, s at least, s where it gives none; common practice, no source
Key = tuple[int, bool]


def read_can_map(path: str | os.PathLike[str]) -> CanMap:
    """Read a map and its DBC; MapError with all faults."""
    at = Path(path)
    files = opened(at)
    if files.main is None:
        raise MapError(tuple(files.faults), at.name)
    where = Whereabouts(files.main, at.name, {})
    written, _, faults = validated(CanMapW, files.main.data, where)
    faults = faults or list(_lacking(written, where))
    if faults or written.dbc is None or written.module is None:
        raise MapError(_sorted(faults), at.name)
    try:
        dbc = read_dbc(_beside(at, written.dbc))
    except DbcFault as fault:
        raise MapError((where.fault(("dbc",), "not-allowed", str(fault)),), at.name) from None
    faults = list(faults_of(written, written.module, dbc, where))
    if not faults:
        routes, doubled = _routes(written, written.module, dbc)
        faults = [where.fault(("signals", number, "message"), "double-name", words) for number, words in doubled]
    if faults:
        raise MapError(_sorted(faults), at.name)
    return _map(written, written.module, dbc, routes, name=at.name, digest=files.main.digest)


def _lacking(written: CanMapW, where: Whereabouts) -> Iterator[Fault]:
    """What every map of frames has."""
    if written.dbc is None:
        hint = 'Write dbc = "FILE.dbc": the maker\'s description of the frames'
        yield where.fault(("dbc",), "key-missing", 'the key "dbc" is missing', "", hint)
    if written.module is None:
        hint = 'Write module = { by = "id", shift = 0, width = 8 }, or by = "signal", "name", "one"'
        yield where.fault(("module",), "key-missing", 'the key "module" is missing', "", hint)


def _sorted(faults: Iterable[Fault]) -> tuple[Fault, ...]:
    return tuple(sorted(faults, key=lambda fault: (fault.place.line if fault.place else 0, fault.path)))


def _beside(at: Path, name: str) -> Path:
    folder = os.path.realpath(at.parent)
    real = os.path.realpath(os.path.join(folder, name)) if "\0" not in name else ""
    if not real.startswith(folder.rstrip(os.sep) + os.sep):
        raise DbcFault(f'found "{name}"; the DBC lies in the folder of the map or below it')
    return Path(real)


def _map(written: CanMapW, module: CanModuleW, dbc: Dbc, routes: dict[Key, Route], *, name: str, digest: str) -> CanMap:
    values = (
        value
        for signal in written.signals
        for value in _values(signal, written, dbc.messages[next(_real(signal, module, dbc)).message])
    )
    return CanMap(
        title=written.title,
        file=name,
        digest=digest,
        signals=tuple(values),
        routes=MappingProxyType(routes),
        by=module.by,
        keep=_keep(written, module),
        shift=module.shift or 0,
        width=module.width or 0,
        signal=module.signal or "",
        offset=module.offset,
        names=MappingProxyType(module.names),
    )


def _keep(written: CanMapW, module: CanModuleW) -> int:
    number = 0 if module.width is None else ((1 << module.width) - 1) << (module.shift or 0)
    return ID_BITS & ~written.ignore & ~number


def _real(signal: CanSignalW, module: CanModuleW, dbc: Dbc) -> Iterator[Spot]:
    for spot in spots(signal, module):
        message = dbc.messages.get(spot.message)
        if message is not None and spot.signal in message.signals:
            yield spot


def _values(signal: CanSignalW, written: CanMapW, message: DbcMessage) -> tuple[CanValue, ...]:
    usual = USUAL if message.cycle is None else max(CYCLES * message.cycle, LEAST)
    stale = usual if written.stale is None else written.stale
    if signal.repeat == 1:
        return (CanValue(signal.name, signal.quantity, None, stale),)
    return tuple(CanValue(f"{signal.name} {k}", signal.quantity, k, stale) for k in range(1, signal.repeat + 1))


def _meant(signal: CanSignalW, written: CanMapW, message: DbcMessage, spot: Spot) -> Meant:
    found, values = message.signals[spot.signal], _values(signal, written, message)
    unit = unit_of(signal, found)
    factor, offset = (unit.factor, unit.offset) if unit else (1.0, 0.0)
    sign = -1.0 if signal.positive == "charging" else 1.0  # inside: positive leaves the module
    low, high = _limits(signal, found, sign * factor, sign * offset)
    return Meant(
        signal=spot.signal,
        value=values[spot.n or 0],
        factor=found.scale * factor * sign,
        offset=(found.offset * factor + offset) * sign,
        low=low,
        high=high,
        not_available=frozenset(signal.not_available),
        bits=MappingProxyType(dict(signal.bits or {})),
        choices=MappingProxyType(dict(found.choices)),
        module=spot.module,
        number_in=signal.number_in,
        several=values if signal.number_in else (),
        first=signal.first,
    )


def _limits(signal: CanSignalW, found: DbcSignal, factor: float, offset: float) -> tuple[float | None, float | None]:
    if signal.range is not None:
        return parse_range(signal.range, signal.quantity)
    if found.low is None or found.high is None:
        return None, None
    ends = (found.low * factor + offset, found.high * factor + offset)
    room = 1e-9 * max(map(abs, ends))
    return min(ends) - room, max(ends) + room


def _routes(written: CanMapW, module: CanModuleW, dbc: Dbc) -> tuple[dict[Key, Route], list[tuple[int, str]]]:
    """Every identifier with its message, and signals whose message shares an identifier with another."""
    meant: dict[str, list[Meant]] = {}
    first: dict[str, int] = {}
    for number, signal in enumerate(written.signals):
        for spot in _real(signal, module, dbc):
            meant.setdefault(spot.message, []).append(_meant(signal, written, dbc.messages[spot.message], spot))
            first.setdefault(spot.message, number)
    routes: dict[Key, Route] = {}
    doubled: list[tuple[int, str]] = []
    for name, wanted in meant.items():
        message = dbc.messages[name]
        for key, count in _keys(written, module, message):
            if key in routes:
                other = routes[key].message.name
                words = f"{name} and {other} share the identifier {key[0]:#x} once the module's bits are left out"
                doubled.append((first[name], words))
                break
            routes[key] = Route(message, tuple(wanted), count)
    return routes, doubled


def _keys(written: CanMapW, module: CanModuleW, message: DbcMessage) -> Iterator[tuple[Key, int | None]]:
    """Identifiers of a message, and the module's number where they are counted on."""
    keep = _keep(written, module)
    if module.step is None:
        yield (message.id & keep, message.extended), None
        return
    for k in range(module.most):
        yield ((message.id + k * module.step) & keep, message.extended), k + 1
