"""A message broker of the pretend rack's own, on a port of the loopback address that it makes itself.

Gives: Broker (.port; .publish(); .serve_once()), BrokerDoor (a rack's messages on it; .serve()), Caller.
It hands the rack's messages to whoever subscribed, and counts every packet that comes: what a listener may send are
CONNECT, SUBSCRIBE, PINGREQ and DISCONNECT.
Limits: MQTT 3.1.1, QoS 0, plain; a PUBLISH of others is counted and handed to nobody. Source: MQTT 3.1.1 (OASIS
standard, 2014), from memory.
"""

from __future__ import annotations

import re
import select
import socket
import ssl
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field

from bankwright.bus.pretend.messages import MqttRack

__all__ = ["Broker", "BrokerDoor", "Caller"]

CONNECT, PUBLISH, SUBSCRIBE, PINGREQ, DISCONNECT = 1, 3, 8, 12, 14
NAMES = {
    1: "CONNECT",
    3: "PUBLISH",
    4: "PUBACK",
    5: "PUBREC",
    8: "SUBSCRIBE",
    10: "UNSUBSCRIBE",
    12: "PINGREQ",
    14: "DISCONNECT",
}
MOST = 1_000_000  # bytes of one packet
EVERY = 1.0  # s, from round to round


@dataclass
class Caller:
    """One connection."""

    socket: socket.socket
    got: bytes = b""
    filters: list[re.Pattern[str]] = field(default_factory=list)


class Broker:
    """A small broker; `login`: user and password that it wants, None: anybody."""

    def __init__(self, login: tuple[str, str] | None = None) -> None:
        """Make the port."""
        self.counts: Counter[str] = Counter()
        self.flags: list[int] = []  # of each CONNECT
        self.login, self.kept = login, dict[str, bytes]()
        self._context: ssl.SSLContext | None = None
        self._door = socket.socket()
        self._door.bind(("127.0.0.1", 0))
        self._door.listen(8)
        self.port: int = self._door.getsockname()[1]
        self.callers: list[Caller] = []

    def serve_once(self, wait: float) -> None:
        """Take what there is within a time."""
        ready, _, _ = select.select([self._door, *(caller.socket for caller in self.callers)], [], [], wait)
        if self._door in ready:
            self._take()
        for caller in [each for each in self.callers if each.socket in ready]:
            try:
                goes_on = self._hear(caller)
            except OSError:
                goes_on = False
            if not goes_on:
                self.drop(caller)

    def wrap(self, context: ssl.SSLContext) -> None:
        """Encrypt every connection from now on."""
        self._context = context

    def _take(self) -> None:
        made, _ = self._door.accept()
        made.settimeout(5.0)
        try:
            self.callers.append(
                Caller(made if self._context is None else self._context.wrap_socket(made, server_side=True))
            )
        except OSError:  # who called does not like the certificate
            made.close()

    def drop(self, caller: Caller) -> None:
        """End a connection."""
        caller.socket.close()
        self.callers = [each for each in self.callers if each is not caller]

    def publish(self, topic: str, payload: bytes, *, kept: bool = False) -> int:
        """Hand a message to all who subscribed; `kept`: also to those who come later. How many got it now."""
        if kept:
            self.kept[topic] = payload
        wanted = [caller for caller in self.callers if any(each.fullmatch(topic) for each in caller.filters)]
        for caller in wanted:
            self.raw(caller, _publication(topic, payload, kept=False))
        return len(wanted)

    def raw(self, caller: Caller, packet: bytes) -> None:
        """Send a packet as it is; one who went away is dropped."""
        try:
            caller.socket.sendall(packet)
        except OSError:
            self.drop(caller)

    def _hear(self, caller: Caller) -> bool:
        raw = caller.socket.recv(65536)
        caller.got += raw
        while (taken := _packet(caller.got)) is not None:
            head, body, caller.got = taken
            self.counts[NAMES.get(head >> 4, f"type {head >> 4}")] += 1
            if not self._answer(caller, head >> 4, body):
                return False
        return bool(raw) and len(caller.got) < MOST

    def _answer(self, caller: Caller, kind: int, body: bytes) -> bool:
        if kind == CONNECT:
            self.flags.append(body[7])
            is_right = self.login is None or _login(body) == self.login
            caller.socket.sendall(bytes((0x20, 2, 0, 0 if is_right else 5)))
            return is_right
        if kind == SUBSCRIBE:
            wanted = _filters(body)
            caller.filters += [_pattern(each) for each in wanted]
            caller.socket.sendall(bytes((0x90, 2 + len(wanted))) + body[:2] + bytes(len(wanted)))
            for topic, payload in self.kept.items():
                if any(_pattern(each).fullmatch(topic) for each in wanted):
                    caller.socket.sendall(_publication(topic, payload, kept=True))
        elif kind == PINGREQ:
            caller.socket.sendall(bytes((0xD0, 0)))
        return kind != DISCONNECT

    def close(self) -> None:
        """Let go of the port and of all connections."""
        for caller in list(self.callers):
            self.drop(caller)
        self._door.close()


