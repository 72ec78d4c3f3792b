"""A map of CAN frames as a person writes it: which signal of the DBC is which value of which module.

Gives: CanMapW, CanSignalW, CanModuleW. Pydantic, strict.
Limits: shapes and single values; what joins keys, and the DBC, is in can/rules.py.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from bankwright.bank.written.parts import Seconds
from bankwright.bank.written.values import Form, Strict, Text
from bankwright.bus.map.written import Bits, NamesByText

__all__ = ["CanMapW", "CanModuleW", "CanSignalW"]

Id = Annotated[int, Field(ge=0, le=0x1FFFFFFF), Form("whole number", "0xFF")]
Raw = Annotated[int, Field(ge=-(2**63), le=2**64 - 1), Form("whole number", "65535")]


class CanModuleW(Strict):
    """Where a frame says whose it is."""

    by: Literal["id", "signal", "name", "one"] = Field(
        description='"id": the number stands in the frame\'s identifier; "signal": a signal of the frame says it, also '
        'a multiplexer; "name": it stands in the names of the DBC, written {module} here; "one": one module alone.'
    )
    shift: Annotated[int, Field(ge=0, le=28), Form("whole number", "0")] | None = Field(
        None, description="By id: lowest bit of the number in the identifier."
    )
    width: Annotated[int, Field(ge=1, le=16), Form("whole number", "8")] | None = Field(
        None, description="By id: bits of the number."
    )
    step: Annotated[int, Field(ge=1, le=65536), Form("whole number", "1")] | None = Field(
        None, description="By id, where it is counted on: from one module's identifier to the next, from the DBC's on."
    )
    most: Annotated[int, Field(ge=1, le=256), Form("whole number", "16")] = Field(
        16, description="By id with a step, by name: modules at most."
    )
    signal: Text | None = Field(None, description="By signal: its name in the DBC, the same in every message.")
    offset: Annotated[int, Field(ge=-65536, le=65536), Form("whole number", "1")] = Field(
        0, description="Added to the number of the frame; gives the module's address in the bank file."
    )
    names: NamesByText = Field(
        {}, description='Number of the frame and module\'s name, instead of addresses: { 0 = "M1" }.'
    )


class CanSignalW(Strict):
    """One value, or one for each cell, sensor or pack."""

    name: Text = Field(description="Its name: `voltage`; with `repeat` it gets a number behind: `cell 1`, `cell 2`.")
    quantity: Text = Field(
        description="What it is: voltage, cell_voltage, current, soc, temperature_degc, capacity_ah, count ...; "
        "`flags` for bits, `serial` and `text` for text."
    )
    message: Text = Field(description="Message of the DBC; {n} stands for the number, {module} for the module's.")
    signal: Text = Field(description="Signal of that message; {n} and {module} as above, {n:02} for 01, 02.")
    unit: Text | None = Field(None, description="Unit of the scaled value, where the DBC gives none or in other words.")
    positive: Literal["charging", "discharging"] | None = Field(
        None, description="For currents and powers: what a positive value means. No default: makers differ."
    )
    not_available: list[Raw] = Field(
        [], description="Raw values that stand for `no value`, as the DBC's type has them."
    )
    range: Text | None = Field(
        None, description="What can be, instead of the DBC's own limits; outside it: marked, kept."
    )
    bits: Bits | None = Field(None, description="Names of single bits, bit 0 the lowest.")
    repeat: Annotated[int, Field(ge=1, le=256), Form("whole number", "16")] = Field(1, description="So many of them.")
    first: Annotated[int, Field(ge=0, le=1024), Form("whole number", "1")] = Field(
        1, description="What {n}, or the signal `number_in`, gives the first of them."
    )
    number_in: Text | None = Field(
        None, description="Signal of the same frame that says which of them it is, where one signal serves them all."
    )


class CanMapW(Strict):
    """A map of CAN frames."""

    format: Annotated[Literal[1], Form("1", "1")] = Field(description="Number of this format.")
    title: Text = Field("", description="What it is the map of, and where it was read.")
    dbc: Text | None = Field(None, description="The DBC file, in the folder of this map or below it.")
    stale: Seconds | None = Field(
        None, description="How long a value stands; not written: five times the DBC's cycle time, else 10 s."
    )
    ignore: Id = Field(0, description="Bits of the identifier that do not matter, such as 0xFF for a source address.")
    module: CanModuleW | None = Field(None, description="Where a frame says whose it is.")
    signals: list[CanSignalW] = Field([], description="What is heard.")
