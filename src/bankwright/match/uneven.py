"""One module takes clearly less than the others while charging: what can be concluded, and what would tell.

Gives: uneven_sharing(). With charging currents alone nothing is known: higher charge, higher resistance and a smaller
module all look the same. The currents of a discharge part them.
Limits: currents read at one time, all modules closed;
"clearly" is a fifth below the middle [common practice, no source].
Source: current goes by resistance after a step and by capacity in the end (Weng et al., arXiv 2211.04961 [read]).
"""

from __future__ import annotations

from collections.abc import Mapping
from statistics import median

from bankwright.bank.asks import asking
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say
from bankwright.match import cards

__all__ = ["uneven_sharing"]

CLEARLY = 0.8  # of the middle of the others; common practice, no source
SHARING = Source("current divides by resistance after a step, by capacity in the end", how_known="derived")
REASONS = "a higher state of charge, a higher resistance (a joint, a weak cell), or a smaller capacity"
EMPTIER = "a lower state of charge, a higher resistance (a joint, a weak cell), or a smaller capacity"


def _ratio(currents: Mapping[str, float], name: str) -> float:
    others = [abs(value) for key, value in currents.items() if key != name]
    middle = median(others)
    return abs(currents[name]) / middle if middle else 1.0


def uneven_sharing(
    charging: Mapping[str, float] | None, discharging: Mapping[str, float] | None = None
) -> Finding | None:
    """Judge currents (A, either sign) of all modules while charging, while discharging, or both, at one load each."""
    way, level = ("charging", charging) if charging else ("discharging", discharging)
    if not level or len(level) < 2:
        return None
    name = min(level, key=lambda key: abs(level[key]))
    taken = _ratio(level, name)
    if taken >= CLEARLY:
        return None
    figure = Figure(taken, "share")
    if way == "discharging":
        words = "{module} gives {share} of what the others give while discharging: "
        words += EMPTIER + ". Nothing tells them apart yet"
        return _finding(name, figure, words, _asked(name, "another load, twice as large"))
    head = "{module} takes {share} of what the others take while charging: "
    if discharging is None or name not in discharging:
        return _finding(name, figure, head + REASONS + ". Nothing tells them apart yet", _asked(name))
    given = _ratio(discharging, name)
    if given < CLEARLY:
        reason = "low in both directions: a higher resistance, or a smaller capacity; the joint drops tell which"
    elif given > 1.0:
        reason = "low while charging and high while discharging: it holds more charge than the others"
    else:
        reason = "even while discharging: it fills first; read it again when the others are full"
    return _finding(name, figure, head + reason, ())


def _asked(name: str, load: str = "") -> tuple[Missing, ...]:
    """What would part the reasons; `load`: at which other load the currents are to be read."""
    how = f"Read the currents of all modules at {load}." if load else ""
    return (
        asking(f"readings.{name}.current", how),
        asking(f"readings.{name}.voltage", f"Read the rested voltage of {name} alone, and of one other."),
        asking(f"joints of {name}", f"Read the drop over each joint of {name} under the same current."),
    )


def _finding(name: str, figure: Figure, words: str, missing: tuple[Missing, ...]) -> Finding:
    return cards.TAKES_LESS.found(
        name,
        figure,
        (None, None),
        say(words, module=name, share=figure),
        say(
            "Read the currents of a discharge: low both ways means resistance or a smaller module, low in and high out "
            "means "
            "it is fuller, falling over the charge means it fills first."
        ),
        missing=missing,
        forced=None if missing else "caution",
    )
