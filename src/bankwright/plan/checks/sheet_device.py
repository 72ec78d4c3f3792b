"""The data sheets of fuses, breakers, switches and shunts against themselves: figures that cannot all be true.

Gives: CHECKS (P-SHEET-4). Limits: whether a device suits its place is in checks/device, fault, clearing; what is wrong
and yet likely is not seen.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from bankwright.bank.model_kinds import DeviceKind
from bankwright.forms.card import Card
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Source
from bankwright.forms.trace import PRACTICE
from bankwright.forms.wording import Figure, Say, say
from bankwright.physics.device import clearing_time
from bankwright.plan.context import Plan
from bankwright.plan.figures.usual import Usual, alike, typed_wrong

__all__ = ["CHECKS"]

OPENS = Usual(1.0, 1.03, None, None)  # first current of a curve over the rating: none opens at its own rating
BREAKS = Usual(1.0, None, None, None)  # largest, and for a part-range fuse least, current it breaks over its rating
SHUNT = Usual(0.005, 0.02, 0.16, 0.5)  # V at the rating; 50, 60, 75, 100 and 150 mV are made
LOSES = Usual(None, None, 0.35, 2.0)  # V across a fuse, breaker or switch at its rating
NO_LATER = 0.999  # of the melting time: the clearing time ends later, rounding of what was read aside
LAW = Source("clearing follows melting", how_known="derived")
_CARD = Card(
    "P-SHEET-4",
    "A device's figures agree",
    "clearing time >= melting time; let-through >= melting I2t; no curve begins below the rating; drop at the rating",
    PRACTICE,
    "code",
)
Judged = Iterator[Finding]


def _told(at: str, item: Input, ends: Usual, text: Say, *also: Input, source: Source | None = None) -> Finding:
    assert isinstance(item.figure, Figure)
    do = typed_wrong(f"{item.name} of {at}")
    return _CARD.found(
        at, item.figure, ends.possible, text, do, inputs=(item, *also), caution_limits=ends.steps, source=source
    )


@check(_CARD.code, _CARD.title)
def figures_of_a_device_agree(plan: Plan) -> Iterator[Finding]:
    """Total clearing takes no less than melting, in time and in A2s; no curve begins at or below the rating;
    what a device breaks lies above its rating; a shunt drops 20 to 160 mV at its rating (fail outside 5 to 500 mV), a
    fuse, breaker or switch up to 350 mV (fail above 2 V).

    Why: a curve of another rating, or a comma in A2s, clears on paper what it does not clear.
    Not seen here: which of two figures is the wrong one; curves that are wrong together.
    Source: clearing follows melting [derived]; drops: common practice, no source.
    """
    parts: tuple[Callable[[Plan, str, DeviceKind], Judged], ...] = (_curves, _let_through, _breaks, _drop)
    named = [(device.name, device.kind) for device in plan.bank.devices]
    named += [(m.name, m.kind.breaker) for m in plan.bank.modules if m.kind.breaker is not None]
    kinds = {kind.path: kind for _, kind in named}
    for path, (first, *others) in alike((name, kind.path) for name, kind in named).items():
        for part in parts:
            yield from (replace(finding, more=tuple(others)) for finding in part(plan, first, kinds[path]))


def _of(plan: Plan, kind: DeviceKind, named: tuple[str, str], figure: Figure, key: str) -> Input:
    return Input(*named, figure, plan.bank.key(f"{kind.path}.{key}"))


def _rating(plan: Plan, kind: DeviceKind) -> Input:
    return _of(plan, kind, ("rating", "rating"), Figure(kind.rating or 0.0, "current"), "rating")


def _curves(plan: Plan, at: str, kind: DeviceKind) -> Judged:
    for name, curve, key in (("clearing curve", kind.curve, "curve"), ("melting curve", kind.melting, "melting")):
        if not curve or kind.rating is None:
            continue
        item = _of(plan, kind, ("I_1", f"first current of the {name}"), Figure(curve[0][0], "current"), key)
        text = say(
            "The {name} of {kind} begins at {current}; it is rated {rating}",
            name=name,
            kind=kind.name,
            current=Figure(curve[0][0], "current"),
            rating=Figure(kind.rating, "current"),
        )
        yield _told(at, item, OPENS.times(kind.rating), text, _rating(plan, kind))
    if not kind.curve or not kind.melting:
        return
    shared = [current for current, _ in kind.melting if kind.curve[0][0] <= current <= kind.curve[-1][0]]
    times = [each for each in ((current, *_times(kind, current)) for current in shared) if each[1] > 0.0]
    if not times:
        return
    current, melts, clears = min(times, key=lambda each: each[2] / each[1])
    item = _of(plan, kind, ("t_c", f"clearing time at {current:g} A"), Figure(clears, "time"), "curve")
    text = say(
        "At {current} {kind} melts after {melts} and has cleared after {clears}",
        kind=kind.name,
        current=Figure(current, "current"),
        melts=Figure(melts, "time"),
        clears=Figure(clears, "time"),
    )
    melting = _of(plan, kind, ("t_m", f"melting time at {current:g} A"), Figure(melts, "time"), "melting")
    yield _told(at, item, Usual(NO_LATER * melts, None, None, None), text, melting, source=LAW)


def _times(kind: DeviceKind, current: float) -> tuple[float, float]:
    """Melting and clearing time at a current inside both curves. [s]"""
    return tuple(  # type: ignore[return-value]
        float(clearing_time(current, [i for i, _ in curve], [t for _, t in curve]))
        for curve in (kind.melting, kind.curve)
    )


def _let_through(plan: Plan, at: str, kind: DeviceKind) -> Judged:
    if kind.melting_i2t is None or kind.let_through is None:
        return
    item = _of(plan, kind, ("W_c", "let-through"), Figure(kind.let_through, "let_through"), "let_through")
    text = say(
        "{kind} melts at {melts} and lets {clears} through in all",
        kind=kind.name,
        melts=Figure(kind.melting_i2t, "let_through"),
        clears=Figure(kind.let_through, "let_through"),
    )
    melting = _of(plan, kind, ("W_m", "melting I2t"), Figure(kind.melting_i2t, "let_through"), "melting_i2t")
    yield _told(at, item, Usual(kind.melting_i2t, None, None, None), text, melting, source=LAW)


def _breaks(plan: Plan, at: str, kind: DeviceKind) -> Judged:
    if kind.rating is None or kind.type == "shunt":
        return
    for name, value, key in (
        ("interrupting rating", kind.interrupts, "interrupts"),
        ("least breaking current", kind.least_breaking, "least_breaking"),
    ):
        if value is None:
            continue
        item = _of(plan, kind, ("I_b", name), Figure(value, "current"), key)
        text = say(
            "{kind} is given {name} of {value}; it is rated {rating}",
            name=("a " if name.startswith("l") else "an ") + name,
            kind=kind.name,
            value=Figure(value, "current"),
            rating=Figure(kind.rating, "current"),
        )
        yield _told(at, item, BREAKS.times(kind.rating), text, _rating(plan, kind))


def _drop(plan: Plan, at: str, kind: DeviceKind) -> Judged:
    if kind.resistance is None or not kind.rating:
        return
    ends = (SHUNT if kind.type == "shunt" else LOSES).times(1.0 / kind.rating)
    value = kind.resistance.nominal
    item = _of(plan, kind, ("R", "resistance"), Figure(value, "resistance"), "resistance")
    text = say(
        "{kind} of {value} drops {drop} at its {rating}",
        kind=kind.name,
        value=Figure(value, "resistance"),
        drop=Figure(value * kind.rating, "voltage_drop"),
        rating=Figure(kind.rating, "current"),
    )
    yield _told(at, item, ends, text, _rating(plan, kind))


CHECKS = (figures_of_a_device_agree,)
