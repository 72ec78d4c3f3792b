"""A map of topics as a person writes it: which part of which message is which value of which module.

Gives: MqttMapW, MqttSignalW. Pydantic, strict.
Limits: shapes and single values; what joins keys is in mqtt/rules.py.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from bankwright.bank.written.parts import Seconds
from bankwright.bank.written.values import Form, Strict, Text
from bankwright.bus.map.written import Bits, NamesByText, Number

__all__ = ["MqttMapW", "MqttSignalW"]


def _signs(value: Any) -> tuple[float | str, ...]:
    if not isinstance(value, list) or not all(isinstance(each, (int, float, str)) for each in value):
        raise ValueError('write a list of numbers and texts, such as [-1, "n/a"]')
    return tuple(each if isinstance(each, str) else float(each) for each in value)


class MqttSignalW(Strict):
    """One value, or one for each cell, sensor or pack."""

    name: Text = Field(description="Its name: `voltage`; with `repeat` it gets a number behind: `cell 1`, `cell 2`.")
    quantity: Text = Field(
        description="What it is: voltage, cell_voltage, current, soc, temperature_degc, capacity_ah, count ...; "
        "`flags` for bits, `serial` and `text` for text."
    )
    topic: Text = Field(
        description="Topic that is subscribed to; {module} stands for the module's name or number, {n} for the number "
        "of several alike, + for a level that does not matter."
    )
    value: Text | None = Field(
        None,
        description="Path of the value in a JSON payload, such as pack.volts or cells[{n}]; not written: the payload "
        "is the value.",
    )
    each: Text | None = Field(
        None, description="Path of a list in the payload with an entry a module; value, module_at and time start there."
    )
    module_at: Text | None = Field(None, description="Path of the module's name or number in the payload.")
    module: Text | None = Field(None, description="The module, where the topic is of that one alone.")
    time: Text | None = Field(
        None, description="Path of the time in the payload: s or ms since 1970, or ISO 8601 with offset."
    )
    scale: Number = Field(1.0, description="Value of one step, in `unit`.")
    offset: Number = Field(0.0, description="Added after the scale, in `unit`.")
    unit: Text | None = Field(None, description='Unit of the scaled value: "V", "mV", "A", "%", "degC".')
    positive: Literal["charging", "discharging"] | None = Field(
        None, description="For currents and powers: what a positive value means. No default: makers differ."
    )
    not_available: Annotated[tuple[float | str, ...], Form("list of numbers and texts", '[-1, "n/a"]', _signs)] = Field(
        (), description="What stands for `no value`, as it is sent, before the scale; null always does."
    )
    range: Text | None = Field(None, description='What can be: "40 V to 60 V"; outside it a value is marked, and kept.')
    bits: Bits | None = Field(None, description="Names of single bits, bit 0 the lowest.")
    repeat: Annotated[int, Field(ge=1, le=256), Form("whole number", "16")] = Field(1, description="So many of them.")
    first: Annotated[int, Field(ge=0, le=1024), Form("whole number", "0")] = Field(
        1, description="What {n} is for the first of them: 0 in most lists."
    )


class MqttMapW(Strict):
    """A map of topics."""

    format: Annotated[Literal[1], Form("1", "1")] = Field(description="Number of this format.")
    title: Text = Field("", description="What it is the map of, and where it was read.")
    stale: Seconds | None = Field(None, description="How long a value stands; not written: 60 s.")
    modules: NamesByText = Field(
        {},
        description='Name or number as it is sent, and module: { left = "M1" }; else names and addresses of the bank.',
    )
    signals: list[MqttSignalW] = Field([], description="What is heard.")
