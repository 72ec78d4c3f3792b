"""Pieces of the wiring: cables cut from the roll, lugs, sleeves, joint hardware, covers, labels.

Gives: wiring_pieces(), cable_lengths(), joint_place(), colour_of(). One lug a joint; nut and washers once a post
that is used.
Limits: a cable with a device in it is cut there; where the device sits must be in the file, else the piece says
what is missing. A switch of two poles sits at the same distance along both of its cables. The length in the file is
the cable between the two barrels; what goes into them is added by buy/cut.
Sources: colours red and black for plus and minus: common practice, no source (a local code may ask for others);
sizes of sleeves: handbook/data/heat_shrink.toml.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from bankwright.bank.model import Bank, Joint, Link
from bankwright.bank.model_kinds import LugKind
from bankwright.bank.piece import Piece
from bankwright.bank.sleeves import sleeve_for
from bankwright.bank.terminals import stud_missing
from bankwright.forms.finding import Missing

__all__ = ["cable_lengths", "colour_of", "joint_place", "lug_of", "wiring_pieces"]

_COLOURS = {"+": "red", "-": "black"}  # common practice, no source


def colour_of(link: Link) -> str:
    """Colour of a link: as written, else red for plus and black for minus."""
    return link.colour or _COLOURS[link.pole]


def joint_place(joint: Joint) -> str:
    """Where a lug is bolted: the post, or the device."""
    return joint.post or joint.device or joint.name


def lug_of(link: Link, joint: Joint) -> LugKind | None:
    """The lug of a joint: its own, else that of its end of the link."""
    if joint.lug is not None or not link.joints:
        return joint.lug
    return link.lug_a if joint.name == link.joints[0] else link.lug_b if joint.name == link.joints[-1] else None


def cable_lengths(bank: Bank, link: Link) -> tuple[float | None, ...]:
    """Lengths of the cables that make up a link, from `a` to `b`: one more than it has devices."""
    if not link.devices:
        return (link.length,)
    places = {device.name: device.distance for device in bank.devices_on(link.name)}
    marks = [places.get(name) for name in link.devices]
    ends: list[float | None] = [0.0, *marks, link.length]
    return tuple(None if a is None or b is None else max(b - a, 0.0) for a, b in itertools.pairwise(ends))


def wiring_pieces(bank: Bank) -> Iterator[Piece]:
    """All pieces of all links."""
    for link in bank.links:
        yield from _cables(bank, link)
        for joint in _lugged(bank, link):
            yield _lug(link, joint)
            yield _sleeve(link, joint)
        yield from _labels(link)
    yield from _hardware(bank)


def _lugged(bank: Bank, link: Link) -> tuple[Joint, ...]:
    """Joints with a lug: a device that sits on a post (no cable between them) is bolted without one."""
    joints = bank.joints_of(link.name)
    lengths = cable_lengths(bank, link)
    if len(joints) != 2 * len(lengths):
        return joints
    return tuple(joint for k, joint in enumerate(joints) if lengths[k // 2] != 0.0)


def _cable_item(link: Link) -> tuple[str, str]:
    cable = link.cable
    if cable is None:
        return f"cable/unknown/{colour_of(link)}", f"Cable, size not given, {colour_of(link)}"
    kind = " ".join(part for part in (cable.size, cable.strands and f"{cable.strands} strands") if part)
    insulation = f", insulation {cable.insulation_degc:g} degC" if cable.insulation_degc is not None else ""
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
            _open_length(link, length),
        )


def _equal(link: Link, index: int, count: int) -> str | None:
    """Group of pieces to cut equal: links and leads of both poles together, mains of each pole for itself."""
    if link.group is None:
        return None
    pole = "" if link.role in ("link", "lead") else link.pole
    return f"{link.group}{pole}/{index + 1} of {count}"


def _open_length(link: Link, length: float | None) -> Missing | None:
    path = link.origin.path
    if link.cable is None:
        return Missing(f"{path}.cable", "Choose the cable; Plan says which size carries the current.", "decide")
    if length is not None:
        return None
    if link.length is None:
        return Missing(f"{path}.length", f"Measure the way of {link.name} along the rack, bends included.", "measure")
    names = " and ".join(link.devices)
    return Missing(f"devices.{link.devices[0]}.at", f"Say where {names} sits along {link.name}.", "measure")


def _lug(link: Link, joint: Joint) -> Piece:
    lug = lug_of(link, joint)
    size = link.cable.size if link.cable else "cable not given"
    stud = f", stud {joint.stud}" if joint.stud else ""
    strands = link.cable.strands if link.cable else None
    fine = f" {strands}" if strands else ""
    if lug is None:
        item, words = f"lug/unknown/{size}{fine}/{joint.stud}", f"Lug for {size}{fine}{stud}, kind not given"
        missing = Missing(f"{link.origin.path}.lug", f"Choose a lug listed for {size}{fine} and the stud.", "decide")
    else:
        item, words, missing = f"lug/{lug.name}/{size}", f"Lug {lug.name} for {size}{fine}{stud}", None
    use, why = f"{link.name} at {joint_place(joint)}", "one lug at each end of each cable"
    return Piece(f"lug/{joint.name}", item, "lugs", words, use, why, (joint.name,), joint.origin, open=missing)


def _sleeve(link: Link, joint: Joint) -> Piece:
    colour = colour_of(link)
    sleeve = sleeve_for(link.cable, lug_of(link, joint))
    if sleeve is None:
        words = f"Heat-shrink sleeve, {colour}, size not known"
        missing = Missing(f"{link.origin.path}.cable", "The sleeve follows from the cable's outer diameter.", "measure")
        return Piece(
            f"sleeve/{joint.name}",
            f"sleeve/unknown/{colour}",
            "sleeves",
            words,
            f"{joint.name}",
            "covers the barrel",
            (joint.name,),
            joint.origin,
            None,
            colour,
            None,
            missing,
        )
    text = f"{sleeve.supplied * 1e3:g} to {sleeve.shrunk * 1e3:g} mm"
    words = f"Heat-shrink sleeve {text}, with adhesive, {colour}, {sleeve.length * 1e3:.0f} mm long"
    return Piece(
        f"sleeve/{joint.name}",
        f"sleeve/{text}/{colour}/{sleeve.length * 1e3:.0f}",
        "sleeves",
        words,
        f"{joint.name}",
        f"covers the barrel and 25 mm of insulation; {sleeve.why}",
        (joint.name,),
        joint.origin,
        sleeve.length,
        colour,
        assumed=sleeve.assumed,
    )


def _labels(link: Link) -> Iterator[Piece]:
    for end in (link.a, link.b):
        yield Piece(
            f"label/{link.name}@{end}",
            "label/cable end",
            "labels",
            "Cable label, wrap-around, for an end of a cable",
            f"{link.name} at {end}",
            "both ends bear the name of the cable (common practice, no source)",
            (link.name,),
            link.origin,
        )


def _hardware(bank: Bank) -> Iterator[Piece]:
    """Nut, flat and spring washer once a post or device terminal that is used, and a cover over it."""
    seen: dict[str, list[Joint]] = {}
    for joint in bank.joints:
        seen.setdefault(joint.post or joint.name, []).append(joint)
    for place, joints in seen.items():
        first = joints[0]
        stud = first.stud
        where = joint_place(first)
        missing = None if stud else stud_missing(bank, first)
        names = tuple(joint.name for joint in joints)
        for sort, words in (
            ("nut", "Nut or screw"),
            ("flat washer", "Flat washer"),
            ("spring washer", "Spring washer"),
        ):
            why = "one set a post that is used; which of nut or screw, and which washers, is the maker's word"
            yield Piece(
                f"{sort}/{place}",
                f"{sort}/{stud}",
                "joint hardware",
                f"{words} {stud or '(stud not given)'}",
                f"{where}",
                why,
                names,
                first.origin,
                open=missing if sort == "nut" else None,
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
