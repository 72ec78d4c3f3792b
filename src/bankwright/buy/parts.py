"""The parts list: pieces counted into lines, spares apart from need, what is there already, what remains to be bought.

Gives: PartLine, PartsList, parts(). Counted from bank/pieces, never typed. Each line says where it is used and why.
Limits: cables and bars are lengths; how they come from reels is buy/cutting. Prices are those of the shopping file.
Spares: a share of need, at least one, for what is used up or spoilt (lugs, sleeves, hardware, labels); one of each
type of fuse; none of the rest. Common practice, no source. One spare lug of each kind and
15 cm of each cable are for the trial crimp.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Literal

from bankwright.bank.model import Bank
from bankwright.bank.piece import GROUPS, Group, Piece
from bankwright.bank.pieces import pieces
from bankwright.buy.cutting import Cutting, cuttings, equal_lengths
from bankwright.buy.stock import DEFAULT, Shopping
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.origin import FileKey

__all__ = ["PartLine", "PartsList", "parts"]

TRIAL_END = 0.15  # m of each cable for the trial crimp; common practice, no source
_USED_UP: frozenset[Group] = frozenset({"lugs", "sleeves", "joint hardware", "labels"})
_USED_UP_ITEMS = ("cage nut/", "rack screw/", "bond lug/", "bond washer")
_LENGTHS: frozenset[Group] = frozenset({"cable", "bars"})


@dataclass(frozen=True, slots=True)
class PartLine:
    """One line: amounts are pieces, or metres for cable."""

    item: str
    group: Group
    words: str
    unit: Literal["piece", "m"]
    need: float
    spares: float
    have: float
    order: float
    uses: tuple[str, ...]
    why: str
    at: tuple[str, ...]
    origins: tuple[FileKey, ...]
    pieces: tuple[str, ...]  # ids
    colour: str | None = None
    price: float | None = None  # a piece or a metre
    cost: float | None = None  # of `order`
    open: tuple[Missing, ...] = ()
    assumed: bool = False
    unmeasured: int = 0  # pieces whose length is not known: `need` is "at least"


@dataclass(frozen=True, slots=True)
class PartsList:
    """Lines by group, the cut plans, what is wrong or unknown, and the rules that were counted with."""

    lines: tuple[PartLine, ...]
    cuttings: tuple[Cutting, ...]
    findings: tuple[Finding, ...]
    shopping: Shopping
    cost: float | None
    unpriced: int
    pieces: tuple[Piece, ...]

    def line(self, item: str) -> PartLine:
        """Find a line by its item; KeyError when there is none."""
        for line in self.lines:
            if line.item == item:
                return line
        raise KeyError(item)

    @property
    def need(self) -> dict[str, float]:
        """Need by item, spares not counted."""
        return {line.item: line.need for line in self.lines}


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
    findings = tuple(buy_findings(bank, found, lines, plans, shopping))
    return PartsList(lines, plans, findings, shopping, cost, unpriced, found)


def _refuse_unknown(shopping: Shopping, items: tuple[str, ...]) -> None:
    named = [(f"have.{i}", i) for i in shopping.have] + [(f"price.{i}", i) for i in shopping.price]
    named += [(f"reel[{n + 1}].item", reel.item) for n, reel in enumerate(shopping.reels)]
    named += [(f"kit[{n + 1}].holds", i) for n, kit in enumerate(shopping.kits) for i in kit.holds]
    faults = []
    for path, item in named:
        if item not in items:
            near = get_close_matches(item, items, 3, 0.4)
            right = f"Nearest: {', '.join(near)}" if near else "bankwright buy --json lists the items"
            faults.append(Fault(path, "unknown-item", f'the list has no item "{item}"', right))
    if faults:
        raise QuestionError(tuple(faults), "the shopping file")


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
    lengths: list[float | None] = []
    if metres and plan is not None:
        lengths = [*(piece.length for piece in plan.wanted), *(None for _ in plan.unknown)]
    elif metres:
        lengths = list(equal_lengths(listed, shopping)[0].values())
    need = math.fsum(length for length in lengths if length is not None) if metres else float(len(listed))
    spares = TRIAL_END * (first.group == "cable" and need > 0) if metres else 0.0
    if not metres:
        spares = _spares(item, first.group, need, shopping)
    from_kits = sum(kit.holds.get(item, 0) * kit.number for kit in shopping.kits)
    owned = sum(reel.length * (reel.count or 1) for reel in shopping.reels if reel.item == item and reel.owned)
    have = shopping.have.get(item, 0.0) + from_kits + (owned if metres else 0.0)
    price = shopping.price.get(item)
    if plan is not None and plan.plan is not None and plan.from_reels:
        bought = [cut.stock for cut in plan.plan.cuts if not cut.stock.owned]
        order = math.fsum(stock.length for stock in bought) if metres else float(len(bought))
        cost = plan.plan.cost if plan.plan.priced and not plan.plan.unplaced else None
    else:
        order = max(need + spares - have, 0.0)
        order = math.ceil(order * 10 - 1e-9) / 10 if metres else order
        cost = None if price is None else price * order
    return PartLine(
        item,
        first.group,
        first.words,
        "m" if metres else "piece",
        need,
        spares,
        have,
        order,
        tuple(dict.fromkeys(piece.use for piece in listed)),
        first.why,
        tuple(dict.fromkeys(name for piece in listed for name in piece.at)),
        tuple(dict.fromkeys(piece.origin for piece in listed)),
        tuple(piece.id for piece in listed),
        first.colour,
        price,
        cost,
        tuple(dict.fromkeys(piece.open for piece in listed if piece.open is not None)),
        any(piece.assumed for piece in listed),
        sum(length is None for length in lengths),
    )
