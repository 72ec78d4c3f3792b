"""After Match: each pole to the frame with the bank live, then the earthing of a pole, dead, then the poles once more.

Gives: earthing_steps(), earth_torque(). Where one pole is earthed by design, it is earthed only after a reading with
the modules on, which sees a leak inside a module; the conductor itself is bolted with every module off.
Limits: one reading is no resistance: with both poles and the meter's own resistance `bankwright prove` computes it.
Sources: IT-system principle IEC 60364-4-41 (from memory); order of work common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank
from bankwright.bank.pieces.fits import earth_room
from bankwright.build import cards
from bankwright.build.joints.torque import torque_words
from bankwright.build.steps.make import LIVE, Ground, caution, make_step
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.sheets import MATCH_RECORD, ReadingWanted, Step, Tick
from bankwright.forms.wording import Figure, say

__all__ = ["EARTHED", "earth_torque", "earthing_steps"]

SORTS = ("nut", "flat washer", "spring washer")
EARTHED = 0.1  # ohm, pole to frame once earthed; common practice, no source
REST = 0.05  # V, the earthed pole to the frame at rest, a few counts of a hand meter; common practice, no source
WHOLE, LOWEST_CELL = 0.9, 2.5  # of the bank's voltage: common practice, no source; V, published end of discharge
_FRAME = Source(
    "IEC 60364-4-41", place="a floating bank survives its first earth fault in silence", how_known="from memory"
)
_AGAIN = Source("dead work, then the order of Match again", how_known="common practice, no source")


def earthing_steps(ground: Ground) -> Iterator[Step]:
    """Nothing where no pole is earthed."""
    if ground.bank.site.earthing.pole in ("minus", "plus"):
        yield _live(ground)
        yield _earth(ground)
        yield _again(ground)


def _poles(bank: Bank) -> tuple[str, ...]:
    """One place of each pole: where the mains meet the bank, plus first."""
    posts = [post for pole in bank.feed_posts for post in pole[:1] if post in bank]
    return tuple(posts or [post.name for post in bank.posts if post.owner_kind == "module"][:2])


def _least(bank: Bank) -> float:
    """Nearly the whole voltage of the bank, nearly empty. [V]"""
    return WHOLE * LOWEST_CELL * min((module.kind.cells for module in bank.modules), default=16)


def _after(bank: Bank) -> tuple[str, ...]:
    """The hand-over, and Match's record where there is more than one module."""
    return ("build.handover", *((MATCH_RECORD,) if len(bank.modules) > 1 else ()))


def _live(ground: Ground) -> Step:
    bank, pole = ground.bank, ground.bank.site.earthing.pole
    places, whole = _poles(bank), _least(bank)
    ends = ((-1.0, whole), (-whole, 1.0))
    return make_step(
        "build.live",
        "Each pole to the frame, live, before a pole is earthed",
        (
            "The modules are on, joined as Match said; main switch open and locked, inverters off, data cables in.",
            "One meter, its range held by hand: plus to bare metal of the frame, then the frame to minus.",
            f"Either nothing is earthed yet; or an electrician has earthed the {pole} pole first and lifts that "
            "conductor at the earth bar for this reading, not at the bank's bar.",
            "Both small and falling is right. One pole near nothing, or both low and steady: something leaks. Unplug "
            "the data cables first, then one module off after the other: where it jumps is where it leaks.",
            "The number itself, in ohms: bankwright prove FILE --step B3.",
        ),
        "Both poles read, neither shows nearly the whole voltage.",
        {"earthed pole": str(pole), "measured at": ", ".join(places)},
        at=places,
        readings=tuple(
            ReadingWanted("frame_voltage", at, "to the frame, modules on", low, high)
            for at, (low, high) in zip(places, ends, strict=False)
        ),
        after=_after(bank),
        tools=("meter", "meter leads"),
        source=_FRAME,
        hands="two people",
        cautions=(
            LIVE,
            caution("A pole at nearly the whole voltage says that the other lies at the frame: stop, open all."),
        ),
        ticks=(Tick("live", "Read with no pole earthed, or its conductor lifted at the earth bar"),),
    )


