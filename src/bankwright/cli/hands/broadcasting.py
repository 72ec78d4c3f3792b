"""The pretend rack on a bus that speaks by itself: made, served, counted.

Gives: serve_can(), serve_topics(). Everything that it says is invented; it opens only what it makes itself.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import Protocol

import click

from bankwright.job.bus import (
    BrokerDoor,
    CanDoor,
    CanRack,
    MqttRack,
    TroubleFault,
    cable_order,
    can_map_of,
    mqtt_map_of,
    practice,
    texts_of,
    trouble,
    whose_of,
)
from bankwright.job.file import Bank

__all__ = ["serve_can", "serve_topics"]


class Door(Protocol):
    """What serves."""

    def serve(self, goes_on: Callable[[], bool]) -> None:
        """Until it is told to stop."""

    def close(self) -> None:
        """Let go."""


def serve_can(bank: Bank, bank_file: Path, troubles: tuple[str, ...], seconds: float | None) -> None:
    """Broadcast on a CAN bus inside the machine until it is stopped."""
    can_map = can_map_of(bank, bank_file.parent)
    whose = whose_of(bank, can_map)
    modules = tuple(module.name for module in bank.modules)
    try:
        wrong = [trouble(text, modules) for text in troubles]
        rack = CanRack(can_map, whose, practice(bank), wrong, order=cable_order(bank))
    except TroubleFault as fault:
        raise click.BadParameter(str(fault), param_hint="--trouble") from None
    try:
        door = CanDoor(rack)
    except ImportError:
        raise click.UsageError("CAN needs the extra: pip install 'bankwright[can]'") from None
    except OSError as error:
        raise click.UsageError(f"no bus inside this machine can be made: {error}") from None
    click.echo(
        f"{len(whose)} pretend modules, all values invented. In another window: "
        f"bankwright survey FILE --port {door.port}"
    )
    _served(door, seconds)
    click.echo(f"{door.sent} frames sent; {door.of_others} heard of others: a listener sends none.")


def serve_topics(bank: Bank, bank_file: Path, troubles: tuple[str, ...], seconds: float | None) -> None:
    """Tell the modules' values on a broker of our own until it is stopped."""
    mqtt_map = mqtt_map_of(bank, bank_file.parent)
    texts = texts_of(bank, mqtt_map)
    modules = tuple(module.name for module in bank.modules)
    try:
        wrong = [trouble(text, modules) for text in troubles]
        rack = MqttRack(mqtt_map, texts, practice(bank), wrong, order=cable_order(bank))
    except TroubleFault as fault:
        raise click.BadParameter(str(fault), param_hint="--trouble") from None
    door = BrokerDoor(rack)
    click.echo(
        f"{len(set(texts.values()))} pretend modules, all values invented. In another window: "
        f"bankwright survey FILE --host 127.0.0.1:{door.port}"
    )
    _served(door, seconds)
    counts = ", ".join(f"{count} {name}" for name, count in sorted(door.broker.counts.items())) or "nothing"
    click.echo(f"{door.sent} messages handed out; heard of listeners: {counts}. A listener publishes nothing.")


def _served(door: Door, seconds: float | None) -> None:
    end = None if seconds is None else time.monotonic() + seconds
    try:
        door.serve(lambda: end is None or time.monotonic() < end)
    except KeyboardInterrupt:
        pass
    except OSError as error:
        raise click.UsageError(str(error)) from None
    finally:
        door.close()
