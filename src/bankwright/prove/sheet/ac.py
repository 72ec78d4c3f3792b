"""Parts D and G of first power-up: the AC side, for a licensed electrician, where the file has an inverter.

Gives: island_steps(), state_steps(). What the electrician reads is entered and judged as typed; the signature is a box.
Limits: rows are those of one place each: the inverter's own terminals, the panel, the farthest socket, the slowest
residual-current device; loop and earth-electrode measurements are not here.
Sources: at each row (prove/sheet/legs, prove/sheet/bonds).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from bankwright.bank.model import Bank
from bankwright.forms.wording import amount_text
from bankwright.prove.sheet.bonds import bond_acts, bond_rows, residual_rows, transfer_rows
from bankwright.prove.sheet.due import Due, Facts, StepOf
from bankwright.prove.sheet.legs import between_row, leg_rows

__all__ = ["island_steps", "state_steps"]

CAUTION = "120 or 240 V is another class of danger than the bank. Covers of AC parts: the electrician's."
SIGNED = ("signed", "Read and signed by the electrician, with name and tester")


def island_steps(facts: Facts) -> Iterator[StepOf]:
    """D1 to D3; nothing where the file has no inverter."""
    bank = facts.bank
    if not bank.inverters:
        return
    several = len(bank.inverters) > 1
    yield StepOf(
        "D1",
        "AC volts in island, no appliance",
        ("C4",),
        "electrician",
        (CAUTION,),
        (
            "One inverter on, its output breaker open; read at its own terminals"
            + ("; then the next, then both." if several else "."),
            "L-PE and N-PE each about half of L-N on a meter of high resistance: no bond; a low one makes them fall.",
        ),
        (*_states(facts, "D1"), *between_row(bank)),
        (SIGNED,),
    )
    yield StepOf(
        "D2",
        "Bonds in island: one",
        ("D1",),
        "electrician",
        (CAUTION,),
        bond_acts(bank),
        tuple(bond_rows(facts, "D2", "island")),
        (SIGNED,),
    )
    yield StepOf(
        "D3",
        "Residual-current devices, before any person uses a socket",
        ("D2",),
        "electrician",
        ("Its own button proves no bond: it works without any earth.",),
        ("With a tester, at the sockets. Trips as a heater starts: neutrals of two circuits mixed, or a second bond.",),
        tuple(residual_rows(bank)),
        (("hold", "At half its current none trips; class A holds at 4 mA (read)"), SIGNED),
    )


def _states(facts: Facts, step: str) -> Iterator[Due]:
    for inverter in facts.bank.inverters:
        yield from leg_rows(facts, step, inverter)


def state_steps(facts: Facts) -> Iterator[StepOf]:
    """G1 to G4; nothing where the file has no inverter."""
    if not facts.bank.inverters:
        return
    yield _utility(facts)
    yield _transferred(facts)
    yield _generator(facts)
    yield _black()


def _utility(facts: Facts) -> StepOf:
    before, acts = "F1" if facts.bank.chargers else "E4", bond_acts(facts.bank)
    utility = tuple(_optional((*_states(facts, "G1"), *bond_rows(facts, "G1", "utility"))))
    return StepOf(
        "G1", "Utility: volts, bonds again", (before,), "electrician", (CAUTION,), acts, utility,
        (("signed", "Read and signed by the electrician; or: there is no utility"),),
    )  # fmt: skip


def _transferred(facts: Facts) -> StepOf:
    return StepOf(
        "G2",
        "Transfer, both ways, with a light load",
        ("G1",),
        "electrician",
        ("Volts on the utility side of an open transfer: stop.",),
        ("That the units cease on a dead grid is their listing and the utility's witness, not this sheet's.",),
        tuple(transfer_rows(facts.bank)),
        (
            ("time", f"Transfer {_transfer(facts.bank)}; lamp and electronics held"),
            ("back", "Island volts as in D1 after the transfer; utility volts as in G1 after it came back"),
        ),
    )


def _generator(facts: Facts) -> StepOf:
    return StepOf(
        "G3",
        "Generator, where there is one: no load, then charging",
        ("G2",),
        "electrician",
        ("Hunting: the charger's limit is too high for the set. A neutral that floats: no bond.",),
        (*bond_acts(facts.bank), "Charge power at most 0.9 of its apparent power, less the loads."),
        tuple(_optional((*_states(facts, "G3"), *bond_rows(facts, "G3", "generator")))),
        (("none", "Charged from it at 50 %, steady; or: there is no generator"),),
    )


def _black() -> StepOf:
    return StepOf(
        "G4",
        "Black start: everything off, the bank alone",
        ("G2",),
        "two people",
        ("Loads held off until the message is up.",),
        ("Modules wake in the plan's order. One that trips at once: pre-charge was not held.",),
        boxes=(
            ("woke", "Every module woke without a charger; which did not is noted"),
            ("first", "The first alone carried pre-charge and standby"),
            ("message", "Message up before the loads; volts of the first minute noted"),
        ),
    )


def _optional(rows: tuple[Due, ...]) -> Iterator[Due]:
    """Rows of a source that may not be there."""
    for due in rows:
        yield replace(due, optional=True)


def _transfer(bank: Bank) -> str:
    """The time of the transfer, as the sheets of the inverters say."""
    times = sorted({i.kind.transfers_within for i in bank.inverters if i.kind.transfers_within is not None})
    if not times:
        return "within the time of the maker's sheet (kinds.inverter.*.transfers_within is not given)"
    return f"within {amount_text(times[-1], 'time')}, its sheet"
