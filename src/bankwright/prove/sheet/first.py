"""Part C of first power-up: inverters on DC, outputs off; and the millivolts under load (E3).

Gives: first_steps(), joint_step(), CLOSE. Limits: one pre-charge resistor across the main.
Sources: exponential of a capacitor behind a resistor with a steady draw [derived]; 2 V, twice the idle current, 10 V:
common practice, no source; capacitance -+20 % and resistor -+5 % where no tolerance is given: common practice.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from bankwright.bank.asks import asking
from bankwright.forms.finding import Missing
from bankwright.forms.origin import Source
from bankwright.forms.trace import PRACTICE
from bankwright.forms.wording import Figure, amount_text
from bankwright.physics.precharge import time_to_reach
from bankwright.physics.reading import thermal_ohms
from bankwright.prove.sheet.due import Due, Facts, StepOf
from bankwright.prove.sheet.places import Fill, bank_volts, fill_of, main_switch

__all__ = ["CLOSE", "first_steps", "joint_step"]

CLOSE, END = 2.0, 10.0  # V over the switch at closing; V that counts as dead. Common practice, no source
CLEAN, OXIDE = 3e-6, 1e-3  # V/K, brass and copper oxide against copper [read]
SLOW = 0.5  # s that a hand meter lags and an eye needs; common practice, no source
COUNT = 0.01  # V
FILL = Source("capacitor behind a resistor, with a steady draw", how_known="derived")
MEANS = (
    "stuck at the resistor times 0.2 to 1 A: an inverter is on; off by its button, never wait longer",
    "stuck near the whole voltage: a short, or a reversed inverter (below zero at its terminals): release at once",
    "nothing moves, resistor cold: open, its fuse, the inverter's switch",
    "half the time: one of several inverters is not connected",
    "20 to 50 % longer: more capacitance than the file says",
    "up, down, up: an inverter starts on the resistor; hold its remote-off",
)


def first_steps(facts: Facts) -> Iterator[StepOf]:
    """C1 to C4."""
    switch, fill, volts = main_switch(facts.bank), fill_of(facts.bank), bank_volts(facts)
    no_switch: tuple[Missing, ...] = () if switch else (asking("devices"),)
    at = switch or "main switch"
    earth = (facts.not_earthed,) if facts.not_earthed else ()
    yield StepOf(
        "C1",
        "Pre-charge, volts over the open main against time",
        ("B4", "B6", *(("B5",) if facts.bank.bus else ()), *earth),
        "two people",
        (
            "Not longer than the resistor bears. Reversed or stuck: release at once.",
            "A second inverter is never closed onto a live hub without its own pre-charge.",
        ),
        (
            "Inverters off by their own button, every inverter switch behind the main closed, AC and sun locked.",
            "Press; time until 2 V are left; then what stays after four times as long.",
        ),
        tuple(_charge(facts, at, fill, no_switch)),
    )
    yield StepOf(
        "C2",
        "Close the main",
        ("C1", *earth),
        "two people",
        ("Face away, left hand behind the back; once. The volts over it are read just before.",),
        (
            "Volts over the open main, pre-charge held; close.",
            "A crack: the volts were not read, or a second inverter was closed later.",
        ),
        (_before(at, no_switch),),
        (("closed", "Closed, no sound but the switch"),),
    )
    yield _first_stop(facts, fill, volts)


def _first_stop(facts: Facts, fill: Fill, volts: float | None) -> StepOf:
    return StepOf(
        "C4",
        "First stop: main open, unloaded",
        ("C2",),
        "one person",
        ("Until below 10 V the terminals are live. Wait for the capacitors before you close again.",),
        ("Open the main; time until the inverters' terminals stand below 10 V. Pre-charge again, close again.",),
        tuple(_stop(facts, fill, volts)),
        (("again", "Pre-charged and closed again"),),
    )


def _charge(facts: Facts, at: str, fill: Fill, missing: tuple[Missing, ...]) -> Iterator[Due]:
    expected, asked = _time(fill, bank_volts(facts))
    window = (None, None) if expected is None else (expected.low, expected.high)
    yield Due(
        "V-PRECHARGE-1",
        "time",
        at,
        "until 2 V are left over the open main",
        "expectation",
        window,
        expected,
        MEANS,
        "Volts at each inverter; sign at its terminals.",
        (*missing, *asked),
        FILL,
    )
    left = fill.left
    lacking = (*missing, *fill.missing)
    figure: Figure | None = None
    ends: tuple[float | None, float | None] = (None, None)
    if left is not None:
        half = fill.part * left + COUNT
        figure = Figure(left, "voltage_drop", max(left - half, 0.0), left + half)
        ends = (None, max(2.0 * left, COUNT * 2))
    yield Due(
        "V-PRECHARGE-3",
        "voltage_drop",
        at,
        "what stays over the open main",
        "expectation",
        ends,
        figure,
        MEANS,
        _drawn(fill, facts.read("C1", "voltage_drop", at)),
        lacking,
        PRACTICE,
    )


def _drawn(fill: Fill, left: float | None) -> str:
    """What stays over the resistor as a current: Ohm's law."""
    if left is None or fill.resistor is None:
        return "This over the resistor is the idle current."
    amps = amount_text(abs(left) / fill.resistor, "current")
    return f"{amps} is drawn: this over the resistor of {amount_text(fill.resistor, 'resistance')}."


