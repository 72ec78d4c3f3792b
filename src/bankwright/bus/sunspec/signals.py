"""From points of models to our quantities, module by module.

Gives: SunSignal, Whose, signals_of(), places_of().
A string of the definitions is what stands in series; a bank of modules in parallel has as many strings as modules.
Where several models tell one quantity the first of the list is taken that the device has: current and voltage out of
one model (804) before others, so that they are of one moment.
Limits: the definitions do not say what a positive current means: without that word of the bank file no current is kept.
Highest and lowest cells are left out where single cells are told.
Sources: SunSpec model definitions, models 802 to 805, 713, 714, read; the choice among them is ours.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from bankwright.bus.map.registers import TEXTS
from bankwright.bus.sunspec.points import ReadModel
from bankwright.bus.sunspec.walk import Placed
from bankwright.forms.readings import GOOD

__all__ = ["SunSignal", "Whose", "places_of", "signals_of"]

Positive = Literal["charging", "discharging"] | None
PERCENT = 0.01
STORAGE_PORT = 1  # type of a port of model 714


@dataclass(frozen=True, slots=True)
class SunSignal:
    """One value of a module, and the point that tells it."""

    module: str
    name: str
    quantity: str
    number: int | None
    model: Placed
    point: str
    element: int | None
    factor: float = 1.0

    @property
    def is_text(self) -> bool:
        """True for serial numbers."""
        return self.quantity in TEXTS


@dataclass(frozen=True, slots=True)
class Whose:
    """Modules that a device speaks for: one, or those of the whole bank by number of string."""

    alone: str = ""
    by_number: Mapping[int, str] | None = None

    @property
    def count(self) -> int:
        """How many modules. [-]"""
        return 1 if self.by_number is None else len(self.by_number)


@dataclass(frozen=True, slots=True)
class _Way:
    """One way to a quantity: model, point, and whether it is told once for each element."""

    model: int
    point: str
    each: bool = False


_WAYS: tuple[tuple[str, str, float, tuple[_Way, ...]], ...] = (
    ("current", "current", 1.0, (_Way(804, "A"), _Way(803, "StrA", True), _Way(714, "DCA", True), _Way(802, "A"))),
    ("voltage", "voltage", 1.0, (_Way(804, "V"), _Way(805, "V"), _Way(714, "DCV", True), _Way(802, "V"))),
    ("soc", "soc", PERCENT, (_Way(805, "SoC"), _Way(804, "SoC"), _Way(803, "StrSoC", True), _Way(802, "SoC"),
                             _Way(713, "SoC"))),
    ("health", "share", PERCENT, (_Way(805, "SoH"), _Way(804, "SoH"), _Way(803, "StrSoH", True), _Way(802, "SoH"),
                                  _Way(713, "SoH"))),
    ("cycles", "count", 1.0, (_Way(805, "NCyc"), _Way(804, "NCyc"), _Way(802, "NCyc"))),
    ("capacity", "capacity_ah", 1.0, (_Way(802, "AHRtg"),)),
    ("events", "flags", 1.0, (_Way(804, "Evt1"), _Way(803, "StrEvt1", True), _Way(802, "Evt1"))),
    ("serial", "serial", 1.0, (_Way(805, "SN"), _Way(1, "SN"))),
)  # fmt: skip
_WARM = (_Way(804, "ModTmpAvg"), _Way(803, "StrModTmpAvg", True))
OF_STRING = frozenset({803, 804})
OF_ALL = frozenset({1, 713, 802})
SAME_IN_SERIES = frozenset({"current", "events"})  # what a string tells of each of its modules

Read = Sequence[tuple[Placed, ReadModel]]
Places = Mapping[tuple[int, int], str]


def _index(read: ReadModel, name: str) -> int | None:
    said = read.value(name)
    return int(said.value) if said.quality == GOOD else None


def _numbered(read: Read, whose: Whose) -> Mapping[Placed, tuple[int, int]]:
    """String and module of each model of a string or a module; strings that are numbered from 0 become 1 and on."""
    found: dict[Placed, tuple[int, int]] = {}
    for placed, model in read:
        before = sum(each.number == placed.number for each in found)
        if whose.by_number is None and placed.number in (804, 805):
            found[placed] = (1, before + 1)
        elif placed.number == 804:
            found[placed] = (_known(_index(model, "Idx"), before + 1), 0)
        elif placed.number == 805:
            found[placed] = (_known(_index(model, "StrIdx"), before + 1), _known(_index(model, "ModIdx"), 1))
    from_0 = min((string for string, _ in found.values()), default=1) == 0
    return {placed: (string + from_0, number) for placed, (string, number) in found.items()}


def _known(value: int | None, otherwise: int) -> int:
    return otherwise if value is None else value


def places_of(read: Read, whose: Whose) -> Places:
    """(string, module in it) -> name; strings that no module of the bank has are left out."""
    if whose.by_number is None:
        return {(1, 1): whose.alone}
    numbered = _numbered(read, whose)
    seen = sorted({where for placed, where in numbered.items() if placed.number == 805})
    if not seen:
        strings = {string for string, _ in numbered.values()} | set(_strings(read))
        seen = sorted((string, 1) for string in strings or {1})
    alone = len({string for string, _ in seen}) == len(seen)
    numbers = {where: where[0] if alone else k for k, where in enumerate(seen, 1)}
    return {where: whose.by_number[number] for where, number in numbers.items() if number in whose.by_number}


def _strings(read: Read) -> range:
    """Strings that one model tells of, numbered from 1."""
    bank = max((model.count for placed, model in read if placed.number == 803), default=0)
    ports = max((len(_storage(model)) for placed, model in read if placed.number == 714), default=0)
    return range(1, max(bank, ports) + 1)


def _storage(model: ReadModel) -> list[int]:
    """Ports of a model 714 that are storage, or do not say what they are."""
    types = [model.value("PrtTyp", k) for k in range(model.count)]
    return [k for k, said in enumerate(types) if said.quality != GOOD or said.value == STORAGE_PORT]


def signals_of(read: Read, whose: Whose, positive: Positive) -> tuple[SunSignal, ...]:
    """All values that the device tells of its modules, as far as it has them at this moment."""
    places, numbered = places_of(read, whose), _numbered(read, whose)
    found: list[SunSignal] = []
    for where, module in places.items():
        for name, quantity, factor, ways in _WAYS:
            sign = -1.0 if quantity == "current" and positive == "charging" else 1.0
            if quantity == "current" and positive is None:
                continue
            first = next(_told(read, numbered, places, (where, quantity), _fitting(read, ways, whose)), None)
            if first is not None:
                placed, point, element = first
                found.append(SunSignal(module, name, quantity, None, placed, point, element, factor * sign))
        found += _cells(read, numbered, where, module)
        if not any(s.module == module and s.quantity == "temperature_degc" for s in found):
            warm = next(_told(read, numbered, places, (where, "temperature_degc"), _WARM), None)
            found += [SunSignal(module, "warmth", "temperature_degc", None, *warm)] if warm else []
    return tuple(found)


def _fitting(read: Read, ways: Iterable[_Way], whose: Whose) -> Iterator[_Way]:
    """Ways that can tell of one module: what is the whole device's tells of it only where the device has no other."""
    ports = sum(len(_storage(model)) for placed, model in read if placed.number == 714)
    for way in ways:
        of_all = way.model in OF_ALL or (way.model == 714 and ports != whose.count)
        if not of_all or whose.count == 1:
            yield way


