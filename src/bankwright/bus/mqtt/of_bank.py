"""A broker's topics as the bank file names them: the map, whose text is whose, the open source.

Gives: mqtt_map_of(), texts_of(), mqtt_targets(), mqtt_source(), topics_read(), keeps_clear().
Limits: connects by bus/mqtt/client.py alone. A password comes from a variable of the environment or from a file, never
from the bank file.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from bankwright.bank.addresses import address_plan
from bankwright.bank.model import Bank
from bankwright.bank.model_bus import MqttBus
from bankwright.bank.rules.watch import overlaps
from bankwright.bus.mqtt.decode import Texts
from bankwright.bus.mqtt.login import Login
from bankwright.bus.mqtt.read import read_mqtt_map
from bankwright.bus.mqtt.signals import MqttMap
from bankwright.bus.mqtt.source import MqttSource
from bankwright.bus.poll import Target
from bankwright.forms.faults import Fault, QuestionError

__all__ = ["keeps_clear", "mqtt_map_of", "mqtt_source", "mqtt_targets", "texts_of", "topics_read"]

PLAIN_PORT, TLS_PORT = 1883, 8883
MOST_PASSWORD = 1024


def _fault(path: str, code: str, found: str, hint: str) -> QuestionError:
    return QuestionError((Fault(path, code, found, "", hint),), "")


def mqtt_map_of(bank: Bank, folder: Path) -> MqttMap:
    """The map that the file names; MapError with its faults, QuestionError where none is named."""
    if bank.bus is None or bank.bus.map is None:
        hint = 'Write map = "FILE.toml" under [bus]: docs/bus.md says how'
        raise _fault("bus.map", "key-missing", "no map is named", hint)
    return read_mqtt_map(folder / bank.bus.map)


def topics_read(bank: Bank, folder: Path) -> tuple[str, ...]:
    """Every topic that the bank's map reads; none where the bus is no broker, or no map is named."""
    if bank.bus is None or bank.bus.wire != "mqtt" or bank.bus.map is None:
        return ()
    return mqtt_map_of(bank, folder).filters


def keeps_clear(bank: Bank, mqtt_map: MqttMap) -> None:
    """Alarms are published nowhere that is read from: QuestionError where a root and a topic meet."""
    broker = bank.watch.broker
    for topic in mqtt_map.filters if broker is not None else ():
        assert broker is not None
        if overlaps(broker.root, topic):
            found = f'"{broker.root}" is, holds or lies under "{topic}", which {mqtt_map.file} reads from'
            raise _fault("watch.mqtt.root", "topic-read", found, "Choose a root of its own")


def texts_of(bank: Bank, mqtt_map: MqttMap) -> Texts:
    """Text as it is sent -> module: the map's own, else names and addresses; "" where the bank has one module alone."""
    modules = [module.name for module in bank.modules]
    for name in (*mqtt_map.names.values(), *_named(mqtt_map)):
        if name not in modules:
            hint = f"The bank's modules: {', '.join(modules[:12])}"
            raise _fault(
                "modules", "unknown-name", f'{mqtt_map.file} names "{name}", which the bank does not have', hint
            )
    found = dict(mqtt_map.names)
    if not found:
        found = {str(row.address): row.module for row in address_plan(bank) if row.address is not None}
        found |= {name: name for name in modules}
    if len(modules) == 1:
        found[""] = modules[0]
    elif any(_says_nobody(mqtt_map)):
        hint = "Write {module} in its topic or value, or module_at, or module"
        raise _fault("signals", "key-missing", f"whose {next(_says_nobody(mqtt_map))} is, is not said", hint)
    return found


def _named(mqtt_map: MqttMap) -> list[str]:
    return [s.module for signals in mqtt_map.by_topic.values() for s in signals if s.module is not None]


def _says_nobody(mqtt_map: MqttMap) -> Iterator[str]:
    for signals in mqtt_map.by_topic.values():
        for signal in signals:
            if not signal.says_module:
                yield f'"{signal.values[0].name}"'


def mqtt_targets(bank: Bank, texts: Texts) -> tuple[Target, ...]:
    """Modules that should be heard, in the order of the file; the number is the address, else their place."""
    wanted = set(texts.values())
    addresses = {row.module: row.address for row in address_plan(bank)}
    listed = (module.name for module in bank.modules if module.name in wanted)
    return tuple(Target(name, addresses.get(name) or place) for place, name in enumerate(listed, 1))


def mqtt_source(bank: Bank, folder: Path, mqtt_map: MqttMap, host: str | None, every: float) -> MqttSource:
    """Connect to the broker that the file names, or to another one; WireGone when that fails."""
    from bankwright.bus.mqtt.client import connected  # the library takes a tenth of a second to load

    line = bank.bus
    own = line.mqtt if line is not None else MqttBus()
    address = host or (line.host if line is not None else None)
    if address is None:
        raise _fault("bus.host", "key-missing", "no broker is named", 'Write host = "192.168.1.5", or give --host')
    login = _login(own, folder)
    name, _, number = address.partition(":")
    port = int(number) if number.isdigit() else TLS_PORT if own.tls else PLAIN_PORT
    source = connected(name, port, mqtt_map.filters, login)
    return MqttSource(source, mqtt_map, texts_of(bank, mqtt_map), every)


def _login(own: MqttBus, folder: Path) -> Login:
    files = (None if name is None else str(folder / name) for name in (own.ca, own.certificate, own.key))
    return Login(own.user, _password(own, folder), own.tls, *files)


def _password(own: MqttBus, folder: Path) -> str | None:
    if own.password_in is not None:
        if own.password_in not in os.environ:
            hint = "Set it where this program is started"
            raise _fault("bus.mqtt.password_in", "key-missing", f"the variable {own.password_in} is not set", hint)
        return os.environ[own.password_in]
    if own.password_file is None:
        return None
    try:
        with (folder / own.password_file).open(encoding="utf-8") as file:
            said = file.read(MOST_PASSWORD).splitlines()
    except (OSError, UnicodeDecodeError, ValueError) as error:
        hint = "A file with the password in its first line, readable for this program alone"
        raise _fault(
            "bus.mqtt.password_file", "not-found", f"{own.password_file} cannot be read: {error}", hint
        ) from None
    if not said or not said[0]:
        raise _fault("bus.mqtt.password_file", "not-allowed", f"{own.password_file} is empty", "The password in line 1")
    return said[0]
