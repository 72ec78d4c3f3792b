"""What a ground-fault detector hides: the leak that lies beside the detector's own resistance.

Gives: least_of(), beside_finding(). Limits: a detector that stands between both poles and the frame, alike on both.
Sources: two resistances side by side [derived]; 10 % of the detector's own: common practice, no source.
"""

from __future__ import annotations

from bankwright.bank.model import Bank
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say
from bankwright.prove.sheet.cards import SHEET_CARDS

__all__ = ["beside_finding", "least_of"]

OWN = 0.1  # of the detector's resistance; common practice, no source
BESIDE = Source("resistances side by side", how_known="derived")


def least_of(bank: Bank, by_volts: float) -> float:
    """The least resistance to the frame: by the voltage, or what the detector takes for a fault, whichever is more."""
    return max(by_volts, bank.site.earthing.detector_alarm or 0.0)


def beside_finding(bank: Bank, at: tuple[str, ...], both: float) -> Finding | None:
    """The leak beside the detector; None where the file does not give the detector's resistance."""
    each = bank.site.earthing.detector_resistance
    if each is None or not bank.site.earthing.detector:
        return None
    own = each / 2.0
    over = 1.0 / both - 1.0 / own if both > 0.0 else float("inf")
    figure = Figure(both / own, "share")
    beside = over > OWN / own
    text = say(
        "Both poles show {part} of the detector's own {own}" + ("; beside it lie {leak}" if beside else ""),
        part=figure,
        own=Figure(own, "resistance"),
        **({"leak": Figure(1.0 / over, "resistance")} if beside else {}),
    )
    do = say("Lift the detector's leads and read again; far more than its own: it was not connected.")
    window = (1.0 - OWN, 1.0 + OWN)
    return SHEET_CARDS["V-FRAME-2"].found(at, figure, (None, None), text, do, source=BESIDE, caution_limits=window)
