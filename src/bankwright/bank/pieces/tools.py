"""Tools, meters, protective equipment and signs that the work needs.

Gives: tool_pieces(). Each says which figure of the bank it must cover: torque range, test voltage, current.
Limits: what a household already has is settled by the `have` list of Buy.
Sources: insulated tools IEC 60900:2018 (scope read); insulation test IEC 60364-6 table 6.1 (numbers read, table
number from memory); protective equipment NFPA 70E article 320 (from memory); the rest common practice.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.model import Bank
from bankwright.bank.pieces.bolts import direct_seats
from bankwright.bank.pieces.piece import Group, Piece
from bankwright.forms.origin import FileKey
from bankwright.forms.wording import amount_text

__all__ = ["tool_pieces"]

BY_HAND = 7.0  # kg; below the least that the lifting equation gives one person at the slots of a rack
_PROTECTION = (
    ("eye protection", "Eye protection with side shields", 2),
    ("gloves", "Insulating gloves class 00 (500 V AC, 750 V DC) with leather gloves over them", 2),
    ("clothing", "Arc-rated or non-melting clothing, closed", 2),
    ("blanket", "Insulating blanket to cover the row that is not being worked on", 1),
    ("shoes", "Shoes with toe caps", 2),
    ("lock", "Padlock and tag for the main switch", 1),
)


def tool_pieces(bank: Bank) -> Iterator[Piece]:
    """Tools, meters, protection, signs."""
    origin = FileKey("site", bank.site.origin.place)
    yield from _tools(bank, origin)
    for name, words, count in _PROTECTION:
        for number in range(1, count + 1):
            why = "one for each of two people" if count == 2 else "NFPA 70E article 320, risk assessment [from memory]"
            yield _tool(f"{name}/{number}", words, why, origin, "protection")
    yield from _signs(bank, origin)


def _tool(name: str, words: str, why: str, origin: FileKey, group: Group = "tools") -> Piece:
    item = name.rsplit("/", 1)[0] if group == "protection" else name
    return Piece(f"{group}/{name}", f"{group}/{item}", group, words, "the work", why, (), origin)


def _tools(bank: Bank, origin: FileKey) -> Iterator[Piece]:
    torques = sorted({joint.torque for joint in bank.joints if joint.torque is not None})
    span = [amount_text(torque, "torque", bank.units) for torque in torques]
    reach = f", {span[0]} to {span[-1]} inside its range" if span else "; range: the makers' torques"
    sizes = ", ".join(sorted({link.cable.size for link in bank.links if link.cable and link.is_cable})) or "the cables"
    ends = len(bank.joints) - 2 * sum(len(direct_seats(bank, link)) for link in bank.links)
    rows = [
        ("torque wrench", f"Torque wrench, insulated{reach}", "every joint is torqued to its maker's value"),
        ("crimp tool", f"Crimp tool with the dies of the lugs for {sizes}", "die and lug belong together"),
        *_ALWAYS,
        (
            "lug caps",
            f"Insulating caps, or tape that comes off clean, for {ends} lugs",
            "a made-up cable bears a cap at each lug until it is bolted",
        ),
        *_LAST,
    ]
    if any(module.kind.mass is None or module.kind.mass > BY_HAND for module in bank.modules):
        rows.append(_LIFT_TABLE)
    for name, words, why in rows:
        yield _tool(name, words, why, origin)


_ALWAYS = (
    ("cable cutter", "Cable cutter and stripper for the sizes above", "square ends, no nicked strands"),
    (
        "insulated tools",
        "Insulated hand tools with the double triangle, 1000 V (IEC 60900)",
        "a dropped tool across the poles is the chief danger of this work",
    ),
    (
        "meter",
        "Voltmeter, DC range above the bank's highest voltage, accuracy on its sheet",
        "voltage and polarity of each module",
    ),
    ("meter leads", "Meter leads with shrouded tips and a fuse in each", "nothing bare but the tip"),
    (
        "insulation tester",
        "Insulation tester, 250 V and 500 V DC",
        "IEC 60364-6 table 6.1 [numbers read]; cables, bars and frame only",
    ),
    ("clamp meter", "Clamp meter for direct current", "current between modules when they are joined"),
    ("level and square", "Level, square and tape", "the frame is square before it is tightened"),
    ("heat gun", "Heat gun", "sleeves"),
)
_LAST = (
    (
        "cable clamps",
        "Clamps or ties for the cables, the first one close to each lug",
        "the clamp carries the cable, not the lug; how many is seen at the rack",
    ),
    ("paint pen", "Paint pen for marks on torqued nuts", "a turned nut shows"),
)
_LIFT_TABLE = (
    "lift table",
    "Lift table, stacker or hoist that reaches the highest slot",
    "the lifts of Build say which slots are left to people",
)


def _signs(bank: Bank, origin: FileKey) -> Iterator[Piece]:
    why = "read by whoever comes after you"
    for device in bank.devices:
        if device.kind.type in ("disconnect", "breaker"):
            words, at = "Sign at a disconnect, text from Build", (device.name,)
            yield Piece(
                f"sign/disconnect/{device.name}",
                "sign/disconnect",
                "labels",
                words,
                device.name,
                why,
                at,
                device.origin,
            )
        if device.kind.type == "fuse":
            words, at = "Label at a fuse holder: name, class, rating, same type only", (device.name,)
            yield Piece(f"label/fuse/{device.name}", "label/fuse", "labels", words, device.name, why, at, device.origin)
    for name, words in (
        ("bank", "Sign at the bank: voltage, available fault current, date, text from Build"),
        ("emergency", "Sheet on what to do in a fault or fire, by the door"),
    ):
        yield Piece(f"sign/{name}", f"sign/{name}", "labels", words, name, why, (), origin)
