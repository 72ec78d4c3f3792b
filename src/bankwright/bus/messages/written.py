"""A message map as a person writes it from the module's own manual.

Gives: MessageMapW, MessageW, FieldW, RecordFieldW. Pydantic, strict, one description a key.
Limits: shapes and single values; what joins keys is in messages/rules.py.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from bankwright.bank.written.values import Form, Strict, Text
from bankwright.bus.ascii.request import MOST_INFO, Command
from bankwright.bus.map.written import Number, Whole, WordOrder

__all__ = ["FieldW", "MessageMapW", "MessageW", "RecordFieldW"]

_READING = {f"{command.value:02X}": command for command in Command}


def _hex(value: Any) -> int:
    if not isinstance(value, str) or len(value) != 2 or any(c not in "0123456789abcdefABCDEF" for c in value):
        raise ValueError('write two hexadecimal characters as text, such as "20" or "4F"')
    return int(value, 16)


def _command(value: Any) -> Command:
    found = _READING.get(value.upper()) if isinstance(value, str) else None
    if found is None:
        known = ", ".join(f"{code} ({command.words})" for code, command in _READING.items())
        raise ValueError(f"write the second code of a reading command as text; reading are {known}")
    return found


def _info(value: Any) -> tuple[int | Literal["address"], ...]:
    words = value.split() if isinstance(value, str) else [None]
    if len(words) > MOST_INFO:
        raise ValueError(f"at most {MOST_INFO} bytes")
    try:
        return tuple("address" if word == "address" else _hex(word) for word in words)
    except ValueError:
        raise ValueError('write bytes as two hexadecimal characters and the word address: "01 address"') from None


def _named(value: Any) -> dict[int, str]:
    if not isinstance(value, dict) or not all(isinstance(word, str) and word for word in value.values()):
        raise ValueError('write a table of numbers and words, such as { 0 = "cell too high", 3 = "too cold" }')
    if not all(key.isascii() and key.isdigit() and len(key) < 6 for key in value):
        raise ValueError("numbers are whole: bits from 0, raw values without sign")
    return {int(key): word for key, word in value.items()}


def _returns(value: Any) -> dict[int, str]:
    if not isinstance(value, dict) or not all(isinstance(word, str) and word for word in value.values()):
        raise ValueError('write a table of codes and words, such as { 90 = "not this address" }')
    return {_hex(key): word for key, word in value.items()}


def _place(value: Any) -> Any:
    if value == "same" or (type(value) is int and 0 <= value < 2048):
        return value
    raise ValueError('write the byte, counted from 0, or "same": in the bytes of the field before')


def _count(value: Any) -> Any:
    if (type(value) is int and 1 <= value <= 255) or (isinstance(value, str) and value.strip()):
        return value
    raise ValueError('write a number from 1 to 255, "before", or the name of the field that says it')


Words = Annotated[dict[int, str], Form("table of numbers and words", '{ 0 = "cell too high" }', _named)]
Byte = Annotated[int, Form("two hexadecimal characters", '"20"', _hex)]
Size = Annotated[int, Field(ge=1, le=64), Form("whole number", "2")]


class RecordFieldW(Strict):
    """A value, a list of values, or bytes that are not read."""

    name: Text | None = Field(None, description="Its name: `voltage`; a list gets numbers behind: `cell 1`, `cell 2`.")
    quantity: Text | None = Field(
        None,
        description="What it is: voltage, cell_voltage, current, soc, temperature_degc, capacity_ah, count ...; "
        "`flags` for bits and words, `serial` and `text` for text.",
    )
    size: Size | None = Field(
        None, alias="bytes", description="Bytes of one value, two characters each; not written: 2, a float 4."
    )
    type: Literal["unsigned", "signed", "sign bit", "float", "text"] = Field(
        "unsigned", description='How it is coded; "sign bit": the highest bit is the sign, the rest the amount.'
    )
    at: Annotated[Any, Form("whole number or text", '"same"', _place)] | None = Field(
        None,
        description='First byte, counted from 0; "same": in the bytes of the field before; not written: behind it.',
    )
    byte_order: WordOrder | None = Field(None, description="Of this value; not written: the map's own.")
    zero: Number = Field(0.0, description="Raw value that stands for 0: 2731 where tenths of a kelvin are sent.")
    scale: Number = Field(1.0, description="Value of one step, in `unit`.")
    offset: Number = Field(0.0, description="Added after the scale, in `unit`.")
    unit: Text | None = Field(None, description='Unit of the scaled value: "V", "mV", "A", "%", "degC".')
    positive: Literal["charging", "discharging"] | None = Field(
        None, description="For currents and powers: what a positive value means. No default: makers differ."
    )
    not_available: list[Annotated[int, Whole]] = Field(
        [], description="Raw values that stand for `no value`, without sign. Blanks always do."
    )
    range: Text | None = Field(None, description='What can be: "40 V to 60 V"; outside it a value is marked, and kept.')
    bits: Words | None = Field(None, description="Names of single bits, bit 0 the lowest.")
    words: Words | None = Field(None, description="What single raw values say: 1 = `below its limit`.")
    shift: Annotated[int, Field(ge=0, le=63), Form("whole number", "4")] | None = Field(
        None, description="A field inside the bytes begins at this bit."
    )
    width: Annotated[int, Field(ge=1, le=32), Form("whole number", "4")] | None = Field(
        None, description="Bits of that field."
    )
    count: Annotated[Any, Form("whole number or text", '"before"', _count)] | None = Field(
        None,
        description='A list of so many; "before": bytes before it say how many; or the name of the field that does.',
    )
    count_bytes: Annotated[int, Field(ge=1, le=2), Form("whole number", "1")] | None = Field(
        None, description="Bytes of the count before a list; not written: 1."
    )
    most: Annotated[int, Field(ge=1, le=255), Form("whole number", "16")] | None = Field(
        None, description="How many of a list are kept, where the message says how many there are."
    )
    skip: Annotated[int, Field(ge=1, le=2047), Form("whole number", "1")] | None = Field(
        None, description="So many bytes that are not read; stands alone."
    )


class FieldW(RecordFieldW):
    """A value, a list, or a list of records that each have the same fields."""

    each: list[RecordFieldW] | None = Field(None, description="Fields of each record; its `count` says how many.")


class MessageW(Strict):
    """One reading command and what stands in its answer."""

    command: Annotated[Command, Form("text", '"42"', _command)] = Field(
        description='Second code (CID2) of a reading command: "42".'
    )
    ask: Annotated[tuple[int | Literal["address"], ...], Form("text", '"address"', _info)] = Field(
        (), description='Information of the request: bytes, and the word `address` for the module\'s own: "FF".'
    )
    every: Literal["fast", "slow", "once"] = Field(
        "fast", description="Each poll; about once a minute; once at the start."
    )
    fields: list[FieldW] = Field([], description="What stands in the answer, in its order.")


class MessageMapW(Strict):
    """A message map."""

    format: Annotated[Literal[1], Form("1", "1")] = Field(description="Number of this format.")
    title: Text = Field("", description="What it is the map of, and where it was read: document, edition, page.")
    version: Byte | None = Field(None, description='Version of the frame (VER), as the manual says: "20".')
    group: Byte = Field(0x46, description='First code (CID1): "46" is a battery.')
    byte_order: WordOrder = Field("high first", description="For fields that name none.")
    returns: Annotated[dict[int, str], Form("table of codes and words", '{ 90 = "not this address" }', _returns)] = (
        Field({}, description="The maker's own return codes, in words.")
    )
    messages: list[MessageW] = Field([], description="What can be asked.")
