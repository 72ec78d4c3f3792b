"""What joins the keys of a map of topics: each rule yields faults with their place.

Gives: faults_of(). Limits: single values are judged in mqtt/written.py.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.file.spans import Path
from bankwright.bank.file.whereabouts import Whereabouts
from bankwright.bus.map.placeholders import filled, holders, unknown_holders
from bankwright.bus.map.rules import quantity_faults
from bankwright.bus.mqtt.path import PathFault, parsed_path
from bankwright.bus.mqtt.topics import topic_fault
from bankwright.bus.mqtt.written import MqttMapW, MqttSignalW
from bankwright.forms.faults import Fault

__all__ = ["faults_of"]

MOST_VALUES, MOST_TOPICS = 2000, 200
PATHS = ("value", "each", "module_at", "time")


def faults_of(written: MqttMapW, where: Whereabouts) -> Iterator[Fault]:
    """All faults of the rules."""
    if not written.signals:
        yield where.fault(("signals",), "key-missing", "the map has no signals", "", "Write a [[signals]] block each")
    if sum(signal.repeat for signal in written.signals) > MOST_VALUES:
        yield where.fault(("signals",), "out-of-range", f"more than {MOST_VALUES} values")
    if len({signal.topic for signal in written.signals}) > MOST_TOPICS:
        hint = "One topic serves all modules and cells: {module} and {n} stand for their numbers"
        yield where.fault(("signals",), "out-of-range", f"more than {MOST_TOPICS} topics", "", hint)
    plain = {
        signal.topic: number for number, signal in reversed(list(enumerate(written.signals))) if signal.value is None
    }
    seen: dict[str, int] = {}
    for number, signal in enumerate(written.signals):
        path: Path = ("signals", number)
        if signal.name in seen and signal.module is None:
            found = f'found "{signal.name}" twice'
            yield where.fault((*path, "name"), "double-name", found, also=("signals", seen[signal.name]))
        seen.setdefault(signal.name, number)
        if signal.value is not None and signal.topic in plain:
            found, other = f'the payload of "{signal.topic}" is a value itself, and JSON here', plain[signal.topic]
            hint = "Write value = its path for both"
            yield where.fault((*path, "value"), "not-allowed", found, "", hint, also=("signals", other))
        yield from quantity_faults(signal, path, where)
        yield from _paths(signal, path, where)
        yield from _whose(signal, path, where)
        yield from _several(signal, path, where)


def _paths(signal: MqttSignalW, path: Path, where: Whereabouts) -> Iterator[Fault]:
    wrong = topic_fault(signal.topic)
    if wrong:
        yield where.fault((*path, "topic"), "not-allowed", wrong)
    for key in PATHS:
        text = getattr(signal, key)
        if text is None:
            continue
        for braces in unknown_holders(text):
            yield where.fault((*path, key), "not-allowed", f'found "{braces}" in a path', "", "{n} and {module} only")
        if key != "value" and holders(text):
            yield where.fault(
                (*path, key), "not-allowed", f"{{n}} and {{module}} stand in topic or value, not in {key}"
            )
        try:
            parsed_path(filled(text, 0, "0"))
        except PathFault as fault:
            yield where.fault((*path, key), "not-allowed", str(fault))
    if signal.value is None:
        for key in ("each", "module_at", "time"):
            if getattr(signal, key) is not None:
                hint = "Write value = the path of the value in the payload"
                yield where.fault((*path, "value"), "key-missing", f"{key} needs a JSON payload", "", hint)


def _whose(signal: MqttSignalW, path: Path, where: Whereabouts) -> Iterator[Fault]:
    """The module is said once, or not at all (a bank of one module)."""
    inside = [key for key in ("topic", "value") if "module" in holders(getattr(signal, key) or "")]
    keys = [key for key in ("module_at", "module") if getattr(signal, key) is not None]
    said = [*(f"{{module}} in {key}" for key in inside), *keys]
    if len(said) > 1:
        yield where.fault((*path, "topic"), "not-here", f"the module is said twice: {' and '.join(said)}", "", "Once")
    if signal.each is not None and signal.module_at is None:
        hint = "Write module_at = the path of the module's name or number in each entry"
        yield where.fault((*path, "module_at"), "key-missing", "whose each entry is, is not said", "", hint)


def _several(signal: MqttSignalW, path: Path, where: Whereabouts) -> Iterator[Fault]:
    counted = "n" in holders(signal.topic) | holders(signal.value or "")
    if signal.repeat > 1 and not counted:
        hint = 'Write value = "cells[{n}]", or {n} in the topic'
        yield where.fault((*path, "repeat"), "key-missing", f"{signal.repeat} of them, told apart by nothing", "", hint)
    if signal.repeat == 1 and counted:
        yield where.fault((*path, "repeat"), "key-missing", "how many of them is not said", "", "Write repeat = 16")
    if (signal.quantity == "flags") != (signal.bits is not None):
        yield where.fault((*path, "bits"), "key-missing", "flags and bits go together", "", 'bits = { 0 = "..." }')
    if signal.scale == 0:
        yield where.fault((*path, "scale"), "out-of-range", "a scale of 0 makes every value alike")
