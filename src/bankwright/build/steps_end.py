"""The last steps: covers, poles to frame, fuses in, signs, hand-over with the main switch open.

Gives: end_steps().
Limits: nothing is switched on here. Joining the modules is Match; pre-charge comes after joining, before the main
switch closes.
Sources: IT-system principle IEC 60364-4-41 (from memory); order of work common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.fits import earth_room
from bankwright.bank.model import Bank, Device
from bankwright.build.labels import Label, labels
from bankwright.build.order import bolting_order
from bankwright.build.steps import LIVE, Ground, caution, make_step, switch_finding
from bankwright.build.torque import torque_words
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.origin import Source
from bankwright.forms.sheets import ReadingWanted, Step, Tick
from bankwright.forms.wording import Figure, amount_text, say

__all__ = ["end_steps"]

EARTHED = 0.1  # ohm, pole to frame once earthed; common practice, no source
OHM_A_VOLT = 100.0  # IEC 62485-2, battery circuit to other conductive parts [from memory]

_FRAME = Source(
    "IEC 60364-4-41", place="a floating bank survives its first earth fault in silence", how_known="from memory"
)


def end_steps(ground: Ground) -> Iterator[Step]:
    """From the covers to the hand-over."""
    order = bolting_order(ground.bank, ground.currents)
    last = f"build.link.{order[-1].link}" if order else "build.insulation"
    yield _covers(ground, last)
    yield _poles(ground)
    last = "build.poles"
    if ground.bank.site.earthing.pole in ("minus", "plus"):
        yield _earth(ground)
        last = "build.earth"
    fuses = [device for device in ground.bank.devices if device.kind.type == "fuse"]
    if fuses:
        yield _fuses(ground, last)
    yield _signs(ground, last)
    yield _handover(ground, bool(fuses))


def _covers(ground: Ground, after: str) -> Step:
    bank = ground.bank
    posts = sorted({joint.post for joint in bank.joints if joint.post})
    return make_step(
        "build.covers",
        "Covers on every post, bar and terminal",
        (
            "Go along both poles with the list in hand.",
            "Shake each cable: nothing moves at a lug.",
            *(("Put the covers on the bars.",) if bank.bars else ()),
        ),
        "No bare metal of either pole can be touched.",
        {"posts": ", ".join(posts)},
        at=posts,
        pieces=ground.ids("cover/"),
        after=(after,),
        cautions=(LIVE,),
        ticks=(Tick("covered", "Everything covered"),),
    )


def _poles(ground: Ground) -> Step:
    bank = ground.bank
    posts = [post for pole in bank.feed_posts for post in pole if post in bank][:2]
    posts = posts or [post.name for post in bank.posts if post.owner_kind == "module"][:2]
    pole = bank.site.earthing.pole
    least = OHM_A_VOLT * max((module.kind.nominal_voltage for module in bank.modules), default=51.2)
    wanted = tuple(ReadingWanted("resistance", post, "to the frame, all off", least, None) for post in posts)
    words = (
        f"Every module is off: each pole to the frame shows no steady voltage, and at least "
        f"{amount_text(least, 'resistance', bank.units)}"
        + (f". The {pole} pole is earthed after this reading, not before." if pole in ("minus", "plus") else ".")
    )
    missing = (
        ()
        if pole is not None
        else (Missing("site.earthing.pole", "Decide with the electrician which pole, if any, is earthed.", "decide"),)
    )
    finding = Finding(
        "BLD-EARTH",
        "It is settled which pole is earthed",
        (),
        None,
        (None, None),
        _FRAME,
        say("Settle the earthing before the first module is joined."),
        "code",
        missing=missing,
    )
    return make_step(
        "build.poles",
        "Each pole to the frame",
        (
            "Main switch open, every module off.",
            "Measure voltage, then resistance, from each pole to bare metal of the frame.",
            words,
        ),
        "Both readings are written down; no path from either pole to the frame.",
        {"earthed pole": pole or "not given", "measured at": ", ".join(posts)},
        at=posts,
        readings=wanted,
        after=("build.covers",),
        tools=("meter", "meter leads"),
        findings=(finding,),
        source=_FRAME,
        cautions=(
            LIVE,
            caution(
                "A few ohms or a steady voltage is a fault: stop and find it. The second earth fault is the "
                "dangerous one."
            ),
        ),
        ticks=(Tick("poles", "Both poles measured"),),
    )


def _earth(ground: Ground) -> Step:
    bank, earthing = ground.bank, ground.bank.site.earthing
    points = [post for post in earthing.at if post in bank]
    where = " and ".join(earthing.at) or f"the {earthing.pole} pole (which post is not given)"
    missing = () if earthing.at else (Missing("site.earthing.at", "Say at which post the pole is earthed.", "decide"),)
    finding = Finding(
        "BLD-EARTH",
        "The earthed pole has one earthing point",
        tuple(points[:1]),
        Figure(float(len(earthing.at)), "count") if earthing.at else None,
        (None, 1.0),
        _FRAME,
        say("Keep one earthing point: with two, the frame and the earth conductors carry load current."),
        "code",
        missing=missing,
        more=tuple(points[1:]),
        formula="earthing points <= 1",
    )
    return make_step(
        "build.earth",
        f"Earth the {earthing.pole} pole",
        (
            f"Only now, with both readings good: the earthing conductor from {where} to the earth bar, at this one "
            "point only.",
            *(earth_torque(bank, post) for post in points),
            "Torque the end at the earth bar by its maker, a line over each nut.",
            "Measure from there to the frame.",
        ),
        "The meter shows a steady tenth of an ohm or less; the other pole still reads open.",
        {
            "earthed pole": str(earthing.pole),
            "at": where,
            **{f"torque of {post}": earth_torque(bank, post) for post in points},
        },
        at=tuple(points),
        pieces=ground.ids("earthing/", "earthing lug/"),
        readings=tuple(
            ReadingWanted("resistance", post, "to the frame, now earthed", None, EARTHED) for post in points
        ),
        after=("build.poles",),
        tools=("torque wrench", "insulated tools", "meter", "meter leads"),
        findings=(finding, *(f for post in points if (f := earth_room(bank, post, "BLD-ROOM")) is not None)),
        source=_FRAME,
        cautions=(
            LIVE,
            caution(
                "The conductor, its size and where it ends are the electrician's word. From here on a tool between "
                "the other pole and the frame is a short circuit."
            ),
        ),
        ticks=(Tick("earthed", "Earthed at one point, torqued"),),
    )


def earth_torque(bank: Bank, post: str) -> str:
    """What happens to the nut of an earthing point, which may be torqued already."""
    joints = [joint for joint in bank.joints if joint.post == post]
    torque = torque_words(joints[0], bank.units) if joints else "torque by its maker"
    if not joints:
        return f"{post}: {torque}, a line over the nut."
    room = earth_room(bank, post, "BLD-ROOM")
    if room is not None and room.verdict == "fail":
        return f"{post}: no room for the earthing lug. Settle that first; nothing is piled on a full stud."
    return f"{post}: open its nut once, the earthing lug comes on top of the others; {torque} again, a new line."


def _fuses(ground: Ground, after: str) -> Step:
    fuses = [device for device in ground.bank.devices if device.kind.type == "fuse"]
    acts = [f"{d.name} on {d.on}: {_fuse_words(d)}." for d in fuses]
    return make_step(
        "build.fuses",
        "Fuses into their holders",
        (
            "Compare each fuse with its label before it goes in.",
            *acts,
            "A bolted fuse: torque by the holder's sheet. Where lug and fuse share a nut, it is torqued again now, "
            "with a new line.",
        ),
        "Every holder has its fuse, spares lie beside the rack.",
        {device.name: f"{_fuse_words(device)} on {device.on}" for device in fuses},
        at=tuple(device.name for device in fuses),
        pieces=ground.ids("fuse/"),
        after=(after,),
        cautions=(caution("Main switch open, every module off: no fuse goes into a live holder."),),
        ticks=tuple(Tick(f"fuse/{device.name}", f"{device.name}: {device.kind.name}") for device in fuses),
    )


def _fuse_words(device: Device) -> str:
    kind = device.kind
    parts = [kind.name, kind.device_class or "", f"{kind.rating:g} A" if kind.rating else "rating not given"]
    return ", ".join(part for part in parts if part)


def _signs(ground: Ground, after: str) -> Step:
    bank = ground.bank
    found = [
        label
        for label in labels(bank, ground.figures)
        if not label.id.startswith(tuple(f"label.{x.name}" for x in bank.links))
    ]
    signs = [label for label in found if len(label.lines) > 2]
    return make_step(
        "build.signs",
        "Signs and labels",
        [f"{label.place}: {'; '.join(label.lines)}" for label in signs],
        "Disconnect, bank, modules and fuses bear their labels; the page on faults and fire hangs by the door.",
        {label.id: " / ".join(label.lines) for label in signs},
        pieces=ground.ids("label/module/", "label/switch/", "label/fuse/", "sign/disconnect/", "sign/bank"),
        after=(after,),
        findings=_open_labels(signs),
        cautions=(caution("Texts are drafts: the inspector and the adopted code have the last word."),),
        ticks=(Tick("signs", "Signs and labels on"), Tick("page", "Page on faults and fire by the door")),
    )


def _open_labels(signs: list[Label]) -> Iterator[Finding]:
    lines = sorted({name for label in signs for name in label.open})
    if lines:
        text = say("Still open on the labels: {lines}.", lines=", ".join(lines))
        missing = tuple(
            Missing("bank file", f"What Plan needs for the {name}; see its unknown findings.", "decide")
            for name in lines
        )
        source = Source("NEC", "2023", "706.15(C)", "read on a trade page")
        yield Finding(
            "BLD-LABEL",
            "Labels carry their figures",
            (),
            None,
            (None, None),
            source,
            say("Give Plan what it asks for, or write the figures in by hand."),
            "code",
            missing=missing,
            text=text,
            ends_at="caution",
        )


def _handover(ground: Ground, fuses: bool) -> Step:
    bank = ground.bank
    switches = [device.name for device in bank.devices if device.kind.type == "disconnect"]
    switch = ", ".join(switches) or "the main switch (none is in the bank file)"
    precharge = any(inverter.kind.precharge for inverter in bank.inverters)
    then = "pre-charge after joining, before the main switch closes" if precharge else "the main switch last"
    return make_step(
        "build.handover",
        "Hand over to Match: wired, dead, main switch open",
        (
            f"Open, locked and tagged: {switch}. Every module is off, AC and PV of every inverter too.",
            "The readings of the modules, the torques and the photos are in the logbook.",
            f"Next: bankwright match. Modules are joined there, one by one; {then}.",
        ),
        "A wired, dead bank. Nothing has been switched on.",
        {"switch": switch, "modules": ", ".join(module.name for module in bank.modules)},
        at=tuple(switches),
        pieces=ground.ids("protection/lock"),
        hands="two people",
        after=("build.signs", *(("build.fuses",) if fuses else ())),
        findings=switch_finding(bank),
        cautions=(
            caution("From here on the bank can become live. Nobody closes anything before Match says which first."),
        ),
        ticks=(Tick("open", "Main switch open, locked, tagged"), Tick("off", "Every module off")),
    )
