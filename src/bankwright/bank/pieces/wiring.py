"""Pieces of the wiring: cables cut from the roll, lugs, sleeves, joint hardware, covers, labels.

Gives: wiring_pieces(), joint_place(), terminal_name(), colour_of(). One lug a joint; nut and washers once a bolt. A
lug that the file does not name, but of which one kind fits, is listed as that kind and marked assumed.
Limits: a cable with a device in it is cut there; where the device sits must be in the file, else the piece says
what is missing. A switch of two poles sits at the same distance along both of its cables. The length in the file is
the cable between the two barrels; what goes into them is added by buy/cut.
Sources: colours red and black for plus and minus: common practice, no source (a local code may ask for others);
sizes of sleeves: handbook/data/heat_shrink.toml.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking
from bankwright.bank.lug_choice import lug_or_fit
from bankwright.bank.model import Bank, Joint, Link, Post
from bankwright.bank.model_kinds import StrapKind
from bankwright.bank.pieces.bolts import bolts, cable_lengths, direct_seats
from bankwright.bank.pieces.piece import Piece
from bankwright.bank.pieces.sleeves import sleeve_for
from bankwright.bank.terminals import stud_missing
from bankwright.forms.finding import Missing
from bankwright.forms.wording import amount_text

__all__ = ["colour_of", "joint_place", "terminal_name", "wiring_pieces"]

HARDWARE = (("nut", "Nut or screw"), ("flat washer", "Flat washer"), ("spring washer", "Spring washer"))
_COLOURS = {"+": "red", "-": "black"}  # common practice, no source


def colour_of(link: Link) -> str:
    """Colour of a link: as written, else red for plus and black for minus."""
    return link.colour or _COLOURS[link.pole]


def joint_place(joint: Joint) -> str:
    """Where a lug is bolted: the post, or the device."""
    return joint.post or joint.device or joint.name


def terminal_name(joint: Joint) -> str:
    """Post, or terminal of a device with its side: `F1a`."""
    return joint.name.split("@", 1)[1]


def wiring_pieces(bank: Bank) -> Iterator[Piece]:
    """All pieces of all links."""
    for link in bank.links:
        strap = None if link.cable is None else link.cable.strap
        yield from _cables(bank, link) if strap is None else _straps(bank, link, strap)
        for joint in _lugged(bank, link) if strap is None else ():
            yield _lug(bank, link, joint)
            yield _sleeve(bank, link, joint)
        yield from _labels(bank, link)
    yield from _hardware(bank)


def _lugged(bank: Bank, link: Link) -> tuple[Joint, ...]:
    """Joints with a lug: a device that sits on a post, or a post straight on a bar, is bolted without one."""
    if link.straight:
        return ()
    bare = {joint.name for pair in direct_seats(bank, link) for joint in pair}
    return tuple(joint for joint in bank.joints_of(link.name) if joint.name not in bare)


def _cable_item(link: Link) -> tuple[str, str]:
    cable = link.cable
    if cable is None:
        return f"cable/unknown/{colour_of(link)}", f"Cable, size not given, {colour_of(link)}"
    kind = " ".join(part for part in (cable.size, cable.strands and f"{cable.strands} strands") if part)
    insulation = f", insulation {cable.insulation_degc:g} °C" if cable.insulation_degc is not None else ""
    return f"cable/{kind}/{colour_of(link)}", f"Cable {kind}, {colour_of(link)}{insulation}"


def _cables(bank: Bank, link: Link) -> Iterator[Piece]:
    item, words = _cable_item(link)
    lengths = cable_lengths(bank, link)
    stops = [link.a, *link.devices, link.b]
    for index, length in enumerate(lengths):
        if length == 0.0:
            continue
        part = f"{index + 1} of {len(lengths)}" if len(lengths) > 1 else ""
        use = f"{link.name}{' part ' + part if part else ''}, {stops[index]} to {stops[index + 1]}"
        equal = _equal(link, index, len(lengths))
        yield Piece(
            f"cable/{link.name}/{index + 1}",
            item,
            "cable",
            words,
            use,
            f"{link.role} of the {link.pole} pole",
            (link.name,),
            link.origin,
            length,
            colour_of(link),
            equal,
            _open_length(bank, link, length),
        )


def _straps(bank: Bank, link: Link, strap: StrapKind) -> Iterator[Piece]:
    """Flat pieces of a link, each half its width longer than its hole on either side, drilled at both ends."""
    size = f"{strap.width * 1e3:.4g} x {strap.thickness / strap.layers * 1e3:.4g} mm"
    stops, lengths = [link.a, *link.devices, link.b], cable_lengths(bank, link)
    hole = "holes not given" if strap.hole is None else f"hole {amount_text(strap.hole, 'height', bank.units)}"
    for index, length in enumerate(lengths):
        if length == 0.0:
            continue
        whole = None if length is None else length + strap.width
        words = f"Strap, {strap.material} {size}, {hole} at each end"
        words += "" if whole is None else f", {amount_text(whole, 'length', bank.units)} long"
        use = f"{link.name}, {stops[index]} to {stops[index + 1]}"
        missing = _open_length(bank, link, length)
        for layer in range(1, strap.layers + 1):
            yield Piece(
                f"strap/{link.name}/{index + 1}/{layer}", f"bar/{strap.material}/{size}", "bars", words, use,
                f"{link.role} of the {link.pole} pole", (link.name,), link.origin, whole, open=missing,
            )  # fmt: skip


def _equal(link: Link, index: int, count: int) -> str | None:
    """Group of pieces to cut equal: links and leads of both poles together, mains of each pole for itself."""
    if link.group is None:
        return None
    pole = "" if link.role in ("link", "lead") else link.pole
    return f"{link.group}{pole}/{index + 1} of {count}"


def _open_length(bank: Bank, link: Link, length: float | None) -> Missing | None:
    path = link.origin.path
    if link.cable is None:
        return asking(f"{path}.cable", "Choose the cable; Plan says which size carries the current.")
    if length is not None:
        return None
    if link.length is None:
        return asking(f"{path}.length", f"Measure the way of {link.name} along the rack, bends included.")
    loose = [device for device in bank.devices_on(link.name) if device.distance is None]
    names = " and ".join(device.name for device in loose)
    verb = "sits" if len(loose) == 1 else "sit"
    return asking(f"{loose[0].origin.path}.at", f"Say where {names} {verb} along {link.name}.")


def _lug(bank: Bank, link: Link, joint: Joint) -> Piece:
    lug, fits = lug_or_fit(bank, joint)
    size = link.cable.size if link.cable else "cable not given"
    strands = link.cable.strands if link.cable else None
    fine = f" {strands}" if strands else ""
    stud = joint.stud or (lug.stud if lug is not None else None)
    bolt = f", stud {stud}" if stud else ""
    missing = None
    if lug is None:
        item, words = f"lug/unknown/{size}{fine}/{stud}", f"Lug for {size}{fine}{bolt}, kind not given"
        missing = asking(f"{link.origin.path}.lug", f"Choose a lug listed for {size}{fine} and the stud.")
    elif fits:
        item, words = f"lug/{lug.name} to confirm/{size}", f"Lug {lug.name} for {size}{fine}{bolt}: fits; confirm"
    else:
        item, words = f"lug/{lug.name}/{size}", f"Lug {lug.name} for {size}{fine}{bolt}"
    use, why = f"{link.name} at {terminal_name(joint)}", "one lug at each end of each cable"
    at = (joint.name,)
    return Piece(f"lug/{joint.name}", item, "lugs", words, use, why, at, joint.origin, open=missing, assumed=fits)


def _sleeve(bank: Bank, link: Link, joint: Joint) -> Piece:
    colour = colour_of(link)
    sleeve = sleeve_for(link.cable, lug_or_fit(bank, joint)[0])
    at, id_ = (joint.name,), f"sleeve/{joint.name}"
    if sleeve is None:
        words, item = f"Heat-shrink sleeve, {colour}, size not known", f"sleeve/unknown/{colour}"
        missing = asking(f"{link.origin.path}.cable", "The sleeve follows from the cable's outer diameter.")
        why = "covers the barrel"
        return Piece(id_, item, "sleeves", words, joint.name, why, at, joint.origin, colour=colour, open=missing)
    text = f"{sleeve.supplied * 1e3:g} to {sleeve.shrunk * 1e3:g} mm"
    shown, long = text, f"{sleeve.length * 1e3:.0f} mm"
    if bank.units == "us":
        supplied, shrunk, long = (
            amount_text(value, "height", "us") for value in (sleeve.supplied, sleeve.shrunk, sleeve.length)
        )
        shown = f"{text} ({supplied} to {shrunk})"  # sold by millimetres everywhere
    words = f"Heat-shrink sleeve {shown}, with adhesive, {colour}, {long} long"
    item = f"sleeve/{text}/{colour}/{sleeve.length * 1e3:.0f}"
    why = f"covers the barrel and 25 mm of insulation; {sleeve.why}"
    return Piece(
        id_, item, "sleeves", words, joint.name, why, at, joint.origin, sleeve.length, colour, assumed=sleeve.assumed
    )


def _labels(bank: Bank, link: Link) -> Iterator[Piece]:
    """Both ends of each cable that is cut for the link."""
    for joint in _lugged(bank, link):
        yield Piece(
            f"label/{joint.name}",
            "label/cable end",
            "labels",
            "Cable label, wrap-around, for an end of a cable",
            f"{link.name} at {terminal_name(joint)}",
            "both ends bear the name of the cable (common practice, no source)",
            (link.name,),
            link.origin,
        )


def _hardware(bank: Bank) -> Iterator[Piece]:
    """Nut, flat and spring washer once a bolt, and a cover over it; the earthing stud's too, and posts left unused."""
    yield from _bolted(bank)
    taken = {joint.post for joint in bank.joints}
    earthed = _earthing_posts(bank)
    for post in bank.posts:
        if post.name in taken:
            continue
        if post.name in earthed:
            yield from _earthing_stud(bank, post)
        elif post.owner_kind == "module":
            why = "a post that nothing is bolted to is as live as the others"
            words = "Cover or boot for a post or terminal"
            at = (post.name,)
            yield Piece(f"cover/{post.name}", "cover/post", "covers", words, post.name, why, at, post.origin)


