"""Does a lug fit its stud, its cable, and is there room for it on the post: asked where the hand would find out.

Gives: stud_fit(), barrel_fit(), room_fit(), earth_room(). Each answers with a Finding under the code of
the stage that asks.
Limits: Plan judges the same three for the design; here the question is put joint by joint.
Sources: gap of 0.2 to 1.6 mm between hole and stud: common practice, no source, from clearance holes of ISO
273:1979 (read); conductor class and lug: NEC 110.14(A) (2008 fine-strand rule read, present number from memory).
"""

from __future__ import annotations

from bankwright.bank.lug_choice import LEAST_GAP, LOOSE_GAP, hole_fits, lug_of, lug_or_fit
from bankwright.bank.model import Bank, Joint
from bankwright.bank.pieces_wiring import joint_place, terminal_name
from bankwright.bank.sizes import stud_diameter
from bankwright.bank.terminals import lugs_missing, stud_missing
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import FileKey, Source
from bankwright.forms.wording import Figure, say

__all__ = ["barrel_fit", "earth_room", "room_fit", "stud_fit"]

_STUD_SOURCE = Source("ISO 273 clearance holes", "1979", "normal fit; gap limits", "common practice, no source")
_LUG_SOURCE = Source("NEC", "2023", "110.14(A)", "from memory, 2008 fine-strand rule read")
_CLASSES = {
    "fine": "class 5", "flexible": "class 5", "extra fine": "class 6", "extra flexible": "class 6",
    "stranded": "class 2", "coarse": "class 2", "solid": "class 1",
}  # fmt: skip


def stud_fit(bank: Bank, joint: Joint, code: str) -> Finding:
    """Hole minus stud: at least 0.2 mm; above 1.6 mm the lug sits loose and rests on too little."""
    (lug, fits), place = lug_or_fit(bank, joint), joint_place(joint)
    stud = stud_diameter(joint.stud) if joint.stud else None
    hole = None if lug is None else lug.hole
    title, at = "The lug's hole fits the stud", (joint.name,)
    lacking = []
    if hole is None:
        key = f"{lug.path}.hole" if lug else f"{bank.link(joint.link).origin.path}.lug"
        lacking.append(Missing(key, "Choose the lug, or measure its hole.", "measure"))
    if stud is None:
        lacking.append(stud_missing(bank, joint))
    if hole is None or stud is None:
        do = say("Measure hole and stud of {joint} before any lug is crimped.", joint=joint.name)
        text = say(
            "{terminal}: {lug}, {stud}.",
            terminal=terminal_name(joint),
            lug="the lug is not named" if lug is None else f"lug {lug.name}" + ("" if hole else ", hole not given"),
            stud=f"stud {joint.stud}" if joint.stud else "the stud is not given",
        )
        return Finding(
            code, title, at, None, (LEAST_GAP, None), _STUD_SOURCE, do, "code", missing=tuple(lacking), text=text
        )
    loose = not hole_fits(hole, joint.stud or "") and hole > stud + LEAST_GAP
    inputs = (
        Input("hole", "hole of the lug", Figure(hole, "height"), FileKey(f"{lug.path}.hole" if lug else "")),
        Input("stud", "stud", Figure(stud, "height"), joint.origin),
    )
    if fits and lug is not None:
        do = say(
            "Confirm: hold a {lug} on the stud at {place}, and a cut end of the cable in it.", lug=lug.name, place=place
        )
        text = say("{terminal} names no lug; {lug} is the one that fits.", terminal=terminal_name(joint), lug=lug.name)
    else:
        do = say("Take a lug made for stud {stud} at {place}.", stud=joint.stud or "", place=place)
        text = say(
            "{joint}: hole {hole}, stud {stud}.", joint=joint.name, hole=Figure(hole, "height"), stud=joint.stud or ""
        )
    return Finding(
        code,
        title,
        at,
        Figure(hole - stud, "height"),
        (None, LOOSE_GAP) if loose else (LEAST_GAP, None),
        _STUD_SOURCE,
        do,
        "code",
        inputs=inputs,
        ends_at="caution" if loose else "fail",
        forced="caution" if fits else None,
        formula="hole - stud",
        text=text,
    )


def _strands(words: str) -> str:
    """Class of strands by any of its names, of IEC 60228 [from memory]."""
    plain = " ".join(words.lower().replace("-", " ").split())
    return _CLASSES.get(plain.removesuffix(" strand").removesuffix(" strands"), plain)


def barrel_fit(bank: Bank, joint: Joint, code: str) -> Finding | None:
    """The lug is listed for this size of cable and this class of strands; None where no lug is chosen yet."""
    link = bank.link(joint.link)
    lug, cable = lug_of(link, joint), link.cable
    if lug is None or cable is None:
        return None
    title, at = "The lug is listed for the cable", (joint.name,)
    do = say(
        "Take a lug listed for {size} {strands}.",
        size=cable.size,
        strands=f"{cable.strands} strands" if cable.strands else "",
    )
    missing: list[Missing] = []
    wrong = bool(lug.cables) and cable.size not in lug.cables
    if not lug.cables:
        missing.append(Missing(f"{lug.path}.cables", "Read the sizes on the lug's sheet.", "maker"))
    if cable.strands is None:
        missing.append(
            Missing(
                f"{link.origin.path}.strands", "Look at the cut end: many fine strands, or few thick ones?", "measure"
            )
        )
    elif lug.strands and _strands(cable.strands) not in {_strands(each) for each in lug.strands}:
        wrong = True
    elif not lug.strands and _strands(cable.strands) in ("class 5", "class 6"):
        missing.append(Missing(f"{lug.path}.strands", "Ask whether the lug is listed for fine strands.", "maker"))
    text = say(
        "{joint}: lug {lug} is listed for {sizes}; the cable is {size}.",
        joint=joint.name,
        lug=lug.name,
        sizes=", ".join(lug.cables) or "sizes not given",
        size=cable.size,
    )
    return Finding(
        code,
        title,
        at,
        None,
        (None, None),
        _LUG_SOURCE,
        do,
        "code",
        missing=() if wrong else tuple(missing),
        forced="fail" if wrong else None,
        formula="size and strand class in the lug's list",
        text=text,
    )


def room_fit(bank: Bank, post: str, code: str) -> Finding | None:
    """No more lugs on a post than its kind takes; one where nothing is stated. None for a post with one lug or none."""
    joints = tuple(joint for joint in bank.joints if joint.post == post)
    return _room(bank, post, code, joints, 0)


def earth_room(bank: Bank, post: str, code: str) -> Finding | None:
    """The same for an earthing point, where the lug of the earthing conductor comes on top."""
    joints = tuple(joint for joint in bank.joints if joint.post == post)
    return _room(bank, post, code, joints, 1)


def _room(bank: Bank, post: str, code: str, joints: tuple[Joint, ...], more: int) -> Finding | None:
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
    return Finding(
        code,
        "As many lugs as the post takes",
        (post,),
        Figure(count, "count"),
        (None, allowed),
        _LUG_SOURCE,
        do,
        "code",
        missing=missing,
        text=text,
        formula="lugs on the post",
    )