def _earth(ground: Ground) -> Step:
    bank, earthing = ground.bank, ground.bank.site.earthing
    points = [post for post in earthing.at if post in bank]
    own = [post for post in points if all(joint.post != post for joint in bank.joints)]  # a stud for it alone
    where = " and ".join(earthing.at) or f"the {earthing.pole} pole (which post is not given)"
    rooms = (f for post in points if (f := earth_room(bank, post, cards.ROOM)) is not None)
    return make_step(
        "build.earth",
        f"Earth the {earthing.pole} pole, with the bank dead again",
        _earth_acts(bank, where, points),
        "The meter shows a steady tenth of an ohm or less; the other pole still reads open.",
        {
            "earthed pole": str(earthing.pole),
            "at": where,
            **{f"torque of {post}": earth_torque(bank, post) for post in points},
        },
        at=tuple(points),
        pieces=(*ground.ids("earthing/", "earthing lug/"), *(f"{sort}/{post}" for post in own for sort in SORTS)),
        readings=tuple(
            ReadingWanted("resistance", post, "to the frame, now earthed", None, EARTHED) for post in points
        ),
        after=(*_after(bank), "build.live"),
        tools=("torque wrench", "insulated tools", "meter", "meter leads"),
        findings=(_one_point(bank, points), *rooms),
        source=_FRAME,
        cautions=(
            LIVE,
            caution(
                "The conductor, its size and where it ends are the electrician's word. From here on a tool between "
                "the other pole and the frame is a short circuit."
            ),
        ),
        ticks=(Tick("earthed", "Earthed at one point, torqued"), Tick("covered", "Every cover back")),
    )


def _one_point(bank: Bank, points: list[str]) -> Finding:
    at = bank.site.earthing.at
    return cards.EARTH_ONE.found(
        tuple(points[:1]),
        Figure(float(len(at)), "count") if at else None,
        (None, 1.0),
        None,
        say("Keep one earthing point: with two, the frame and the earth conductors carry load current."),
        missing=() if at else (asking("site.earthing.at"),),
        more=tuple(points[1:]),
    )


def _earth_acts(bank: Bank, where: str, points: list[str]) -> tuple[str, ...]:
    other = "plus" if bank.site.earthing.pole == "minus" else "minus"
    return (
        "Every module off again, main switch open and locked.",
        "Absence of voltage proved at the earthing point: meter tried on a known source, plus to minus, each pole "
        "to the frame below 1 V, meter tried again.",
        f"The {other} pole covered whole; nothing of it can be touched.",
        f"The earthing conductor from {where} to the earth bar, at this one point only.",
        *(earth_torque(bank, post) for post in points),
        "Torque the end at the earth bar by its maker, a line over each nut.",
        "Measure from there to the frame.",
    )


def _again(ground: Ground) -> Step:
    bank, pole = ground.bank, ground.bank.site.earthing.pole
    places, whole = _poles(bank), _least(bank)
    ends = ((whole, None), (-REST, REST)) if pole == "minus" else ((-REST, REST), (None, -whole))
    return make_step(
        "build.earth.live",
        "Modules on again, poles to the frame once more",
        (
            "Main switch still open and locked. Modules on in the order that Match gave, one after the other; before "
            "each breaker closes, the volts over it, open: still within what Match allows.",
            f"Each pole to the frame: the {pole} pole nothing, the other one the whole voltage of the bank.",
            "Anything else: open all. The conductor is loose, or there is a second path.",
        ),
        f"The {pole} pole lies at the frame, the other one shows the bank's voltage.",
        {"earthed pole": str(pole), "measured at": ", ".join(places)},
        at=places,
        readings=tuple(
            ReadingWanted("frame_voltage", at, f"to the frame, {pole} earthed, modules on", low, high)
            for at, (low, high) in zip(places, ends, strict=False)
        ),
        after=("build.earth",),
        tools=("meter", "meter leads"),
        source=_AGAIN,
        hands="two people",
        cautions=(LIVE, caution("A spark or a buzz at a breaker: open it, read all modules again.")),
        ticks=(Tick("on", "Modules on in Match's order, volts over each open breaker read"),),
    )


def earth_torque(bank: Bank, post: str) -> str:
    """What happens to the nut of an earthing point, which may be torqued already."""
    joints = [joint for joint in bank.joints if joint.post == post]
    torque = torque_words(joints[0], bank.units) if joints else "torque by its maker"
    if not joints:
        return f"{post}: {torque}, a line over the nut."
    room = earth_room(bank, post, cards.ROOM)
    if room is not None and room.verdict == "fail":
        return f"{post}: no room for the earthing lug. Settle that first; nothing is piled on a full stud."
    return f"{post}: open its nut once, the earthing lug comes on top of the others; {torque} again, a new line."
