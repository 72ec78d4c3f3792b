"""Readings of invented banks for the tests of Match."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from bankwright.bank.model import Bank
from bankwright.match.entry import ModuleReading, meter_of, module_reading
from support.banks import Keys, bank_of, bank_text

HEAD = {"title": "Test bank, invented", "rules": "nec-2023", "units": "metric", "site": {"place": "detached garage"}}
WIRING = {
    "pattern": "chain",
    "feed": "opposite ends",
    "link": {"cable": "4/0 AWG", "length": "320 mm", "joint": "20 uohm"},
    "main": {"cable": "4/0 AWG", "length": "1.5 m", "joint": "20 uohm"},
}
INVERTER = {"power": "4 kW", "efficiency": "93 %", "lowest_voltage": "46 V", "cut_out": "40 V"}


def module(
    cells: int = 16, capacity: float = 100, dc: float = 16, ohmic: float = 10, gives: float = 100, takes: float = 50
) -> Keys:
    """Keys of a kind of module: Ah, mohm and A."""
    return {
        "cells": cells,
        "capacity": f"{capacity} Ah",
        "energy": "5.12 kWh",
        "resistance": {"dc": f"{dc} mohm +- 20 %", "after": "30 s", "ohmic": f"{ohmic} mohm +- 1 mohm"},
        "discharge": {
            "continuous": f"{gives} A", "trip": "150 A for 3 s", "lowest": "-20 degC", "cell_trip": "2.5 V"
        },
        "charge": {"continuous": f"{takes} A", "trip": "110 A for 3 s", "lowest": "0 degC", "cell_trip": "3.75 V"},
    }  # fmt: skip


def bank(
    kinds: str | list[str] = "AAA", ambient: str = "", more: str = "", inverter: Keys | None = INVERTER, **kind: Any
) -> Bank:
    """A bank on a bar with short leads, one letter a module; `kind` changes values of kind A, B is twice as large."""
    twice = {
        "capacity": 2 * kind.get("capacity", 100),
        "dc": kind.get("dc", 16) / 2,
        "ohmic": kind.get("ohmic", 10) / 2,
    }
    head = {**HEAD, "site": {**HEAD["site"], "ambient": ambient or None}}  # type: ignore[dict-item]
    given = {"A": module(**kind)} | ({"B": module(**{**kind, **twice})} if "B" in kinds else {})
    return bank_of(
        bank_text(list(kinds), given, head=head, slots=True, inverter=inverter, box="I", wiring=WIRING) + more
    )


def readings(
    of: Bank, volts: Mapping[str, str], meter: str | None = "0.05 % + 1 digits", **beside: Any
) -> tuple[ModuleReading, ...]:
    """Readings, rested six hours at 20 degC unless told otherwise."""
    known: dict[str, Any] = {"rested": 6 * 3600.0, "temperature_degc": 20.0, **beside}
    instrument = meter_of(meter, of)
    return tuple(replace(module_reading(name, text, instrument, of), **known) for name, text in volts.items())
