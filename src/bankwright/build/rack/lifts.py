"""Lifting each module into its slot: what the equation allows, at both ends, for one, two, three people.

Gives: Lift, lifts(), lift_findings(), hands_for(). The sheet plans a lift table for every module that the equation
does not give to people; the figures say why.
Limits: hands at half the height of the module, standing on the floor at the start; fair coupling (no handles), no
turning of the body, few lifts. Kneeling, low slots and reaching into a frame lie outside the equation: read the
index as a lower bound of the risk. Team factors come from another source than the equation.
Sources: NIOSH 94-110 (rev. 2021) with tables 5 and 7; UK HSE L23 for teams (niosh-94-110 and hse-l23 in the handbook).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank
from bankwright.bank.places import Seat, seats
from bankwright.build import cards
from bankwright.forms.constants import RACK_UNIT
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Computed, Source
from bankwright.forms.wording import Figure, Say, say
from bankwright.handbook.tables import load, look_up
from bankwright.physics.lifting import horizontal_reach, lifting_index, recommended_mass, team_capacity

__all__ = ["Hands", "Lift", "hands_for", "lift_findings", "lifts"]

FEW_LIFTS = 0.2  # a minute: the first row of table 5, less often counts as that
KNUCKLE = 0.75  # m, boundary of tables 5 and 7
DEFAULT_DEPTH = 0.60  # m, deeper than usual rack modules: stands in where the kind is silent, on the bad side
Hands = Literal["one person", "two people", "a lift"]


@dataclass(frozen=True, slots=True)
class Lift:
    """One module lifted by hand from the floor to its slot."""

    module: str
    mass: float | None
    start: float  # height of the hands at the origin
    end: float  # at the slot
    from_floor: bool  # False: the rack does not say how high unit 1 is; counted from unit 1
    allowed_start: float  # kg for one person, at the origin
    allowed_end: float
    index: Mapping[int, float]  # by number of people, the worse end
    people: int | None  # fewest whose index is at most the goal; None: nobody by hand
    assumed_depth: bool

    @property
    def allowed(self) -> float:
        """The lower of both ends."""
        return min(self.allowed_start, self.allowed_end)


def lifts(bank: Bank) -> tuple[Lift, ...]:
    """Lift of every module that has a slot, from the bottom up."""
    return tuple(_lift(bank, seat) for seat in seats(bank))


def _lift(bank: Bank, seat: Seat) -> Lift:
    kind = bank.module(seat.module).kind
    half = (kind.height or seat.units * RACK_UNIT) / 2
    depth = kind.depth or DEFAULT_DEPTH
    start, end = half, seat.bottom + half
    frequency = look_up("niosh-94-110/table-5", FEW_LIFTS, "short_high" if start >= KNUCKLE else "short_low").value
    allowed = []
    for height in (start, end):
        coupling = look_up("niosh-94-110/table-7", "fair", "high" if height >= KNUCKLE else "low").value
        reach = horizontal_reach(depth, height)
        allowed.append(recommended_mass(reach, height, end - start, 0.0, frequency, coupling_multiplier=coupling))
    index = {
        people: math.inf if kind.mass is None else lifting_index(kind.mass, team_capacity(min(allowed), people, factor))
        for people, factor in _team()
    }
    goal = look_up("niosh-94-110/limits", "goal", "index").value
    enough = None if kind.mass is None else next((people for people, li in index.items() if li <= goal), None)
    return Lift(
        seat.module, kind.mass, start, end, seat.from_floor, allowed[0], allowed[1], index, enough, kind.depth is None
    )


def _team() -> list[tuple[int, float]]:
    table = load("hse-l23/team")
    return [(int(row["persons"]), float(row["factor"])) for row in table.rows]


def hands_for(lift: Lift | None) -> Hands:
    """Who does it: people only where the equation gives it to one or two; else a lift."""
    if lift is not None and lift.people == 1:
        return "one person"
    return "two people" if lift is not None and lift.people == 2 else "a lift"


def lift_findings(bank: Bank, lift: Lift) -> Iterator[Finding]:
    """The lift by hand with the people at hand (two where the file does not say)."""
    people = min(1 + (1 if bank.site.helpers is None else bank.site.helpers), max(lift.index))
    goal = look_up("niosh-94-110/limits", "goal", "index")
    assert isinstance(goal.origin, Source)
    at = (lift.module,)
    if lift.mass is None:
        missing = (asking(f"{bank.module(lift.module).kind.path}.mass"),)
        do = say("Use a lift table.")
        yield cards.LIFT.found(
            at, None, (None, goal.value), None, do, source=goal.origin, missing=missing, ends_at="fail"
        )
        return
    index, out_of_reach = lift.index[people], lift.allowed <= 0
    text = say(
        "{n} from the floor to {height}: {said}",
        n="One person" if people == 1 else f"{people} people",
        height=Figure(lift.end, "height"),
        said="outside the equation, above reach."
        if out_of_reach
        else f"lifting index {index:.1f}; goal 1, above 3 do not lift by hand.",
    )
    yield cards.LIFT.found(
        at,
        None if out_of_reach else Figure(index, "ratio"),
        (None, None if out_of_reach else goal.value),
        text,
        _instead(lift.module, out_of_reach),
        source=goal.origin,
        inputs=_put_in(bank, lift, lift.mass, people),
        forced="fail" if out_of_reach else None,
        ends_at="fail" if out_of_reach else "caution",
    )


def _instead(module: str, out_of_reach: bool) -> Say:
    if out_of_reach:
        return say("Use a lower slot, or a lift table that reaches this one; nobody lifts it by hand.")
    words = "Raise {module} with a lift table, stacker or hoist and slide it in; people only guide."
    return say(words, module=module)


def _put_in(bank: Bank, lift: Lift, mass: float, people: int) -> tuple[Input, ...]:
    path, hands = bank.module(lift.module).kind.path, f"{lift.start * 100:.0f} cm, {lift.end * 100:.0f} cm"
    return (
        Input("L", "mass", Figure(mass, "mass"), bank.key(f"{path}.mass")),
        Input("V", "hands at the start, at the slot", hands, Computed("rack units")),
        Input("RWL", "one person, worse end", Figure(lift.allowed, "mass"), Computed("LC HM VM DM AM FM CM, metric")),
        Input("n", "people", str(people), bank.key("site.helpers"), bank.site.helpers is None),
    )
