"""A current as it may become inside the tolerances that the file gives.

Gives: widened(), told(). The 99 % quantile takes the place of the nominal current; the nominal one and the worst corner
of all tolerances stand among its inputs, so that both are printed.
Limits: of the case in which the nominal current is largest; where nothing has a tolerance the current stays as it is.
Sources: circuit/scatter/spread.
"""

from __future__ import annotations

from bankwright.forms.finding import Input
from bankwright.forms.origin import Computed
from bankwright.forms.trace import Traced, amperes
from bankwright.forms.wording import Figure, amount_text

__all__ = ["told", "widened"]

CORNER = "I_corner"
SAME = 1e-3  # of a current: no more than this is nothing to speak of


def widened(name: str, found: Traced, quantile: float, corner: float) -> Traced:
    """The larger of nominal current and quantile, with both and the corner as inputs. [A]"""
    if max(quantile, corner) <= found.value * (1.0 + SAME):
        return found
    value, low = max(found.value, quantile), found.figure.low
    high = None if found.figure.high is None else max(found.figure.high, value)
    inputs = (
        Input(
            "I_nominal", f"current of {name}, nominal resistances", amperes(found.value), _how(found, "solved network")
        ),
        Input(CORNER, f"current of {name}, worst corner of all tolerances", amperes(corner), _how(found, "one corner")),
    )
    return Traced(Figure(value, "current", low, high), (*found.inputs, *inputs), found.missing, found.case)


def _how(found: Traced, words: str) -> Computed:
    return Computed(f"{words}, {found.case}")


def told(design: Traced, factor: float = 1.0) -> str:
    """Words to put behind a current, or so many times of it: that it is a quantile, and its corner; else nothing."""
    corners = [each.figure.value for each in design.inputs if each.symbol == CORNER and isinstance(each.figure, Figure)]
    return f" in 99 of 100 banks (worst corner {amount_text(corners[0] * factor, 'current')})" if corners else ""
