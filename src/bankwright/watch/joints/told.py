"""Findings about joints, in words: what has grown, where it may sit, what to do.

Gives: grown_finding(), carries(), inside_findings(), stray_findings(), ready_finding(), waiting_findings(), is_fresh(),
short_name(), conductor(), begun_words().
Limits: judged.py decides, this says; a mend goes through the sheet of taking apart.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import UTC, datetime

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank
from bankwright.circuit.steady import Steady
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import Computed
from bankwright.forms.wording import Figure, Say, say
from bankwright.watch.joints.cards import CARRIES, GROWN, INSIDE, READY, STRAY
from bankwright.watch.joints.growth import BASE_DAYS
from bankwright.watch.joints.held import Waiting
from bankwright.watch.joints.hours import HOUR
from bankwright.watch.joints.judged import Grown, Judged, Readiness
from bankwright.watch.joints.limits import PlaceLimit, carried_with
from bankwright.watch.joints.wiring import Group, Wiring

__all__ = [
    "begun_words",
    "carries",
    "conductor",
    "grown_finding",
    "inside_findings",
    "is_fresh",
    "ready_finding",
    "short_name",
    "stray_findings",
    "waiting_findings",
]

FRESH = 26.0  # h
MORE = 1.005  # times the current before, below which growth is not its cause
PROBE = 50.0  # A of a reading by millivolts
_SEATS = {
    "wiring": "shares and drops agree: it sits in the wiring outside {modules}",
    "voltage sensor": "the shares do not show it: suspect the voltage sensor of {modules} first",
    "both": "the shares show more still: something inside {modules} has moved too",
    "not told": "whether it sits in the wiring or is a voltage sensor's gain cannot be told from here",
}


def grown_finding(wiring: Wiring, grown: Grown | None, limit: PlaceLimit | None) -> Finding:
    """The group that grew, or that none did."""
    if grown is None:
        text = say("No joint and no link stands out of this bank's own baseline")
        return GROWN.found((), None, (None, None), text, say("Nothing is to be done."))
    group = wiring.groups[grown.group]
    size = Figure(grown.size, "resistance", grown.size - 2 * grown.sigma, grown.size + 2 * grown.sigma)
    others = "; ".join(", ".join(wiring.groups[k].names) for k in grown.alike)
    text = say(
        "{place} {has} grown by {size}{since}{parts}; {seat}{alike}",
        place=f"The branch of {group.modules[0]}" if len(group.modules) == 1 else conductor(group),
        parts=f", one or several of {', '.join(group.names)}" if len(group.names) > 1 else "",
        has="has" if grown.alarm else "may have",
        size=size,
        since="" if grown.first is None else f", seen since {_moment(grown.first)}",
        seat=_SEATS[grown.where].format(modules=", ".join(group.modules)),
        alike=f". Growth of these would look nearly the same: {others}" if others else "",
    )
    past = limit is not None and (size.high or size.value) * 1.05 >= limit.ohms
    return GROWN.found(
        group.names,
        size,
        (None, None if limit is None else limit.ohms),
        text,
        _look(group, grown),
        inputs=_inputs(limit),
        case=None if limit is None else limit.case,
        forced=None if past else "caution",
    )


def short_name(group: Group) -> str:
    """A group by its module, where it is one module's branch; else by its first conductor."""
    return f"{group.modules[0]} branch" if len(group.modules) == 1 else conductor(group)


def conductor(group: Group) -> str:
    """The first cable or piece of a bar of a group; where it has none, its first element."""
    named = (name for name in group.names if "@" not in name and not name.endswith("inner"))
    return next(named, group.names[0])


def begun_words(each: Waiting) -> str:
    """Since when a group has no whole baseline."""
    return f"its baseline began anew {_moment(each.hour - 1)}: {each.days} of {BASE_DAYS} days"


def waiting_findings(wiring: Wiring, found: Judged) -> Iterator[Finding]:
    """Groups that were begun anew, and whose baseline is not whole yet."""
    if found.waiting:
        names = ", ".join(short_name(wiring.groups[each.group]) for each in found.waiting)
        least = min(found.waiting, key=lambda each: each.days)
        how = f"Let bankwright listen run until {BASE_DAYS} days after it are whole; all others keep their baseline."
        at = tuple(dict.fromkeys(name for each in found.waiting for name in wiring.groups[each.group].names))
        yield READY.unknown(at, (asking("telemetry.baseline", how, lacks=f"{names}: {begun_words(least)}"),))


def _moment(hour: int) -> str:
    return datetime.fromtimestamp((hour + 1) * HOUR, UTC).strftime("%Y-%m-%d %H:%M UTC")


def _inputs(limit: PlaceLimit | None) -> tuple[Input, ...]:
    if limit is None:
        return ()
    how = Computed(f"largest steady current, {limit.case}")
    return (Input("I", "current that the limit is computed for", Figure(limit.current, "current"), how),)


def _look(group: Group, grown: Grown) -> Say:
    return say(
        "Look: millivolts over each of {joints} at a steady {probe} or more; {size} are {drop} there. Hot, brown or "
        "loose: loads off. To mend, undo nothing with the main switch open alone: bankwright build FILE --apart "
        "{first}. It ends with --anew {first}: what was mended is then held against a baseline of its own.",
        joints=", ".join(group.names),
        probe=Figure(PROBE, "current"),
        size=Figure(grown.size, "resistance"),
        drop=Figure(grown.size * PROBE, "voltage_drop"),
        first=next((name for name in group.names if "@" in name), group.names[0]),
    )


