"""Volts and frequency of the AC side in one state: what is due at each inverter, and whether three readings agree.

Gives: leg_rows(), between_row(), triangle_findings(), leg_names(), STEP_OF, STATE_OF.
Limits: a hand meter's true value of a sine; a phantom voltage of a meter of 10 Mohm is not told from a real one.
Sources: +-5 % at 120 V [read]; EN 50160, +-10 % at 230 V and +-1 % of frequency [from memory]; +2.5 % of frequency of
a small generator without load, -2.5 % at full load [read on its sheet]; 3 % in island where its sheet is silent, 0.5 V
between neutral and earth, 0.1 Hz: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, Inverter
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.origin import Source
from bankwright.forms.trace import PRACTICE
from bankwright.forms.wording import Figure, say
from bankwright.physics.neutral import between_legs
from bankwright.prove.sheet.cards import SHEET_CARDS
from bankwright.prove.sheet.due import Due, Facts

__all__ = ["STATE_OF", "STEP_OF", "between_row", "leg_names", "leg_rows", "triangle_findings"]

STATE_OF = {"D1": "island", "G1": "utility", "G3": "generator"}
STEP_OF = {state: step for step, state in STATE_OF.items()}
SPREAD = {120.0: 0.05, 230.0: 0.10}  # of the voltage, by what is usual there
ISLAND, BOND, AGREE = 0.03, 0.5, 0.02  # of the voltage; V; of the voltage. Common practice, no source
HERTZ = {"utility": (-0.01, 0.01), "island": (-0.1 / 60.0, 0.1 / 60.0), "generator": (-0.025, 0.025)}
USUAL = Source("+-5 % at 120 V; EN 50160, +-10 % at 230 V", how_known="read; from memory")
SHEET = Source("the inverter's data sheet", how_known="read")
LOW_EARTH = (
    "no bond: both poles float by the filter's capacitors, about half each; a low-ohm meter makes them fall",
    "nothing at all: the protective conductor is not connected",
)


def leg_names(inverter: Inverter) -> tuple[str, ...]:
    """Legs at its own terminals: L, or L1 and L2, or three."""
    phases = inverter.kind.phases or 1
    return ("L",) if phases == 1 else tuple(f"L{k}" for k in range(1, phases + 1))


def _nominal(inverter: Inverter) -> float | None:
    """Volts of a leg: of its sheet, else what goes with its frequency."""
    kind = inverter.kind
    return kind.volts_out.nominal if kind.volts_out else {60.0: 120.0, 50.0: 230.0}.get(kind.frequency or 0.0)


def _limits(inverter: Inverter, state: str) -> tuple[tuple[float, float], tuple[float, float], Source] | None:
    """Limit and band of a leg in a state, and where they come from; None where nobody said the voltage."""
    nominal, kind = _nominal(inverter), inverter.kind
    if nominal is None:
        return None
    spread = SPREAD[120.0] if nominal < 175.0 else SPREAD[230.0]
    wide = (nominal * (1.0 - spread), nominal * (1.0 + spread))
    if state != "island":
        return wide, (nominal * 0.95, nominal * 1.05), USUAL
    if kind.volts_out is not None and not kind.volts_out.is_exact:
        own = (kind.volts_out.low, kind.volts_out.high)
        return own, own, SHEET
    return wide, (nominal * (1.0 - ISLAND), nominal * (1.0 + ISLAND)), PRACTICE


def leg_rows(facts: Facts, step: str, inverter: Inverter) -> Iterator[Due]:
    """Each leg against neutral and earth, neutral against earth, frequency; at the inverter's own terminals."""
    state, name = STATE_OF[step], inverter.name
    found = _limits(inverter, state)
    gaps: tuple[Missing, ...] = () if found else (asking(f"{inverter.kind.path}.frequency"),)
    limit, band, source = found or ((None, None), (None, None), PRACTICE)
    means = ("voltage or phase set by hand", "a neutral that is not connected: one leg high, the other low")
    for leg in leg_names(inverter):
        yield Due(
            "V-AC-1", "ac_voltage", f"{name}.{leg}-N", f"{leg} to N, {state}, no appliance", "limit", limit, None,
            means, "The same at the panel, before its main.", gaps, source, band=band,
        )  # fmt: skip
        yield Due(
            "V-AC-1", "ac_voltage", f"{name}.{leg}-PE", f"{leg} to the protective conductor", "limit",
            _earth_window(facts, step, name, leg), None, LOW_EARTH, "N to PE; the protective conductor's continuity.",
        )  # fmt: skip
    yield Due(
        "V-AC-2", "ac_voltage", f"{name}.N-PE", "N to the protective conductor, without load", "limit", (None, BOND),
        None, LOW_EARTH, "Its bond in this state (the step after it).", source=PRACTICE,
    )  # fmt: skip
    yield _frequency(inverter, state)


