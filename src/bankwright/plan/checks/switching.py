"""Switching off: one means for the whole bank, one per inverter, within reach, labelled, fit to break load.

Gives: CHECKS (P-SWITCH-1 to P-SWITCH-4). Limits: the edition decides about switches outside;
a fuse holder is no switch.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import bankwright.plan.walks.lines as lines
from bankwright.bank.asks import asking, wanted
from bankwright.bank.file.quantity_text import parse
from bankwright.bank.model import Device, Inverter
from bankwright.forms.card import Card
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.trace import amperes, computed, given, words
from bankwright.forms.wording import Figure, say
from bankwright.plan.context import Plan
from bankwright.plan.figures.rating import rated, told
from bankwright.plan.walks.feeding import past

__all__ = ["CHECKS"]

BOOK = Source("rule book", how_known="read")
_ONE = Card(
    "P-SWITCH-1",
    "One means switches the whole bank off",
    "one handle opens all unearthed poles towards all modules",
    BOOK,
    "code",
)
_TWO = Card(
    "P-SWITCH-2", "Each inverter can be switched off", "a switch in each inverter's unearthed poles", BOOK, "code"
)
_THREE = Card(
    "P-SWITCH-3",
    "The switch is reached, labelled and breaks load",
    "reach and label given; breaks load; rated current >= Ib",
    BOOK,
    "code",
)
_FOUR = Card("P-SWITCH-4", "Emergency shutdown of a dwelling", "as the edition asks", BOOK, "code")


def _unearthed(plan: Plan) -> str:
    pole = wanted(plan.bank.site.earthing.pole, "site.earthing.pole")
    return {"none": "+-", "minus": "+", "plus": "-"}[pole]


def _switches(plan: Plan) -> tuple[Device, ...]:
    return lines.in_line(plan, ("disconnect", "breaker"))


def opens_everything(plan: Plan, device: Device, poles: str) -> bool:
    """Do this handle's links cut every load and charger from every module, on all unearthed poles; a sense wire may
    stay (P-REACH-2 says so)."""
    cut = {device.on, *device.also_on}
    return all(not past(plan, user.posts[0 if pole == "+" else 1], cut) for user in plan.powered for pole in poles)


HIGHEST_HANDLE = 2.0  # m from the floor to the middle of the handle, NEC 404.8(A), 2.0 m (6 ft 7 in) [from memory]
HANDLE = Figure(HIGHEST_HANDLE, "length")
HANDLES = Source("NEC (NFPA 70)", "2023", "404.8(A): handle at 2.0 m (6 ft 7 in) at most", "from memory")
MOST_HANDLES = 6  # NEC 230.71, by analogy [from memory]


@check(_ONE.code, _ONE.title)
def one_means_switches_off(plan: Plan) -> Iterator[Finding]:
    """One reachable means opens all unearthed poles towards all sources.

    Why: in a fault nobody opens eight breakers one after the other.
    Not seen here: a fuse holder, which is no switch; remote coils without a named device.
    Source: NEC 706.15, 480.7 [read]; IEC 60364-5-53 536 [from memory].
    """

    def one(name: str) -> Finding:
        poles = _unearthed(plan)
        found = [device.name for device in _switches(plan) if opens_everything(plan, device, poles)]
        inputs = (words("handles", "means that open everything", ", ".join(found) or "none", plan.bank.key("devices")),)
        source = plan.book.source("switching")
        if found:
            text = say("{device} switches the whole bank off", device=", ".join(found))
            return _ONE.found(found[0], None, (None, None), text, say("Nothing to do."), inputs=inputs, source=source)
        text = say(
            "No single handle opens {poles} of the whole bank; {rest}",
            poles="both poles" if len(poles) == 2 else f"the {poles} pole",
            rest=_one_by_one(plan),
        )
        do = say("Put a load-break switch that opens all unearthed poles into the main, beside the rack.")
        each = _one_each(plan, poles)
        if each:
            text = say("No single handle opens the whole bank; {handles}, one for each user, together do", handles=each)
            return _ONE.found(name, None, (None, None), text, do, inputs=inputs, forced="caution", source=source)
        return _ONE.found(name, None, (None, None), text, do, inputs=inputs, forced="fail", source=source)

    yield from _ONE.over([plan.bank.modules[0].name], one)


def _one_each(plan: Plan, poles: str) -> str:
    """Handles that together cut every user off, each its own, no more than six (NEC 230.71, by analogy [memory])."""
    handles: dict[str, None] = {}
    for user in plan.powered:
        posts = [user.posts[0 if pole == "+" else 1] for pole in poles]
        own = [d for d in _switches(plan) if not any(past(plan, post, {d.on, *d.also_on}) for post in posts)]
        if not own:
            return ""
        handles[own[0].name] = None
    return ", ".join(handles) if 1 < len(handles) <= MOST_HANDLES else ""


def _one_by_one(plan: Plan) -> str:
    """What else opens: breakers of modules, as far as the file has them."""
    held, every = sum(m.kind.breaker is not None for m in plan.bank.modules), len(plan.bank.modules)
    if not held:
        return "the file names no breaker inside a module either"
    return ("there is one breaker" if held == 1 else f"there are {held} breakers to open one by one") + (
        "" if held == every else f", for {every} modules"
    )


@check(_TWO.code, _TWO.title)
def each_inverter_switches_off(plan: Plan) -> Iterator[Finding]:
    """Each inverter has a means of its own that opens its unearthed poles; with one inverter the main serves.

    Why: work on one inverter should not need the others off, nor its capacitors live.
    Not seen here: the inverter's own button, which opens nothing.
    Source: NEC 706.15 [read]; IEC 60364-5-53 536 [from memory].
    """

    yield from _TWO.over(plan.bank.inverters, lambda inverter: _each_inverter_switches_off_at(plan, inverter))


def _each_inverter_switches_off_at(plan: Plan, inverter: Inverter) -> Finding:
    poles = _unearthed(plan)
    posts = [inverter.posts[0 if pole == "+" else 1] for pole in poles]
    found = []
    for device in _switches(plan):
        cut = {device.on, *device.also_on}
        if all(not past(plan, post, cut) for post in posts):
            others = [
                i
                for i in plan.bank.inverters
                if i is not inverter and all(not past(plan, i.posts[0 if p == "+" else 1], cut) for p in poles)
            ]
            if not others or len(plan.bank.inverters) == 1:
                found.append(device.name)
    inputs = (
        words("means", f"switches of {inverter.name} alone", ", ".join(found) or "none", plan.bank.key("devices")),
    )
    source = plan.book.source("switching")
    if found:
        text = say("{device} switches {inverter} off", device=", ".join(found), inverter=inverter.name)
        return _TWO.found(inverter.name, None, (None, None), text, say("Nothing to do."), inputs=inputs, source=source)
    text = say("{inverter} has no switch of its own in its unearthed poles", inverter=inverter.name)
    return _TWO.found(
        inverter.name,
        None,
        (None, None),
        text,
        say("Put a switch into the lead of each inverter."),
        inputs=inputs,
        forced="fail",
        source=source,
    )


@check(_THREE.code, _THREE.title)
def switch_is_fit(plan: Plan) -> Iterator[Finding]:
    """A switch is reached (reach), labelled, may be opened under load,
    and is rated for its current and the book's place.

    A breaker that is the only means to switch off is judged as a switch.
    Why: reports exist of breakers burnt when opened under load; a switch that is not found is none.
    Not seen here: breaking capacity in both directions beyond what the sheet says (P-DEVICE-5).
    Source: NEC 706.15(A) to (C) [read]; IEC 60364-5-53 536 [from memory].
    """

    yield from _THREE.over(_means(plan), lambda device: _switch_is_fit_at(plan, device))


def _switch_is_fit_at(plan: Plan, device: Device) -> Iterator[Finding]:
    source = plan.book.source("switching")
    yield _reached(device, source)
    yield _breaks_load(plan, device, source)
    yield _breaks_enough(plan, device, source)


def _reached(device: Device, source: Source) -> Finding:
    """Where its handle is, and its labels."""
    lacking = [
        asking(f"{device.origin.path}.{key}")
        for key, value in (("reach", device.reach), ("labels", device.labels or None))
        if value is None
    ]
    if lacking:
        return _THREE.unknown(device.name, tuple(lacking))
    reach, labels = device.reach or "", ", ".join(device.labels)
    text = say("{device} is {reach}, labelled {labels}", device=device.name, reach=reach, labels=labels)
    inputs = (
        words("reach", device.name, reach, device.origin),
        words("labels", device.name, labels, device.origin),
    )
    high = height_said(reach)
    if high is not None and high > HIGHEST_HANDLE:
        do = say("Set {device} lower: {most} at most to the handle.", device=device.name, most=HANDLE)
        figure = Figure(high, "length")
        return _THREE.found(device.name, figure, (None, HIGHEST_HANDLE), text, do, inputs=inputs, source=HANDLES)
    return _THREE.found(device.name, None, (None, None), text, say("Nothing to do."), inputs=inputs, source=source)


def height_said(reach: str) -> float | None:
    """The height above the floor that a text of where a handle is found speaks of; None where it speaks of none. [m]"""
    said = re.search(r"([0-9]+(?:\.[0-9]+)?)\s*(mm|cm|m|ft|in)\b[^,;]*\b(?:above|over|off|from)\b[^,;]*\bfloor", reach)
    return None if said is None else parse(f"{said[1]} {said[2]}", "length").nominal


def _breaks_load(plan: Plan, device: Device, source: Source) -> Finding:
    path = f"{device.kind.path}.breaks_load"
    breaks = wanted(device.kind.breaks_load, path)
    return _THREE.found(
        device.name,
        None,
        (None, None),
        say("{device} " + ("may" if breaks else "may not") + " be opened under load", device=device.name),
        say("Take a load-break switch."),
        inputs=(words("breaks_load", device.name, "yes" if breaks else "no", plan.bank.key(path)),),
        forced=None if breaks else "fail",
        source=source,
    )


def _breaks_enough(plan: Plan, device: Device, source: Source) -> Finding:
    """The current that it may have to break, against its breaking current; a breaker's rating counts."""
    path = device.kind.path
    worth = rated(plan, device, "interrupts" if device.kind.type == "disconnect" else "volts")
    rating = worth.value
    if device.kind.type == "breaker" and not worth.not_dc:
        rating = wanted(device.kind.rating, f"{path}.rating")
    design = plan.design_current(device.on)
    text = say(
        "{device} may have to break {current}; it breaks {rating}",
        device=device.name,
        current=amperes(design.value),
        rating=told(worth) if worth.not_dc else amperes(rating),
    )
    broken = (
        computed("Ib", f"design current of {device.on}", design),
        given("breaks", f"breaking current of {device.name}", rating, "current", plan.bank.key(path)),
        *design.inputs,
    )
    return _THREE.found(
        device.name,
        Figure(design.value, "current", design.figure.low, design.figure.high),
        (None, None) if worth.not_dc else (None, rating),
        text,
        say("Take a switch that breaks this direct current."),
        inputs=broken,
        case=design.case,
        missing=design.missing,
        forced="fail" if worth.not_dc else None,
        source=source,
    )


