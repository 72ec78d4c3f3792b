"""Registers of a pretend module out of values: the inverse of map/decode.

Gives: State, registers_of(), encoded(), value_of(), cells_of(). Serves the pretend rack alone.
Limits: what a state does not give is filled with a plausible value, which is invented.
"""

from __future__ import annotations

import struct
from collections.abc import Mapping

from bankwright.bus.map.registers import TEXTS, Coding, RegisterMap, Signal
from bankwright.bus.source import Value

__all__ = ["State", "cells_of", "encoded", "registers_of", "sentinels_of", "value_of"]

State = Mapping[str, float | str]  # by name of a signal or by quantity, SI
CELL_STEPS = (0, 1, -1, 2, 0, -2, 1, 0)  # mV that the cells of a pretend module differ by
CELL = 3.4  # V, of a cell in the middle, to guess how many there are
_PLAUSIBLE: Mapping[str, float] = {
    "temperature_degc": 21.0, "soc": 0.6, "voltage": 52.8, "cell_voltage": 3.3, "current": 0.0, "capacity_ah": 100.0,
    "count": 16.0, "share": 0.99, "ratio": 1.0, "flags": 0.0,
}  # fmt: skip


def _words(raw: int, length: int, coding: Coding) -> list[int]:
    data = raw.to_bytes(2 * length, "big")
    words = [
        int.from_bytes(data[at : at + 2], "little" if coding.low_byte_first else "big")
        for at in range(0, 2 * length, 2)
    ]
    return words[::-1] if coding.low_word_first and coding.type != "text" else words


def encoded(signal: Signal, value: float | str) -> list[int]:
    """Registers that decode to this value, as near as its steps allow; too large ones stop at the end of the range."""
    coding = signal.coding
    if signal.is_text or isinstance(value, str):
        text = str(value).encode("ascii", "replace")[: 2 * signal.length].ljust(2 * signal.length, b"\0")
        return _words(int.from_bytes(text, "big"), signal.length, coding)
    written = ((value - coding.unit_offset) / coding.factor - coding.offset) / coding.scale
    if coding.type == "f32":
        return _words(int.from_bytes(struct.pack(">f", written), "big"), signal.length, coding)
    size = coding.field_width or 16 * signal.length
    signed = coding.type.startswith("i")
    low, high = (-(1 << size - 1), (1 << size - 1) - 1) if signed else (0, (1 << size) - 1)
    raw = min(max(round(written), low), high) % (1 << size)
    return _words(raw << coding.field_shift, signal.length, coding)


def cells_of(state: State, listed: int) -> int:
    """Cells of a module: those that the map lists, unless its voltage tells of more."""
    return max(listed, round(float(state.get("voltage", 0.0)) / CELL))


def value_of(signal: Value, state: State, cells: int) -> float | str:
    """What a pretend module says of a value: its state, or something plausible."""
    if signal.name in state:
        return state[signal.name]
    if signal.quantity == "cell_voltage" and signal.number is not None and "voltage" in state:
        return float(state["voltage"]) / cells + CELL_STEPS[signal.number % len(CELL_STEPS)] / 1000
    return state.get(signal.quantity, "pretend" if signal.quantity in TEXTS else _PLAUSIBLE.get(signal.quantity, 0.0))


def registers_of(register_map: RegisterMap, state: State) -> dict[tuple[str, int], int]:
    """All registers of the map: (table, address) -> 0 to 65535."""
    cells = max(len(register_map.of("cell_voltage")), 1)
    found: dict[tuple[str, int], int] = {}
    for signal in register_map.signals:
        for place, word in enumerate(encoded(signal, value_of(signal, state, cells))):
            key = (signal.table, signal.address + place)
            found[key] = found.get(key, 0) | word
    return found


def sentinels_of(register_map: RegisterMap) -> dict[tuple[str, int], int]:
    """Registers of a module that has no values: each signal's own sentinel, where it has one."""
    found: dict[tuple[str, int], int] = {}
    for signal in register_map.signals:
        if signal.coding.not_available:
            raw = signal.coding.not_available[0] << signal.coding.field_shift
            for place, word in enumerate(_words(raw, signal.length, signal.coding)):
                found[signal.table, signal.address + place] = word
    return found
