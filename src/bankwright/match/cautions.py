"""Cautions of the plans, each printed where the hand is about to be.

Gives: ALONE, LOADED, CHARGER, CLOSING, QUIET, band_of(), temper(), charger_notes(), fuse_for().
Limits: words only; limits come from the bank file, else from published ranges.
Sources: common practice; charging window of LFP, 0 to 45 degC (specifications on trade pages [read]) where the bank
file gives none.
"""

from __future__ import annotations

from bankwright.bank.model import Module
from bankwright.forms.sheets import Caution
from bankwright.forms.trace import PRACTICE
from bankwright.forms.wording import Figure, Say, say
from bankwright.match.timed import ChargerChoice

__all__ = ["ALONE", "CHARGER", "CLOSING", "LOADED", "QUIET", "band_of", "charger_notes", "fuse_for", "temper"]

OPEN = "Breaker of every other module open and its posts covered. Main switch open. Nothing on the bus but "
ALONE = Caution(say(OPEN + "this module and this charger."), PRACTICE)
LOADED = Caution(say(OPEN + "this module and this load."), PRACTICE)
CHARGER = Caution(
    say(
        "Measure the charger's open voltage and polarity before it is connected: it must not exceed the ceiling. No "
        "recovery or repair programme, no equalising. Stay within call; local codes and a licensed electrician have "
        "the last word."
    ),
    PRACTICE,
)
CLOSING = Caution(say("A spark or a buzzing breaker means: open it again at once, read all voltages again."), PRACTICE)
QUIET = Caution(
    say(
        "Main switch open, inverters and chargers off, every module's breaker open; they stay off until all are joined."
    ),
    PRACTICE,
)
WINDOW = (0.0, 45.0)  # degC
FUSES = (2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0)  # A, usual small ratings


def _window(module: Module) -> tuple[float, float]:
    sheet = module.kind.charge
    low = WINDOW[0] if sheet.lowest_degc is None else sheet.lowest_degc
    return low, WINDOW[1] if sheet.highest_degc is None else sheet.highest_degc


def band_of(module: Module) -> Caution:
    """Between which temperatures this module may be charged."""
    low, high = (Figure(value, "temperature_degc") for value in _window(module))
    return Caution(say("Charge only while its cells are between {low} and {high}.", low=low, high=high), PRACTICE)


def temper(module: Module, degc: tuple[float, float] | None) -> tuple[Say, ...]:
    """What comes before charging a module that is too cold or too warm, or may be."""
    low, high = _window(module)
    if degc is None:
        return ()  # the caution beside it names the window
    may = "may be" if degc[0] < degc[1] else "is"
    if degc[0] < low:
        words = "Do not charge {module} yet: it {may} at {now}. "
        words += "Let it stand in a warm room until its middle is warm (a day)."
        return (say(words, module=module.name, may=may, now=Figure(degc[0], "temperature_degc")),)
    if degc[1] > high:
        words = "Do not charge {module} yet: it {may} at {now}. Let it cool first."
        return (say(words, module=module.name, may=may, now=Figure(degc[1], "temperature_degc")),)
    return ()


def charger_notes(charger: ChargerChoice) -> tuple[Caution, ...]:
    """What does not fit of the charger that was named."""
    return tuple(Caution(say(note), PRACTICE) for note in charger.notes)


def fuse_for(current: float) -> float:
    """Next usual rating above one and a half times a current, in A."""
    return next((rating for rating in FUSES if rating >= 1.5 * current), FUSES[-1])
