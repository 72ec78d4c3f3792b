"""Pieces of frame, modules, bars, devices, earthing and the data line.

Gives: frame_pieces(). Four front screws with cage nuts a module, rails that carry it, N - 1 data cables and one to
the reader, a terminator at each end of the line, two supports a bar.
Limits: inverters and chargers are counted as they stand in the file;
their own alternating-current side is not here.
Sources: front screws locate and do not carry (common practice, no source); numbers of screws, supports and
terminators: common practice, no source; the modules' and the frame's manuals have the last word.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, Bar, Device, Module, Rack
from bankwright.bank.model_kinds import DeviceKind
from bankwright.bank.pieces.piece import Group, Piece
from bankwright.bank.places import rack_of
from bankwright.forms.finding import Missing
from bankwright.forms.origin import FileKey
from bankwright.forms.wording import amount_text

__all__ = ["SCREWS_A_MODULE", "bar_holes", "bar_length", "frame_pieces", "one_piece"]

SCREWS_A_MODULE = 4  # front flange, two a side; common practice, no source: the module's own ears decide
BAR_SUPPORTS = 2  # insulators a bar; common practice, no source
BAR_END = 1.5  # times the hole: least distance from the last hole to the end of a bar; common practice, no source


def frame_pieces(bank: Bank) -> Iterator[Piece]:
    """Everything that is not cable, tool or protection."""
    for module in bank.modules:
        yield from _module(bank, module)
    for rack in bank.racks:
        yield from _rack(bank, rack.name)
    for bar in bank.bars:
        yield from _bar(bar, bank.units)
    for device in bank.devices:
        yield from _device(bank, device)
    for thing, sort in [(i, "Inverter") for i in bank.inverters] + [(c, "Charger") for c in bank.chargers if not c.of]:
        yield one_piece(
            f"{sort.lower()}/{thing.name}",
            f"{sort.lower()}/{thing.kind.name}",
            "devices",
            f"{sort} {thing.kind.name}",
            thing.name,
            why="stands in the bank file",
            origin=thing.origin,
        )
    for post in bank.posts:
        if post.owner_kind == "junction":
            lugs = sum(joint.post == post.name for joint in bank.joints)
            words = f"Stud block or bar where {lugs} cables meet, with cover"
            missing = asking("bars", f"Choose what joins the cables at {post.name} and list it under [[bars]].")
            yield one_piece(
                f"junction/{post.name}",
                f"junction/{lugs}",
                "bars",
                words,
                post.name,
                why="cables meet there",
                origin=post.origin,
                missing=missing,
            )


def one_piece(
    id_: str,
    item: str,
    group: Group,
    words: str,
    name: str,
    *,
    why: str,
    origin: FileKey,
    missing: Missing | None = None,
    assumed: bool = False,
) -> Piece:
    """Make a piece that has one place, the thing it belongs to."""
    return Piece(id_, item, group, words, name, why, (name,), origin, open=missing, assumed=assumed)


def _module(bank: Bank, module: Module) -> Iterator[Piece]:
    kind, origin, name = module.kind, module.origin, module.name
    mass = f", {amount_text(kind.mass, 'mass', bank.units)}" if kind.mass is not None else ""
    words = f"Module {kind.name}{mass}{_listed(kind.listing)}"
    why = "stands in the bank file"
    yield one_piece(f"module/{name}", f"module/{kind.name}", "modules", words, name, why=why, origin=origin)
    if module.unit is not None or rack_of(bank, module) is not None:
        yield from _module_in_a_rack(bank, module)
    words = "Label with the module's name and address"
    why = "so that sheet, screen and rack use one name"
    yield one_piece(f"label/module/{name}", "label/module", "labels", words, name, why=why, origin=origin)


def _module_in_a_rack(bank: Bank, module: Module) -> Iterator[Piece]:
    """Screws in front, and the rails that carry it."""
    kind, name = module.kind, module.name
    why = "front screws locate the module, they do not carry it"
    for number in range(1, SCREWS_A_MODULE + 1):
        for sort, words in (("cage nut", "Cage nut M6 for 9.5 mm square holes"), ("rack screw", "Rack screw M6")):
            id_ = f"{sort}/{name}/{number}"
            yield one_piece(id_, f"{sort}/M6", "rack", words, name, why=why, origin=module.origin, assumed=True)
    words = (
        f"Pair of support rails, static load at least {amount_text(kind.mass, 'mass', bank.units)}"
        if kind.mass
        else "Pair of support rails"
    )
    yield one_piece(
        f"rails/{name}",
        f"rails/{kind.name}",
        "rack",
        words,
        name,
        why="rails, shelf or tray carry the module at both ends",
        origin=module.origin,
        missing=None if kind.mass else asking(f"{kind.path}.mass", "Read it on the module or in its sheet."),
    )


def _rack(bank: Bank, name: str) -> Iterator[Piece]:
    rack = next(rack for rack in bank.racks if rack.name == name)
    words, why = f"Rack {rack.kind.name}", "carries the modules"
    yield one_piece(f"rack/{name}", f"rack/{rack.kind.name}", "rack", words, name, why=why, origin=rack.origin)
    yield from _casters(bank, rack) if rack.kind.on == "wheels" else _anchors(rack)


def _casters(bank: Bank, rack: Rack) -> Iterator[Piece]:
    kind, name = rack.kind, rack.name
    load = (
        f", dynamic rating {amount_text(kind.wheel_load, 'mass', bank.units)}"
        if kind.wheel_load
        else ", rating not given"
    )
    for number in range(1, (kind.wheels or 4) + 1):
        yield one_piece(
            f"caster/{name}/{number}",
            f"caster/{kind.name}",
            "rack",
            f"Caster{load}",
            name,
            why="carries the rack",
            origin=rack.origin,
            missing=None if kind.wheel_load else asking(f"{kind.path}.wheel_load", "Read it on the caster."),
        )


def _anchors(rack: Rack) -> Iterator[Piece]:
    kind, name = rack.kind, rack.name
    for number in range(1, (kind.anchors or 4) + 1):
        yield one_piece(
            f"anchor/{name}/{number}",
            f"anchor/{kind.name}",
            "rack",
            "Anchor, listed for this floor or wall and the tension and shear of the sheet",
            name,
            why="holds the frame; into concrete or framing, never into plasterboard alone",
            origin=rack.origin,
            missing=None if kind.anchors else asking(f"{kind.path}.anchors"),
            assumed=kind.anchors is None,
        )


def bar_length(bar: Bar) -> float | None:
    """Length of a bar from its studs: spaces between them and the ends beyond the last holes."""
    if bar.spacing is None:
        return None
    end = max(BAR_END * (bar.hole or 0.0), bar.spacing / 2)
    return (len(bar.posts) - 1) * bar.spacing + 2 * end


def bar_holes(bar: Bar) -> int:
    """Holes to drill in one bar: a stud each, and one at each support."""
    return len(bar.posts) + BAR_SUPPORTS


def _bar(bar: Bar, units: str) -> Iterator[Piece]:
    yield _bar_itself(bar, units)
    name = bar.name
    for number in range(1, BAR_SUPPORTS + 1):
        id_, why = f"bar support/{name}/{number}", "carries the bar clear of the frame"
        words = "Insulating support for a bar"
        yield one_piece(id_, "bar support", "bars", words, name, why=why, origin=bar.origin, assumed=True)
    why = "no bare metal within reach"
    yield one_piece(f"cover/{name}", "cover/bar", "covers", "Cover over a bar", name, why=why, origin=bar.origin)


def _bar_itself(bar: Bar, units: str) -> Piece:
    """Section, studs and holes; its length where the studs' spacing is given."""
    length, path = bar_length(bar), bar.origin.path
    stacked = f", {bar.layers} of them stacked" if bar.layers > 1 else ""
    each = (bar.thickness or 0.0) / bar.layers
    missing = None
    if length is None:
        key = f"{path}.spacing" if path.startswith("bars") else "bars"
        missing = asking(key, f"Say how far apart the studs of {bar.name} are; the length follows.")
    size = shown = "section not given"
    if bar.width and each:
        size = shown = f"{bar.width * 1e3:.4g} x {each * 1e3:.4g} mm"
        if units == "us":
            shown = " x ".join(amount_text(value, "height", units) for value in (bar.width, each))
    count = len(bar.posts)
    words = f"Bar, {bar.material} {shown}{stacked}, {count} {'stud' if count == 1 else 'studs'}, {bar_holes(bar)} holes"
    words += "" if length is None else f", {amount_text(length, 'height', units)} long"
    why, alike = f"collects the {bar.pole} pole", f"bar/{bar.material}/{size}{stacked}"
    return Piece(
        f"bar/{bar.name}", alike, "bars", words, bar.name, why, (bar.name,), bar.origin, length, open=missing
    )  # fmt: skip


