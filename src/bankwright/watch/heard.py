"""Section: is anybody listening, and was every module heard within its time?

Gives: section(), last_heard(), LISTENS, HEARD. A figure of Watch speaks of the moment its module was last
heard, so this stands first.
Limits: a module is heard when its voltage came; what it left out is the matter of the other sections.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from bankwright.bank.asks import asking
from bankwright.forms.card import Card
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.grouping import together
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, Say, say
from bankwright.watch.listening import ALIVE, Life
from bankwright.watch.section import Asked, Row, Section

__all__ = ["HEARD", "LISTENS", "last_heard", "section"]

CHOICE = Source("our choice of time", how_known="common practice, no source")
LISTENS = Card(
    "W-LISTEN-1", "A listener runs", "age of its last sign of life <= 100 s", CHOICE, ends_at="caution",
    why="Without a listener nothing is stored and no alarm is raised, whatever stands below.",
)  # fmt: skip
HEARD = Card(
    "W-HEARD-1", "Every module is heard within its time", "age of its last voltage <= 5 polls, 60 s at least", CHOICE,
    why="A figure of a module that is silent is a figure of the past; nothing is concluded from it.",
)  # fmt: skip
POLLS, LEAST = 5.0, 60.0  # of silence before it is said; common practice, no source
NEAR, FAR = 7200.0, 10 * 366 * 86400.0  # s looked back row by row, and hour by hour


def last_heard(asked: Asked) -> dict[str, float | None]:
    """When each module's voltage was last heard, s since 1970; None: never."""
    names = tuple(module.name for module in asked.bank.modules)
    late = max(asked.until, asked.now) + 1.0
    found = asked.telemetry.read("voltage", names, asked.until - NEAR, late)
    times = {name: _last(found.time, found.value[:, k]) for k, name in enumerate(names)}
    lost = tuple(name for name, time in times.items() if time is None)
    if lost:
        hours = asked.telemetry.rollup("voltage", lost, late - FAR, late)
        times |= {name: _last(hours.mean.time, hours.mean.value[:, k]) for k, name in enumerate(lost)}
    return times


def _last(time: np.ndarray, value: np.ndarray) -> float | None:
    here = time[np.isfinite(value)]
    return float(here.max()) if len(here) else None


def section(asked: Asked, life: Life, left: int = 0) -> Section:
    """The listener, then each module with the age of what it said; `left`: days that were not taken yet."""
    limit = max(POLLS * (life.every or 0.0), LEAST)
    heard = last_heard(asked)
    rows = tuple(_row(name, time, asked.now, limit) for name, time in heard.items())
    return Section("heard", "Who is heard", (_listens(life), *together(_silent(heard, asked.now, limit))), rows,
                   notes=(_left(left),) if left else ())  # fmt: skip


def _left(count: int) -> Say:
    return say(
        "{count} days that are over are not evaluated yet: growth of joints and state of charge rest on those before"
        " them. bankwright watch FILE takes them and may be stopped.", count=str(count),
    )  # fmt: skip


def _listens(life: Life) -> Finding:
    start = say("Start it: bankwright listen FILE; docs/bus.md says how it starts with the computer.")
    if life.runs and life.age is not None:
        text = say("A listener runs; its last sign of life is {age} old", age=Figure(life.age, "time"))
        return LISTENS.found((), Figure(life.age, "time"), (None, None), text, start)
    if life.age is None:
        text = say("No listener has ever run on this logbook: what stands below is what files brought, if anything")
    elif life.stopped:
        text = say("No listener runs: the last one ended {age} ago", age=Figure(life.age, "time"))
    else:
        text = say("No listener runs: the last one gave its last sign of life {age} ago and did not say that it ends",
                   age=Figure(life.age, "time"))  # fmt: skip
    age = None if life.age is None else Figure(life.age, "time")
    most = ALIVE if age is not None and not life.stopped else None  # one that ended needs no limit: none runs
    return LISTENS.found((), age, (None, most), text, start, forced="caution")


def _silent(heard: dict[str, float | None], now: float, limit: float) -> Iterator[Finding]:
    never = tuple(name for name, time in heard.items() if time is None)
    if never:
        yield HEARD.unknown(never, (_hear(", ".join(never)),))
    for name, time in heard.items():
        if time is not None:
            age = Figure(max(now - time, 0.0), "time")
            text = say("{module} was last heard {age} ago", module=name, age=age)
            do = say("bankwright survey FILE says why a module does not answer.")
            if age.value <= limit:
                yield HEARD.found(name, age, (None, None), text, do)
            else:
                yield HEARD.found(name, age, (None, None), text, do, missing=(_hear(name),))


def _hear(name: str) -> Missing:
    how = "Let bankwright listen run; bankwright survey FILE says why a module does not answer."
    return replace(asking(f"telemetry.{name}.voltage", how), ask="measure", lacks=f"{name}: not heard")


def _row(name: str, time: float | None, now: float, limit: float) -> Row:
    if time is None:
        return Row(name, None, None, say("never heard"))
    age = Figure(max(now - time, 0.0), "time")
    words = say("heard {age} ago", age=age)
    return Row(name, age, Figure(limit, "time"), words)