def _earth_window(facts: Facts, step: str, name: str, leg: str) -> tuple[float | None, float | None]:
    """A leg to earth that shows less than three quarters of what it shows to neutral has no earth."""
    own = facts.read(step, "ac_voltage", f"{name}.{leg}-N")
    return (None if own is None else 0.75 * own), None


def _frequency(inverter: Inverter, state: str) -> Due:
    nominal = inverter.kind.frequency
    low, high = HERTZ[state]
    gaps = () if nominal else (asking(f"{inverter.kind.path}.frequency"),)
    window = (None, None) if nominal is None else (nominal * (1.0 + low), nominal * (1.0 + high))
    means = ("set to another frequency", "a generator that hunts: load too large, or its governor")
    figure = None if nominal is None else Figure(nominal, "frequency", *window)
    return Due(
        "V-AC-4", "frequency", inverter.name, f"frequency, {state}", "expectation", window, figure, means,
        "The same again after a minute.", gaps, PRACTICE,
    )  # fmt: skip


def between_row(bank: Bank) -> Iterator[Due]:
    """Leg to leg at the panel, where units feed different phases; nothing where there is one leg."""
    legs = _legs(bank)
    volts = {nominal for inverter in bank.inverters if (nominal := _nominal(inverter))}
    if len(legs) < 2 or len(volts) != 1:
        return
    (one,), degrees = volts, 180.0 if len(legs) == 2 else 120.0
    due = between_legs(one, degrees)
    other = between_legs(one, 300.0 - degrees)
    means = (
        f"{between_legs(one, 0.0):.0f} V: both units are set to one phase",
        f"{other:.0f} V: set {300.0 - degrees:.0f} degrees apart",
    )
    window = (0.95 * due, 1.05 * due)
    for at in [f"panel.{a}-{b}" for a, b in pairwise(legs)]:
        words = f"{at.removeprefix('panel.').replace('-', ' to ')}: {degrees:g} degrees apart"
        yield Due(
            "V-AC-5", "ac_voltage", at, words, "limit", window, Figure(due, "ac_voltage"), means,
            "Phase setting of each unit.", source=Source("two phasors", how_known="derived"),
        )  # fmt: skip


def _legs(bank: Bank) -> tuple[str, ...]:
    phases = tuple(sorted({inverter.phase for inverter in bank.inverters if inverter.phase}))
    if len(phases) > 1:
        return tuple(f"L{k}" for k in range(1, len(phases) + 1)) if len(phases) < 4 else ()
    most = max((inverter.kind.phases or 1 for inverter in bank.inverters), default=1)
    return tuple(f"L{k}" for k in range(1, most + 1)) if most > 1 else ()


def triangle_findings(facts: Facts, step: str) -> tuple[Finding, ...]:
    """Leg to neutral, neutral to earth, leg to earth: do they close; none before all three are read."""
    found = []
    for inverter in facts.bank.inverters:
        for leg in leg_names(inverter):
            ends = [facts.read(step, "ac_voltage", f"{inverter.name}.{at}") for at in (f"{leg}-N", f"{leg}-PE", "N-PE")]
            if None not in ends:
                found.append(_triangle(f"{inverter.name}.{leg}-PE", *(end or 0.0 for end in ends)))
    return tuple(found)


def _triangle(at: str, neutral: float, earth: float, rest: float) -> Finding:
    gap, half = abs(earth - neutral), rest + AGREE * neutral
    figure = Figure(gap, "ac_voltage")
    text = say("{at}: leg to earth lies {gap} off leg to neutral; neutral to earth is {rest}", at=at, gap=figure,
               rest=Figure(rest, "ac_voltage"))  # fmt: skip
    do = say("All three again, one meter on one range.")
    missing = () if gap <= half else (asking(f"readings.{at}.ac_voltage", "The three readings do not close."),)
    return SHEET_CARDS["V-AC-3"].found(at, figure, (None, None), text, do, missing=missing, case="triangle")