_BODIES = {"fuse": "Fuse", "breaker": "Breaker", "disconnect": "Disconnect", "shunt": "Shunt"}


def _ratings(kind: DeviceKind) -> str:
    parts = [
        kind.device_class or "",
        "" if kind.rating is None else f"{kind.rating:g} A",
        "" if kind.volts is None else f"{kind.volts:g} V DC",
        "" if kind.interrupts is None else f"interrupts {kind.interrupts / 1e3:g} kA",
    ]
    return ", ".join(part for part in parts if part)


def _listed(listing: tuple[str, ...]) -> str:
    """What the label on the thing must say, so that it is looked for on delivery."""
    return f", listed {' and '.join(listing)}" if listing else ""


def _device(bank: Bank, device: Device) -> Iterator[Piece]:
    kind = device.kind
    ratings = _ratings(kind)
    mass = f", {amount_text(kind.mass, 'mass', bank.units)}" if kind.mass is not None else ""
    words = f"{_BODIES[kind.type]} {kind.name}" + (f": {ratings}" if ratings else "") + mass + _listed(kind.listing)
    why = f"in {', '.join((device.on, *device.also_on))}"
    missing = asking(f"{kind.path}.rating") if kind.rating is None else None
    yield one_piece(
        f"{kind.type}/{device.name}",
        f"{kind.type}/{kind.name}",
        "devices",
        words,
        device.name,
        why=why,
        origin=device.origin,
        missing=missing,
    )
    if kind.type == "fuse":
        yield one_piece(
            f"fuse holder/{device.name}",
            f"fuse holder/{kind.name}",
            "devices",
            f"Holder for fuse {kind.name}",
            device.name,
            why="carries the fuse",
            origin=device.origin,
            missing=missing,
        )
    if kind.type in ("breaker", "disconnect"):
        yield one_piece(
            f"label/switch/{device.name}",
            "label/switch",
            "labels",
            "Label for a switch: name, on and off",
            device.name,
            why="the hand must find it in a fault",
            origin=device.origin,
        )
