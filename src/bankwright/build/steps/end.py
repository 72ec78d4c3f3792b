"""The last steps: covers, poles to frame, fuses in, signs, hand-over with the main switch open; earthing after Match.

Gives: end_steps().
Limits: nothing is switched on here. Joining the modules is Match;
pre-charge comes after joining, before the main switch closes.
Sources: IT-system principle IEC 60364-4-41 (from memory); order of work common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, Device
from bankwright.build import cards
from bankwright.build.joints.order import bolting_order
from bankwright.build.labels import Label, labels
from bankwright.build.steps.earthing import earthing_steps
from bankwright.build.steps.make import LIVE, Ground, caution, make_step, switch_finding
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.sheets import ReadingWanted, Step, Tick
from bankwright.forms.wording import amount_text, say

__all__ = ["end_steps"]

STEADY = 1.0  # V, pole to frame with all off: no steady voltage; common practice, no source
OHM_A_VOLT = 100.0  # IEC 62485-2, battery circuit to other conductive parts [from memory]

_FRAME = Source(
    "IEC 60364-4-41", place="a floating bank survives its first earth fault in silence", how_known="from memory"
)


def end_steps(ground: Ground) -> Iterator[Step]:
    """From the covers to the hand-over."""
    order = bolting_order(ground.bank, ground.currents)
    last = f"build.link.{order[-1].link}" if order else "build.insulation"
    if any(piece.id.startswith("precharge/") for piece in ground.pieces):
        yield _precharge(ground, last)
        last = "build.precharge"
    yield _covers(ground, last)
    yield _poles(ground)
    last = "build.poles"
    fuses = [device for device in ground.bank.devices if device.kind.type == "fuse"]
    if fuses:
        yield _fuses(ground, last)
    yield _signs(ground, last)
    yield _handover(ground, bool(fuses))
    yield from earthing_steps(ground)


def _precharge(ground: Ground, after: str) -> Step:
    """The resistor that was bought is wired: across the open main switch, never closed here."""
    parts = [piece for piece in ground.pieces if piece.id.startswith("precharge/")]
    names = [piece.use for piece in parts]
    switches = [d.name for d in ground.bank.devices if d.kind.type in ("disconnect", "breaker")]
    across = (
        f"across {switches[0]}, on its own terminals" if switches else "across the main switch (none is in the file)"
    )
    return make_step(
        "build.precharge",
        "Wire the pre-charge",
        (
            *(f"{piece.use}: {piece.words}." for piece in parts),
            f"Resistor, a push button and a small fuse in series, {across}, or where the inverter's manual puts them; "
            "the fuse next to the side that comes from the bank.",
            "The resistor stands free, away from cables: it is hot after each use.",
            "Measure across it, all off: the resistor's ohms with the button pressed, open without.",
        ),
        "The button bridges the open switch through the resistor, and nothing else does.",
        {piece.id: piece.words for piece in parts},
        at=names,
        pieces=ground.ids("precharge/"),
        after=(after,),
        hands="two people",
        tools=("insulated tools", "meter", "meter leads"),
        cautions=(
            LIVE,
            caution("Main switch open and locked, every module off. The button is pressed in Prove, not before."),
        ),
        ticks=(Tick("wired", "Resistor, button, fuse wired"), Tick("measured", "Ohms read, open without the button")),
    )


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


SECOND_FAULT = (
    "A few ohms or a steady voltage is a fault: stop and find it. The second earth fault is the dangerous one."
)


def _poles(ground: Ground) -> Step:
    bank = ground.bank
    posts = [post for pole in bank.feed_posts for post in pole if post in bank][:2]
    posts = posts or [post.name for post in bank.posts if post.owner_kind == "module"][:2]
    pole = bank.site.earthing.pole
    least = OHM_A_VOLT * max((module.kind.nominal_voltage for module in bank.modules), default=51.2)
    words = (
        f"Every module is off: each pole to the frame shows no steady voltage, and at least "
        f"{amount_text(least, 'resistance', bank.units)}"
        + (f". The {pole} pole is earthed after this reading, not before." if pole in ("minus", "plus") else ".")
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
        readings=(
            *(ReadingWanted("frame_voltage", post, "to the frame, all off", -STEADY, STEADY) for post in posts),
            *(ReadingWanted("resistance", post, "to the frame, all off", least, None) for post in posts),
        ),
        after=("build.covers",),
        tools=("meter", "meter leads"),
        findings=(_settled(pole),),
        source=_FRAME,
        cautions=(LIVE, caution(SECOND_FAULT)),
        ticks=(Tick("poles", "Both poles measured"),),
    )


def _settled(pole: str | None) -> Finding:
    missing = () if pole is not None else (asking("site.earthing.pole"),)
    do = say("Settle the earthing before the first module is joined.")
    return cards.EARTH_SETTLED.found((), None, (None, None), None, do, missing=missing)


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
        cautions=(LIVE, caution("Main switch open, every module off: no fuse goes into a live holder.")),
        ticks=(
            *(Tick(f"fuse/{device.name}", f"{device.name}: {device.kind.name}") for device in fuses),
            Tick("covered", "Every cover back"),
        ),
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
            asking("bank file", f"What Plan needs for the {name}; see its unknown findings.") for name in lines
        )
        source = Source("NEC", "2023", "706.15(C)", "read on a trade page")
        yield cards.LABEL.found(
            (),
            None,
            (None, None),
            text,
            say("Give Plan what it asks for, or write the figures in by hand."),
            source=source,
            missing=missing,
        )


def _earth_later(bank: Bank) -> Iterator[str]:
    pole = bank.site.earthing.pole
    if pole in ("minus", "plus"):
        yield (
            f"The {pole} pole is not earthed yet: the main switch stays open until build.earth is ticked. After Match "
            "this sheet goes on with it."
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
            f"Next: bankwright build FILE --hand-over, then bankwright match: modules are joined one by one; {then}.",
            *_earth_later(bank),
        ),
        "A wired, dead bank. Nothing has been switched on.",
        {"switch": switch, "modules": ", ".join(module.name for module in bank.modules)},
        at=tuple(switches),
        hands="two people",
        after=("build.signs", *(("build.fuses",) if fuses else ())),
        findings=switch_finding(bank),
        cautions=(
            caution("From here on the bank can become live. Nobody closes anything before Match says which first."),
        ),
        ticks=(Tick("open", "Main switch open, locked, tagged"), Tick("off", "Every module off")),
    )
