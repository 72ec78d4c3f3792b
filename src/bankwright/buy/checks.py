"""What is wrong or unknown with the list: findings of Buy, each with a code of its own.

Gives: buy_findings(). B-OPEN something cannot be bought yet, B-KIT a kit's bags disagree with the need, B-CUT the
stock does not hold the pieces, B-REACH a cable is shorter than its way, B-EQUAL cables that must be equal are not,
B-STUDS more cables than places on a bar, B-LUG-STUD and B-LUG-CABLE lugs that do not fit.
Limits: whether the design carries its current is Plan's question.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

from bankwright.bank.bends import bend_radius
from bankwright.bank.model import Bank
from bankwright.bank.pieces.fits import barrel_fit, stud_fit
from bankwright.bank.pieces.piece import Piece
from bankwright.bank.places import least_length
from bankwright.buy import cards
from bankwright.buy.cutting import Cutting
from bankwright.buy.lines import PartLine
from bankwright.buy.stock import Shopping
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import Computed, Source
from bankwright.forms.wording import Figure, amount_text, say

__all__ = ["buy_findings"]

_COUNTED = Source("count of the bank's pieces", how_known="derived")
_GEOMETRY = Source("geometry of the rack", place="bends of the least radius at both ends", how_known="derived")


def buy_findings(
    bank: Bank,
    listed: Sequence[Piece],
    lines: Sequence[PartLine],
    plans: Sequence[Cutting],
    shopping: Shopping,
) -> Iterator[Finding]:
    """All findings of one parts list."""
    yield from _open(listed)
    yield from _kits(lines, shopping)
    yield from _cuts(plans, shopping)
    yield from _reach(bank)
    yield from _equal(bank)
    yield from _studs(bank)
    fits = [
        f
        for joint in bank.joints
        for f in (stud_fit(bank, joint, cards.LUG_STUD), barrel_fit(bank, joint, cards.LUG_CABLE))
    ]
    yield from (f for f in fits if f is not None and f.verdict != "pass")


def _open(listed: Sequence[Piece]) -> Iterator[Finding]:
    groups: dict[str, list[Piece]] = defaultdict(list)
    for piece in listed:
        if piece.open is not None:
            groups[piece.item].append(piece)
    for found in _alike(groups.values()):
        words = ", ".join(dict.fromkeys(piece.words for piece in found))
        uses = list(dict.fromkeys(piece.use for piece in found))
        at = tuple(dict.fromkeys(name for piece in found for name in piece.at))
        missing = tuple(dict.fromkeys(piece.open for piece in found if piece.open is not None))
        rest = f" and {len(uses) - 4} more" if len(uses) > 4 else ""
        text = say("{part}: {uses}.", part=words, uses="; ".join(uses[:4]) + rest)
        do = say("Settle this before it is ordered.")
        yield cards.OPEN.found(at[:1], None, (None, None), text, do, missing=missing, more=at[1:])


def _alike(groups: Iterable[list[Piece]]) -> Iterator[list[Piece]]:
    """Items that one answer settles, nut and washers of one stud, as one."""
    merged: dict[tuple[Missing, ...], list[Piece]] = defaultdict(list)
    for found in groups:
        merged[tuple(dict.fromkeys(piece.open for piece in found if piece.open is not None))] += found
    yield from merged.values()


def _kits(lines: Sequence[PartLine], shopping: Shopping) -> Iterator[Finding]:
    need = {line.item: line for line in lines}
    supplied: dict[str, int] = defaultdict(int)
    names: dict[str, list[str]] = defaultdict(list)
    for kit in shopping.kits:
        for item, count in kit.holds.items():
            supplied[item] += count * kit.number
            names[item].append(kit.name)
    for item, count in supplied.items():
        line = need[item]
        if count == line.need:
            continue
        kits, few = " and ".join(names[item]), count < line.need
        text = say(
            "{kits}: bags hold {count} of {part}; the bank needs {need}.",
            kits=kits,
            count=f"{count:g}",
            part=line.words,
            need=f"{line.need:g}",
        )
        do = (
            say("Order the {lack} that are missing before work begins.", lack=f"{line.need - count:g}")
            if few
            else say(
                "Count the bags again: {extra} too many may mean that a place was forgotten.",
                extra=f"{count - line.need:g}",
            )
        )
        inputs = (Input("bags", "in the bags", Figure(count, "count"), Computed(f"shopping file, kit {kits}")),)
        yield cards.KIT.found(
            line.at[:1],
            Figure(count, "count"),
            (line.need, None),
            text,
            do,
            inputs=inputs,
            forced=None if few else "caution",
            more=line.at[1:],
        )


def _cuts(plans: Sequence[Cutting], shopping: Shopping) -> Iterator[Finding]:
    for cutting in plans:
        plan = cutting.plan
        if plan is None or not plan.unplaced:
            continue
        cuts = max(len(cutting.wanted) - 1, 0)
        needed = sum(w.length for w in cutting.wanted) + shopping.kerf * cuts
        reels = [reel for reel in shopping.reels if reel.item == cutting.item]
        limited = all(reel.count is not None for reel in reels)
        there = sum(reel.length * (reel.count or 0) for reel in reels)
        names = ", ".join(w.name for w in plan.unplaced)
        text = say(
            "{part}: {names} find no stock that holds them. All pieces and {cuts} cuts of {kerf} take {needed}.",
            part=cutting.words,
            names=names,
            cuts=str(cuts),
            kerf=Figure(shopping.kerf, "height"),
            needed=Figure(needed, "length"),
        )
        if limited and there < needed:
            figure, limits = Figure(needed, "length"), (None, there)
        else:
            figure = Figure(max(w.length for w in plan.unplaced), "length")
            limits = (None, max(reel.length for reel in reels))
        at = tuple(dict.fromkeys(w.name.split("/")[1] for w in plan.unplaced))
        forced = None if limits[1] is not None and figure.value > limits[1] else "fail"
        yield cards.CUT.found(
            at[:1],
            figure,
            limits,
            text,
            say("Buy a longer reel or one more piece."),
            forced="fail" if forced else None,
            more=at[1:],
        )


def _reach(bank: Bank) -> Iterator[Finding]:
    for link in bank.links:
        if link.length is None or link.cable is None or not link.is_cable:
            continue
        radius = bend_radius(link.cable)
        least = least_length(bank, link, radius.value)
        if least is None or link.length >= least:
            continue
        inputs = (
            Input("r", "least bend radius", Figure(radius.value, "height"), radius.origin, radius.assumed),
            Input(
                "length",
                "cable between the barrels",
                Figure(link.length, "length"),
                bank.key(f"{link.origin.path}.length"),
            ),
        )
        text = say(
            "{link} is {length}; its way with two quarter bends of {radius} is {least}.",
            link=link.name,
            length=Figure(link.length, "length"),
            radius=Figure(radius.value, "height"),
            least=Figure(least, "length"),
        )
        yield cards.REACH.found(
            link.name,
            Figure(link.length, "length"),
            (least, None),
            text,
            say("Measure the way on the rack before cutting; posts are drawn, not measured."),
            inputs=inputs,
        )


def _equal(bank: Bank) -> Iterator[Finding]:
    groups: dict[str, list[float]] = defaultdict(list)
    names: dict[str, list[str]] = defaultdict(list)
    for link in bank.links:
        if link.group is not None and link.length is not None:
            group = link.group if link.role in ("link", "lead") else link.group + link.pole
            groups[group].append(link.length)
            names[group].append(link.name)
    for group, lengths in groups.items():
        if max(lengths) - min(lengths) <= 1e-9:
            continue
        text = say(
            "{names}: written from {low} to {high}; all are cut to {high}.",
            names=", ".join(names[group]),
            low=amount_text(min(lengths), "length"),
            high=amount_text(max(lengths), "length"),
        )
        yield cards.EQUAL.found(
            tuple(names[group][:1]),
            Figure(max(lengths) - min(lengths), "length"),
            (None, 0.0),
            text,
            say("Write one length for all of them, the longest."),
            more=tuple(names[group][1:]),
        )


def _studs(bank: Bank) -> Iterator[Finding]:
    for bar in bank.bars:
        ends = sum(joint.post in bar.posts for joint in bank.joints)
        places = len(bar.posts) * (bar.lugs_per_stud or 1)
        if ends > places:
            text = say("{bar}: {ends} cables, {places} places.", bar=bar.name, ends=str(ends), places=str(places))
            yield cards.STUDS.found(
                bar.name,
                Figure(ends, "count"),
                (None, float(places)),
                text,
                say("Take a longer bar, or say that a stud takes more lugs."),
            )