def carries(bank: Bank, solved: Steady, group: Group, grown: Grown) -> Iterator[Finding]:
    """The module that comes nearest to its limit with the grown value."""
    told = carried_with(bank, solved, group.names[0], grown.size + 2 * grown.sigma)
    if told is None:
        return
    if told.current < told.before * MORE:
        words = say("What has grown changes no module's current by {part}", part=f"{100 * (MORE - 1):g} %")
        yield CARRIES.found((), None, (None, None), words, say("Nothing is to be done."))
        return
    text = say(
        "With {size} more in {at} {module} carries {now}, before {before}; its limit is {limit}",
        size=Figure(grown.size + 2 * grown.sigma, "resistance"),
        at=group.names[0],
        module=told.module,
        now=Figure(told.current, "current"),
        before=Figure(told.before, "current"),
        limit=Figure(told.limit, "current"),
    )
    do = say("Ask less of the bank until the joint is mended.")
    yield CARRIES.found(told.module, Figure(told.current, "current"), (None, told.limit), text, do, case=told.case)


def inside_findings(found: Judged) -> Iterator[Finding]:
    """Modules whose shares moved by what the drops do not show."""
    coarse = bool(found.readiness.coarse)
    for each in found.inside:
        figure = Figure(each.size, "resistance", each.size - 2 * each.sigma, each.size + 2 * each.sigma)
        where = f"its {'branch' if coarse else 'switch'}, its cells or its current sensor"
        text = say(
            "{module} takes {less} of the current than before, as if its way had {moved} by {size}: {where}, which "
            "cannot be told apart from here",
            module=each.module,
            less="less" if each.size > 0 else "more",
            moved="grown" if each.size > 0 else "shrunk",
            size=Figure(abs(each.size), "resistance"),
            where=where,
        )
        do = say(
            "Read {module}'s current with a clamp beside what it says; if they agree, compare its temperature and its "
            "capacity with the others'.",
            module=each.module,
        )
        yield INSIDE.found(each.module, figure, (None, None), text, do, forced="caution")
    if not found.inside:
        yield INSIDE.found((), None, (None, None), say("No module's share has moved"), say("Nothing is to be done."))


def stray_findings(found: Judged) -> Iterator[Finding]:
    """Voltages that have come to stand off."""
    for each in found.strays:
        figure = Figure(each.size, "voltage_drop", each.size - 2 * each.sigma, each.size + 2 * each.sigma)
        text = say(
            "The voltage that {module} tells has moved by {size} against all others since the baseline",
            module=each.module,
            size=Figure(each.size, "voltage_drop"),
        )
        do = say("Read {module} at its posts with a good meter, at rest: the sensor drifts, or a sense wire is going.",
                 module=each.module)  # fmt: skip
        yield STRAY.found(each.module, figure, (None, None), text, do, forced="caution")
    if not found.strays:
        yield STRAY.found((), None, (None, None), say("No voltage has moved against the others"),
                          say("Nothing is to be done."))  # fmt: skip


def is_fresh(ready: Readiness, until: float) -> bool:
    """Whether hours of the last day could be used."""
    return ready.last is not None and until / HOUR - ready.last < FRESH


def ready_finding(bank: Bank, ready: Readiness, until: float) -> Finding:
    """Whether joints can be heard here, and if not, what is missing."""
    names = tuple(module.name for module in bank.modules)
    if ready.days >= BASE_DAYS and not is_fresh(ready, until):
        how = (
            "See which module is off, silent, or tells a voltage or current that cannot be: the other sections name it."
        )
        since = "never" if ready.last is None else f"last at {_moment(ready.last)}"
        lacks = f"no hour of the last day could be used ({since})"
        return READY.unknown(names, (asking("telemetry.hours", how, lacks=lacks),))
    if ready.coarse:
        return READY.unknown(ready.coarse, (_coarse(ready),))
    if ready.days < BASE_DAYS:
        how = f"Let bankwright listen run until {BASE_DAYS} days are whole."
        lacks = f"the baseline has {ready.days} of {BASE_DAYS} days"
        return READY.unknown(names, (asking("telemetry.baseline", how, lacks=lacks),))
    if not ready.enough:
        how = "It settles itself with the next days of ordinary use."
        return READY.unknown(names, (asking("telemetry.current", how, lacks="not enough current in the last day"),))
    sigma = Figure(max((float(s) for s in ready.sigma if not math.isnan(s)), default=float("nan")), "resistance")
    text = say("A day tells every branch to {sigma} (one standard deviation)", sigma=sigma)
    return READY.found((), sigma, (None, None), text, say("Nothing is to be done."))


def _coarse(ready: Readiness) -> Missing:
    step = f"{ready.step * 1e3:.3g} mV" if math.isfinite(ready.step) else "unknown"
    noise = f"{ready.dither:.2f}" if math.isfinite(ready.dither) else "unknown"
    lacks = f"voltage too coarse (step {step}, noise {noise} of a step): drops say nothing, shares alone some 0.5 mohm"
    how = "Map the cells' voltages too if the modules tell them in 1 mV; else read millivolts twice a year."
    return asking("bus.map", how, lacks=lacks)
