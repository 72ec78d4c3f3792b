"""What was overheard of a bus on which nothing is asked: facts only.

Gives: Overheard (a survey's Facts with what stands of each module), overheard().
Limits: conclusions are drawn in overheard/explain.py, and by each source beside it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from bankwright.bus.modbus.taken import Chunk
from bankwright.bus.passive import Arrival, Standing
from bankwright.bus.poll import Target
from bankwright.bus.source import Value
from bankwright.bus.survey.facts import Expected, Facts, Listened
from bankwright.forms.readings import TIME_UNSURE

__all__ = ["Overheard", "overheard"]

OFTEN = 3  # times that each value was said again: common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Overheard(Facts):
    """All that came within `seconds`; `standing`: module -> value -> arrival."""

    seconds: float
    values: Sequence[Value]  # that the map knows of each module
    standing: Mapping[str, Mapping[str, Arrival]] = field(default_factory=dict)
    strangers: Mapping[str, int] = field(default_factory=dict)  # number or name that the bank does not have -> times

    still: tuple[str, ...] = ()  # modules that said every value again and again, always the same

    def heard(self, module: str) -> dict[str, Arrival]:
        """Values of a module that came while it was listened to."""
        found = self.standing.get(module, {})
        return {name: each for name, each in found.items() if each.value.quality != TIME_UNSURE}

    @property
    def found(self) -> tuple[int, ...]:
        """Numbers of the modules that were heard."""
        return tuple(sorted(target.unit for target in self.expected.modules if self.heard(target.name)))


def overheard(
    standing: Standing,
    targets: Sequence[Target],
    values: Sequence[Value],
    *,
    seconds: float,
    now: float,
    strangers: Mapping[str, int],
) -> Overheard:
    """What stands now of the modules that should be heard."""
    return Overheard(
        expected=Expected(tuple(targets)),
        framing=None,
        before=Listened(seconds, None, Chunk()),
        seconds=seconds,
        values=values,
        standing={module: standing.values(module, now) for module in standing.modules},
        strangers=strangers,
        still=_still(standing),
    )


def _still(standing: Standing) -> tuple[str, ...]:
    """Modules that moved not at all, of those that spoke often; none where nobody moved: a bank at rest."""
    if not standing.moved:
        return ()
    often = {module: [n for (m, _), n in standing.again.items() if m == module] for module in standing.modules}
    return tuple(m for m, times in often.items() if times and min(times) >= OFTEN and m not in standing.moved)
