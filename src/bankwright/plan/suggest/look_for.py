"""What to look for when no part of the file mends a fault: the specification of a device or a lug.

Gives: look_for(). Each figure is taken from a finding or a solved case of the bank as suggested:
rating from 1.25 times the design current to what the conductor may carry, volts,
interrupting rating at least, let-through at most.
Limits: a specification, not a part; until its sheet is in the file the checks of its curve stay `unknown`.
"""

from __future__ import annotations

from collections.abc import Iterable

from bankwright.bank.model import Bank
from bankwright.circuit.errors import CircuitError
from bankwright.forms.checks import NeedsValue
from bankwright.forms.checks import findings as run_checks
from bankwright.forms.finding import Finding
from bankwright.forms.wording import Figure, Say, say
from bankwright.handbook.ampacity import ratings_around
from bankwright.plan.checks import CHECKS
from bankwright.plan.context import Plan

__all__ = ["look_for"]

_NEED, _GUARD, _VOLTS, _BREAK, _HEAT = "P-DEVICE-1", "P-DEVICE-2", "P-DEVICE-4", "P-FAULT-1", "P-CLEAR-1"
_HOT = "P-DEVICE-3"
_DEVICE_CODES = {
    _NEED,
    _GUARD,
    _VOLTS,
    _BREAK,
    _HEAT,
    _HOT,
    "P-DEVICE-5",
    "P-CLEAR-2",
    "P-CLEAR-3",
    "P-CLEAR-4",
    "P-CLEAR-5",
}
_BRANCH_CODES = {"P-REACH-1", "P-FAULT-2"}
Bounds = tuple[float | None, float | None]


def look_for(plan: Plan, blocked: Iterable[Finding]) -> tuple[Say, ...]:
    """Specifications for what the blocked findings need; empty when nothing that can be bought would help."""
    blocked = tuple(blocked)
    codes = {finding.code for finding in blocked}
    if not codes & (_DEVICE_CODES | _BRANCH_CODES | {"P-JOINT-2", "P-JOINT-1"}):
        return ()
    every = tuple(run_checks(CHECKS, plan, plan.bank.book))
    places = [place for finding in blocked if finding.code in _DEVICE_CODES for place in (*finding.at, *finding.more)]
    made = [_device(plan, every, name) for name in _devices_at(plan.bank, places)]
    if codes & _BRANCH_CODES:
        made.append(_branch(plan, every))
    made += [_lug(plan.bank, finding) for finding in blocked if finding.code in ("P-JOINT-1", "P-JOINT-2")]
    return tuple({each.text(): each for each in made if each is not None}.values())


def _devices_at(bank: Bank, places: Iterable[str]) -> tuple[str, ...]:
    """Devices named, and those in links that are named; shunts and switches that only stand there too are left out."""
    wanted = set(places)
    names = [
        device.name
        for device in bank.devices
        if device.kind.type in ("fuse", "breaker") and ({device.name, device.on, *device.also_on} & wanted)
    ]
    return tuple(dict.fromkeys(names))


def _bounds(every: Iterable[Finding], code: str, places: set[str]) -> list[Finding]:
    return [f for f in every if f.code == code and f.figure is not None and places & {*f.at, *f.more}]


def _top(finding: Finding) -> float:
    assert finding.figure is not None
    return finding.figure.value if finding.figure.high is None else finding.figure.high


def _limit(finding: Finding) -> float | None:
    return finding.limits[1]


def _device(plan: Plan, every: tuple[Finding, ...], name: str) -> Say | None:
    device = next(device for device in plan.bank.devices if device.name == name)
    places = {name, device.on, *device.also_on}
    needs = [_top(f) for f in _bounds(every, _NEED, {name})]
    for hot in _bounds(every, _HOT, {name}):  # k_r Ib over what is left of the rating in hot air
        limit = _limit(hot)
        if limit and device.kind.rating:
            needs.append(_top(hot) * device.kind.rating / limit)
    low = max(needs, default=None)
    high = min((limit for f in _bounds(every, _GUARD, places) if (limit := _limit(f)) is not None), default=None)
    volts = max((_top(f) for f in _bounds(every, _VOLTS, {name})), default=None)
    breaks = max((_top(f) for f in _bounds(every, _BREAK, {name})), default=None)
    heat = min((limit for f in _bounds(every, _HEAT, places) if (limit := _limit(f)) is not None), default=None)
    usual = _usual(plan, (low, high), fuse=device.kind.type == "fuse")
    return _said(f"For {name}, a {device.kind.type}", (low, high), volts, breaks, heat, usual=usual)


