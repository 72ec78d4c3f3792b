"""The data bus of a bank, unfolded.

Gives: Bus, Pins, CanBus, MqttBus, Protocol, ADDRESSES. Limits: what is not given is None; maps are read by bus/.
Sources: addresses of Modbus: MODBUS over Serial Line V1.02, 2.2, read (0 is broadcast, 248 to 255 are reserved); of
ASCII frames: YD/T 1363, from memory (255 is for all; 0 is kept aside there and used by some makers all the same).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

__all__ = ["ADDRESSES", "Bus", "CanBus", "MqttBus", "Pins", "Protocol"]

Protocol = Literal["modbus", "ascii frames", "sunspec"]
ADDRESSES: Mapping[Protocol, tuple[int, int]] = MappingProxyType(
    {"modbus": (1, 247), "ascii frames": (0, 254), "sunspec": (1, 247)}
)


@dataclass(frozen=True, slots=True)
class Pins:
    """Pins of a data socket; None where not given."""

    d1: int | None = None
    d0: int | None = None
    common: int | None = None
    supply: int | None = None


@dataclass(frozen=True, slots=True)
class CanBus:
    """What a CAN bus has beside its wires."""

    bit_rate: float | None = None  # bit/s


@dataclass(frozen=True, slots=True)
class MqttBus:
    """How a broker is connected to; files stand beside the bank file, or by their whole path."""

    tls: bool = False
    ca: str | None = None
    certificate: str | None = None
    key: str | None = None
    user: str | None = None
    password_in: str | None = None  # name of the variable of the environment
    password_file: str | None = None


@dataclass(frozen=True, slots=True)
class Bus:
    """One line with its modules, and the computer that listens."""

    wire: Literal["serial", "tcp", "can", "mqtt"]
    port: str | None = None
    host: str | None = None
    protocol: Protocol = "modbus"
    baud: int | None = None
    parity: Literal["even", "odd", "none"] | None = None
    stop_bits: int | None = None
    map: str | None = None  # file, beside the bank file or below it
    every: float | None = None  # s
    timeout: float | None = None  # s
    order: tuple[str, ...] = ()  # modules along the cable; empty: as stacked
    length: float | None = None  # m
    stub: float | None = None  # m
    terminators: tuple[str, ...] | None = None  # places
    terminator: float | None = None  # ohm, of one
    polarised_at: str | None = None
    bias: float | None = None  # ohm, of each
    module_pins: Pins | None = None
    computer_pins: Pins | None = None
    masters: tuple[str, ...] = ()
    rts: bool = False
    dtr: bool = False
    isolated: bool | None = None
    fed_from: Literal["mains", "bank", "own battery"] | None = None
    draw: float | None = None  # W
    can: CanBus = CanBus()
    mqtt: MqttBus = MqttBus()
    device: int | None = None  # SunSpec: the one device that speaks for all modules; None: each module is one
    positive: Literal["charging", "discharging"] | None = None  # SunSpec: what a positive current means
