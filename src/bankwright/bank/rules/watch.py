"""Rules on Watch: no limit looser than the maker's, no topic that is read from, ways out that can be meant.

Gives: RULES, overlaps(). Limits: whether a server answers is found out by the test message.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from urllib.parse import urlsplit

from bankwright.bank.written.told import Told
from bankwright.bank.written.watch import minute_of_week
from bankwright.forms.faults import Fault

__all__ = ["RULES", "overlaps"]

_HOST_PORT = re.compile(r"([0-9A-Za-z.-]+|\[[0-9a-fA-F:]+\]):([0-9]{1,5})")


def limits_are_those_of_the_maker_or_tighter(told: Told) -> Iterator[Fault]:
    """A cell's or a temperature's limit does not lie beyond what a data sheet gives."""
    watch = told.written.watch
    if watch is None:
        return
    for name, kind in told.kinds.module.items():
        charge, discharge = kind.charge, kind.discharge
        trip = None if charge is None or charge.cell_trip is None else charge.cell_trip.nominal
        empty = None if discharge is None or discharge.cell_trip is None else discharge.cell_trip.nominal
        tops = [side.highest for side in (charge, discharge) if side is not None and side.highest is not None]
        bottom = None if discharge is None else discharge.lowest
        rows: tuple[tuple[str, float | None, float | None, int], ...] = (
            ("cell_high", watch.cell_high, trip, 1),
            ("cell_low", watch.cell_low, empty, -1),
            ("temperature_high", watch.temperature_high, max(tops, default=None), 1),
            ("temperature_low", watch.temperature_low, bottom, -1),
        )
        for key, value, maker, side in rows:
            if value is not None and maker is not None and side * (value - maker) > 1e-9:
                found = f"found {value:g}; the data sheet of {name} says {maker:g}"
                hint = "An alarm may come earlier than the maker's limit, never later"
                yield told.where.fault(("watch", key), "looser-than-maker", found, "", hint)


def overlaps(root: str, topic: str) -> bool:
    """Whether a topic root is, lies under, or holds a topic or filter that is read from (+ and # are wild there)."""
    ours, theirs = root.strip("/").split("/"), topic.strip("/").split("/")
    for mine, other in zip(ours, theirs, strict=False):
        if other == "#":
            return True
        if other != "+" and mine != other:
            return False
    return True


def the_root_keeps_clear_of_what_is_read(told: Told) -> Iterator[Fault]:
    """We publish nowhere that anything is read from: a message of ours is never taken for a reading or an order."""
    watch = told.written.watch
    if watch is None or watch.mqtt is None:
        return
    root = watch.mqtt.root
    if any(sign in root for sign in "+#\0") or not root.strip("/"):
        yield told.where.fault(
            ("watch", "mqtt", "root"), "not-allowed", f'found "{root}"', "", "A root has no + and no #"
        )
        return
    for topic in watch.mqtt.reads:
        if overlaps(root, topic):
            found = f'"{root}" is, holds or lies under "{topic}", which is read from'
            yield told.where.fault(("watch", "mqtt", "root"), "topic-read", found, "", "Choose a root of its own")


def addresses_can_be_meant(told: Told) -> Iterator[Fault]:
    """An address to post to is http or https; figures are fetched at host:port; a command names a program."""
    watch = told.written.watch
    if watch is None:
        return
    if watch.post is not None:
        parts = urlsplit(watch.post)
        if parts.scheme not in ("http", "https") or not parts.hostname:
            hint = 'Write "https://..." (http:// inside the house)'
            yield told.where.fault(("watch", "post"), "not-allowed", f'found "{watch.post}"', "", hint)
    if watch.metrics is not None:
        found = _HOST_PORT.fullmatch(watch.metrics)
        if found is None or not 0 < int(found[2]) < 65536:
            hint = 'Write "127.0.0.1:9480"'
            yield told.where.fault(("watch", "metrics"), "not-allowed", f'found "{watch.metrics}"', "", hint)
    if watch.command is not None and (not watch.command or not watch.command[0].startswith("/")):
        hint = 'Write the whole path first, then its words: ["/usr/local/bin/tell", "Kim"]'
        yield told.where.fault(
            ("watch", "command"), "not-allowed", "the program is not named by its whole path", "", hint
        )


def the_week_has_its_moment(told: Told) -> Iterator[Fault]:
    """A day of the week and a time of the day."""
    watch = told.written.watch
    if watch is not None and watch.week is not None and minute_of_week(watch.week) is None:
        found = f'found "{watch.week}"'
        yield told.where.fault(("watch", "week"), "not-allowed", found, "", 'Write a day and a time: "Monday 08:00"')


RULES: tuple[Callable[[Told], Iterator[Fault]], ...] = (
    limits_are_those_of_the_maker_or_tighter,
    the_root_keeps_clear_of_what_is_read,
    addresses_can_be_meant,
    the_week_has_its_moment,
)
