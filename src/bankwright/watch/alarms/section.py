"""Section: alarms that stand, what was raised since, and what could not be told to anybody.

Gives: section(), STANDS, UNTOLD, RUNS, STATE. Everything comes out of the logbook's events and the state that the
listener keeps.
Limits: without a listener nothing is raised; the first section says so.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank
from bankwright.forms.card import Card
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say
from bankwright.logbook.telemetry.happenings import Happening
from bankwright.watch.alarms.limits import limits_of
from bankwright.watch.alarms.rules import MILD, OF_JOINTS, RULES
from bankwright.watch.alarms.watchman import Alarm, alarms_of
from bankwright.watch.section import Asked, Row, Section

__all__ = ["RUNS", "STANDS", "STATE", "UNTOLD", "section"]

LIMITS = Source("limits of watch/alarms", place="docs/watch.md", how_known="derived")
STANDS = Card(
    "W-ALARM-1", "No alarm stands", "limit passed for the hold time, not back since", LIMITS,
    why="An alarm is raised when a limit is passed for the hold time, and cleared when the value is well back.",
)  # fmt: skip
UNTOLD = Card(
    "W-ALARM-2", "Every alarm reached somebody", "messages not delivered since", LIMITS, ends_at="caution",
    why="An alarm that nobody gets is none.",
)  # fmt: skip
RUNS = Card(
    "W-ALARM-3", "Every rule has its limit", "limits given", LIMITS, ends_at="caution",
    why="A rule without a limit does not run.",
)  # fmt: skip
STATE = "alarms/standing"  # kept by the service
MOST_ROWS = 40
NEEDED = {
    "cell_high": "charge.cell_trip",
    "cell_low": "discharge.cell_trip",
    "hot_charging": "charge.highest",
    "hot": "discharge.highest",
    "cold_charging": "charge.lowest",
    "cold": "discharge.lowest",
    "charge": "charge.continuous",
    "discharge": "discharge.continuous",
}


def section(asked: Asked) -> Section:
    """What stands, what was, what was not told."""
    state = asked.telemetry.state(STATE)
    standing = {} if state is None else alarms_of(state.version, state.blob)
    events = [e for e in asked.telemetry.events() if e.code.startswith("alarm-") and e.time >= asked.since]
    findings = (*_standing(standing, events), *_untold(events), *_limits(asked.bank))
    rows = tuple(_row(event) for event in events if event.code in ("alarm-raised", "alarm-cleared"))
    return Section("alarms", "Alarms", findings, rows[-MOST_ROWS:])


def _standing(standing: dict[tuple[str, str], Alarm], events: list[Happening]) -> Iterator[Finding]:
    for alarm in standing.values():
        words, quantity = RULES[alarm.rule]
        since = [
            e.time
            for e in events
            if e.code == "alarm-raised" and (e.detail.get("rule"), e.at) == (alarm.rule, alarm.at)
        ]
        figure = Figure(alarm.value, quantity)
        text = say(
            "{at}: {what}: {value} when it was raised{since}; its limit is {limit}",
            at=alarm.at,
            what=words,
            value=figure,
            since=f" ({_moment(since[-1])})" if since else "",
            limit=Figure(alarm.limit, quantity),
        )
        do = say("See what {at} says now: bankwright listen FILE, or its own display.", at=alarm.at)
        if alarm.rule in OF_JOINTS:
            do = say(
                "How much it has grown by now, what else it may be, and how to look, stands under growth of joints."
            )
        mild = alarm.rule in MILD
        yield STANDS.found(alarm.at, figure, (None, None), text, do, case=alarm.rule,
                           forced="caution" if mild else "fail")  # fmt: skip
    if not standing:
        yield STANDS.found((), None, (None, None), say("No alarm stands"), say("Nothing is to be done."))


def _untold(events: list[Happening]) -> Iterator[Finding]:
    lost = [event for event in events if event.code == "alarm-undelivered"]
    if not lost:
        yield UNTOLD.found((), None, (None, None), say("No message was lost"), say("Nothing is to be done."))
        return
    ways = sorted({str(event.detail.get("way", "")) for event in lost})
    text = say("{count} by {ways} could not be delivered, last {when}: {why}",
               count=f"{len(lost)} message{'s' if len(lost) > 1 else ''}", ways=", ".join(ways),
               when=_moment(lost[-1].time), why=str(lost[-1].detail.get("why", "")))  # fmt: skip
    do = say("Mend the way, then try it: bankwright listen FILE --test-message")
    yield UNTOLD.found((), Figure(float(len(lost)), "count"), (None, None), text, do, forced="caution")


def _limits(bank: Bank) -> Iterator[Finding]:
    missing = {}
    for module in bank.modules:
        own = limits_of(bank, module)
        for name, key in NEEDED.items():
            if getattr(own, name) is None:
                missing[f"{module.kind.path}.{key}"] = module.name
    if missing:
        yield RUNS.unknown(tuple(dict.fromkeys(missing.values())), tuple(asking(key) for key in missing))
    else:
        yield RUNS.found((), None, (None, None), say("Every rule has its limit"), say("Nothing is to be done."))


def _row(event: Happening) -> Row:
    rule = str(event.detail.get("rule", ""))
    words, quantity = RULES.get(rule, (rule, "ratio"))
    value, limit = event.detail.get("value"), event.detail.get("limit")
    told = "raised" if event.code == "alarm-raised" else "cleared"
    return Row(
        event.at,
        None if value is None else Figure(float(value), quantity),
        None if limit is None else Figure(float(limit), quantity),
        say("{told} {when}: {what}", told=told, when=_moment(event.time), what=words),
    )


def _moment(seconds: float) -> str:
    return datetime.fromtimestamp(seconds, UTC).strftime("%Y-%m-%d %H:%M UTC")
