"""The cut plan: which pieces come from which reel, bar or offcut, at least cost, with the bound shown.

Gives: Wanted, Stock, Cut, CutPlan, cut_plan(). Lengths in metres; kerf is lost once a piece, a strip is in the
wanted length.
How: choose how many of each length come from each stock piece (integer program, one variable a length and stock
piece), least price, or least length bought where no prices are given. Solved within a time limit; the bound and
whether the answer is proven are shown; without an answer first-fit decreasing stands in, and says so.
Limits: one material and one colour a plan (buy/cutting parts them).
Solver: HiGHS through scipy, loaded when called.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

__all__ = ["Cut", "CutPlan", "Stock", "Wanted", "cut_plan"]

GRID = 1e-4  # m: lengths are kept to a tenth of a millimetre, rounded up
SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class Wanted:
    """One piece to be cut: its name and length with everything that belongs to it."""

    name: str
    length: float


@dataclass(frozen=True, slots=True)
class Stock:
    """A reel, bar or offcut: length, price (None: not given), how many there are (None: as many as needed)."""

    name: str
    length: float
    price: float | None = None
    count: int | None = None
    owned: bool = False  # there already: costs nothing


@dataclass(frozen=True, slots=True)
class Cut:
    """One stock piece and what is cut from it, longest first."""

    stock: Stock
    number: int  # 1, 2 ... of this stock
    pieces: tuple[Wanted, ...]
    rest: float


@dataclass(frozen=True, slots=True)
class CutPlan:
    """Cuts, cost and how good it is known to be."""

    cuts: tuple[Cut, ...]
    cost: float  # price, or metres bought
    bound: float  # no plan costs less than this
    proven: bool
    priced: bool
    method: str  # "integer program" or "first fit"
    kerf: float
    unplaced: tuple[Wanted, ...] = ()  # longer than any stock, or no stock left

    @property
    def gap(self) -> float:
        """Largest part of the cost that a better plan could still save."""
        return 0.0 if self.cost <= 0 else max(self.cost - self.bound, 0.0) / self.cost


def cut_plan(wanted: Sequence[Wanted], stock: Sequence[Stock], kerf: float = 0.0, time_limit: float = 1.5) -> CutPlan:
    """Cut the wanted pieces from the stock at least cost; never longer than the time limit."""
    longest = max((s.length for s in stock if s.count != 0), default=0.0)
    fitting = [w for w in wanted if w.length <= longest + SLACK]
    unplaced = tuple(w for w in wanted if w.length > longest + SLACK)
    priced = all(s.price is not None or s.owned for s in stock)
    first, left = _first_fit(fitting, stock, kerf, priced)
    trivial = _trivial_bound(fitting, stock, priced)
    if not fitting:
        return CutPlan((), 0.0, 0.0, True, priced, "integer program", kerf, unplaced)
    if left is None:
        first_cost = math.inf
    else:
        first_cost = sum(_price(cut.stock, priced) for cut in first)
    solved = _solve(fitting, stock, kerf, priced, first, time_limit=time_limit)
    if solved is None:
        cuts, missing = _first_fit(fitting, stock, kerf, priced, partial=True)
        cost = sum(_price(cut.stock, priced) for cut in cuts)
        return CutPlan(
            tuple(cuts), cost, min(trivial, cost), False, priced, "first fit", kerf, (*unplaced, *(missing or ()))
        )
    cuts, bound, proven = solved
    cost = sum(_price(cut.stock, priced) for cut in cuts)
    if first_cost < cost - SLACK:
        cuts, cost, proven = list(first), first_cost, False
    floor = _on_the_ladder(max(bound, trivial), [_price(s, priced) for s in stock])
    bound = cost if proven else min(floor, cost)
    proven = proven or bound >= cost - SLACK
    return CutPlan(tuple(cuts), cost, bound, proven, priced, "integer program", kerf, unplaced)


def _on_the_ladder(bound: float, prices: Sequence[float]) -> float:
    """Raise a bound to the next cost that prices can add up to: a multiple of their greatest common part."""
    step = math.gcd(*(round(price * 1000) for price in prices)) / 1000
    return math.ceil(bound / step - 1e-5) * step if step > 0 else bound


def _price(stock: Stock, priced: bool) -> float:
    if stock.owned:
        return 0.0
    return stock.price if priced and stock.price is not None else stock.length


def _used(pieces: Sequence[Wanted], kerf: float) -> float:
    """Length taken: every piece and one kerf after each; the last needs none when it ends the stock."""
    return sum(p.length for p in pieces) + kerf * max(len(pieces) - 1, 0)


def _fits(pieces: Sequence[Wanted], length: float, kerf: float) -> bool:
    return _used(pieces, kerf) <= length + SLACK


def _rest(pieces: Sequence[Wanted], length: float, kerf: float) -> float:
    rest = length - _used(pieces, kerf)
    return max(rest - kerf, 0.0) if rest > SLACK else 0.0


def _trivial_bound(wanted: Sequence[Wanted], stock: Sequence[Stock], priced: bool) -> float:
    """Length needed at the cheapest price a metre: a floor under any plan."""
    rates = [_price(s, priced) / s.length for s in stock if s.count != 0 and s.length > 0]
    return sum(w.length for w in wanted) * min(rates, default=0.0)


def _first_fit(
    wanted: Sequence[Wanted], stock: Sequence[Stock], kerf: float, priced: bool, partial: bool = False
) -> tuple[list[Cut], list[Wanted] | None]:
    """First-fit decreasing: into the first open piece that has room, else open the cheapest stock a metre that fits."""
    opened: list[tuple[Stock, int, list[Wanted]]] = []
    counts: dict[str, int] = {}
    missing: list[Wanted] = []
    for piece in sorted(wanted, key=lambda w: -w.length):
        place = next((p for s, _, p in opened if _fits([*p, piece], s.length, kerf)), None)
        if place is not None:
            place.append(piece)
            continue
        offered = [
            s
            for s in stock
            if s.length + SLACK >= piece.length and (s.count is None or counts.get(s.name, 0) < s.count)
        ]
        if not offered:
            missing.append(piece)
            continue
        chosen = min(offered, key=lambda s: (_price(s, priced) / s.length, s.length))
        counts[chosen.name] = counts.get(chosen.name, 0) + 1
        opened.append((chosen, counts[chosen.name], [piece]))
    if missing and not partial:
        return [], None
    cuts = [Cut(s, n, tuple(p), _rest(p, s.length, kerf)) for s, n, p in opened]
    return cuts, missing


def _solve(
    wanted: Sequence[Wanted],
    stock: Sequence[Stock],
    kerf: float,
    priced: bool,
    first: Sequence[Cut],
    *,
    time_limit: float,
) -> tuple[list[Cut], float, bool] | None:
    """The integer program; None when no whole answer was found in time, or there is none."""
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    lengths = sorted({_rounded(w.length) for w in wanted}, reverse=True)
    need = [sum(_rounded(w.length) == length for w in wanted) for length in lengths]
    bins = _bins(wanted, stock, kerf, priced, first)
    if not bins:
        return None
    m, n = len(bins), len(lengths)
    matrix, low, high = _conditions(bins, lengths, need, kerf)
    top = np.concatenate([np.ones(m), [min(need[k], _most(b, lengths[k], kerf)) for b in bins for k in range(n)]])
    cost = np.concatenate([[_price(b, priced) + 1e-7 * b.length for b in bins], np.zeros(m * n)])
    answer: Any = milp(
        cost,
        integrality=np.ones(m + m * n),
        bounds=Bounds(np.zeros(m + m * n), top),
        constraints=LinearConstraint(matrix, np.array(low), np.array(high)),
        options={"time_limit": time_limit, "mip_rel_gap": 1e-6},
    )
    if answer.x is None:
        return None
    bound = answer.mip_dual_bound if answer.mip_dual_bound is not None else 0.0
    chosen = np.rint(answer.x).astype(int)
    counts = [[int(chosen[m + b * n + k]) for k in range(n)] for b in range(m)]
    return _cuts(wanted, lengths, bins, counts, kerf), float(bound), bool(answer.status == 0)


def _conditions(
    bins: Sequence[Stock], lengths: Sequence[float], need: Sequence[int], kerf: float
) -> tuple[Any, list[float], list[float]]:
    """Rows of the program with their ends; columns: bin b is open, then the count of length l from bin b."""
    import numpy as np
    from scipy.sparse import coo_array

    m, n = len(bins), len(lengths)
    rows: list[tuple[int, int, float]] = []
    low: list[float] = []
    high: list[float] = []
    for b, item in enumerate(bins):  # sum (length + kerf) count <= (stock + kerf) open
        rows += [(len(low), m + b * n + k, lengths[k] + kerf) for k in range(n)]
        rows.append((len(low), b, -(item.length + kerf + SLACK)))
        low.append(-np.inf)
        high.append(0.0)
    for k in range(n):
        rows += [(len(low), m + b * n + k, 1.0) for b in range(m)]
        low.append(float(need[k]))
        high.append(float(need[k]))
    for b in range(m - 1):  # equal bins open in order, fuller first
        if bins[b].name == bins[b + 1].name:
            rows += [(len(low), b, 1.0), (len(low), b + 1, -1.0)]
            low.append(0.0)
            high.append(np.inf)
    r, c, v = zip(*rows, strict=True)
    matrix = coo_array((np.array(v), (np.array(r), np.array(c))), shape=(len(low), m + m * n)).tocsr()
    return matrix, low, high


def _rounded(length: float) -> float:
    return math.ceil(length / GRID - 1e-6) * GRID


def _most(stock: Stock, length: float, kerf: float) -> int:
    return math.floor((stock.length + kerf + SLACK) / (length + kerf)) if length + kerf > 0 else 0


def _bins(
    wanted: Sequence[Wanted], stock: Sequence[Stock], kerf: float, priced: bool, first: Sequence[Cut]
) -> list[Stock]:
    """Stock pieces that may be opened: no more of a kind than any best plan could open.

    With first-fit's cost as ceiling, a plan opens at most ceiling / price of one kind,
    and never more than there are pieces.
    """
    ceiling = sum(_price(cut.stock, priced) for cut in first)
    found: list[Stock] = []
    for item in stock:
        if item.length <= 0 or min(w.length for w in wanted) > item.length + SLACK:
            continue
        price = _price(item, priced)
        most = len(wanted) if price <= 0 or not first else min(len(wanted), math.floor(ceiling / price + 1e-6))
        most = min(most, _enough(wanted, item, kerf))
        found += [item] * (most if item.count is None else min(most, item.count))
    return found


def _enough(wanted: Sequence[Wanted], item: Stock, kerf: float) -> int:
    """How many of one stock hold all pieces that fit it, by first fit: a best plan needs no more of it."""
    fitting = [w for w in wanted if w.length <= item.length + SLACK]
    cuts, _ = _first_fit(fitting, [Stock(item.name, item.length)], kerf, False)
    return max(len(cuts), 1)


def _cuts(
    wanted: Sequence[Wanted], lengths: Sequence[float], bins: Sequence[Stock], counts: list[list[int]], kerf: float
) -> list[Cut]:
    """Hand the named pieces out to the bins, equal lengths in their order."""
    waiting = {length: [w for w in wanted if _rounded(w.length) == length] for length in lengths}
    numbers: dict[str, int] = {}
    found = []
    for item, row in zip(bins, counts, strict=True):
        pieces = tuple(waiting[length].pop(0) for length, count in zip(lengths, row, strict=True) for _ in range(count))
        if pieces:
            numbers[item.name] = numbers.get(item.name, 0) + 1
            found.append(Cut(item, numbers[item.name], pieces, _rest(pieces, item.length, kerf)))
    return found
