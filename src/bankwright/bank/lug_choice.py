"""Which lug goes on a joint: the one the file names, else the one kind of the file that fits.

Gives: lug_of(), lug_or_fit(), lugs_that_fit(), hole_fits(), LEAST_GAP, LOOSE_GAP. A lug that only fits is marked:
it is to be confirmed with stud and cable in the hand.
Limits: where none or several kinds of the file fit, nothing is chosen. Stud, size of cable and class of strands must
all be known and listed.
Sources: gap of 0.2 to 1.6 mm between hole and stud:
common practice, no source, from clearance holes of ISO 273:1979 (read).
"""

from __future__ import annotations

from bankwright.bank.model import Bank, Joint, Link
from bankwright.bank.model_kinds import LugKind
from bankwright.bank.sizes import stud_diameter

__all__ = ["LEAST_GAP", "LOOSE_GAP", "hole_fits", "lug_of", "lug_or_fit", "lugs_that_fit"]

LEAST_GAP, LOOSE_GAP = 0.0002, 0.0016  # m, common practice, no source
_ROUNDING = 1e-9  # m: a gap of just 0.2 mm passes


def lug_of(link: Link, joint: Joint) -> LugKind | None:
    """The lug that the file names for a joint: its own, else that of its end of the link."""
    if joint.lug is not None or not link.joints:
        return joint.lug
    return link.lug_a if joint.name == link.joints[0] else link.lug_b if joint.name == link.joints[-1] else None


def hole_fits(hole: float, stud: str) -> bool:
    """True when hole minus stud lies between the least and the loose gap."""
    gap = hole - stud_diameter(stud)
    return LEAST_GAP - _ROUNDING <= gap <= LOOSE_GAP + _ROUNDING


def lugs_that_fit(bank: Bank, joint: Joint) -> tuple[LugKind, ...]:
    """Kinds of the file that fit the stud and are listed for cable and strands of a joint."""
    cable = bank.link(joint.link).cable
    if cable is None or cable.strands is None or joint.stud is None:
        return ()
    return tuple(
        lug
        for lug in bank.lug_kinds.values()
        if lug.hole is not None
        and hole_fits(lug.hole, joint.stud)
        and cable.size in lug.cables
        and cable.strands in lug.strands
    )


def lug_or_fit(bank: Bank, joint: Joint) -> tuple[LugKind | None, bool]:
    """The lug of a joint, and True where it is not named but the only kind of the file that fits."""
    named = lug_of(bank.link(joint.link), joint)
    if named is not None:
        return named, False
    fitting = lugs_that_fit(bank, joint)
    return (fitting[0], True) if len(fitting) == 1 else (None, False)
