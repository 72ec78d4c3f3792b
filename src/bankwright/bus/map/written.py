"""A register map as a person writes it from the module's own manual.

Gives: MapW, SignalW; Bits, Number, NamesByText: values that maps of other sources have too. Pydantic, strict, one
description a key; the page docs/bus.md is made with them in mind.
Limits: shapes and single values; what joins keys is in map/rules.py.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from bankwright.bank.written.values import Form, Strict, Text, YesNo

__all__ = ["Bits", "MapW", "NamesByText", "Number", "SignalW", "WordOrder"]

WordOrder = Literal["high first", "low first"]
MOST = 1e30  # nothing that is measured has so many steps
Whole = Form("whole number", "65535")


def _number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not abs(value) < MOST:
        raise ValueError("write a number, such as 0.01")
    return float(value)


Number = Annotated[float, Form("number", "0.01", _number)]


def _bits(value: Any) -> dict[int, str]:
    if not isinstance(value, dict) or not all(isinstance(word, str) and word for word in value.values()):
        raise ValueError('write a table of bits and names, such as { 0 = "cell too high", 3 = "too cold" }')
    if not all(key.isascii() and key.isdigit() and int(key) < 32 for key in value):
        raise ValueError("bits are numbered from 0 to 31")
    return {int(key): word for key, word in value.items()}


def _names(value: Any) -> dict[str, str]:
    if not isinstance(value, dict) or not all(isinstance(word, str) and word for word in value.values()):
        raise ValueError('write a table of names, such as { 0 = "M1", 1 = "M2" }')
    if len(value) > 256:
        raise ValueError("at most 256 modules")
    return dict(value)


Bits = Annotated[dict[int, str], Form("table of bits", '{ 0 = "cell too high" }', _bits)]
NamesByText = Annotated[dict[str, str], Form("table of names", '{ 0 = "M1" }', _names)]


class SignalW(Strict):
    """One value, or one for each cell, sensor or pack."""

    name: Text = Field(description="Its name: `voltage`; with `repeat` it gets a number behind: `cell 1`, `cell 2`.")
    quantity: Text = Field(
        description="What it is: voltage, cell_voltage, current, soc, temperature_degc, capacity_ah, count ...; "
        "`flags` for bits, `serial` and `text` for text."
    )
    number: Annotated[int, Field(ge=0, le=499999), Form("whole number", "12")] = Field(
        alias="register", description="Its number as the manual prints it."
    )
    table: Literal["holding", "input"] | None = Field(
        None, description="Read with function 03 (holding) or 04 (input); not written: the map's own."
    )
    type: Literal["u16", "i16", "u32", "i32", "f32", "text"] = Field("u16", description="How it is coded.")
    length: Annotated[int, Field(ge=1, le=64), Form("whole number", "10")] | None = Field(
        None, description="Registers of a text."
    )
    word_order: WordOrder | None = Field(None, description="Of two registers: which half comes first.")
    byte_order: WordOrder | None = Field(None, description="Inside a register; the standard says high first.")
    scale: Number = Field(1.0, description="Value of one step, in `unit`.")
    offset: Number = Field(0.0, description="Added after the scale, in `unit`.")
    unit: Text | None = Field(None, description='Unit of the scaled value: "V", "mV", "A", "%", "degC".')
    positive: Literal["charging", "discharging"] | None = Field(
        None, description="For currents and powers: what a positive value means. No default: makers differ."
    )
    not_available: list[Annotated[int, Whole]] = Field(
        [], description="Raw values that stand for `no value`, as numbers without sign: 65535, 32768."
    )
    range: Text | None = Field(None, description='What can be: "40 V to 60 V"; outside it a value is marked, and kept.')
    bits: Bits | None = Field(None, description="Names of single bits, bit 0 the lowest.")
    shift: Annotated[int, Field(ge=0, le=31), Form("whole number", "8")] | None = Field(
        None, description="A field inside the register begins at this bit."
    )
    width: Annotated[int, Field(ge=1, le=32), Form("whole number", "8")] | None = Field(
        None, description="Bits of that field."
    )
    repeat: Annotated[int, Field(ge=1, le=256), Form("whole number", "16")] = Field(
        1, description="So many of them, one behind the other."
    )
    step: Annotated[int, Field(ge=0, le=125), Form("whole number", "1")] | None = Field(
        None, description="Registers from one to the next; not written: as long as it is itself."
    )
    every: Literal["fast", "slow", "once"] = Field(
        "fast", description="Each poll; about once a minute; once at the start."
    )


class MapW(Strict):
    """A register map."""

    format: Annotated[Literal[1], Form("1", "1")] = Field(description="Number of this format.")
    title: Text = Field("", description="What it is the map of, and where it was read: document, edition, page.")
    counts_from: Literal[0, 1, "30001/40001"] | None = Field(
        None,
        description='Number that the manual gives the first register: 0, 1, or "30001/40001" where a leading 3 '
        "means input and a leading 4 holding registers.",
    )
    table: Literal["holding", "input"] | None = Field(None, description="For signals that name none.")
    word_order: WordOrder | None = Field(None, description="For signals of two registers that name none.")
    byte_order: WordOrder = Field("high first", description="For signals that name none.")
    holes: Literal["can be read", "are refused"] | None = Field(
        None, description="Registers between those of the map: not written: they are not asked for."
    )
    most: Annotated[int, Field(ge=1, le=125), Form("whole number", "125")] = Field(
        125, description="Registers that one request may ask for; the standard says 125, some modules less."
    )
    identity: YesNo = Field(False, description="Whether the module answers read device identification (43/14).")
    signals: list[SignalW] = Field([], description="What can be read.")