def _branch(plan: Plan, every: tuple[Finding, ...]) -> Say | None:
    """A fuse for each module's lead, from what its lead and its module need."""
    leads = {link.name for link in plan.bank.links if link.role == "lead" and not link.devices}
    chain = not leads and any(link.role == "link" for link in plan.bank.links)
    if not leads and not chain:
        return None
    carried = _bounds(every, "P-CABLE-2", leads)
    low = max((1.25 * _top(f) for f in carried), default=_own_need(plan) if chain else None)
    high = min((limit for f in carried if (limit := _limit(f)) is not None), default=None)
    volts = max((_top(f) for f in every if f.code == "P-VOLTS-1" and f.figure is not None), default=None)
    breaks = max((_top(f) for f in every if f.code == "P-FAULT-2" and f.figure is not None), default=None)
    where = "a lead of each module to a bar, in place of the chain" if chain else "each module's lead"
    head, usual = f"For {where}, a fuse proved to back up the module's own device", _usual(plan, (low, high), fuse=True)
    return _said(head, (low, high), volts, breaks, None, usual=usual)


def _usual(plan: Plan, rating: Bounds, *, fuse: bool) -> bool:
    """Whether a standard rating of the book lies in a window; True where an end of it is not known."""
    low, high = rating
    if low is None or high is None or plan.bank.book is None:
        return True
    above = ratings_around(plan.book, low, fuse)[1]
    return above is None or above <= high


def _own_need(plan: Plan) -> float | None:
    """Least rating of a fuse in a module's own lead: 1.25 times what the module carries, whole or with another away.

    A link of the chain that opens leaves the rest to fewer modules; on bars nothing does that.
    """
    try:
        cases = (*plan.bases, *plan.aways)
        return max((1.25 * plan.worst(module.name, cases).high for module in plan.bank.modules), default=None)
    except (NeedsValue, CircuitError):
        return None


def _said(
    head: str, rating: Bounds, volts: float | None, breaks: float | None, heat: float | None, *, usual: bool
) -> Say | None:
    parts: list[str] = []
    figures: dict[str, Figure | str] = {"head": head}
    low, high = rating
    if low is not None and high is not None and low > high:
        figures |= {"low": Figure(low, "current"), "high": Figure(high, "current")}
        return say(
            "{head}: no rating fits between {low} (needed) and {high} (its conductor): larger cable first.", **figures
        )
    if not usual:
        figures |= {"low": Figure(low or 0.0, "current"), "high": Figure(high or 0.0, "current")}
        return say(
            "{head}: no usual rating lies between {low} (needed) and {high} (its conductor): larger cable first.",
            **figures,
        )
    if low is not None:
        parts.append("rated {low} or more")
        figures["low"] = Figure(low, "current")
    if high is not None:
        parts.append("at most {high}")
        figures["high"] = Figure(high, "current")
    if volts is not None:
        parts.append("for at least {volts} DC")
        figures["volts"] = Figure(volts, "voltage")
    if breaks is not None:
        parts.append("interrupting at least {breaks} DC")
        figures["breaks"] = Figure(breaks, "current")
    if heat is not None:
        parts.append("letting through at most {heat}")
        figures["heat"] = Figure(heat, "let_through")
    if not parts:
        return None
    return say("{head}: " + ", ".join(parts) + ". Its curve stays unknown until its sheet is in the file.", **figures)


def _lug(bank: Bank, finding: Finding) -> Say | None:
    joint = next((joint for joint in bank.joints if joint.name in finding.at), None)
    if joint is None:
        return None
    cable = bank.link(joint.link).cable
    if cable is None:
        return None
    return say(
        "A lug for {size}, strands {strands}, with a hole for {stud}, listed for that cable.",
        size=cable.size,
        strands=cable.strands or "as printed on the cable",
        stud=joint.stud or "the stud that is there",
    )
