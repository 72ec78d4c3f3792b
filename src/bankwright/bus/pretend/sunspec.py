"""Pretend devices that speak SunSpec: registers of whole models out of values.

Gives: SunspecModule, sunspec_line(), image_of(), ModelSaid. Everything that a state does not give is "not implemented".
Limits: holding registers only; scale factors are fixed: volts 0.01, cells 0.001, amperes 0.01, the rest 0.1.
Sources: SunSpec model definitions (sunspec/data), read.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from types import MappingProxyType

from bankwright.bus.modbus.crc import holds, with_crc
from bankwright.bus.modbus.request import MOST_REGISTERS
from bankwright.bus.pretend.line import Line
from bankwright.bus.pretend.rack import SAME_ADDRESS, Place, Values, framed
from bankwright.bus.pretend.registers import CELL_STEPS, State
from bankwright.bus.pretend.troubles import Trouble
from bankwright.bus.sunspec.definitions import HEADER, Point, model
from bankwright.bus.sunspec.walk import MARK
from bankwright.bus.timing import Framing

__all__ = ["DEVICE", "ModelSaid", "SunspecModule", "image_of", "sunspec_line"]

_SCALES = {"V_SF": -2, "CellV_SF": -3, "A_SF": -2, "DCA_SF": -2, "DCV_SF": -2}
SCALE, BASE = -1, 40000
DEVICE = "device"  # name of the one that speaks for all
COUNTS = frozenset({"NStr", "NMod", "NPrt", "Idx", "StrIdx", "ModIdx", "NCell"})
SIGNED = ("int16", "int32", "int64", "sunssf")
Told = Mapping[str, float | str]


@dataclass(frozen=True, slots=True)
class ModelSaid:
    """One model and what it says: points of its fixed part, and of each element, in the definition's own units."""

    number: int
    points: Told
    elements: Sequence[Told] = ()


def _raw(point: Point, said: float | str | None) -> int:
    bits = 16 * point.size
    if point.type == "string":
        text = str(said or "").encode("ascii", "replace")[: 2 * point.size]
        return int.from_bytes(text.ljust(2 * point.size, b"\0"), "big")
    if point.type == "sunssf":
        return _SCALES.get(point.name, SCALE) & 0xFFFF
    if said is None or point.type == "pad":
        return 1 << bits - 1 if point.type in SIGNED or point.type == "pad" else (1 << bits) - 1
    scale = _SCALES.get(point.scale, SCALE) if point.scale else 0
    raw = round(float(said) / 10.0**scale)
    low, high = (1 - (1 << bits - 1), (1 << bits - 1) - 1) if point.type in SIGNED else (0, (1 << bits) - 2)
    return min(max(raw, low), high) % (1 << bits)


def _words(points: Iterable[Point], said: Told) -> Iterator[int]:
    for point in points:
        raw = _raw(point, said.get(point.name))
        yield from ((raw >> 16 * k) & 0xFFFF for k in reversed(range(point.size)))


def image_of(models: Iterable[ModelSaid], base: int = BASE) -> dict[int, int]:
    """All registers of a device: the mark, its models, the end."""
    words = list(MARK)
    for said in models:
        known = model(said.number)
        assert known is not None
        body = list(_words(known.points[HEADER:], said.points))
        for element in said.elements:
            assert known.repeat is not None
            body += _words(known.repeat.points, element)
        words += [said.number, len(body), *body]
    return {base + place: word for place, word in enumerate((*words, 0xFFFF, 0))}


@dataclass
class SunspecModule:
    """A device at an address; `says` are its models at a moment."""

    name: str
    unit: int
    framing: Framing
    says: Callable[[float], Sequence[ModelSaid]]
    swapped: bool = False
    refuses: bool = False
    sentinel: bool = False
    base: int = BASE
    frozen_at: float | None = None
    delay: float = 0.0
    written: list[bytes] = field(default_factory=list)
    _kept: tuple[float, Mapping[int, int]] = (-1.0, MappingProxyType({}))

    def reply(self, frame: bytes, now: float) -> bytes | None:
        """The whole reply to a frame on the line."""
        if not holds(frame) or frame[0] != self.unit:
            return None
        return with_crc(bytes((self.unit,)) + self._say(frame[1:-2], now))

    def over_tcp(self, frame: bytes, now: float) -> bytes:
        """A message with the header of Modbus over TCP."""
        said = self._say(frame[7:], now)
        return frame[:4] + (len(said) + 1).to_bytes(2, "big") + frame[6:7] + said

    def asked_by_another(self) -> bytes:
        """The mark."""
        return with_crc(bytes((self.unit, 3)) + self.base.to_bytes(2, "big") + bytes((0, 2)))

    def _say(self, asked: bytes, now: float) -> bytes:
        if asked[0] not in (3, 4):
            self.written.append(asked)
        if asked[0] != 3 or self.refuses:
            return bytes((asked[0] | 0x80, 2 if self.refuses else 1))
        first, count = int.from_bytes(asked[1:3], "big"), int.from_bytes(asked[3:5], "big")
        if not 1 <= count <= MOST_REGISTERS:
            return bytes((asked[0] | 0x80, 3))
        known = self._image(now if self.frozen_at is None else min(now, self.frozen_at))
        words = [known.get(place) for place in range(first, first + count)]
        if None in words:
            return bytes((asked[0] | 0x80, 2))
        return bytes((asked[0], 2 * count)) + b"".join((word or 0).to_bytes(2, "big") for word in words)

    def _image(self, now: float) -> Mapping[int, int]:
        """Registers of this tenth of a second."""
        moment = round(now, 1)
        if self._kept[0] != moment:
            said = [_blank(each) if self.sentinel else each for each in self.says(moment)]
            self._kept = (moment, image_of(said, self.base))
        return self._kept[1]