def _earthing_posts(bank: Bank) -> frozenset[str]:
    """Posts that carry the earthing conductor of an earthed pole."""
    earthing = bank.site.earthing
    return frozenset(earthing.at) if earthing.pole in ("minus", "plus") else frozenset()


def _earthing_stud(bank: Bank, post: Post) -> Iterator[Piece]:
    """Nut, washers and cover of a stud that holds the earthing lug alone."""
    stud, at = post.spec.stud, (post.name,)
    missing = None if stud else asking(f"{bank[post.owner].origin.path}.stud")
    why = "the earthing conductor's stud"
    for sort, words in HARDWARE:
        words = f"{words} {stud or '(stud not given)'}"
        yield Piece(
            f"{sort}/{post.name}", f"{sort}/{stud}", "joint hardware", words, post.name, why, at, post.origin,
            open=missing,
        )  # fmt: skip
    words = "Cover or boot for a post or terminal"
    yield Piece(f"cover/{post.name}", "cover/post", "covers", words, post.name, why, at, post.origin)


def _bolted(bank: Bank) -> Iterator[Piece]:
    for bolt in bolts(bank):
        place, joints = bolt.place, bolt.joints
        first = bolt.owner
        stud = first.stud
        where = terminal_name(first)
        missing = None if stud else stud_missing(bank, first)
        names = tuple(joint.name for joint in joints)
        for sort, words in HARDWARE:
            why = "one set a bolt that is used; which of nut or screw, and which washers, is the maker's word"
            yield Piece(
                f"{sort}/{place}",
                f"{sort}/{stud}",
                "joint hardware",
                f"{words} {stud or '(stud not given)'}",
                f"{where}",
                why,
                names,
                first.origin,
                open=missing,
            )
        why = "no bare metal at a pole within reach once the bolt is tight"
        yield Piece(
            f"cover/{place}",
            "cover/post",
            "covers",
            "Cover or boot for a post or terminal",
            f"{where}",
            why,
            names,
            first.origin,
        )
