"""One module takes clearly less than the others while charging: what can be concluded, and what would tell.

Gives: uneven_sharing(). With charging currents alone nothing is known: higher charge, higher resistance and a smaller
module all look the same. The currents of a discharge part them.
Limits: currents read at one time, all modules closed; "clearly" is a fifth below the middle [common practice, no
source].
Source: current goes by resistance after a step and by capacity in the end (Weng et al., arXiv 2211.04961 [read]).
"""

from __future__ import annotations

from collections.abc import Mapping
from statistics import median

from bankwright.forms.finding import Finding, Missing
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say

__all__ = ["uneven_sharing"]

CLEARLY = 0.8  # of the middle of the others; common practice, no source
SHARING = Source("current divides by resistance after a step, by capacity in the end", how_known="derived")
REASONS = "a higher state of charge, a higher resistance (a joint, a weak cell), or a smaller capacity"


def _ratio(currents: Mapping[str, float], name: str) -> float:
    others = [abs(value) for key, value in currents.items() if key != name]
    middle = median(others)
    return abs(currents[name]) / middle if middle else 1.0


def uneven_sharing(charging: Mapping[str, float], discharging: Mapping[str, float] | None = None) -> Finding | None:
    """Judge currents (A, either sign) of all modules while charging and, where known, while discharging."""
    if len(charging) < 2:
        return None
    name = min(charging, key=lambda key: abs(charging[key]))
    taken = _ratio(charging, name)
    if taken >= CLEARLY:
        return None
    figure = Figure(taken, "share")
    head = "{module} takes {share} of what the others take while charging: "
    if discharging is None or name not in discharging:
        missing = (
            Missing(
                f"readings.{name}.current",
                f"Read the current of {name} and of the others a minute into a discharge.",
                "measure",
            ),
            Missing(
                f"readings.{name}.voltage", f"Read the rested voltage of {name} alone, and of one other.", "measure"
            ),
            Missing(f"joints of {name}", f"Read the drop over each joint of {name} under the same current.", "measure"),
        )
        return _finding(name, figure, head + REASONS + ". Nothing tells them apart yet", missing)
    given = _ratio(discharging, name)
    if given < CLEARLY:
        reason = "low in both directions: a higher resistance, or a smaller capacity; the joint drops tell which"
    elif given > 1.0:
        reason = "low while charging and high while discharging: it holds more charge than the others"
    else:
        reason = "even while discharging: it fills first; read it again when the others are full"
    return _finding(name, figure, head + reason, ())


def _finding(name: str, figure: Figure, words: str, missing: tuple[Missing, ...]) -> Finding:
    return Finding(
        "M-TAKE-1",
        "One module takes less than the others",
        (name,),
        figure,
        (None, None),
        SHARING,
        say(
            "Read the currents of a discharge: low both ways means resistance or a smaller module, low in and high out "
            "means "
            "it is fuller, falling over the charge means it fills first."
        ),
        missing=missing,
        forced=None if missing else "caution",
        formula="I_k / middle of the others >= 0.8",
        text=say(words, module=name, share=figure),
    )
