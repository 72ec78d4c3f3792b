"""What the system says of a CAN interface: whether it only listens, its bit rate, its state.

Gives: LinkStatus, status_of() (from the words of `ip -details -statistics -json link show dev NAME`), NotRead,
setting_commands().
Limits: nothing is run here. What is not in the words is None, and None is never taken for a yes.
Source: names of the keys as iproute2's ip-link prints them for can, vcan and vxcan, from memory.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

__all__ = ["NAME", "LinkStatus", "NotRead", "setting_commands", "status_of"]

NAME = re.compile(r"[A-Za-z][A-Za-z0-9_.]{0,14}")
VIRTUAL = frozenset({"vcan", "vxcan"})
FD_MTU = 72  # bytes of a frame with up to 64 data bytes


class NotRead(Exception):
    """The system's words do not say it; the words say why."""


@dataclass(frozen=True, slots=True)
class LinkStatus:
    """One interface as the system has it."""

    name: str
    kind: str  # "can", "vcan", "vxcan", or whatever else the system calls it
    is_up: bool
    only_listens: bool  # read back, not asked for
    bit_rate: int | None  # bit/s
    state: str | None  # "ERROR-ACTIVE", "ERROR-WARNING", "ERROR-PASSIVE", "BUS-OFF", "STOPPED"
    takes_fd: bool
    errors: int | None  # received frames that the controller counted as damaged

    @property
    def is_virtual(self) -> bool:
        """True where nothing of it lies on wires."""
        return self.kind in VIRTUAL


def status_of(words: str, name: str) -> LinkStatus:
    """Read the words; NotRead when they are not those of this interface."""
    try:
        found = json.loads(words)
    except (ValueError, RecursionError):
        raise NotRead("what `ip` said is no JSON") from None
    if not isinstance(found, list) or len(found) != 1 or _table(found[0]).get("ifname") != name:
        raise NotRead(f"`ip` did not speak of {name} alone")
    link = _table(found[0])
    info = _table(link.get("linkinfo"))
    data = _table(info.get("info_data"))
    modes, flags = data.get("ctrlmode"), link.get("flags")
    mtu = link.get("mtu")
    return LinkStatus(
        name,
        _text(info.get("info_kind")) or _text(link.get("link_type")) or "of a kind that the system does not name",
        isinstance(flags, list) and "UP" in flags,
        isinstance(modes, list) and "LISTEN-ONLY" in modes,
        _whole(_table(data.get("bittiming")).get("bitrate")),
        _text(data.get("state")),
        isinstance(mtu, int) and mtu >= FD_MTU,
        _whole(_table(_table(link.get("stats64")).get("rx")).get("errors")),
    )


def _table(value: Any) -> Mapping[str, Any]:
    return value if isinstance(value, dict) else {}


def _text(value: Any) -> str | None:
    return value if isinstance(value, str) else None


def _whole(value: Any) -> int | None:
    return value if isinstance(value, int) and not isinstance(value, bool) else None


def setting_commands(name: str, bit_rate: float | None) -> str:
    """What a person types so that the interface only listens."""
    rate = "BITRATE" if bit_rate is None else f"{bit_rate:.0f}"
    return (
        f"sudo ip link set {name} down; sudo ip link set {name} type can bitrate {rate} listen-only on; "
        f"sudo ip link set {name} up"
    )
