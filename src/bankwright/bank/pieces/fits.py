"""Does a lug fit its stud, its cable, and is there room for it on the post: asked where the hand would find out.

Gives: stud_fit(), barrel_fit(), room_fit(), earth_room(), and stud_card(), barrel_card(), room_card() for the code of
the stage that asks. Each answers with a Finding under that card.
Limits: Plan judges the same three for the design; here the question is put joint by joint.
Sources: gap of 0.2 to 1.6 mm between hole and stud: common practice, no source, from clearance holes of ISO
273:1979 (read); conductor class and lug: NEC 110.14(A) (2008 fine-strand rule read, present number from memory).
"""

from __future__ import annotations

from bankwright.bank.asks import asking
from bankwright.bank.lug_choice import LEAST_GAP, LOOSE_GAP, hole_fits, lug_of, lug_or_fit
from bankwright.bank.model import Bank, Joint
from bankwright.bank.model_kinds import LugKind
from bankwright.bank.pieces.bolts import direct_seats
from bankwright.bank.pieces.wiring import joint_place, terminal_name
from bankwright.bank.sizes import stud_diameter
from bankwright.bank.terminals import lugs_missing, stud_missing
from bankwright.forms.card import Card
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import FileKey, Source
from bankwright.forms.wording import Figure, Say, say

__all__ = ["barrel_card", "barrel_fit", "earth_room", "room_card", "room_fit", "stud_card", "stud_fit"]

MOST_WIDE = 4 / 3  # hole over stud: a washer of ISO 7089, twice the thread, keeps three quarters of its face [derived]
SAME_THREAD = 0.2e-3  # m between diameters of one thread, M8 and 5/16 in count as one; common practice, no source
_STUD_SOURCE = Source("ISO 273 clearance holes", "1979", "normal fit; gap limits", "common practice, no source")
_LUG_SOURCE = Source("NEC", "2023", "110.14(A)", "from memory, 2008 fine-strand rule read")
_CLASSES = {
    "fine": "class 5", "flexible": "class 5", "extra fine": "class 6", "extra flexible": "class 6",
    "stranded": "class 2", "coarse": "class 2", "solid": "class 1",
}  # fmt: skip


def stud_card(code: str) -> Card:
    """The card under which a stage asks whether the lug's hole fits the stud."""
    why = (
        "The hole is a little larger than the stud: 0.2 mm to 1.6 mm; more is a caution, over 4/3 of it a fail.\n\n"
        "Why: a lug that is too tight does not seat; one that is too loose touches on a rim."
    )
    return Card(code, "The lug's hole fits the stud", "hole - stud", _STUD_SOURCE, "code", why=why)


def barrel_card(code: str) -> Card:
    """The card under which a stage asks whether the lug is listed for the cable."""
    why = (
        "The lug's list contains the cable's size and its strand class.\n\n"
        "Why: a barrel for another size or strand class crimps loose, whatever the die."
    )
    formula = "size and strand class in the lug's list"
    return Card(code, "The lug is listed for the cable", formula, _LUG_SOURCE, "code", why=why)


def room_card(code: str) -> Card:
    """The card under which a stage asks whether a post has room for its lugs."""
    why = (
        "No more lugs come onto a post than its kind takes; one where nothing is stated.\n\n"
        "Why: every lug in between is one more contact, and the clamping length of the stud is limited."
    )
    return Card(code, "As many lugs as the post takes", "lugs on the post", _LUG_SOURCE, "code", why=why)


def stud_fit(bank: Bank, joint: Joint, card: Card) -> Finding:
    """Hole minus stud: at least 0.2 mm; above 1.6 mm the lug sits loose, above 4/3 of the stud it rests on a rim.

    A device that sits straight on a post has no lug there: its own thread is held against the post's.
    """
    if bank.link(joint.link).straight:
        return _straight_fit(bank, joint, card)
    seat = _seat(bank, joint)
    if seat is not None:
        return _seat_fit(bank, *seat, card)
    (lug, fits), place = lug_or_fit(bank, joint), joint_place(joint)
    stud = stud_diameter(joint.stud) if joint.stud else None
    hole = None if lug is None else lug.hole
    if hole is None or stud is None:
        return _not_measured(bank, joint, card, lug, hole)
    loose = not hole_fits(hole, joint.stud or "") and hole > stud + LEAST_GAP
    rim = hole > MOST_WIDE * stud + 1e-9
    inputs = (
        Input("hole", "hole of the lug", Figure(hole, "height"), FileKey(f"{lug.path}.hole" if lug else "")),
        Input("stud", "stud", Figure(stud, "height"), joint.origin),
    )
    text, do = _of_lug(joint, hole, lug if fits else None, place)
    if lug is not None and not lug.is_lug:
        do = say("Drill the strap for stud {stud} at {place}.", stud=joint.stud or "", place=place)
    return card.found(
        joint.name,
        Figure(hole - stud, "height"),
        (None, LOOSE_GAP) if loose else (LEAST_GAP, None),
        text,
        do,
        inputs=inputs,
        ends_at="caution" if loose and not rim else "fail",
        forced="caution" if fits else None,
    )


