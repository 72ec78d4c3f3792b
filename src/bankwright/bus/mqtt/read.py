"""A map of topics read from its file, or all its faults with line and column.

Gives: read_mqtt_map(). MapError with its faults. Limits: the file is guarded as a bank file is.
"""

from __future__ import annotations

import os
from pathlib import Path
from types import MappingProxyType

from bankwright.bank.file.includes import opened
from bankwright.bank.file.quantity_text import parse_range
from bankwright.bank.file.whereabouts import Whereabouts
from bankwright.bank.written.validate import validated
from bankwright.bus.map.read import MapError
from bankwright.bus.mqtt.rules import faults_of
from bankwright.bus.mqtt.signals import MqttMap, MqttSignal, MqttValue
from bankwright.bus.mqtt.topics import topic_of
from bankwright.bus.mqtt.written import MqttMapW, MqttSignalW
from bankwright.forms.quantities import QUANTITIES

__all__ = ["read_mqtt_map"]

USUAL = 60.0  # s that a value stands; common practice, no source


def read_mqtt_map(path: str | os.PathLike[str]) -> MqttMap:
    """Read a map; MapError with all faults."""
    at = Path(path)
    files = opened(at)
    if files.main is None:
        raise MapError(tuple(files.faults), at.name)
    where = Whereabouts(files.main, at.name, {})
    written, _, faults = validated(MqttMapW, files.main.data, where)
    faults = faults or list(faults_of(written, where))
    if faults:
        raise MapError(tuple(sorted(faults, key=lambda f: (f.place.line if f.place else 0, f.path))), at.name)
    by_topic: dict[str, list[MqttSignal]] = {}
    values: dict[str, MqttValue] = {}
    for signal in written.signals:
        made = _signal(signal)
        by_topic.setdefault(signal.topic, []).append(made)
        values |= {value.name: value for value in made.values}
    return MqttMap(
        title=written.title,
        file=at.name,
        digest=files.main.digest,
        signals=tuple(values.values()),
        by_topic=MappingProxyType({topic: tuple(found) for topic, found in by_topic.items()}),
        stale=USUAL if written.stale is None else written.stale,
        names=MappingProxyType(written.modules),
    )


def _signal(written: MqttSignalW) -> MqttSignal:
    row = QUANTITIES.get(written.quantity)
    unit = row.unit_named(written.unit or "") if row else None
    factor, offset = (unit.factor, unit.offset) if unit else (1.0, 0.0)
    sign = -1.0 if written.positive == "charging" else 1.0  # inside: positive leaves the module
    low, high = parse_range(written.range, written.quantity) if written.range else (None, None)
    numbers = range(1, written.repeat + 1) if written.repeat > 1 else (None,)
    values = tuple(
        MqttValue(written.name if k is None else f"{written.name} {k}", written.quantity, k) for k in numbers
    )
    return MqttSignal(
        topic=topic_of(written.topic),
        values=values,
        first=written.first,
        value=written.value,
        each=written.each,
        module_at=written.module_at,
        module=written.module,
        time=written.time,
        factor=written.scale * factor * sign,
        shift=(written.offset * factor + offset) * sign,
        low=low,
        high=high,
        not_available=written.not_available,
        bits=MappingProxyType(dict(written.bits or {})),
    )
