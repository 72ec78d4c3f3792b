"""What one step shows beside the rack: what to know before the hand goes in, and the unit of each reading.

Gives: Warned, warned(), unit_of(), typed_bare().
Limits: words are those of build/ and forms/; the layout is the page's.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from bankwright.forms.quantities import QUANTITIES
from bankwright.forms.sheets import ReadingWanted, Step
from bankwright.job.building import finding_words

__all__ = ["Warned", "typed_bare", "unit_of", "warned"]

_INSULATION = 1e5  # ohm: from here on a reading is one of insulation, and is shown in Mohm
_BARE = re.compile(r"[-+]?\d+(\.\d+)?")


@dataclass(frozen=True, slots=True)
class Warned:
    """One thing to know before the hand goes in: a caution (no verdict), or a finding with its verdict."""

    verdict: str
    words: str


def warned(step: Step, units: str) -> list[Warned]:
    """What fails first, then the cautions of the step, then what is not known."""
    said = [Warned("", caution.words.text(units)) for caution in step.cautions]
    found = [Warned(f.verdict, finding_words(f, units).partition(": ")[2]) for f in step.findings]
    return [*(w for w in found if w.verdict == "fail"), *said, *(w for w in found if w.verdict != "fail")]


def unit_of(wanted: ReadingWanted, units: str) -> str:
    """The unit that a bare number of a reading is in; it stands beside the field."""
    if wanted.quantity == "resistance":
        return "Mohm" if (wanted.low or 0.0) >= _INSULATION else "ohm"
    if wanted.quantity == "torque" and units == "us":
        return "in lb"
    return QUANTITIES[wanted.quantity].units[0].symbol


def typed_bare(text: str, unit: str) -> str:
    """A bare number with the unit that stands beside its field; anything else as it was typed."""
    return f"{text} {unit}" if _BARE.fullmatch(text.strip()) else text