def _of_lug(joint: Joint, hole: float, chosen: LugKind | None, place: str) -> tuple[Say, Say]:
    """What is found, and what to do: a lug that was chosen here is to be confirmed by hand."""
    if chosen is not None:
        return (
            say("{terminal} names no lug; {lug} is the one that fits.", terminal=terminal_name(joint), lug=chosen.name),
            say(
                "Confirm: hold a {lug} on the stud at {place}, and a cut end of the cable in it.",
                lug=chosen.name,
                place=place,
            ),
        )
    stud = joint.stud or ""
    return (
        say("{joint}: hole {hole}, stud {stud}.", joint=joint.name, hole=Figure(hole, "height"), stud=stud),
        say("Take a lug made for stud {stud} at {place}.", stud=stud, place=place),
    )


def _not_measured(bank: Bank, joint: Joint, card: Card, lug: LugKind | None, hole: float | None) -> Finding:
    """Hole or stud are not known: what to ask for."""
    lacking = []
    if hole is None:
        key = f"{lug.path}.hole" if lug else f"{bank.link(joint.link).origin.path}.lug"
        lacking.append(asking(key, "Choose the lug, or measure its hole."))
    if not joint.stud:
        lacking.append(stud_missing(bank, joint))
    text = say(
        "{terminal}: {lug}, {stud}.",
        terminal=terminal_name(joint),
        lug="the lug is not named" if lug is None else f"lug {lug.name}" + ("" if hole else ", hole not given"),
        stud=f"stud {joint.stud}" if joint.stud else "the stud is not given",
    )
    do = say("Measure hole and stud of {joint} before any lug is crimped.", joint=joint.name)
    return card.found(joint.name, None, (LEAST_GAP, None), text, do, missing=lacking)


def _seat(bank: Bank, joint: Joint) -> tuple[Joint, Joint] | None:
    """The pair under one bolt with no cable between, what carries the stud first; None for a joint with a lug."""
    for pair in direct_seats(bank, bank.link(joint.link)):
        if joint.name in (pair[0].name, pair[1].name):
            return pair if pair[0].post is not None or pair[1].post is None else (pair[1], pair[0])
    return None


def _seat_fit(bank: Bank, post: Joint, device: Joint, card: Card) -> Finding:
    """Two threads under one bolt must be one thread; a caution where the file names a lug for this end of the cable."""
    one, other = terminal_name(post), terminal_name(device)
    lacking = [stud_missing(bank, joint) for joint in (post, device) if joint.stud is None]
    do = say("Take a {kind} made for stud {stud}, or put a short cable between.", kind=device.device or "part",
             stud=post.stud or "of the post")  # fmt: skip
    if lacking or post.stud is None or device.stud is None:
        text = say("{other} sits straight on {one}: not both threads are given.", other=other, one=one)
        return card.found(post.name, None, (None, None), text, do, missing=lacking)
    sizes = [stud_diameter(joint.stud or "") for joint in (post, device)]
    words = "{other}, made for {second}, sits straight on {one}, {first}."
    text = say(words, other=other, second=device.stud, one=one, first=post.stud)
    inputs = (
        Input("stud", "stud of the post", post.stud, post.origin),
        Input("terminal", "thread of the device", device.stud, device.origin),
    )
    apart = None in sizes or abs((sizes[0] or 0.0) - (sizes[1] or 0.0)) > SAME_THREAD
    if apart and _lug_of_its_own(bank, post):
        words += (
            " The lug named for this end fits {one}: then a short cable lies between, and the device not at the end."
        )
        text = say(words, other=other, second=device.stud, one=one, first=post.stud)
        return card.found(post.name, None, (None, None), text, do, inputs=inputs, forced="caution", more=(device.name,))
    return card.found(
        post.name, None, (None, None), text, do, inputs=inputs, forced="fail" if apart else None, more=(device.name,)
    )


