"""Temperatures after an hour under load: each terminal scaled to full load and the hottest day, and like beside like.

Gives: heat_step(), like_findings(). A rise over the room is entered, room and terminal read with one thermometer.
Limits: rise grows with the square of the current; after an hour a terminal on a bar has less than its final rise,
which its limit takes off; the largest current is the inverters' full power at their lowest volts; taped places, no
bare metal before a camera.
Sources: ANSI/NETA ATS-2003 100.18, 3 and 15 K between like joints [read; later editions not seen]; 40 % of the load at
least [read]; square law [from memory].
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, Joint
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say
from bankwright.physics.reading import camera_reading
from bankwright.prove.sheet.cards import SHEET_CARDS
from bankwright.prove.sheet.drawn import currents_of, mains_of, names_of
from bankwright.prove.sheet.due import Due, Facts, StepOf
from bankwright.prove.terminals import rating_of, settled_part

__all__ = ["LEAST_LOAD", "heat_step", "like_findings"]

LEAST_LOAD, HOUR = 0.4, 3600.0  # of the full current; s under load
PLATED, SHOWN_AT, ROOM = 0.1, 80.0, 25.0  # emissivity of bare plated copper [read]; degC
LOOK, AT_ONCE = 3.0, 15.0  # K over the coolest of its like
LIKE = Source("ANSI/NETA ATS", "2003", "table 100.18, between like joints under like load", how_known="read")
SCALED = Source("terminal's rating; rise grows with the square of the current", how_known="from memory")


def heat_step(facts: Facts) -> Iterator[StepOf]:
    """E4."""
    bank = facts.bank
    mains = mains_of(bank)
    rows = [Due("V-WARM-1", "current", name, "round the main, as a size", "limit", (None, None)) for name in mains]
    rows += [_terminal(facts, joint) for joint in _joints(bank)]
    yield StepOf(
        "E4",
        "Temperatures after an hour at the largest load the house can hold",
        ("E3",),
        "two people",
        ("Covers off only with face and hands guarded. Stop: smell, smoke, a terminal above its rating.",),
        (
            "Matt tape of one kind on like places before power: in a room of "
            f"{ROOM:g} °C a camera shows {camera_reading(SHOWN_AT, ROOM, PLATED):.0f} °C where bare plated copper "
            f"has {SHOWN_AT:g} °C.",
            "Enter how far each terminal stands over the room, in K; room and terminals with one thermometer.",
            "Fuses are warm by design: like with like.",
        ),
        tuple(rows),
        (("hour", "An hour at a steady load"),),
    )


def _joints(bank: Bank) -> tuple[Joint, ...]:
    """Joints of the mains and of the runs to the inverters."""
    posts = {post for inverter in bank.inverters for post in inverter.posts}
    links = [link.name for link in bank.links if link.role == "main" or {link.a, link.b} & posts]
    return tuple(joint for name in links for joint in bank.joints_of(name))


def _full(bank: Bank) -> tuple[float, tuple[Missing, ...]]:
    """Current at the full power of all inverters at their lowest volts. [A]"""
    total, missing = 0.0, list[Missing]()
    for inverter in bank.inverters:
        kind = inverter.kind
        for value, key in (
            (kind.power, "power"),
            (kind.efficiency, "efficiency"),
            (kind.lowest_voltage, "lowest_voltage"),
        ):
            missing += [asking(f"{kind.path}.{key}")] if value is None else []
        if kind.power and kind.efficiency and kind.lowest_voltage:
            total += kind.power / kind.efficiency / kind.lowest_voltage
    return total, tuple(dict.fromkeys(missing))


def _scale(facts: Facts) -> tuple[float | None, tuple[Missing, ...]]:
    """Square of the read current over the full one, or what is missing. [-]"""
    mains = mains_of(facts.bank) or names_of(facts.bank)
    full, missing = _full(facts.bank)
    read = currents_of(facts, "E4", mains)
    if read is None:
        return None, (*missing, asking(f"readings.{mains[0]}.current", f"Read the current of {', '.join(mains)}."))
    if missing or not full:
        return None, missing or (asking("inverters"),)
    part = sum(abs(value) for value in read.values()) / full
    if part < LEAST_LOAD:
        how = f"{part:.0%} of the full current tells nothing of full load: {LEAST_LOAD:.0%} at least."
        return None, (asking(f"readings.{mains[0]}.current", how),)
    return part**2, ()


def _terminal(facts: Facts, joint: Joint) -> Due:
    scale, missing = _scale(facts)
    rating, whose, gaps = rating_of(facts.bank, joint)
    air = facts.bank.site.ambient_high_degc
    missing = (*missing, *gaps, *(() if air is not None else (asking("site.ambient"),)))
    most = None if scale is None or rating is None or air is None or gaps else (rating - air) * scale
    most = None if most is None else most * settled_part(facts.bank, joint, HOUR)
    means = ("its joint: the millivolts there", "a leg of a pair with more than its share", "all warm: load or room")
    words = "over the room" + (f"; the lowest rating there is {rating:g} °C, of {whose}" if rating is not None else "")
    then = f"Millivolts of {joint.name}; do not torque it under load."
    return Due(
        "V-WARM-1", "temperature_difference", joint.name, words, "limit", (None, most), None, means, then, missing,
        SCALED,
    )  # fmt: skip


def _kind(bank: Bank, joint: Joint) -> tuple[object, ...]:
    link = bank.link(joint.link)
    owner = next((post.owner_kind for post in bank.posts if post.name == joint.post), "device")
    device = next((item.kind.path for item in bank.devices if item.name == joint.device), "")
    return link.role, link.cable and link.cable.size, owner, device


def like_findings(facts: Facts) -> tuple[Finding, ...]:
    """Each terminal against the coolest of its like; none where there is no like, or too little load."""
    if _scale(facts)[0] is None:
        return ()
    groups: dict[tuple[object, ...], dict[str, float]] = {}
    for joint in _joints(facts.bank):
        rise = facts.read("E4", "temperature_difference", joint.name)
        if rise is not None:
            groups.setdefault(_kind(facts.bank, joint), {})[joint.name] = rise
    return tuple(
        _like(name, rise - min(rises.values()))
        for rises in groups.values()
        for name, rise in rises.items()
        if len(rises) > 1
    )


def _like(name: str, over: float) -> Finding:
    figure = Figure(over, "temperature_difference")
    text = say("{at} is {over} over the coolest of its like", at=name, over=figure)
    when = "at once, load off" if over > AT_ONCE else "when it can be"
    do = say("Millivolts there first; mend it {when}.", when=when)
    card = SHEET_CARDS["V-WARM-2"]
    return card.found(name, figure, (None, None), text, do, source=LIKE, caution_limits=(None, LOOK))
