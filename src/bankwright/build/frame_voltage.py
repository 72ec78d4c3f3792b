"""A pole against the frame, as read: what it says of the earthing that the bank file gives.

Gives: frame_words(). A pole that reads nearly the whole voltage of the bank says that the other one lies at the frame.
Limits: one reading is no resistance: with both poles and the meter's own resistance Prove computes it. Read with
inverters off. The frame's bond is tested by itself (build.bond).
Sources: a floating bank survives its first earth fault in silence (IEC 60364-4-41, from memory); shares of the voltage
that decide: common practice, no source.
"""

from __future__ import annotations

from bankwright.bank.model import Bank, Pole
from bankwright.forms.finding import Verdict
from bankwright.handbook.cells import cell_voltage

__all__ = ["frame_words"]

WHOLE = 0.9  # of the bank's voltage; common practice, no source
NOTHING = 0.1  # of it; common practice, no source
DEAD = 1.0  # V; common practice, no source
NAMES = {"+": "plus", "-": "minus"}


def frame_words(bank: Bank, pole: Pole, volts: float) -> tuple[Verdict, str]:
    """Verdict and one sentence: "pass", "caution", "fail", or "unknown" where the earthing is not settled."""
    cells = max((module.kind.cells for module in bank.modules), default=16)
    lowest = cell_voltage("empty").value * cells
    size, other = abs(volts), NAMES["-" if pole == "+" else "+"]
    if size <= DEAD:
        return (
            "pass",
            f"{NAMES[pole]} stands near the frame: right where all is off, or where {NAMES[pole]} is earthed.",
        )
    if (volts > 0) != (pole == "+"):
        return (
            "fail",
            f"{NAMES[pole]} reads on the wrong side of the frame: leads swapped, or a reversed part. Read again.",
        )
    if bank.site.earthing.pole is None:
        return (
            "unknown",
            "Which pole is earthed is not in the file (site.earthing.pole): settle it, then this can be judged.",
        )
    return _live(bank, pole, size, lowest, other)


def _live(bank: Bank, pole: Pole, size: float, lowest: float, other: str) -> tuple[Verdict, str]:
    earthed = bank.site.earthing.pole
    whole = size >= WHOLE * lowest
    if earthed == "none" and whole:
        return "fail", (
            f"Nearly the whole voltage: {other} lies at the frame, though the file says that no pole is earthed. Stop: "
            "open all, unplug the data cables first, find the path."
        )
    if earthed == "none":
        return "caution", (
            "A floating pole that holds a steady voltage leaks over the other one, or a detector or an inverter ties "
            "it. Read the other pole too; all off, it must fall to nothing."
        )
    if earthed == NAMES[pole]:
        return (
            "fail",
            f"{NAMES[pole]} is the earthed pole and does not lie at the frame: its conductor is open or loose.",
        )
    return (
        ("pass", f"As it must be with {earthed} earthed.")
        if whole
        else (
            "fail",
            f"With {earthed} earthed, {NAMES[pole]} must show the bank's whole voltage against the frame: it does not.",
        )
    )