def _blank(said: ModelSaid) -> ModelSaid:
    """The same models, with nothing in them but counts."""
    kept = {name: value for name, value in said.points.items() if name in COUNTS or said.number == 1}
    return ModelSaid(said.number, kept, [{} for _ in said.elements])


def _common(name: str, serial: str) -> ModelSaid:
    return ModelSaid(1, {"Mn": "invented", "Md": "pretend", "SN": serial or f"PRETEND-{name}"})


def _of_string(index: int, state: State, sign: float) -> ModelSaid:
    said = {"Idx": index, "NMod": 1, "A": sign * _number(state, "current"), "V": _number(state, "voltage"),
            "SoC": 100 * _number(state, "soc"), "Evt1": 0}  # fmt: skip
    return ModelSaid(804, said, [{"ModSoC": said["SoC"]}])


def _number(state: State, name: str) -> float:
    return float(state.get(name, 0.0))


def _of_module(index: int, state: State, cells: int, serial: str) -> ModelSaid:
    volts, warm = _number(state, "voltage"), state.get("temperature_degc", 21.0)
    told: list[Told] = [
        {"CellV": state.get(f"cell {k + 1}", volts / cells + CELL_STEPS[k % len(CELL_STEPS)] / 1000), "CellTmp": warm}
        for k in range(cells)
    ]
    said: dict[str, float | str] = {
        "StrIdx": index,
        "ModIdx": 1,
        "NCell": cells,
        "SoC": 100 * _number(state, "soc"),
        "V": volts,
        "SN": serial,
    }
    return ModelSaid(805, said, told)


def _bank(states: Sequence[State], sign: float) -> Iterator[ModelSaid]:
    amps = sign * sum(_number(state, "current") for state in states)
    volts = sum(_number(state, "voltage") for state in states) / max(len(states), 1)
    yield ModelSaid(802, {"V": volts, "A": amps, "Typ": 4, "State": 3})
    strings: list[Told] = [
        {"StrNMod": 1, "StrA": sign * _number(s, "current"), "StrSoC": 100 * _number(s, "soc")} for s in states
    ]
    yield ModelSaid(803, {"NStr": len(states), "NStrCon": len(states)}, strings)


def sunspec_line(
    places: Iterable[Place],
    framing: Framing,
    values: Values,
    troubles: Iterable[Trouble] = (),
    *,
    device: int | None = None,
    positive: str | None = None,
    cells: int = 16,
) -> Line:
    """A line with a device a module, or with one that speaks for all of them."""
    listed, wrong = tuple(places), tuple(troubles)
    sign = -1.0 if positive == "charging" else 1.0

    def alone(place: Place, serial: str) -> Callable[[float], Sequence[ModelSaid]]:
        def says(now: float) -> Sequence[ModelSaid]:
            state = values(now).get(place.name, {})
            return _common(place.name, serial), _of_string(1, state, sign), _of_module(1, state, cells, "")

        return says

    def together(now: float) -> Sequence[ModelSaid]:
        states = [(place.unit, values(now).get(place.name, {}), f"PRETEND-{place.name}") for place in listed]
        each = [
            said
            for index, state, serial in states
            for said in (_of_string(index, state, sign), _of_module(index, state, cells, serial))
        ]
        return (_common("device", ""), *_bank([state for _, state, _ in states], sign), *each)

    if device is not None:
        one = _made(Place(DEVICE, device), {DEVICE: device}, framing, wrong, lambda _: together)
        return Line(framing, [one], wrong)
    units = {place.name: place.unit for place in listed}
    made = [_made(place, units, framing, wrong, partial(alone, place)) for place in listed]
    return Line(framing, made, wrong)


def _made(
    place: Place,
    units: Mapping[str, int],
    framing: Framing,
    wrong: Iterable[Trouble],
    says: Callable[[str], Callable[[float], Sequence[ModelSaid]]],
) -> SunspecModule:
    own = [each for each in wrong if each.at in ("", place.name)]
    kinds = {each.kind: each for each in own}
    twin = next((each.value for each in own if each.kind in SAME_ADDRESS), place.name)
    return SunspecModule(
        place.name,
        units[twin],
        framed(framing, own),
        says(kinds["serial"].value if "serial" in kinds else ""),
        swapped="swapped" in kinds and bool(kinds["swapped"].at),
        refuses="refuse" in kinds,
        sentinel="sentinel" in kinds,
        base=BASE + ("shifted" in kinds),
        frozen_at=kinds["frozen"].since if "frozen" in kinds else None,
    )
