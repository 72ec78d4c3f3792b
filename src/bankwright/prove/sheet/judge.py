"""Readings of first power-up against what is due.

Gives: judged_due(), frame_finding(), detector_finding(), rest_finding(). A limit fails, an expectation cautions, a
closure makes unknown.
Limits: the limits of the meter are those stored with the reading.
Sources: 100 ohm a volt IEC 62485-2 [from memory]; else with each reading.
"""

from __future__ import annotations

from bankwright.bank.asks import asking
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, Say, say
from bankwright.physics.insulation import leaks, spread
from bankwright.prove.sheet.cards import SHEET_CARDS
from bankwright.prove.sheet.detector import beside_finding, least_of
from bankwright.prove.sheet.due import Due, Facts
from bankwright.prove.sheet.places import poles

__all__ = ["METER", "detector_finding", "frame_finding", "judged_due", "rest_finding"]

METER = 1e7  # ohm of a hand meter; common practice, no source
COUNTS = 0.06  # V: three readings of two counts of 10 mV
OHM_A_VOLT = 100.0
ROW = Source("IEC 62485-2, battery circuit to other conductive parts", how_known="from memory")


def _do(due: Due) -> Say:
    means = "; ".join(f"({n}) {words}" for n, words in enumerate(due.means, 1))
    parts = " ".join(part for part in (f"Likeliest first: {means}." if means else "", due.then) if part)
    return Say("{text}", {"text": parts or "Read it again."})


def judged_due(due: Due, value: float) -> Finding:
    """The finding of one reading."""
    card = SHEET_CARDS[due.code]
    figure = Figure(value, due.quantity)
    text = say("{at}, {what}: {value}", at=due.at, what=due.words, value=figure)
    if due.missing:
        return card.found(due.at, figure, (None, None), text, _do(due), missing=due.missing, source=due.source)
    if due.kind == "limit":
        band = due.band if due.band != (None, None) else None
        return card.found(
            due.at, figure, due.window, text, _do(due), source=due.source, case=due.words, caution_limits=band
        )
    low, high = due.window
    outside = (low is not None and value < low) or (high is not None and value > high)
    if due.kind == "closure":
        how = f"They do not agree, so nothing is told. {_do(due).text()}"
        missing = (asking(f"readings.{due.at}.{due.quantity}", how),) if outside else ()
        return card.found(
            due.at, figure, (None, None), text, _do(due), missing=missing, source=due.source, case=due.words
        )
    return card.found(
        due.at, figure, (None, None), text, _do(due), source=due.source, case=due.words, caution_limits=due.window
    )


def frame_finding(facts: Facts, step: str = "B3") -> Finding | None:
    """Insulation of the bank from its three readings; None before they are taken."""
    plus, minus = poles(facts.bank)
    values = [
        facts.read(step, "frame_voltage", plus),
        facts.read(step, "frame_voltage", minus),
        facts.read(step, "voltage", plus),
    ]
    if any(value is None for value in values):
        return None
    card = SHEET_CARDS["V-FRAME-1"]
    high, low, bank = (value or 0.0 for value in values)
    meter = facts.read(step, "resistance", plus) or METER
    nominal = max(module.kind.nominal_voltage for module in facts.bank.modules)
    least = least_of(facts.bank, OHM_A_VOLT * nominal)
    if high < -COUNTS or low > COUNTS or bank <= 0.0 or high - low > bank + COUNTS:
        how = "Both poles and the whole again: signs or sizes do not agree."
        missing = (asking(f"readings.{plus}.frame_voltage", how),)
        return card.found((plus, minus), None, (None, None), None, say("Read all three again."), missing=missing)
    if _lies_at_frame(facts, high, low):
        how = "This pole is earthed: an electrician lifts its conductor at the earth bar; then read all three again."
        missing = (asking(f"readings.{plus}.frame_voltage", how),)
        return card.found((plus, minus), None, (None, None), None, say("Read all three again."), missing=missing)
    found = leaks(bank, max(high, 0.0), max(-low, 0.0), meter)
    half = spread(max(high, 0.0), max(-low, 0.0), meter, COUNTS)
    ends = (max(found.both - half, 0.0), found.both + half) if half != float("inf") else (found.both, found.both)
    return _frame(
        card_at=(plus, minus),
        figure=Figure(found.both, "resistance", *ends),
        least=least,
        worse="plus" if found.plus < found.minus else "minus",
    )


def detector_finding(facts: Facts, frame: Finding | None) -> Finding | None:
    """What lies beside the detector, from the insulation just found; None where there is nothing to tell."""
    if frame is None or frame.figure is None:
        return None
    return beside_finding(facts.bank, frame.at, frame.figure.value)


def _lies_at_frame(facts: Facts, high: float, low: float) -> bool:
    """Is the pole that the file earths, and that is ticked as earthed, at the frame: then nothing is told of leaks."""
    pole = facts.bank.site.earthing.pole
    if facts.not_earthed or pole not in ("minus", "plus"):
        return False
    return abs(low if pole == "minus" else high) <= COUNTS


def _frame(*, card_at: tuple[str, ...], figure: Figure, least: float, worse: str) -> Finding:
    card = SHEET_CARDS["V-FRAME-1"]
    text = say(
        "Both poles together stand {ohms} above the frame; {least} is the least. The {worse} pole leaks more",
        ohms=figure,
        least=Figure(least, "resistance"),
        worse=worse,
    )
    do = say("Open all; data cables out first, then one module off after the other: where it jumps is where it leaks.")
    assert figure.low is not None
    assert figure.high is not None
    if figure.low < least <= figure.high:
        how = "Lay 47 kohm, 1 W across the meter's leads, read again, and enter 46.8 kohm for a meter of 10 Mohm."
        missing = (asking(f"readings.{card_at[0]}.frame_voltage", how),)
        return card.found(card_at, figure, (None, None), text, do, missing=missing, source=ROW)
    return card.found(card_at, figure, (least, None), text, do, source=ROW)


def rest_finding(facts: Facts) -> Finding | None:
    """Do the currents at zero load come to nothing; None before all are taken."""
    found = [facts.read("B6", "current", module.name) for module in facts.bank.modules]
    if len(found) < 2 or any(value is None for value in found):
        return None
    card, total = SHEET_CARDS["V-REST-2"], sum(value or 0.0 for value in found)
    most = 0.5 * len(found) ** 0.5 + 0.1  # zeros of a clamp of 0.5 A each, added as independent; common practice
    names = tuple(module.name for module in facts.bank.modules)
    how = "Zero the clamp closed, in place, and read all again: their sum is not nothing."
    missing = (asking("readings.modules.current", how),) if abs(total) > most else ()
    text = say("The currents at zero load come to {total}", total=Figure(total, "current"))
    return card.found(names, Figure(total, "current"), (None, None), text, say("{how}", how=how), missing=missing)
