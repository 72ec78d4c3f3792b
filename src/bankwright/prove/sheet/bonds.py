"""Bonds and residual-current devices: one bond in each state, trips in time, nothing on an open transfer.

Gives: bond_rows(), bond_acts(), residual_rows(), stray_of(), transfer_rows(), HEATER.
Limits: each of the three readings of a bond can lie alone; the slowest of all residual-current devices is entered.
Sources: two conductors side by side [derived]; trip times of IEC 60364-6 [read], (20 / I)^1.43 s of class A [read];
0.1 A, 0.1 V, 0.5 ohm, 10 kohm: common practice, no source; 2 V and 5 V at a far socket [read, application note].
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank
from bankwright.forms.finding import Missing
from bankwright.forms.origin import Source
from bankwright.forms.trace import PRACTICE
from bankwright.forms.wording import Figure, amount_text
from bankwright.handbook.wires import ohm_per_m
from bankwright.physics.neutral import gfci_time, stray_current
from bankwright.prove.sheet.due import Due, Facts

__all__ = ["HEATER", "bond_acts", "bond_rows", "residual_rows", "stray_of", "transfer_rows"]

HEATER = 12.5  # A, a heater on one leg: the current that tells a second bond
NEAR, STRAY, DEAD = 0.1, 0.1, 1.0  # V, A, V; common practice, no source
FAR_USUAL, FAR_MOST = 2.0, 5.0  # V
TRIPS = Source("IEC 60364-6, residual-current devices", how_known="read on a secondary page")
CLASS_A = Source("(20 / I)^1.43, I in mA", how_known="read")
LOADED = Source("neutral's drop at the far socket", how_known="read, application note")
TWO = (
    "two bonds: a green screw in a sub-panel",
    "relays of two units closed at once",
    "a bonded generator behind a transfer that does not switch the neutral",
)


def _ohms(bank: Bank) -> tuple[float, float] | None:
    """Resistance of a metre of neutral and of protective conductor, equally long; None where nobody said the sizes."""
    bonds = bank.site.bonds
    if bonds.neutral is None or bonds.protective is None:
        return None
    return ohm_per_m(bonds.neutral).value, ohm_per_m(bonds.protective).value


def stray_of(bank: Bank, heater: float) -> float:
    """Current on PE with two bonds, by this file's conductors or by 10 AWG beside 6 AWG. [A]"""
    return stray_current(heater, *(_ohms(bank) or (1.61, 4.07)))


def bond_acts(bank: Bank) -> tuple[str, ...]:
    """What the clamp shows with one bond and with two, by this file's conductors or by two usual ones."""
    found = _ohms(bank)
    if found is None:
        equal, small = stray_current(HEATER, 1.0, 1.0), stray_current(HEATER, 1.61, 4.07)
        told = f"{small:.1f} A with 6 AWG neutral and 10 AWG PE, {equal:.2f} A with equal sizes"
    else:
        two = stray_current(HEATER, *found)
        told = f"{two:.1f} A with {bank.site.bonds.neutral} neutral and {bank.site.bonds.protective} PE"
    return (
        f"Clamp round the protective conductor between panel and source, heater of {HEATER:g} A on: one bond below "
        f"0.1 A; two bonds {told} (derived).",
        "Each of the three readings can lie alone: relays that close only when running are not seen dead.",
    )


def bond_rows(facts: Facts, step: str, state: str) -> Iterator[Due]:
    """Dead ohms, volts near and far under a heater, and the clamp round the protective conductor."""
    where = getattr(facts.bank.site.bonds, state)
    gaps: tuple[Missing, ...] = () if where else (asking(f"site.bonds.{state}"),)
    at = f"; by the file the bond is at: {where}" if where else ""
    dead = f"dead and locked, N to PE{at}: below 0.5 ohm bonded, above 10 kohm not"
    yield Due(
        "V-BOND-2", "resistance", "panel.N-PE", dead, "expectation", (None, None), None, (), "", gaps, PRACTICE,
        optional=True,
    )  # fmt: skip
    yield Due(
        "V-BOND-2", "ac_current", "panel.L", "heater: its current", "expectation", (1.0, None), None,
        ("no heater is on",), "10 to 15 A on one leg.", source=PRACTICE, optional=True,
    )  # fmt: skip
    yield Due(
        "V-BOND-2", "ac_voltage", "panel.N-PE", "heater near the panel: N to PE at the panel", "expectation",
        (None, NEAR), None, ("no bond here: it is at the source, or missing",), "The clamp round PE.",
        source=PRACTICE, optional=True,
    )  # fmt: skip
    yield Due(
        "V-BOND-2", "ac_voltage", "socket.N-PE", "the farthest socket under load: the neutral's drop", "expectation",
        (NEAR, FAR_USUAL), None, (f"below 0.1 V: a bond near it; above {FAR_MOST:g} V: a poor neutral joint",),
        "The clamp round PE.", source=LOADED, optional=True,
    )  # fmt: skip
    yield _stray(facts, step)


def _stray(facts: Facts, step: str) -> Due:
    """The clamp round PE: a limit; what two bonds would show with the heater that was read."""
    heater = facts.read(step, "ac_current", "panel.L") or HEATER
    small, equal = stray_of(facts.bank, heater), stray_current(heater, 1.0, 1.0)
    sizes = "" if _ohms(facts.bank) else " for 10 AWG beside 6 AWG"
    told, alike = amount_text(small, "ac_current"), amount_text(equal, "ac_current")
    means = (f"two bonds: {told}{sizes}, {alike} for equal sizes",)
    return Due(
        "V-BOND-1", "ac_current", "panel.PE", f"round PE, heater of {heater:g} A on: one bond", "limit", (None, STRAY),
        Figure(0.0, "ac_current"), (*means, *TWO), "One unit off, again; stop until it is found.", source=PRACTICE,
    )  # fmt: skip


def residual_rows(bank: Bank) -> Iterator[Due]:
    """Trip times by the rule book: multiples of the rated current, or class A's curve."""
    means = (
        "its button trips and the tester does not: no bond, or no protective conductor",
        "trips as a heater starts: neutrals of two circuits mixed, or a second bond",
        "behind an inverter that is not separated: blinded by direct current",
    )
    rows = [("RCD.1x", "at its rated current", 0.3, TRIPS), ("RCD.5x", "at five times its current", 0.04, TRIPS)]
    if bank.book == "nec-2023":
        rows = [(f"RCD.{mA:g}mA", f"class A at {mA:g} mA", gfci_time(mA * 1e-3), CLASS_A) for mA in (6.0, 30.0, 264.0)]
    for at, words, most, source in rows:
        yield Due(
            "V-RESIDUAL-1", "time", at, f"slowest of all, {words}", "limit", (None, most), None, means,
            "The same device at its own terminals.", source=source,
        )  # fmt: skip


def transfer_rows(bank: Bank) -> Iterator[Due]:
    """Nothing on the utility's side of the opened transfer."""
    legs = ("L1-N", "L2-N") if len(bank.inverters) > 1 or any(i.kind.phases == 2 for i in bank.inverters) else ("L-N",)
    for at in (*legs, "N-PE"):
        yield Due(
            "V-TRANSFER-1", "ac_voltage", f"utility.{at}", "utility's side of the opened transfer, by a low-ohm meter",
            "limit", (None, DEAD), None,
            ("stop: the transfer feeds back into the grid", "a phantom of a meter of 10 Mohm: a low-ohm one"),
            "The electrician, before anything else.", source=PRACTICE,
        )  # fmt: skip
