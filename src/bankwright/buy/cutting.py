"""Which lengths are cut, and from what: one cut plan for each cable and colour, one for each bar section.

Gives: Cutting, cut_length(), strip_lengths(), cuttings(). Cut length of a cable = (length in the file, hole to
hole) x (1 + routing) + trim at both ends. The stripped ends lie inside that length: they end in the barrels, short
of the holes. Pieces of one group get the length of the longest of them, so that they stay equal.
Limits: pieces whose length is not known are left out and named. Without reels in the shopping file there is nothing
to choose: the pieces are listed, cut to length by the seller.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from bankwright.bank.lug_choice import lug_or_fit
from bankwright.bank.model import Bank
from bankwright.bank.pieces.piece import Piece
from bankwright.buy.cut import CutPlan, Stock, Wanted, cut_plan
from bankwright.buy.stock import Shopping
from bankwright.forms.wording import amount_text

__all__ = ["Cutting", "cut_length", "cuttings", "equal_lengths", "strip_lengths"]


@dataclass(frozen=True, slots=True)
class Cutting:
    """The cut pieces of one item and colour, and the plan where there are reels to choose from."""

    item: str
    words: str
    colour: str | None
    wanted: tuple[Wanted, ...]
    unknown: tuple[str, ...]  # pieces without a length
    strips: dict[str, tuple[float, ...]]  # insulation to take off the ends, by piece
    equal: tuple[tuple[str, ...], ...]  # groups that were made equal
    from_reels: bool
    plan: CutPlan | None


def cut_length(piece: Piece, shopping: Shopping) -> float | None:
    """Length to cut for one piece of cable; None when the file does not give it."""
    if piece.length is None:
        return None
    trims = 0 if piece.group == "bars" else 2
    return piece.length * (1 + shopping.routing * (trims > 0)) + trims * shopping.trim


def strip_lengths(piece: Piece, bank: Bank, shopping: Shopping) -> tuple[float, ...]:
    """Insulation to take off both ends: the barrel of the lug, else the rule of the shopping file."""
    if piece.group != "cable" or not piece.at or piece.at[0] not in bank:
        return ()
    link = bank.link(piece.at[0])
    joints = bank.joints_of(link.name)
    part = int(piece.id.rsplit("/", 1)[1]) - 1
    ends = joints[2 * part : 2 * part + 2]
    lugs = [lug_or_fit(bank, joint)[0] for joint in ends]
    return tuple(lug.barrel if lug is not None and lug.barrel is not None else shopping.strip for lug in lugs)


def equal_lengths(
    listed: Sequence[Piece], shopping: Shopping
) -> tuple[dict[str, float | None], tuple[tuple[str, ...], ...]]:
    """Cut length of each piece by id, groups made equal to their longest; and the groups."""
    lengths = {piece.id: cut_length(piece, shopping) for piece in listed}
    groups: dict[str, list[str]] = defaultdict(list)
    for piece in listed:
        if piece.equal is not None and lengths[piece.id] is not None:
            groups[piece.equal].append(piece.id)
    for names in groups.values():
        longest = max(length for name in names if (length := lengths[name]) is not None)
        lengths.update(dict.fromkeys(names, longest))
    return lengths, tuple(tuple(names) for names in groups.values() if len(names) > 1)


def cuttings(listed: Sequence[Piece], bank: Bank, shopping: Shopping, time_limit: float = 1.5) -> tuple[Cutting, ...]:
    """All cut plans; the time limit is shared among them."""
    items: dict[str, list[Piece]] = defaultdict(list)
    for piece in listed:
        if piece.group in ("cable", "bars") and piece.item.startswith(("cable/", "bar/")):
            items[piece.item].append(piece)
    with_reels = sum(any(reel.item == item for reel in shopping.reels) for item in items)
    share = time_limit / max(with_reels, 1)
    lengths, equal = equal_lengths([piece for found in items.values() for piece in found], shopping)
    return tuple(
        _cutting(item, found, bank, shopping, share, lengths=lengths, groups=equal) for item, found in items.items()
    )


def _cutting(
    item: str,
    listed: Sequence[Piece],
    bank: Bank,
    shopping: Shopping,
    time_limit: float,
    *,
    lengths: dict[str, float | None],
    groups: tuple[tuple[str, ...], ...],
) -> Cutting:
    ids = {piece.id for piece in listed}
    equal = tuple(names for names in groups if ids & set(names))
    wanted = tuple(Wanted(piece.id, length) for piece in listed if (length := lengths[piece.id]) is not None)
    unknown = tuple(piece.id for piece in listed if lengths[piece.id] is None)
    stock: list[Stock] = []
    for reel in shopping.reels:
        if reel.item == item:
            long = amount_text(reel.length, "length", bank.units) if bank.units == "us" else f"{reel.length:g} m"
            name = f"{'there already' if reel.owned else 'reel'} {long}"
            twin = sum(other.name.split(",")[0] == name for other in stock)
            name += f", no. {twin + 1}" if twin else ""
            stock.append(Stock(name, reel.length, reel.price, reel.count, reel.owned))
    plan = cut_plan(wanted, stock, shopping.kerf, time_limit) if stock and wanted else None
    strips = {piece.id: strip_lengths(piece, bank, shopping) for piece in listed}
    return Cutting(item, listed[0].words, listed[0].colour, wanted, unknown, strips, equal, bool(stock), plan)