def _time(fill: Fill, volts: float | None) -> tuple[Figure | None, tuple[Missing, ...]]:
    missing = fill.missing
    if volts is None:
        missing += (asking("readings.modules.voltage", "Read the modules alone first (B1)."),)
    if missing or volts is None or fill.resistor is None or fill.farads is None or fill.idle is None:
        return None, missing
    times = [
        float(time_to_reach(CLOSE, volts, fill.resistor * (1.0 + part), farads, fill.idle))
        for part, farads in ((0.0, fill.farads.nominal), (-fill.part, fill.farads.low), (fill.part, fill.farads.high))
    ]
    if not all(math.isfinite(value) for value in times):
        return None, (asking("precharge", "By its figures it never comes to 2 V: more is drawn than it lets by."),)
    return Figure(times[0], "time", max(times[1] - SLOW, 0.0), times[2] + SLOW), ()


def _before(at: str, missing: tuple[Missing, ...]) -> Due:
    return Due(
        "V-PRECHARGE-2",
        "voltage_drop",
        at,
        "over the open main, just before it closes",
        "limit",
        (-CLOSE, CLOSE),
        None,
        MEANS,
        "Volts at each inverter; sign at its terminals.",
        missing,
        PRACTICE,
    )


def _stop(facts: Facts, fill: Fill, volts: float | None) -> Iterator[Due]:
    means = (
        "does not fall: sun or AC holds it, find it",
        "minutes: nothing draws, wait",
        "far too fast: more is drawn",
    )
    expected, missing = None, fill.missing
    if volts is None:
        missing += (asking("readings.modules.voltage", "Read the modules alone first (B1)."),)
    elif fill.farads is not None and fill.idle:
        low, mid, high = (
            farads * (volts - END) / fill.idle for farads in (fill.farads.low, fill.farads.nominal, fill.farads.high)
        )
        expected = Figure(mid, "time", low / 4.0, high)  # a draw of constant power empties it in a quarter of the time
    window = (None, None) if expected is None else (expected.low, expected.high)
    for inverter in facts.bank.inverters[:1]:
        yield Due(
            "V-STOP-1",
            "time",
            inverter.name,
            "from opening until its terminals stand below 10 V",
            "expectation",
            window,
            expected,
            means,
            "Volts at every terminal.",
            missing,
            FILL,
        )


def joint_step(facts: Facts) -> Iterator[StepOf]:
    """E3."""
    joints = "millivolt test" in facts.results
    yield StepOf(
        "E3",
        "Millivolts over every joint, link and device",
        ("E2",),
        "two people",
        ("Probes on one pole only. No joint is undone here: bankwright build FILE --apart JOINT.",),
        (
            f"Zero at the same points takes thermal voltage off: at 50 A clean metal 5 K apart looks like "
            f"{1e6 * thermal_ohms(CLEAN, 5.0, 50.0):.1f} micro-ohm, oxide and 1 K like "
            f"{1e6 * thermal_ohms(OXIDE, 1.0, 50.0):.0f}: scratch through.",
            "bankwright prove millivolts FILE: " + ("a record is in the logbook." if joints else "no record yet."),
        ),
        boxes=(("record", "Millivolt test kept in the logbook"),),
    )
