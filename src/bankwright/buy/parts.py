"""The parts list: pieces counted into lines, spares apart from need, what is there already, what remains to be bought.

Gives: parts(). Counted from bank/pieces, never typed. Each line says where it is used and why.
Limits: cables and bars are lengths; how they come from reels is buy/cutting. Prices are those of the shopping file.
Spares: a share of need, at least one, for what is used up or spoilt (lugs, sleeves, hardware, labels); one of each
type of fuse; none of the rest. Common practice, no source. One spare lug of each kind and
15 cm of each cable are for the trial crimp.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

from bankwright.bank.model import Bank
from bankwright.bank.pieces.every import pieces
from bankwright.bank.pieces.piece import GROUPS, Group, Piece
from bankwright.buy.cutting import Cutting, cuttings, equal_lengths
from bankwright.buy.lines import PartLine, PartsList
from bankwright.buy.stock import DEFAULT, Shopping
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.grouping import ordered
from bankwright.forms.nearest import did_you_mean

__all__ = ["parts"]

TRIAL_END = 0.15  # m of each cable for the trial crimp; common practice, no source
_USED_UP: frozenset[Group] = frozenset({"lugs", "sleeves", "joint hardware", "labels"})
_USED_UP_ITEMS = ("cage nut/", "rack screw/", "bond lug/", "bond washer")
_LENGTHS: frozenset[Group] = frozenset({"cable", "bars"})


def parts(bank: Bank, shopping: Shopping = DEFAULT, time_limit: float = 1.5) -> PartsList:
    """Count everything that the bank needs."""
    from bankwright.buy.checks import buy_findings

    found = pieces(bank)
    groups: dict[str, list[Piece]] = defaultdict(list)
    for piece in found:
        groups[piece.item].append(piece)
    _refuse_unknown(shopping, tuple(groups))
    plans = cuttings(found, bank, shopping, time_limit)
    lines = tuple(_line(item, listed, shopping, plans) for item, listed in groups.items())
    order = {group: number for number, group in enumerate(GROUPS)}
    lines = tuple(sorted(lines, key=lambda line: order[line.group]))
    to_buy = [line for line in lines if line.order > 0]
    unpriced = sum(line.cost is None for line in to_buy)
    priced = [line.cost for line in to_buy if line.cost is not None]
    cost = math.fsum(priced) if priced else None
    findings = ordered(buy_findings(bank, found, lines, plans, shopping))
    return PartsList(lines, plans, findings, shopping, cost, unpriced, found)


def _refuse_unknown(shopping: Shopping, items: tuple[str, ...]) -> None:
    named = [(f"have.{i}", i) for i in shopping.have] + [(f"price.{i}", i) for i in shopping.price]
    named += [(f"reel[{n + 1}].item", reel.item) for n, reel in enumerate(shopping.reels)]
    named += [(f"kit[{n + 1}].holds", i) for n, kit in enumerate(shopping.kits) for i in kit.holds]
    faults = []
    for path, item in named:
        if item not in items:
            right = did_you_mean(item, items, "bankwright buy --json lists the items", 3)
            faults.append(Fault(path, "unknown-item", f'the list has no item "{item}"', right))
    if faults:
        raise QuestionError(tuple(faults), "the shopping file")


def _words(listed: Sequence[Piece]) -> str:
    """Words of a line; bars of one section that differ in length or holes are each named, for none fits for another."""
    found: dict[str, list[str]] = {}
    for piece in listed:
        found.setdefault(piece.words, []).append(piece.use)
    if len(found) < 2 or listed[0].group != "bars":
        return listed[0].words
    return "; ".join(f"{', '.join(uses)}: {words}" for words, uses in found.items())


def _spares(item: str, group: Group, need: float, shopping: Shopping) -> float:
    if item.startswith("fuse/"):
        return 1
    if item.startswith("sign/"):
        return 0
    if group in _USED_UP or item.startswith(_USED_UP_ITEMS):
        return max(math.ceil(need * shopping.spares - 1e-9), 1) if shopping.spares > 0 else 0
    return 0


def _line(item: str, listed: Sequence[Piece], shopping: Shopping, plans: Sequence[Cutting]) -> PartLine:
    first = listed[0]
    metres = first.group == "cable" or (first.group == "earthing" and item.startswith("bond/"))
    plan = next((plan for plan in plans if plan.item == item), None)
    lengths = _lengths(listed, shopping, plan) if metres else []
    need = math.fsum(length for length in lengths if length is not None) if metres else float(len(listed))
    spares = TRIAL_END * (first.group == "cable" and need > 0) if metres else 0.0
    if not metres:
        spares = _spares(item, first.group, need, shopping)
    from_kits = sum(kit.holds.get(item, 0) * kit.number for kit in shopping.kits)
    owned = sum(reel.length * (reel.count or 1) for reel in shopping.reels if reel.item == item and reel.owned)
    have = shopping.have.get(item, 0.0) + from_kits + (owned if metres else 0.0)
    price = shopping.price.get(item)
    order, cost = _ordered(plan, need + spares - have, price, metres)
    return PartLine(
        item, first.group, _words(listed), "m" if metres else "piece", need, spares, have, order,
        tuple(dict.fromkeys(piece.use for piece in listed)), first.why,
        tuple(dict.fromkeys(name for piece in listed for name in piece.at)),
        tuple(dict.fromkeys(piece.origin for piece in listed)), tuple(piece.id for piece in listed), first.colour,
        price, cost, tuple(dict.fromkeys(piece.open for piece in listed if piece.open is not None)),
        any(piece.assumed for piece in listed), sum(length is None for length in lengths),
    )  # fmt: skip


def _lengths(listed: Sequence[Piece], shopping: Shopping, plan: Cutting | None) -> list[float | None]:
    """Length of each piece; None where it is not known. [m]"""
    if plan is None:
        return list(equal_lengths(listed, shopping)[0].values())
    return [*(piece.length for piece in plan.wanted), *(None for _ in plan.unknown)]


def _ordered(plan: Cutting | None, lacks: float, price: float | None, metres: bool) -> tuple[float, float | None]:
    """What to order, and its cost: whole reels by the cut plan, else what lacks, cable to the next 0.1 m."""
    if plan is not None and plan.plan is not None and plan.from_reels:
        bought = [cut.stock for cut in plan.plan.cuts if not cut.stock.owned]
        order = math.fsum(stock.length for stock in bought) if metres else float(len(bought))
        return order, plan.plan.cost if plan.plan.priced and not plan.plan.unplaced else None
    order = max(lacks, 0.0)
    order = math.ceil(order * 10 - 1e-9) / 10 if metres else order
    return order, None if price is None else price * order
