"""The data bus as written: how the modules are listened to, and what feeds the listener.

Gives: BusW, PinsW, CanBusW, MqttBusW. Pydantic, strict.
Limits: rules that join keys are in bank/rules/bus; the map of registers or frames is a file of its own (docs/bus.md).
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from bankwright.bank.model_bus import Protocol
from bankwright.bank.written.parts import Metre, Seconds, Watt
from bankwright.bank.written.values import Form, Names, Strict, Text, Texts, YesNo, amount

__all__ = ["BusW", "CanBusW", "MqttBusW", "PinsW"]

Pin = Annotated[int, Field(ge=1, le=9), Form("whole number", "4")]
Ohm = Annotated[float, amount("resistance")]


class PinsW(Strict):
    """Pins of a data socket, by the signs of the line: D1 is above D0 at rest."""

    d1: Pin | None = Field(None, alias="D1", description="Pin of D1 (+).")
    d0: Pin | None = Field(None, alias="D0", description="Pin of D0 (-).")
    common: Pin | None = Field(None, description="Pin of the common wire.")
    supply: Pin | None = Field(None, description="Pin that carries a supply, if there is one.")


class CanBusW(Strict):
    """What a CAN bus has beside its wires."""

    bit_rate: Annotated[float, amount("bit_rate")] | None = Field(
        None, description="Bit rate, as the module's manual says; the interface's own is read back and compared."
    )


class MqttBusW(Strict):
    """How a broker is connected to. No password stands in the bank file."""

    tls: YesNo = Field(False, description="Encrypted, the broker's certificate checked.")
    ca: Text | None = Field(None, description="File of the authority that signed it; not written: those of the system.")
    certificate: Text | None = Field(
        None, description="File of a certificate of our own, where the broker asks for one."
    )
    key: Text | None = Field(None, description="File of its key.")
    user: Text | None = Field(None, description="User name.")
    password_in: Text | None = Field(None, description="Variable of the environment that holds the password.")
    password_file: Text | None = Field(None, description="File whose first line is the password.")


class BusW(Strict):
    """The data bus: one line, and the computer that listens."""

    wire: Literal["serial", "tcp", "can", "mqtt"] = Field(
        description="A serial line (two wires), a network connection; a CAN bus or topics of a broker, which are only "
        "listened to."
    )
    port: Text | None = Field(None, description='Serial port of the computer: "/dev/ttyUSB0"; CAN interface: "can0".')
    host: Text | None = Field(
        None, description='Address of the gateway, module or broker: "192.168.1.20", or with ":502".'
    )
    protocol: Protocol = Field(
        "modbus",
        description="What is spoken: Modbus (RTU on a line, TCP over a network), Modbus with the SunSpec models, or "
        "the ASCII frames of YD/T 1363 (over a network: through a serial server).",
    )
    baud: Literal[1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200] | None = Field(
        None, description="Speed, as the module's manual says."
    )
    parity: Literal["even", "odd", "none"] | None = Field(None, description="Parity, as the module's manual says.")
    stop_bits: Literal[1, 2] | None = Field(None, description="Stop bits; not written: 1.")
    map: Text | None = Field(
        None,
        description="File of the map (registers, messages, or CAN frames), in the folder of the bank file or below it.",
    )
    every: Seconds | None = Field(None, description="Wished time from one poll to the next.")
    timeout: Seconds | None = Field(None, description="How long a module may take to begin its answer.")
    order: Names | None = Field(
        None,
        description="Modules along the data cable, the nearest to the computer first; not written: as stacked.",
    )
    length: Metre | None = Field(None, description="Of the whole line.")
    stub: Metre | None = Field(None, description="Longest branch off the line, where the cable is no plain chain.")
    terminators: Texts | None = Field(
        None, description='Where a terminator is switched on: modules, "computer", "end"; an empty list where none is.'
    )
    terminator: Ohm | None = Field(None, description="Resistance of one; not written: 120 ohm.")
    polarised_at: Text | None = Field(
        None, description='Where the resistors of the rest level are: a module, "computer", or "none".'
    )
    bias: Ohm | None = Field(None, description="Each of the two resistors of the rest level.")
    module_pins: PinsW | None = Field(None, description="Pins of the modules' data socket.")
    computer_pins: PinsW | None = Field(None, description="Pins of the adapter's socket.")
    masters: Names | None = Field(None, description="Who else asks on this line: inverters by name, or a word.")
    rts: YesNo | None = Field(None, description="Control line RTS while the port is open; not written: off.")
    dtr: YesNo | None = Field(None, description="Control line DTR while the port is open; not written: off.")
    isolated: YesNo | None = Field(None, description="Whether the adapter has a stated isolation voltage.")
    fed_from: Literal["mains", "bank", "own battery"] | None = Field(
        None, description="What feeds the listening computer, also when the bank is off."
    )
    draw: Watt | None = Field(None, description="What the listening computer and its adapter take.")
    device: Annotated[int, Field(ge=1, le=247), Form("whole number", "1")] | None = Field(
        None,
        description="SunSpec: address of the one device that speaks for all modules; the modules' own addresses are "
        "then their numbers of string. Not written: each module is a device.",
    )
    positive: Literal["charging", "discharging"] | None = Field(
        None, description="SunSpec: what a positive current means; the definitions leave it open."
    )
    can: CanBusW = Field(CanBusW(), description="What a CAN bus has beside its wires.")
    mqtt: MqttBusW = Field(MqttBusW(), description="How a broker is connected to.")