def _straight_fit(bank: Bank, post: Joint, card: Card) -> Finding:
    """A module's post through the hole of the bar itself, with no lug between."""
    link = bank.link(post.link)
    bar = next(each for each in bank.bars if {link.a, link.b} & set(each.posts))
    lacking = [] if bar.hole is not None else [asking(f"{bar.origin.path}.hole")]
    lacking += [] if post.stud is not None else [stud_missing(bank, post)]
    do = say("Drill {bar} for stud {stud} of {post}.", bar=bar.name, stud=post.stud or "", post=post.post or "")
    if bar.hole is None or post.stud is None:
        text = say("{post} is bolted straight on {bar}: hole or thread is not given.", post=post.name, bar=bar.name)
        return card.found(post.name, None, (LEAST_GAP, None), text, do, missing=lacking)
    gap = bar.hole - stud_diameter(post.stud)
    text = say(
        "{post} is bolted straight on {bar}: hole {hole}, stud {stud}.",
        post=post.post or "", bar=bar.name, hole=Figure(bar.hole, "height"), stud=post.stud,
    )  # fmt: skip
    inputs = (
        Input("hole", f"hole of {bar.name}", Figure(bar.hole, "height"), bank.key(f"{bar.origin.path}.hole")),
        Input("stud", "stud", Figure(stud_diameter(post.stud), "height"), post.origin),
    )
    loose = gap > LOOSE_GAP + 1e-9
    limits = (None, LOOSE_GAP) if loose else (LEAST_GAP, None)
    ends = "caution" if loose else "fail"
    return card.found(post.name, Figure(gap, "height"), limits, text, do, inputs=inputs, ends_at=ends)  # type: ignore[arg-type]


def _lug_of_its_own(bank: Bank, post: Joint) -> bool:
    """Whether the file names the lugs of a cable end by end, and the one of this end fits its stud."""
    link, lug = bank.link(post.link), post.lug
    named = link.lug_a is not None and link.lug_b is not None and link.lug_a.name != link.lug_b.name
    return named and lug is not None and lug.hole is not None and hole_fits(lug.hole, post.stud or "")


def _strands(words: str) -> str:
    """Class of strands by any of its names, of IEC 60228 [from memory]."""
    plain = " ".join(words.lower().replace("-", " ").split())
    return _CLASSES.get(plain.removesuffix(" strand").removesuffix(" strands"), plain)


def barrel_fit(bank: Bank, joint: Joint, card: Card) -> Finding | None:
    """The lug is listed for this size of cable and this class of strands; None where no lug is chosen yet."""
    link = bank.link(joint.link)
    lug, cable = lug_of(link, joint), link.cable
    if lug is None or cable is None or not link.is_cable or _seat(bank, joint) is not None:
        return None
    do = say(
        "Take a lug listed for {size} {strands}.",
        size=cable.size,
        strands=f"{cable.strands} strands" if cable.strands else "",
    )
    missing: list[Missing] = []
    wrong = bool(lug.cables) and cable.size not in lug.cables
    if not lug.cables:
        missing.append(asking(f"{lug.path}.cables", "Read the sizes on the lug's sheet."))
    if cable.strands is None:
        missing.append(
            asking(f"{link.origin.path}.strands", "Look at the cut end: many fine strands, or few thick ones?")
        )
    elif lug.strands and _strands(cable.strands) not in {_strands(each) for each in lug.strands}:
        wrong = True
    elif not lug.strands and _strands(cable.strands) in ("class 5", "class 6"):
        missing.append(asking(f"{lug.path}.strands", "Ask whether the lug is listed for fine strands."))
    text = say(
        "{joint}: lug {lug} is listed for {sizes}; the cable is {size}.",
        joint=joint.name,
        lug=lug.name,
        sizes=", ".join(lug.cables) or "sizes not given",
        size=cable.size,
    )
    if wrong:
        return card.found(joint.name, None, (None, None), text, do, forced="fail")
    return card.found(joint.name, None, (None, None), text, do, missing=missing)


def room_fit(bank: Bank, post: str, card: Card) -> Finding | None:
    """No more lugs on a post than its kind takes; one where nothing is stated. None for a post with one lug or none."""
    joints = tuple(joint for joint in bank.joints if joint.post == post)
    return _room(bank, post, card, joints, 0)


def earth_room(bank: Bank, post: str, card: Card) -> Finding | None:
    """The same for an earthing point, where the lug of the earthing conductor comes on top."""
    joints = tuple(joint for joint in bank.joints if joint.post == post)
    return _room(bank, post, card, joints, 1)


def _room(bank: Bank, post: str, card: Card, joints: tuple[Joint, ...], more: int) -> Finding | None:
    count = len(joints) + more
    thing = next((p for p in bank.posts if p.name == post), None)
    if count < 2 or thing is None:
        return None
    allowed = thing.spec.lugs
    missing: tuple[Missing, ...] = ()
    if allowed is None:
        missing = (lugs_missing(bank, joints[0]),)
    extra = ", the earthing conductor's among them" if more else ""
    text = say("{count} lugs come onto {post}{extra}.", count=str(count), post=post, extra=extra)
    do = say("Use the second post, or a bar; do not pile lugs on {post}.", post=post)
    return card.found(post, Figure(count, "count"), (None, allowed), text, do, missing=missing)
