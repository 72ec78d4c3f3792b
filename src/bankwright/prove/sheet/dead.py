"""Part A of first power-up: everything dead.

Gives: dead_steps(). Limits: who settles a fail of Plan is Plan's matter; the insulation test is an electrician's.
Sources: method of proving dead NFPA 70E 120.5(7) [read on a secondary page]; rows of IEC 60364-6 table 6A [read on a
secondary page]; 1 V, 0.1 ohm, 100 kohm: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank
from bankwright.forms.origin import Source
from bankwright.forms.trace import PRACTICE
from bankwright.prove.sheet.due import Due, Facts, StepOf
from bankwright.prove.sheet.places import poles

__all__ = ["DEAD", "dead_steps"]

DEAD, WIRE, APART = 1.0, 0.1, 1e5  # V, ohm, ohm; common practice, no source
SELV, OTHER = 0.5e6, 1.0e6  # ohm: 250 V where every converter is separated, else 500 V
ROWS = Source("IEC 60364-6", place="insulation resistance by circuit", how_known="read on a secondary page")


def dead_steps(facts: Facts) -> Iterator[StepOf]:
    """A1 to A7."""
    yield from _open_and_locked(facts)
    yield from _looked_at(facts)
    yield from _measured_dead(facts)


def _open_and_locked(facts: Facts) -> Iterator[StepOf]:
    """A1 and A2: what is there; open and locked."""
    yield StepOf(
        "A1",
        "Build is handed over, the file is what stands there",
        ("build.handover",),
        "one person",
        ("Where the file is not what stands there: stop, correct it, plan again.",),
        ("Plan's fails are none, or decided.", "The page on faults and fire hangs by the door; the phone works."),
        boxes=(("file", "File as built, fails decided"), ("page", "Page by the door, phone works")),
    )
    yield StepOf(
        "A2",
        "Everything open and locked, absence of voltage",
        ("A1",),
        "two people",
        (
            "The meter is proved on a known source before and after. A non-contact tester proves nothing here.",
            "A post whose module is off may be live from its neighbour's bar.",
        ),
        (
            "AC in, sun, generator, every module, the main switch: open, locked, one key in one pocket.",
            "Plus to minus, plus to frame, frame to minus, at each inverter and bar.",
        ),
        tuple(_absence(facts.bank)),
        (("locked", "All open, locked, tagged"), ("meter", "Meter proved twice")),
    )


def _looked_at(facts: Facts) -> Iterator[StepOf]:
    """A3 and A4: a look, and the settings by hand."""
    yield StepOf(
        "A3",
        "Look",
        ("A2",),
        "one person",
        ("Metal off hands.",),
        (
            f"{len(facts.bank.joints)} joints in the file: as many nuts, each with one unbroken line.",
            "Covers, lugs flat, no cable on an edge, nothing lies on a bar. A photo of each.",
        ),
        boxes=(("lines", "Lines unbroken and counted"), ("look", "Covers, lugs, edges, bars")),
    )
    yield StepOf(
        "A4",
        "Settings by hand",
        ("A2",),
        "one person",
        ("Nothing is set by this program.",),
        ("bankwright build FILE --show settings: set, read back, entered with --set.",),
        boxes=(("set", "Every row set, read back and entered"),),
    )


def _measured_dead(facts: Facts) -> Iterator[StepOf]:
    """A5 to A7: continuity, insulation, poles to the frame."""
    yield StepOf(
        "A5",
        "Continuity of every run",
        ("A2",),
        "one person",
        ("Ohms only on dead parts; switches open that put inverter capacitors across the bars.",),
        (
            "Hold the meter's two tips together first; subtract those ohms. Each run end to end, then plus to minus.",
            "The protective conductors are the electrician's, with 0.2 A or more.",
        ),
        tuple(_ways(facts.bank)),
    )
    yield StepOf(
        "A6",
        "Insulation record of Build",
        ("A5",),
        "electrician",
        ("Never across a module or an inverter: none is connected. A remade conductor is taken off first.",),
        ("Of the record, or made anew: plus to frame, minus to frame.",),
        tuple(_insulation(facts.bank)),
    )
    yield StepOf(
        "A7",
        "Poles to the frame, dead",
        ("A6",),
        "one person",
        ("Before any pole is earthed.",),
        ("Each pole to bare metal of the frame: nothing steady.",),
        tuple(_frame(facts.bank)),
    )


def _dead(quantity: str, at: str, words: str) -> Due:
    means = (
        "falls slowly: capacitors, wait",
        "steady near the bank's voltage: a module is on, or wired past its breaker",
        "steady and small, back after the meter's low-ohm range: sun through an inverter",
    )
    return Due(
        "V-DEAD-1",
        quantity,
        at,
        words,
        "limit",
        (-DEAD, DEAD),
        None,
        means,
        "Part one source after the other.",
        source=PRACTICE,
    )


def _absence(bank: Bank) -> Iterator[Due]:
    plus, minus = poles(bank)
    yield _dead("voltage", plus, "plus to minus at the bars")
    yield _dead("frame_voltage", plus, "to the frame")
    yield _dead("frame_voltage", minus, "to the frame")
    for inverter in bank.inverters:
        yield _dead("voltage", inverter.name, "plus to minus at its terminals")
        yield _dead("frame_voltage", inverter.posts[0], "plus to the frame")
        yield _dead("frame_voltage", inverter.posts[1], "minus to the frame")


def _ways(bank: Bank) -> Iterator[Due]:
    means = ("fuse missing, switch open", "wrong stud", "lug not on")
    for link in bank.links:
        yield Due(
            "V-WAY-1",
            "resistance",
            link.name,
            f"{link.a} to {link.b}, its switches closed; ohms of the meter's leads subtracted",
            "limit",
            (None, WIRE),
            None,
            means,
            "Lift at the middle, halve.",
            source=PRACTICE,
        )
    crossed = ("a crossed link", "a tool", "a module's electronics", "capacitors: rises while you wait")
    yield Due(
        "V-WAY-2",
        "resistance",
        poles(bank)[0],
        "plus to minus",
        "limit",
        (APART, None),
        None,
        crossed,
        "Lift at the middle, halve.",
        source=PRACTICE,
    )


def _insulation(bank: Bank) -> Iterator[Due]:
    silent = [inverter for inverter in bank.inverters if inverter.kind.isolated is None]
    missing = tuple(dict.fromkeys(asking(f"{inverter.kind.path}.isolated") for inverter in silent))
    apart = all(inverter.kind.isolated for inverter in bank.inverters)
    least, volts = (SELV, "250 V") if apart else (OTHER, "500 V")
    means = ("alike everywhere: something is still connected", "one conductor: nicked at an edge, crushed, damp")
    for at in poles(bank):
        yield Due(
            "V-INSULATION-1",
            "resistance",
            at,
            f"to the frame, {volts} of the tester",
            "limit",
            (least, None),
            None,
            means,
            "Part at the middle; warm and dry, repeat.",
            missing,
            ROWS,
        )


def _frame(bank: Bank) -> Iterator[Due]:
    for at in poles(bank):
        yield _dead("frame_voltage", at, "to the frame")
