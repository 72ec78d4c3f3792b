"""Readings of invented banks for the tests of Match."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from bankwright.bank.model import Bank
from bankwright.match.entry import ModuleReading, meter_of, module_reading
from support.banks import bank_of

MODULE = """
[kinds.module.{name}]
cells = {cells}
capacity = "{capacity} Ah"
energy = "5.12 kWh"
resistance = {{ dc = "{dc} mohm +- 20 %", after = "30 s", ohmic = "{ohmic} mohm +- 1 mohm" }}
discharge = {{ continuous = "{gives} A", trip = "150 A for 3 s", lowest = "-20 degC", cell_trip = "2.5 V" }}
charge = {{ continuous = "{takes} A", trip = "110 A for 3 s", lowest = "0 degC", cell_trip = "3.75 V" }}
"""
HEAD = """
format = 1
title = "Test bank, invented"
rules = "nec-2023"
units = "metric"
[site]
place = "detached garage"
"""
KIND: Mapping[str, Any] = {
    "name": "A", "cells": 16, "capacity": 100, "dc": 16, "ohmic": 10, "gives": 100, "takes": 50
}  # fmt: skip


def bank(kinds: str | list[str] = "AAA", ambient: str = "", **kind: Any) -> Bank:
    """A bank on a bar with short leads, one letter a module; `kind` changes values of kind A, B is twice as large."""
    a = {**KIND, **kind}
    b = {**a, "name": "B", "capacity": 2 * a["capacity"], "dc": a["dc"] / 2, "ohmic": a["ohmic"] / 2}
    text = HEAD + (f'ambient = "{ambient}"\n' if ambient else "") + MODULE.format(**a)
    text += MODULE.format(**b) if "B" in kinds else ""
    for number, letter in enumerate(kinds, 1):
        text += f'\n[[modules]]\nname = "M{number}"\nkind = "{letter}"\nslot = {number}\n'
    text += (
        '\n[wiring]\npattern = "chain"\nfeed = "opposite ends"\n'
        'link = { cable = "4/0 AWG", length = "320 mm", joint = "20 uohm" }\n'
        'main = { cable = "4/0 AWG", length = "1.5 m", joint = "20 uohm" }\n'
        '\n[kinds.inverter.I]\npower = "4 kW"\nefficiency = "93 %"\nlowest_voltage = "46 V"\ncut_out = "40 V"\n'
        '\n[[inverters]]\nname = "I1"\nkind = "I"\n'
    )
    return bank_of(text)


def readings(
    of: Bank, volts: Mapping[str, str], meter: str | None = "0.05 % + 1 digits", **beside: Any
) -> tuple[ModuleReading, ...]:
    """Readings, rested six hours at 20 degC unless told otherwise."""
    known: dict[str, Any] = {"rested": 6 * 3600.0, "temperature_degc": 20.0, **beside}
    instrument = meter_of(meter, of)
    return tuple(replace(module_reading(name, text, instrument, of), **known) for name, text in volts.items())
