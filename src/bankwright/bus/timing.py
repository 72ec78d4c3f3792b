"""Time on a serial line: characters, silences, and the shortest poll cycle that a line allows.

Gives: Framing, poll_limit(), cycle_time(), scan_time(), silent_time(), registers_within(), transaction(), REQUEST and
REPLY (characters of each).
Limits: a module's own delay beyond the silence must be told; an adapter's buffering is not in here (docs/bus.md).
Sources: MODBUS over Serial Line V1.02 (20 Dec 2006), 2.5.1 (characters) and 2.5.1.1 (silences), read; the cycle is
derived from them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

__all__ = [
    "BAUDS",
    "REPLY",
    "REQUEST",
    "Framing",
    "Parity",
    "cycle_time",
    "poll_limit",
    "registers_within",
    "scan_time",
    "silent_time",
    "transaction",
]

Parity = Literal["even", "odd", "none"]
BAUDS = (1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200)
REQUEST, REPLY = 8, 5  # characters of a request; of a reply beside its registers, two a register
FIXED_ABOVE = 19200  # bit/s: above it the silences are fixed times
T15_FIXED, T35_FIXED = 0.750e-3, 1.750e-3  # s


@dataclass(frozen=True, slots=True)
class Framing:
    """How characters stand on the line. Default of the standard: 19200 bit/s, even parity, one stop bit."""

    baud: int = 19200
    parity: Parity = "even"
    stop_bits: int = 1

    @property
    def bits(self) -> int:
        """Bits of one character on the line: start, 8 data, parity, stop. [-]"""
        return 9 + (self.parity != "none") + self.stop_bits

    @property
    def character(self) -> float:
        """Time of one character. [s]"""
        return self.bits / self.baud

    @property
    def t15(self) -> float:
        """The longest gap inside a frame. [s]"""
        return T15_FIXED if self.baud > FIXED_ABOVE else 1.5 * self.character

    @property
    def t35(self) -> float:
        """The shortest silence between frames. [s]"""
        return T35_FIXED if self.baud > FIXED_ABOVE else 3.5 * self.character

    def __str__(self) -> str:
        """`9600 8N1`, as the trade writes it."""
        return f"{self.baud} 8{self.parity[0].upper()}{self.stop_bits}"


def transaction(framing: Framing, registers: int, thinking: float = 0.0) -> float:
    """Time of one request and its reply with the silence after each. [s]

    Parameters
    ----------
    framing : of the line. [-]
    registers : asked for in the request. [-]
    thinking : the module's own delay beyond the silence. [s]
    """
    return (REQUEST + REPLY + 2 * registers) * framing.character + 2 * framing.t35 + thinking


def poll_limit(framing: Framing, modules: int, blocks: Iterable[int], thinking: float = 0.0) -> float:
    """Shortest cycle in which all modules answer once: N * sum((13 + 2 R) c + 2 t3.5 + t). [s]

    Parameters
    ----------
    framing : of the line. [-]
    modules : number of modules. [-]
    blocks : registers of each request that a module is asked. [-]
    thinking : a module's own delay beyond the silence. [s]
    """
    return modules * sum(transaction(framing, registers, thinking) for registers in blocks)


def cycle_time(framing: Framing, modules: int, characters: Iterable[int]) -> float:
    """Shortest cycle in which all modules answer once, whatever they speak. [s]

    Parameters
    ----------
    framing : of the line. [-]
    modules : number of modules. [-]
    characters : of each request with its reply. [-]
    """
    return modules * sum(count * framing.character + 2 * framing.t35 for count in characters)


def scan_time(
    framing: Framing | None,
    alive: int,
    silent: int,
    blocks: Iterable[int],
    *,
    timeout: float,
    thinking: float = 0.0,
) -> float:
    """Time of one pass in which some modules answer and some do not. [s]

    Parameters
    ----------
    framing : of the line; None over TCP, where only waiting counts. [-]
    alive : modules that answer every request. [-]
    silent : modules that are asked once and do not answer. [-]
    blocks : registers of each request that a module is asked. [-]
    timeout : how long a reply may take to begin; a silent module costs it and the time of the reply. [s]
    thinking : an answering module's own delay beyond the silence. [s]
    """
    asked = list(blocks)
    waiting = silent * silent_time(framing, REQUEST + REPLY + 2 * asked[0], timeout)
    if framing is None:
        return alive * len(asked) * thinking + waiting
    return poll_limit(framing, alive, asked, thinking) + waiting


def silent_time(framing: Framing | None, characters: int, timeout: float) -> float:
    """What asking somebody costs who does not answer. [s]

    Parameters
    ----------
    framing : of the line; None over TCP. [-]
    characters : of the request and of the reply that is waited for. [-]
    timeout : how long a reply may take to begin. [s]
    """
    return timeout if framing is None else characters * framing.character + framing.t35 + timeout


def registers_within(framing: Framing, modules: int, period: float, thinking: float = 0.0) -> int:
    """Registers a module that one request each fits into a period; below zero when not even an empty reply fits. [-]

    Parameters
    ----------
    framing : of the line. [-]
    modules : number of modules. [-]
    period : wished time from poll to poll. [s]
    thinking : a module's own delay beyond the silence. [s]
    """
    free = (period / modules - 2 * framing.t35 - thinking) / framing.character - REQUEST - REPLY
    return int(free // 2)
