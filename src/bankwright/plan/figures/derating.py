"""How much of its rating a device carries in warm air.

Gives: derating(). The device's own curve rules. Without one: a fuse loses 0.5 % a kelvin, above 25 degC by one reading
and above 40 degC by the other; a breaker is set at 40 degC and carries all of its rating up to there.
Limits: between the points of a curve a straight line; beyond its last point no more than there: NeedsValue where that
would be enough.
Sources: iec-60269/points (practice and read), ul-489/points.
"""

from __future__ import annotations

from itertools import pairwise

from bankwright.bank.asks import asking
from bankwright.bank.model import Device
from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Input
from bankwright.forms.origin import Source
from bankwright.forms.trace import Traced, given
from bankwright.forms.wording import Figure
from bankwright.handbook.tables import load
from bankwright.physics.device import derated
from bankwright.plan.context import Plan

__all__ = ["derating"]

PER_KELVIN, LATE, EARLY = 0.005, 40.0, 25.0  # iec-60269/points: two readings of where a fuse begins to carry less
TWO_READINGS = Source("derating of fuses, two readings", "", "0.5 % a kelvin above 25 or 40 degC", "published range")


def derating(plan: Plan, device: Device, air_degc: float, need: float) -> Traced:
    """Share of the rating carried; `need` (share wanted) decides which reading settles the question."""
    kind, key = device.kind, f"{device.kind.path}.derating"
    if kind.derating:
        name, value = f"derating of {device.name}", _on_curve(kind.derating, air_degc)
        if value is None:
            last, value = max(kind.derating)
            lacks = f"the derating of {device.name} ends at {last:g} degC, and its air may have {air_degc:g} degC"
            if need <= value:
                ask = f"What share of its rating does the {kind.name} carry at {air_degc:g} degC?"
                raise NeedsValue(asking(key, question=ask, lacks=lacks))
            name += f", at most: its curve ends at {last:g} degC"
        return Traced(Figure(value, "share"), (given("f_T", name, value, "share", plan.bank.key(key)),))
    if kind.type == "breaker":
        return _breaker(device, air_degc, key)
    best = float(derated(1.0, air_degc, LATE, PER_KELVIN))
    worst = float(derated(1.0, air_degc, EARLY, PER_KELVIN))
    if worst == 1.0:
        return Traced(
            Figure(1.0, "share"),
            (Input("f_T", "cooler than any reading of where derating begins", Figure(1.0, "share"), TWO_READINGS),),
        )
    if worst < need <= best:
        raise NeedsValue(asking(key))
    value = worst if need <= worst else best
    name = f"derating of {device.name}, not given: {value:.0%} is the end that decides"
    return Traced(
        Figure(value, "share"),
        (Input("f_T", name, Figure(value, "share", worst, best), TWO_READINGS, True, asking(key)),),
    )


def _breaker(device: Device, air_degc: float, key: str) -> Traced:
    if air_degc > LATE:
        raise NeedsValue(asking(key))
    source = load("ul-489/points").source
    return Traced(Figure(1.0, "share"), (Input("f_T", f"{device.name} is set at 40 °C", Figure(1.0, "share"), source),))


def _on_curve(points: tuple[tuple[float, float], ...], air_degc: float) -> float | None:
    """Straight between points, the first value below the first; None beyond the last."""
    ordered = sorted(points)
    if air_degc <= ordered[0][0]:
        return ordered[0][1]
    for (t0, f0), (t1, f1) in pairwise(ordered):
        if air_degc <= t1:
            return f0 + (f1 - f0) * (air_degc - t0) / (t1 - t0)
    return None
