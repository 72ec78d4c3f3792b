"""Stage: may these modules be joined?

    bankwright.match(bank, readings, meter=None, *, charger=None, resistor=None, cycle=None) -> Match

The package can be called, so that `bankwright.match(bank, readings)` and `bankwright.match.verdicts` both hold: it is
match() of match/face.

bank: a Bank, such as `open_bank("barn.toml").bank`. readings: what reading() made, one a module. meter: a meter of the
bank file or its accuracy, "0.5 % + 2 digits". charger, resistor: what is at hand for the times of a plan,
"20 A, 56.8 V", "10 ohm, 0.5 W". cycle: run a whole cycle (True), or never (False); None where the modules are unlike.
The answer has `.may_join`, `.equally_charged`, the findings behind each (`.joining`, `.charge`), `.order` and `.plans`.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from types import ModuleType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bankwright.bank.model import Bank
    from bankwright.match.face import ReadingText
    from bankwright.match.verdicts import Match


class _Callable(ModuleType):
    """A package that is also its chief function."""

    def __call__(
        self,
        bank: Bank,
        readings: Sequence[ReadingText],
        meter: str | None = None,
        *,
        charger: str | None = None,
        resistor: str | None = None,
        cycle: bool | None = None,
    ) -> Match:
        """Judge readings as match/face does."""
        from bankwright.match.face import match

        return match(bank, readings, meter, charger=charger, resistor=resistor, cycle=cycle)


sys.modules[__name__].__class__ = _Callable