def _means(plan: Plan) -> tuple[Device, ...]:
    """Disconnects, and breakers that are the only means to switch an inverter, or all of them, off."""
    disconnects = lines.in_line(plan, ("disconnect",))
    poles = {"none": "+-", "plus": "-"}.get(plan.bank.site.earthing.pole or "", "+")
    served = {user.name for user in plan.users if any(_cuts(plan, d, user.posts, poles) for d in disconnects)}
    whole = any(opens_everything(plan, d, poles) for d in disconnects)
    found = []
    for breaker in lines.in_line(plan, ("breaker",)):
        everything = opens_everything(plan, breaker, poles)
        alone = any(_cuts(plan, breaker, u.posts, poles) for u in plan.users if u.name not in served)
        if alone or (everything and not whole):
            found.append(breaker)
    return (*disconnects, *found)


def _cuts(plan: Plan, device: Device, posts: tuple[str, str], poles: str) -> bool:
    cut = {device.on, *device.also_on}
    return all(not past(plan, posts[0 if pole == "+" else 1], cut) for pole in poles)


@check(_FOUR.code, _FOUR.title, books=("nec-2023",))
def emergency_shutdown(plan: Plan) -> Iterator[Finding]:
    """A dwelling has an emergency shutdown function that stops export from the storage system.

    Case: 2023 asks for the function; 2020 480.7(B) for a disconnect or its control outside: the edition decides.
    Why: a fire service must be able to stop the source without entering.
    Not seen here: where the initiating device is (outside and readily accessible: from memory).
    Source: NEC 706.15(B) 2023 [read]; 480.7(B) 2020 [read].
    """
    first = plan.bank.modules[0].name
    try:
        dwelling = wanted(plan.bank.site.dwelling, "site.dwelling")
        source = plan.book.source("emergency")
    except NeedsValue as error:
        yield _FOUR.unknown(first, error.missing)
        return
    if not dwelling:
        return

    def one(inverter: Inverter) -> Finding:
        off = wanted(inverter.remote_off, f"{inverter.origin.path}.remote_off")
        inputs = (
            words(
                "remote_off",
                f"{inverter.name} is stopped by the emergency off",
                "yes" if off else "no",
                inverter.origin,
            ),
        )
        text = say(
            "{inverter} " + ("is" if off else "is not") + " stopped by an emergency shutdown", inverter=inverter.name
        )
        do = say(
            "Wire the emergency off to every inverter. 2023: {outside}",
            outside=plan.book.switching.outside or "see the local code",
        )
        return _FOUR.found(
            inverter.name, None, (None, None), text, do, inputs=inputs, forced=None if off else "fail", source=source
        )

    yield from _FOUR.over(plan.bank.inverters, one)


CHECKS = (one_means_switches_off, each_inverter_switches_off, switch_is_fit, emergency_shutdown)
