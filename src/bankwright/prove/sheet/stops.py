"""Part I of first power-up: a stop under a small load, and the alarms.

Gives: stop_steps(). Limits: times to stop are on the sheets of the inverters; the file has no key for them. Trips of
temperature, current, voltage and cells are not provoked: their proof is the maker's.
Sources: 0.6 A of a clamp's zero with a count: prove/meters; order: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.model import Bank
from bankwright.forms.wording import amount_text
from bankwright.prove.meters import Clamp
from bankwright.prove.sheet.due import Due, Facts, StepOf

__all__ = ["stop_steps"]

NOTHING = Clamp().zero + Clamp().step  # A
LOST = {
    "stops": "it stops, shows the alarm",
    "own limits": "it falls to its own limits, shows the alarm",
    "goes on": "it goes on: its own limits are all there is",
    None: "unknown: its sheet says whether it stops or falls to its own limits (message.lost)",
}


def stop_steps(facts: Facts) -> Iterator[StepOf]:
    """I1 and I2."""
    before = "F1" if facts.bank.chargers else "E2B"
    yield StepOf(
        "I1",
        "Stop under a tenth of the load",
        (before,),
        "two people",
        ("Not at full load. Remote-off first, then the switch.", "Live until the capacitors are below 10 V."),
        ("Press the stop; then every module's current. Nothing closes again by itself.",),
        tuple(_stopped(facts.bank)),
        (
            ("output", f"AC output came to 0 V {_time(facts.bank)}"),
            ("again", "Nothing closed again by itself"),
        ),
    )
    yield StepOf(
        "I2",
        "Alarms",
        (before,),
        "one person",
        ("Not provoked: over-temperature, over-current, over-voltage, cell trips. Their proof is the maker's.",),
        ("Each alarm once, seen and heard; what should be seen stands at its box.",),
        boxes=tuple(_alarms(facts.bank)),
    )


def _time(bank: Bank) -> str:
    times = sorted({i.kind.stops_within for i in bank.inverters if i.kind.stops_within is not None})
    return f"within {amount_text(times[-1], 'time')}, its sheet" if times else "within the time of its sheet"


def _stopped(bank: Bank) -> Iterator[Due]:
    means = ("an inverter draws on: only its output went off", "another load on the bus", "the clamp's zero")
    for module in bank.modules:
        yield Due(
            "V-STOP-2", "current", module.name, "after the stop", "limit", (-NOTHING, NOTHING), None, means,
            "The clamp turned round; then the runs to the inverters.",
        )  # fmt: skip


def _alarms(bank: Bank) -> Iterator[tuple[str, str]]:
    for inverter in bank.inverters:
        seen = LOST[inverter.kind.message.lost]
        yield f"message {inverter.name}", f"Message cable out at {inverter.name}: {seen}; plugged in again: as planned"
    if bank.site.earthing.detector:
        yield (
            "detector",
            "Insulation detector: its button; then a resistor from one pole to the frame just below its set value, "
            "alarm; just above it, none; then the other pole",
        )
    yield "smoke", "Smoke alarm: its button, heard where people sleep"
