"""A connection to a message broker (MQTT 3.1.1) that subscribes: the one room of the bus that makes one.

Gives: BrokerPort, connected(). It takes QoS 0 alone, so it has nothing to acknowledge: after CONNECT and
SUBSCRIBE nothing leaves it but PINGREQ and DISCONNECT. No will, no session kept.
Limits: a packet above MOST_PACKET ends the connection before it is read; so does one of another QoS than was granted.
With TLS the broker's certificate is always checked. The library has no public way to refuse a long packet, so two of
its inner functions are replaced; a test holds that they are still called.
"""

from __future__ import annotations

import contextlib
import secrets
import ssl
from collections import deque
from collections.abc import Callable, Sequence
from typing import Any

from paho.mqtt import MQTTException
from paho.mqtt.client import Client, MQTTMessage
from paho.mqtt.enums import CallbackAPIVersion, MQTTErrorCode
from paho.mqtt.reasoncodes import ReasonCode

from bankwright.bus.mqtt.decode import MqttMessage
from bankwright.bus.mqtt.login import Login
from bankwright.bus.mqtt.payload import MOST_PAYLOAD
from bankwright.bus.wire.clock import machine_time
from bankwright.bus.wire.wire import WireGone

__all__ = ["MOST_PACKET", "BrokerPort", "connected"]

PATIENCE = 10.0  # s that a broker has for each answer
KEEP_ALIVE = 30  # s; a broker that is silent for longer has gone
MOST_PACKET = 4 * MOST_PAYLOAD  # bytes
QOS_BITS = 0x06


class _Bounded(Client):
    """The library's client, with an end to what a packet may hold."""

    def _sock_recv(self, bufsize: int) -> bytes:
        if bufsize > MOST_PACKET:
            raise ConnectionError(f"a packet of {bufsize} bytes")
        return super()._sock_recv(bufsize)

    def _handle_publish(self) -> MQTTErrorCode:
        if self._in_packet["command"] & QOS_BITS:
            return MQTTErrorCode.MQTT_ERR_PROTOCOL
        return super()._handle_publish()


class BrokerPort:
    """An open connection with its subscriptions."""

    def __init__(self, host: str, port: int, filters: Sequence[str], login: Login) -> None:
        """Connect and subscribe; WireGone with the reason."""
        self.name = f"{host}:{port}"
        self._waiting: deque[MqttMessage] = deque()
        self._code: ReasonCode | None = None  # of the connection
        self._granted: list[ReasonCode] = []  # of each subscription
        self._client = _Bounded(CallbackAPIVersion.VERSION2, f"bankwright-{secrets.token_hex(4)}")
        self._client.suppress_exceptions = False
        self._client.on_connect, self._client.on_subscribe = self._connected, self._subscribed
        self._client.on_message = self._came
        try:
            self._prepare(login)
            self._client.connect_timeout = PATIENCE
            self._client.connect(host, port, keepalive=KEEP_ALIVE)
            self._agree(filters)
        except (OSError, MQTTException, ValueError, ssl.SSLError) as error:
            self.close()
            raise WireGone(f"{self.name}: {error}") from None
        except WireGone:
            self.close()
            raise

    def _prepare(self, login: Login) -> None:
        if login.user is not None:
            self._client.username_pw_set(login.user, login.password)
        if login.tls:
            self._client.tls_set(login.ca, login.certificate, login.key, cert_reqs=ssl.CERT_REQUIRED)

    def _agree(self, filters: Sequence[str]) -> None:
        self._wait(lambda: self._code is not None)
        if self._code is not None and self._code.is_failure:
            raise WireGone(f"{self.name} refuses the connection: {self._code}")
        self._client.subscribe([(each, 0) for each in filters])
        self._wait(lambda: bool(self._granted))
        for each, granted in zip(filters, self._granted, strict=False):
            if granted.is_failure:
                raise WireGone(f'{self.name} does not let us read "{each}": {granted}')

    def _wait(self, is_there: Callable[[], bool]) -> None:
        until = self.now() + PATIENCE
        while not is_there() and self.now() < until:
            self._turn(0.1)
        if not is_there():
            raise WireGone(f"{self.name} did not answer within {PATIENCE:g} s")

    def _turn(self, seconds: float) -> None:
        code = self._client.loop(max(seconds, 0.0))
        if code is not MQTTErrorCode.MQTT_ERR_SUCCESS:
            is_refused = self._code is not None and self._code.is_failure
            why = f"refuses the connection: {self._code}" if is_refused else "went away"
            raise WireGone(f"{self.name} {why} ({code.name.removeprefix('MQTT_ERR_').lower().replace('_', ' ')})")

    def _connected(self, client: Client, data: Any, flags: Any, code: ReasonCode, more: Any) -> None:  # noqa: ARG002
        self._code = code

    def _subscribed(self, client: Client, data: Any, mid: int, codes: list[ReasonCode], more: Any) -> None:  # noqa: ARG002
        self._granted = list(codes)

    def _came(self, client: Client, data: Any, message: MQTTMessage) -> None:  # noqa: ARG002
        try:
            topic = message.topic
        except UnicodeDecodeError:
            topic = "\ufffd"  # no topic of any map
        self._waiting.append(MqttMessage(self.now(), topic, bytes(message.payload), bool(message.retain)))

    def now(self) -> float:
        """The machine's own clock. [s]"""
        return machine_time()

    def hear(self, until: float) -> MqttMessage | None:
        """The next message; None when none came until then; WireGone when the broker went away."""
        while not self._waiting:
            self._turn(min(until - self.now(), 1.0))
            if not self._waiting and self.now() >= until:
                return None
        return self._waiting.popleft()

    def close(self) -> None:
        """End the connection."""
        with contextlib.suppress(Exception):
            self._client.disconnect()


def connected(host: str, port: int, filters: Sequence[str], login: Login) -> BrokerPort:
    """A connection with its subscriptions; WireGone with the reason."""
    return BrokerPort(host, port, filters, login)
