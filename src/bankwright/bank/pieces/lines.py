"""Pieces of the data line, the frame's bond and the pre-charge path.

Gives: line_pieces(). N - 1 data cables and one to the reader, a terminator at each end of the line, a bond for each
frame, a conductor from an earthed pole to the earth bar.
Limits: connectors and built-in terminators are in the makers' manuals;
the sizes of bond and earthing conductor are the electrician's word.
Sources: number of terminators (two, one at each end) TIA-485-A practice (from memory);
the rest common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank
from bankwright.bank.pieces.frame import one_piece
from bankwright.bank.pieces.piece import Piece
from bankwright.bank.places import standing_order

__all__ = ["line_pieces"]


def line_pieces(bank: Bank) -> Iterator[Piece]:
    """Data line, bond, pre-charge."""
    yield from _precharge(bank)
    yield from _data(bank)
    yield from _earthing(bank)


def _precharge(bank: Bank) -> Iterator[Piece]:
    for inverter in bank.inverters:
        precharge = inverter.kind.precharge
        if precharge is None or precharge.resistor is None:
            continue
        words = f"Pre-charge resistor {precharge.resistor:g} ohm" + (
            f", {precharge.power:g} W" if precharge.power else ""
        )
        if precharge.pulse_energy:
            words += f", pulse {precharge.pulse_energy:g} J"
        yield one_piece(
            f"precharge/{inverter.name}",
            f"precharge/{inverter.kind.name}",
            "devices",
            words,
            inverter.name,
            why="fills the inverter's capacitors before the main switch closes",
            origin=inverter.origin,
        )


def _data(bank: Bank) -> Iterator[Piece]:
    names = [module.name for module in standing_order(bank)]
    if not names:
        return
    words = "Data cable between modules, of the connector in the module's manual"
    for near, far in pairwise(names):
        origin, why = bank.module(far).origin, "a chain of N modules has N - 1 cables"
        use = f"{near} to {far}"
        yield Piece(f"data/{near}-{far}", "data cable/module", "data", words, use, why, (near, far), origin)
    first = bank.module(names[0])
    words, use = "Data cable from a module to the reader", f"{first.name} to the reader"
    why = "one cable from the chain to the reader"
    yield Piece("data/reader", "data cable/reader", "data", words, use, why, (first.name,), first.origin)
    yield from _terminators(bank, names)


def _terminators(bank: Bank, names: list[str]) -> Iterator[Piece]:
    path = bank.module(names[0]).kind.path
    missing = asking(f"{path}.address", "Ask whether modules and reader end the line themselves.")
    for end, name in (("first", names[0]), ("last", names[-1])):
        yield Piece(
            f"terminator/{end}",
            "terminator",
            "data",
            "Terminator for the data line, 120 ohm",
            f"{end} end of the line, {name}",
            "two at most: one at each end, none between",
            (name,),
            bank.module(name).origin,
            open=missing,
            assumed=True,
        )


def _earthing(bank: Bank) -> Iterator[Piece]:
    yield from _earthed_pole(bank)
    for name in [rack.name for rack in bank.racks] or ["frame"]:
        yield from _bond(bank, name)


def _bond(bank: Bank, name: str) -> Iterator[Piece]:
    """From a frame to the earth bar: the cable, its two lugs, and a washer that bites through paint."""
    size, origin = bank.site.earthing.bond, bank.key("site.earthing")
    at = (name,) if name in bank else ()
    way = f"Measure the way from {name} to the earth bar."
    yield Piece(
        f"bond/{name}",
        f"bond/{size or 'unknown'}",
        "earthing",
        f"Bonding cable {size}, green and yellow or green" if size else "Bonding cable, size not given",
        f"{name} to the earth bar",
        "exposed metal is at earth before anything can become live",
        at,
        origin,
        colour="green and yellow",
        open=asking("site.earthing.bond", way) if size else asking("site.earthing.bond"),
    )
    words = f"Lug for the bonding cable{' ' + size if size else ''}"
    for end in ("frame", "earth bar"):
        id_, item, use = f"bond lug/{name}/{end}", f"bond lug/{size or 'unknown'}", f"{name}, {end}"
        yield Piece(id_, item, "earthing", words, use, "one at each end", at, origin)
    words, why = "Toothed washer, bites through paint", "bare metal to bare metal"
    yield Piece(f"bond washer/{name}", "bond washer", "earthing", words, name, why, at, origin, assumed=True)


def _earthed_pole(bank: Bank) -> Iterator[Piece]:
    """The conductor that earths a pole, with a lug at both ends; its size is not a key of the file."""
    earthing, origin = bank.site.earthing, bank.key("site.earthing.at")
    if earthing.pole not in ("minus", "plus"):
        return
    how = "Have the electrician name the conductor that earths the pole, and measure its way to the earth bar."
    for post in earthing.at or (f"the {earthing.pole} pole",):
        at = (post,) if post in bank else ()
        missing = asking("site.earthing.at", how)
        words, why = f"Earthing conductor of the {earthing.pole} pole", "one pole is earthed, at one point only"
        yield Piece(
            f"earthing/{post}",
            "earthing conductor",
            "earthing",
            words,
            f"{post} to the earth bar",
            why,
            at,
            origin,
            open=missing,
        )
        for end in (post, "earth bar"):
            yield Piece(
                f"earthing lug/{post}/{end}",
                "earthing lug",
                "earthing",
                "Lug for the earthing conductor",
                f"{post} to the earth bar, at {end}",
                "one at each end",
                at,
                origin,
                open=missing,
            )