def _told(
    read: Read,
    numbered: Mapping[Placed, tuple[int, int]],
    places: Places,
    wanted: tuple[tuple[int, int], str],
    ways: Iterable[_Way],
) -> Iterator[tuple[Placed, str, int | None]]:
    """Points that tell the quantity of this place, the best first."""
    where, quantity = wanted
    series = sum(string == where[0] for string, _ in places)
    for way in ways:
        if way.model in OF_STRING and series > 1 and quantity not in SAME_IN_SERIES:
            continue
        for placed, model in read:
            if placed.number != way.model or not _theirs(way, numbered.get(placed), where):
                continue
            element = _element(model, where[0]) if way.each else None
            if way.each and element is None:
                continue
            if model.value(way.point, element).quality == GOOD:
                yield placed, way.point, element


def _element(model: ReadModel, string: int) -> int | None:
    """Which of what the model repeats is this string, counted from 0; None where it has none."""
    listed = _storage(model) if model.model.number == 714 else list(range(model.count))
    return listed[string - 1] if string <= len(listed) else None


def _theirs(way: _Way, own: tuple[int, int] | None, where: tuple[int, int]) -> bool:
    """Whether a model is of this string, or of this module."""
    if own is None:
        return True
    return own == where if way.model == 805 else own[0] == where[0]


def _cells(
    read: Read, numbered: Mapping[Placed, tuple[int, int]], where: tuple[int, int], module: str
) -> Iterator[SunSignal]:
    for placed, model in read:
        if placed.number != 805 or numbered[placed] != where:
            continue
        for k in range(model.count):
            if model.value("CellV", k).quality == GOOD:
                yield SunSignal(module, f"cell {k + 1}", "cell_voltage", k + 1, placed, "CellV", k)
        for k in range(model.count):
            if model.value("CellTmp", k).quality == GOOD:
                yield SunSignal(module, f"sensor {k + 1}", "temperature_degc", k + 1, placed, "CellTmp", k)
