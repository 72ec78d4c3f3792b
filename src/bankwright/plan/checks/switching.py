"""Switching off: one means for the whole bank, one per inverter, within reach, labelled, fit to break load.

Gives: CHECKS (P-SWITCH-1 to P-SWITCH-4). Limits: the edition decides about switches outside; a fuse holder is no
switch.
"""

from __future__ import annotations

from collections.abc import Iterator

import bankwright.plan.lines as lines
from bankwright.bank.model import Device, Inverter
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say
from bankwright.plan.asks import asking, wanted
from bankwright.plan.checks.frame import Card
from bankwright.plan.context import Plan
from bankwright.plan.feeding import past
from bankwright.plan.trace import amperes, computed, given, words

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
    """Do this handle's links cut every load and charger from every module, on all unearthed poles."""
    cut = {device.on, *device.also_on}
    return all(not past(plan, user.posts[0 if pole == "+" else 1], cut) for user in plan.users for pole in poles)


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
            return _ONE.found(found[0], None, (None, None), text, say("Nothing to do."), inputs, source=source)
        text = say(
            "No single handle opens {poles} of the whole bank; there are {count} breakers to open one by one",
            poles="both poles" if len(poles) == 2 else f"the {poles} pole",
            count=str(len(plan.bank.modules)),
        )
        do = say("Put a load-break switch that opens all unearthed poles into the main, beside the rack.")
        return _ONE.found(name, None, (None, None), text, do, inputs, forced="fail", source=source)

    yield from _ONE.over([plan.bank.modules[0].name], one)


@check(_TWO.code, _TWO.title)
def each_inverter_switches_off(plan: Plan) -> Iterator[Finding]:
    """Each inverter has a means of its own that opens its unearthed poles; with one inverter the main serves.

    Why: work on one inverter should not need the others off, nor its capacitors live.
    Not seen here: the inverter's own button, which opens nothing.
    Source: NEC 706.15 [read]; IEC 60364-5-53 536 [from memory].
    """

    def one(inverter: Inverter) -> Finding:
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
            return _TWO.found(inverter.name, None, (None, None), text, say("Nothing to do."), inputs, source=source)
        text = say("{inverter} has no switch of its own in its unearthed poles", inverter=inverter.name)
        return _TWO.found(
            inverter.name,
            None,
            (None, None),
            text,
            say("Put a switch into the lead of each inverter."),
            inputs,
            forced="fail",
            source=source,
        )

    yield from _TWO.over(plan.bank.inverters, one)


@check(_THREE.code, _THREE.title)
def switch_is_fit(plan: Plan) -> Iterator[Finding]:
    """A switch is reached (reach), labelled, may be opened under load, and is rated for its current and the book's
    place.

    Why: reports exist of breakers burnt when opened under load; a switch that is not found is none.
    Not seen here: breaking capacity in both directions beyond what the sheet says (P-DEVICE-5).
    Source: NEC 706.15(A) to (C) [read]; IEC 60364-5-53 536 [from memory].
    """

    def one(device: Device) -> Iterator[Finding]:
        path, source = device.kind.path, plan.book.source("switching")
        lacking = [
            asking(f"{device.origin.path}.{key}")
            for key, value in (("reach", device.reach), ("labels", device.labels or None))
            if value is None
        ]
        if lacking:
            yield _THREE.unknown(device.name, tuple(lacking))
        else:
            text = say(
                "{device} is {reach}, labelled {labels}",
                device=device.name,
                reach=device.reach or "",
                labels=", ".join(device.labels),
            )
            inputs = (
                words("reach", device.name, device.reach or "", device.origin),
                words("labels", device.name, ", ".join(device.labels), device.origin),
            )
            yield _THREE.found(device.name, None, (None, None), text, say("Nothing to do."), inputs, source=source)
        breaks = wanted(device.kind.breaks_load, f"{path}.breaks_load")
        breaking = (words("breaks_load", device.name, "yes" if breaks else "no", plan.bank.key(f"{path}.breaks_load")),)
        text = say("{device} " + ("may" if breaks else "may not") + " be opened under load", device=device.name)
        yield _THREE.found(
            device.name,
            None,
            (None, None),
            text,
            say("Take a load-break switch."),
            breaking,
            forced=None if breaks else "fail",
            source=source,
        )
        rating = wanted(
            device.kind.interrupts if device.kind.type == "disconnect" else device.kind.rating,
            f"{path}." + ("interrupts" if device.kind.type == "disconnect" else "rating"),
        )
        design = plan.design_current(device.on)
        text = say(
            "{device} may have to break {current}; it breaks {rating}",
            device=device.name,
            current=amperes(design.value),
            rating=amperes(rating),
        )
        broken = (
            computed("Ib", f"design current of {device.on}", design),
            given("breaks", f"breaking current of {device.name}", rating, "current", plan.bank.key(path)),
            *design.inputs,
        )
        yield _THREE.found(
            device.name,
            Figure(design.value, "current", design.figure.low, design.figure.high),
            (None, rating),
            text,
            say("Take a switch for more current."),
            broken,
            design.case,
            design.missing,
            source=source,
        )

    yield from _THREE.over(lines.in_line(plan, ("disconnect",)), one)


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
            inverter.name, None, (None, None), text, do, inputs, forced=None if off else "fail", source=source
        )

    yield from _FOUR.over(plan.bank.inverters, one)


CHECKS = (one_means_switches_off, each_inverter_switches_off, switch_is_fit, emergency_shutdown)