def _length(size: int) -> bytes:
    found = bytearray()
    while True:
        size, low = divmod(size, 128)
        found.append(low | (128 if size else 0))
        if not size:
            return bytes(found)


def _packet(got: bytes) -> tuple[int, bytes, bytes] | None:
    """First byte, body, rest; None while it is not whole."""
    size = shift = 0
    for at in range(1, min(len(got), 5)):
        size |= (got[at] & 127) << shift
        shift += 7
        if got[at] < 128:
            end = at + 1 + size
            return (got[0], got[at + 1 : end], got[end:]) if len(got) >= end else None
    return None


def _text(body: bytes, at: int) -> tuple[str, int]:
    size = int.from_bytes(body[at : at + 2], "big")
    return body[at + 2 : at + 2 + size].decode("utf-8", "replace"), at + 2 + size


def _login(body: bytes) -> tuple[str, str]:
    """User and password of a CONNECT."""
    flags, (_, at) = body[7], _text(body, 10)
    user, at = _text(body, at) if flags & 0x80 else ("", at)
    word, _ = _text(body, at) if flags & 0x40 else ("", at)
    return user, word


def _filters(body: bytes) -> list[str]:
    found, at = [], 2
    while at < len(body):
        text, at = _text(body, at)
        found.append(text)
        at += 1  # the QoS that is asked for
    return found


def _pattern(wanted: str) -> re.Pattern[str]:
    levels = ("[^/]*" if level == "+" else ".*" if level == "#" else re.escape(level) for level in wanted.split("/"))
    return re.compile("/".join(levels))


def _publication(topic: str, payload: bytes, *, kept: bool) -> bytes:
    name = topic.encode()
    body = len(name).to_bytes(2, "big") + name + payload
    return bytes((0x31 if kept else 0x30,)) + _length(len(body)) + body


class BrokerDoor:
    """A rack's messages on a broker, a round a second."""

    def __init__(self, rack: MqttRack) -> None:
        """Make the broker."""
        self.rack, self.broker = rack, Broker()
        self.port, self.sent = self.broker.port, 0
        self._zero = self._due = time.monotonic()

    def serve(self, goes_on: Callable[[], bool]) -> None:
        """Serve until `goes_on` says no (asked at least ten times a second)."""
        while goes_on():
            now = time.monotonic()
            if now >= self._due:
                self._due = now + EVERY
                for told in self.rack.messages(now - self._zero, time.time()):
                    self.sent += self.broker.publish(told.topic, told.payload)
            self.broker.serve_once(min(max(self._due - time.monotonic(), 0.0), 0.1))

    def close(self) -> None:
        """Let go of the broker."""
        self.broker.close()
