"""Part B of first power-up: the bank alone, main switch open.

Gives: alone_steps(), COUNTS. Limits: which module closes when is Match's word.
Sources: 2 A at zero load, three counts: common practice, no source; closing current: Ohm's law [derived].
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking
from bankwright.bank.model import Inverter
from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Missing
from bankwright.forms.origin import Source
from bankwright.forms.trace import PRACTICE
from bankwright.forms.wording import Figure
from bankwright.prove.sheet.due import Due, Facts, StepOf
from bankwright.prove.sheet.places import branch_ohms, far_end, main_switch, module_window, poles
from bankwright.prove.sheet.survey import survey_words
from bankwright.prove.sources import AT_ZERO

__all__ = ["COUNTS", "alone_steps"]

COUNTS = 0.03  # V: three counts of 10 mV
OHM = Source("i = dE / sum of ohmic resistances", how_known="derived")
SHEET = Source("the module's data sheet", how_known="read")


def alone_steps(facts: Facts) -> Iterator[StepOf]:
    """B1 to B6."""
    yield from _joined(facts)
    yield from _before_the_main(facts)


def _joins(facts: Facts) -> bool:
    return len(facts.bank.modules) > 1


def _joined(facts: Facts) -> Iterator[StepOf]:
    """B1 to B3: each module alone, joined in order, poles to the frame."""
    yield StepOf(
        "B1",
        "Each module on alone, then off",
        ("A7",),
        "two people",
        ("The other posts are covered. One module on, all others off.",),
        ("Volts and sign at its posts, and at the far end of its plus link; then off again.",),
        tuple(_alone(facts)),
    )
    yield StepOf(
        "B2",
        "Close the modules in Match's order",
        ("B1", *(("match record",) if _joins(facts) else ())),
        "two people",
        (
            "A spark or a buzz: open, read all again.",
            "A breaker reads dE over it while it is open: read it just before.",
        ),
        (
            f"Order: {', '.join(facts.order) or 'as Match says'}. Before each: volts over its open breaker. After: its "
            "current at once.",
        ),
        tuple(_closing(facts)) if _joins(facts) else (),
    )
    yield StepOf(
        "B3",
        "Poles to the frame, live",
        ("B2",),
        "one person",
        ("A steady reading, or too few ohms: open all, find it.",),
        (
            "One meter, its range held; inverters off, data cables in. Sizes are entered with their signs: plus above "
            "zero, minus below.",
            "Meter with 47 kohm across its leads: enter that as the resistance of the meter.",
        ),
        tuple(_frame(facts)),
    )


def _before_the_main(facts: Facts) -> Iterator[StepOf]:
    """B4 to B6: signs, addresses, currents at zero load."""
    yield StepOf(
        "B4",
        "Sign at every terminal up to the open main",
        ("B3",),
        "one person",
        ("Colour proves nothing; the meter's sign does.",),
        ("Main's line side, then behind it.",),
        tuple(_signs(facts)),
    )
    yield StepOf(
        "B5",
        "Addresses against the plan",
        ("B2",),
        "one person",
        ("The program reads only.",),
        (
            survey_words(facts.survey) if facts.bank.bus else "No data bus in this file: nothing to survey.",
            *(("A module off: that address falls silent. A clean reply proves no more.",) if facts.bank.bus else ()),
        ),
        boxes=(("survey", "Surveyed, each module switched off in turn"),) if facts.bank.bus else (),
    )
    yield StepOf(
        "B6",
        "Currents at zero load",
        ("B2",),
        "one person",
        ("The clamp is zeroed closed, in place.",),
        (
            "Ten minutes after joining. Up the rack and down; the clamp turned round: half the difference of both "
            "is the current.",
        ),
        tuple(_resting(facts)) if _joins(facts) else (),
    )


def _alone(facts: Facts) -> Iterator[Due]:
    for module in facts.bank.modules:
        low, high = module_window(module)
        means = (
            "below zero: leads or link swapped",
            "too low: deeply empty",
            "nothing: asleep, or its breaker is open",
        )
        yield Due(
            "V-ALONE-1",
            "voltage",
            module.name,
            "at its own posts, alone",
            "limit",
            (low, high),
            None,
            means,
            "The module's own display; Match stops here too.",
            source=SHEET,
        )
        far = far_end(facts.bank, module)
        if far is not None:
            yield _far(facts, module.name, far)


def _far(facts: Facts, name: str, far: str) -> Due:
    own = facts.read("B1", "voltage", name)
    means = ("zero: the link is not on, or on a wrong stud", "lower by more: the meter loads a module that sleeps")
    words = f"{name} on alone: far end of its plus link, against minus"
    if own is None:
        missing = (asking(f"readings.{name}.voltage", f"Read {name} at its posts first."),)
        return Due("V-ALONE-2", "voltage", far, words, "closure", (None, None), None, means, "", missing, PRACTICE)
    return Due(
        "V-ALONE-2",
        "voltage",
        far,
        words,
        "closure",
        (own - COUNTS, own + COUNTS),
        Figure(own, "voltage"),
        means,
        "The same place again, with the meter's leads pressed on.",
        source=PRACTICE,
    )


def _closing(facts: Facts) -> Iterator[Due]:
    names = facts.order or tuple(module.name for module in facts.bank.modules)
    for place, name in enumerate(names[1:], 2):
        yield from _joining(facts, name, names[: place - 1])


def _joining(facts: Facts, name: str, before: tuple[str, ...]) -> Iterator[Due]:
    module = facts.bank.module(name)
    most = module.kind.join_within
    missing: tuple[Missing, ...] = () if most is not None else (asking(f"{module.kind.path}.parallel.join_within"),)
    means = ("volts changed since they were read: open, wait, Match again", "the meter's sign")
    window = (None, None) if most is None else (-most, most)
    yield Due(
        "V-JOIN-1",
        "voltage_drop",
        name,
        "over its open breaker, just before closing",
        "limit",
        window,
        None,
        means,
        "Match, with volts read now.",
        missing,
        SHEET,
    )
    flow = (
        "nothing though volts differ: breaker not made, module asleep, clamp not zeroed",
        "more: volts changed since read",
        "sign wrong: the clamp's arrow",
    )
    expected, asked = _current(facts, name, before)
    yield Due(
        "V-JOIN-2",
        "current",
        name,
        "at once after closing, as a size",
        "expectation",
        (None, None) if expected is None else (expected.low, expected.high),
        expected,
        flow,
        "Volts over the breaker of the next module.",
        asked,
        OHM,
    )


def _current(facts: Facts, name: str, before: tuple[str, ...]) -> tuple[Figure | None, tuple[Missing, ...]]:
    """dE over the branch and all that are closed already; three counts of the meter and the tolerances as its band."""
    gap = facts.read("B2", "voltage_drop", name)
    if gap is None:
        return None, (asking(f"readings.{name}.voltage", f"Read the volts over the open breaker of {name} first."),)
    try:
        own = branch_ohms(facts.bank, facts.bank.module(name))
        others = [branch_ohms(facts.bank, facts.bank.module(each)) for each in before]
    except NeedsValue as error:
        return None, error.missing

    def loop(end: str) -> float:
        return float(getattr(own, end)) + 1.0 / sum(1.0 / float(getattr(each, end)) for each in others)

    size = abs(gap)
    low, high = max(size - COUNTS, 0.0) / loop("high"), (size + COUNTS) / loop("low")
    return Figure(size / loop("nominal"), "current", max(low - 0.5, 0.0), high + 0.5), ()


def _frame(facts: Facts) -> Iterator[Due]:
    plus, minus = poles(facts.bank)
    means = (
        "a data cable whose common is tied to minus in a module and to earth at the computer",
        "a detector or the meter left in",
        "a sheath under a clamp",
        "an inverter that ties a pole",
        "both low and alike: damp, or a detector in the middle",
    )
    then = "Data cables out first, then one module off after the other: where it jumps is where it leaks."
    yield Due("V-FRAME-1", "frame_voltage", plus, "plus to the frame", "limit", (None, None), None, means, then)
    yield Due(
        "V-FRAME-1", "frame_voltage", minus, "minus to the frame, below zero", "limit", (None, None), None, means, then
    )
    yield Due(
        "V-FRAME-1", "voltage", plus, "plus to minus, the same meter on the same range", "limit", (None, None), None
    )
    yield Due(
        "V-FRAME-1",
        "resistance",
        plus,
        "of the meter with what lies across its leads; 10 Mohm where not entered",
        "limit",
        (None, None),
        None,
        optional=True,
    )


def _signs(facts: Facts) -> Iterator[Due]:
    switch = main_switch(facts.bank)
    lows, highs = zip(*(module_window(module) for module in facts.bank.modules), strict=True)
    if switch is not None:
        yield Due(
            "V-SIGN-1",
            "voltage",
            switch,
            "line side of the open main, against minus",
            "limit",
            (min(lows), max(highs)),
            None,
            ("below zero: a run is crossed", "nothing: a fuse is out"),
            "Volts along the path.",
            source=PRACTICE,
        )
    for inverter in facts.bank.inverters:
        yield _behind(inverter, max(highs))


def _behind(inverter: Inverter, most: float) -> Due:
    """Nothing behind the open main; unless its resistor bridges it for good, or nobody said where that is."""
    place = None if inverter.kind.precharge is None else inverter.kind.precharge.place
    means = ("a resistor that bridges the main for good", "the wrong pole is switched", "sun through the inverter")
    then, words = "Open one source after the other.", "behind the open main"
    if place == "for good":
        words = "behind the open main, through its resistor: live"
        return Due("V-DEAD-1", "voltage", inverter.name, words, "expectation", (1.0, most), None, means[1:], then)
    if place is None and inverter.kind.precharge is not None:
        return Due("V-DEAD-1", "voltage", inverter.name, words, "expectation", (-1.0, 1.0), None, means, then)
    return Due("V-DEAD-1", "voltage", inverter.name, words, "limit", (-1.0, 1.0), None, means[1:], then)


def _resting(facts: Facts) -> Iterator[Due]:
    means = (
        "charge differs: Match's second verdict, no joint",
        "all show one sign: the clamp's zero",
        "idle load of an inverter",
    )
    for module in facts.bank.modules:
        yield Due(
            "V-REST-1",
            "current",
            module.name,
            "out of the module, nothing on",
            "expectation",
            (-AT_ZERO, AT_ZERO),
            Figure(0.0, "current", -AT_ZERO, AT_ZERO),
            means,
            "The clamp turned round.",
            source=PRACTICE,
        )
