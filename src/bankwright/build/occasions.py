"""Work that has no interval: one module is replaced, the bank is left for a season.

Gives: Occasion, occasions().
Limits: words from the bank file; how a module out of the bank is kept or sent is its maker's word and the carrier's.
Sources: half charge for storage, cool and dry: common practice for LFP, no source; hours until a fifth of the charge is
gone from build/upkeep; order of taking apart in build/apart.
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.bank.model import Bank
from bankwright.build.upkeep import FIFTH, standing_days
from bankwright.forms.origin import Source
from bankwright.forms.wording import amount_text

__all__ = ["Occasion", "occasions"]

PRACTICE = Source("order of work", how_known="common practice, no source")


@dataclass(frozen=True, slots=True)
class Occasion:
    """A piece of work: when it is due, and its acts in order."""

    id: str
    title: str
    acts: tuple[str, ...]
    source: Source = PRACTICE


def occasions(bank: Bank) -> tuple[Occasion, ...]:
    """Replacing one module; leaving the bank for a season."""
    return (_replacing(bank), _season(bank))


def _replacing(bank: Bank) -> Occasion:
    name = bank.modules[-1].name if bank.modules else "M1"
    one = len(bank.modules) < 2
    acts = (
        f"Out: bankwright build FILE --apart {name} (the name of the one that goes), step by step, to its end.",
        "The one that comes: receiving card first (bankwright buy FILE --receive), before the old one is sent away.",
        "Write it into the file: its kind, and its measured capacity where it is known. Plan again: an old bank with "
        "one new module shares unlike (Match 5.1 to 5.3 tell how).",
        "In, as in Build: lifted, screwed, read alone, its address set, its cables bolted to the maker's torque.",
        "One module alone has nothing to be joined to: pole to frame, then Prove."
        if one
        else "Joined by Match: every module read again, rested, with one meter; then in the order that Match gives.",
        f"Its baseline begins anew: bankwright build FILE --anew {name}; then millivolts at its joints under load, and "
        "the shares of all modules, for the others' shares moved too.",
    )
    return Occasion("replace", "Replacing one module", acts)


def _season(bank: Bank) -> Occasion:
    days = standing_days(bank, FIFTH)
    until = (
        f"Left on, the modules' own consumption takes {FIFTH:.0%} of the charge in {days:.0f} days: come back before, "
        "or switch every module off."
        if days is not None
        else "How long it may stay on is not known: the modules' own consumption is not given (standby_power). Switch "
        "every module off, and come back within three months to read it."
    )
    lowest = [m.kind.charge.lowest_degc for m in bank.modules if m.kind.charge.lowest_degc is not None]
    cold = (
        f"Below {amount_text(max(lowest), 'temperature_degc', bank.units)} nothing may charge it: lock chargers off."
        if lowest
        else "The lowest temperature for charging is not given: lock chargers and sun off before the cold."
    )
    acts = (
        "Charge or use it to about half: neither full nor empty (common practice for LFP, no source).",
        "Loads off, each inverter off by its own button; chargers, sun, AC and generator off and locked.",
        "Main switch open and locked. Every module off, its breaker open; read each and write it down.",
        until,
        cold,
        "Dry, above freezing where it can be; covers on, nothing lies on the rack, the page on fire stays up.",
        "Back again: look, smell, read every module alone. They stood apart: Match before any is closed onto another.",
    )
    return Occasion("season", "Leaving the bank for a season", acts)
