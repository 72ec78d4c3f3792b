"""A CAN bus that is listened to: opened only where nothing of ours can reach wires.

Gives: CanPort, open_can(). The port hears frames and does nothing else: no room outside the pretend rack makes a frame.
`can0`: a bus on wires, opened when the system says LISTEN-ONLY, asked before, after, and every minute; `vcan0`: inside
the machine; `virtual:NAME`: inside this program; `udp:239.1.2.3:PORT`: the pretend rack's, never leaves the machine.
Limits: Linux. Joining a group address the system may say so on the network (IGMP); no frame leaves the machine.
Every other kind of adapter is refused: its mode cannot be read back from the system. Nothing here was
tried with a real adapter (docs/bus.md).
"""

from __future__ import annotations

import contextlib
import logging
import re
from collections.abc import Callable
from typing import Any, Protocol

from bankwright.bus.can.dbc import CAN_MISSING
from bankwright.bus.can.decode import CanFrame, Kind
from bankwright.bus.can.link import read_status
from bankwright.bus.can.status import LinkStatus, NotRead, setting_commands
from bankwright.bus.wire.clock import machine_time
from bankwright.bus.wire.wire import WireGone

__all__ = ["CanPort", "Frames", "open_can"]

_VIRTUAL = re.compile(r"virtual:([A-Za-z0-9_.-]{1,60})")
_GROUP = re.compile(r"udp:(239(?:\.[0-9]{1,3}){3}):([0-9]{4,5})")
CHECK_EVERY = 60.0  # s, from one look at the interface's mode to the next


class Frames(Protocol):
    """What frames are heard from."""

    name: str
    status: LinkStatus | None

    def now(self) -> float:
        """Its clock. [s]"""

    def hear(self, until: float) -> CanFrame | None:
        """The next frame; None when none came until then."""

    def close(self) -> None:
        """Let go of it."""


def open_can(name: str, bit_rate: float | None = None, look: Callable[[str], LinkStatus] = read_status) -> CanPort:
    """Open a bus to listen; WireGone when it may not or cannot be opened. `bit_rate` is what the file says. [bit/s]"""
    virtual, group = _VIRTUAL.fullmatch(name), _GROUP.fullmatch(name)
    if virtual is not None:
        return CanPort(name, _opened(name, interface="virtual", channel=virtual[1]), None, look)
    if group is not None:
        bus = _opened(name, interface="udp_multicast", channel=group[1], port=int(group[2]), hop_limit=0)
        return CanPort(name, bus, None, look)
    status = _allowed(name, bit_rate, look)
    bus = _opened(name, interface="socketcan", channel=name, fd=status.takes_fd)
    port = CanPort(name, bus, status, look)
    try:
        port.status = _allowed(name, bit_rate, look)
    except WireGone:
        port.close()
        raise
    return port


def _allowed(name: str, bit_rate: float | None, look: Callable[[str], LinkStatus]) -> LinkStatus:
    """The interface, if the system says that nothing of ours reaches wires; else WireGone with what to do."""
    try:
        status = look(name)
    except NotRead as error:
        raise WireGone(f"{name} is not opened: whether it only listens could not be read back: {error}") from None
    if status.is_virtual or (status.kind == "can" and status.only_listens):
        if status.is_up:
            return status
        raise WireGone(f"{name} is down. As administrator: {_up(status, bit_rate)}")
    if status.kind != "can":
        raise WireGone(f"{name} is not opened: it is {status.kind}, no CAN interface whose mode the system tells")
    rate = bit_rate if bit_rate is not None else status.bit_rate
    words = "the system does not say LISTEN-ONLY of it, so it would answer frames on the wires"
    raise WireGone(f"{name} is not opened: {words}. As administrator: {setting_commands(name, rate)}")


def _up(status: LinkStatus, bit_rate: float | None) -> str:
    rate = bit_rate if bit_rate is not None else status.bit_rate
    return f"sudo ip link set {status.name} up" if status.is_virtual else setting_commands(status.name, rate)


def _opened(name: str, **given: Any) -> Any:
    """The library's bus; settings outside the program do not reach it."""
    try:
        import can
    except ImportError:
        raise WireGone(CAN_MISSING) from None
    logging.getLogger("can").setLevel(logging.ERROR)
    try:
        return can.Bus(ignore_config=True, **given)
    except (OSError, can.CanError, ValueError, ImportError) as error:
        raise WireGone(f"{name} cannot be opened: {error}") from None


class CanPort:
    """An open bus, for hearing only: of the library's bus it holds nothing but how to take a frame and how to close."""

    def __init__(self, name: str, bus: Any, status: LinkStatus | None, look: Callable[[str], LinkStatus]) -> None:
        """Keep the two."""
        self.name, self.status, self._look = name, status, look
        self._recv, self._shutdown = bus.recv, bus.shutdown
        self._looked = self.now()

    def now(self) -> float:
        """The machine's own clock. [s]"""
        return machine_time()

    def hear(self, until: float) -> CanFrame | None:
        """The next frame; WireGone when the bus went away, or the interface does not only listen any more."""
        self._look_again()
        try:
            found = self._recv(max(until - self.now(), 0.0))
        except (OSError, ValueError) as error:
            raise WireGone(f"{self.name} went away: {error}") from None
        except Exception as error:  # the library has errors of its own, and the one that is sent bad bytes has any
            raise WireGone(f"{self.name} went away: {type(error).__name__}: {error}") from None
        if found is None:
            return None
        kind = Kind.ERROR if found.is_error_frame else Kind.REMOTE if found.is_remote_frame else Kind.DATA
        return CanFrame(self.now(), found.arbitration_id, bool(found.is_extended_id), bytes(found.data or b""), kind)

    def _look_again(self) -> None:
        if self.status is not None and self.now() - self._looked >= CHECK_EVERY:
            self._looked = self.now()
            self.status = _allowed(self.name, None, self._look)

    def close(self) -> None:
        """Let go of the bus."""
        with contextlib.suppress(Exception):
            self._shutdown()
