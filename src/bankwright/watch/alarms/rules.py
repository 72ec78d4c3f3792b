"""The rules: what was just heard of each module, held against its limits.

Gives: Seen, Judgement, judge(), RULES. A rule says for each place whether its limit is passed, whether the value is
well back behind it (hysteresis), or neither; a value that was not heard is judged by no rule but silence.
Limits: no time here: how long a limit must be passed is watchman's matter. A share is judged while the bank carries 5 A
a module, against the mean of those heard.
Sources: limits: limits.py; spread by zone: on the plateau a volt is a large part of the charge, near the ends hardly
any [common practice, no source]; under current the cells' own resistances add a tenth of I R to the spread [derived].
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bankwright.watch.alarms.limits import Limit, Limits

__all__ = ["MILD", "OF_JOINTS", "RULES", "Judgement", "Seen", "judge"]

# rule: its words, quantity of its figure
RULES: dict[str, tuple[str, str]] = {
    "cell-high": ("a cell is too high", "cell_voltage"),
    "cell-low": ("a cell is too low", "cell_voltage"),
    "cell-spread": ("its cells lie too far apart", "cell_spread"),
    "hot": ("too warm", "temperature_degc"),
    "cold": ("too cold", "temperature_degc"),
    "current": ("its current passes what it bears", "current"),
    "share": ("its share of the current is off", "share"),
    "silent": ("silent", "time"),
    "contradiction": ("its sensors contradict each other", "voltage"),
    "joint": ("it has grown out of its own baseline: look at it", "resistance"),
    "joint-past": ("it has grown past what its place bears", "resistance"),
}
OF_JOINTS = frozenset(
    {"joint", "joint-past"}
)  # their places are links and joints; judged by watch/joints, once an hour
MILD = frozenset({"joint"})  # a caution to look, no more
BACK = {"cell-high": 0.03, "cell-low": 0.05, "cell-spread": 0.01, "hot": 2.0, "cold": 2.0, "share": 0.05}  # SI
KNEE_HIGH, KNEE_LOW = 3.40, 3.15  # V, mean of the cells beyond which it is no plateau; common practice, no source
CARRIES = 5.0  # A a module from which shares are judged
CELL_OHM = 0.6e-3 * 0.1  # ohm of spread a cell, a tenth of a usual one; common practice, no source
OWN_SUM, OTHERS = 0.5, 1.0  # V between a module and its cells, and between it and the middle of all


@dataclass(frozen=True, slots=True)
class Seen:
    """What one module last said; NaN and empty where it did not; `age` of it in s."""

    module: str
    age: float
    volts: float = math.nan
    amps: float = math.nan  # leaving the module
    cells: tuple[float, ...] = ()
    warmth: tuple[float, ...] = ()  # degC


@dataclass(frozen=True, slots=True)
class Judgement:
    """One rule at one place: figure, limit, and whether the limit is passed, or the figure is well back."""

    rule: str
    at: str
    value: float
    limit: float
    over: bool
    back: bool


def judge(seen: Sequence[Seen], limits: dict[str, Limits]) -> Iterator[Judgement]:
    """Every rule over every module."""
    fresh = [each for each in seen if each.age <= limits[each.module].silence.value]
    for each in seen:
        own = limits[each.module]
        yield _over("silent", each.module, each.age, own.silence.value, 0.5 * own.silence.value)
    for each in fresh:
        own = limits[each.module]
        yield from _cells(each, own)
        yield from _warmth(each, own)
        yield from _current(each, own)
    yield from _shares(fresh, limits)
    yield from _contradictions(fresh)


def _over(rule: str, at: str, value: float, limit: float, back: float) -> Judgement:
    return Judgement(rule, at, value, limit, value >= limit, value <= limit - back)


def _under(rule: str, at: str, value: float, limit: float, back: float) -> Judgement:
    return Judgement(rule, at, value, limit, value <= limit, value >= limit + back)


def _cells(seen: Seen, own: Limits) -> Iterator[Judgement]:
    cells = [cell for cell in seen.cells if math.isfinite(cell)]
    if not cells:
        return
    if own.cell_high is not None:
        yield _over("cell-high", seen.module, max(cells), own.cell_high.value, BACK["cell-high"])
    if own.cell_low is not None:
        yield _under("cell-low", seen.module, min(cells), own.cell_low.value, BACK["cell-low"])
    if len(cells) > 1:
        mean = sum(cells) / len(cells)
        zone = own.spread if KNEE_LOW <= mean <= KNEE_HIGH else own.spread_ends
        amps = abs(seen.amps) if math.isfinite(seen.amps) else 0.0
        limit = zone.value + CELL_OHM * amps
        yield _over("cell-spread", seen.module, max(cells) - min(cells), limit, BACK["cell-spread"])


def _warmth(seen: Seen, own: Limits) -> Iterator[Judgement]:
    degrees = [degc for degc in seen.warmth if math.isfinite(degc)]
    if not degrees:
        return
    charging = math.isfinite(seen.amps) and seen.amps < -1.0
    high = own.hot_charging if charging else own.hot
    low = own.cold_charging if charging else own.cold
    if high is not None:
        yield _over("hot", seen.module, max(degrees), high.value, BACK["hot"])
    if low is not None:
        yield _under("cold", seen.module, min(degrees), low.value, BACK["cold"])


def _current(seen: Seen, own: Limits) -> Iterator[Judgement]:
    limit: Limit | None = own.discharge if seen.amps > 0 else own.charge
    if math.isfinite(seen.amps) and limit is not None:
        yield _over("current", seen.module, abs(seen.amps), limit.value, 0.05 * limit.value)


def _shares(seen: Sequence[Seen], limits: dict[str, Limits]) -> Iterator[Judgement]:
    told = [each for each in seen if math.isfinite(each.amps)]
    if len(told) < 2:
        return
    mean = sum(each.amps for each in told) / len(told)
    for each in told:
        limit = limits[each.module].share.value
        if abs(mean) >= CARRIES:
            yield _over("share", each.module, abs(each.amps / mean - 1.0), limit, BACK["share"])


def _contradictions(seen: Sequence[Seen]) -> Iterator[Judgement]:
    volts = sorted(each.volts for each in seen if math.isfinite(each.volts))
    for each in seen:
        if not math.isfinite(each.volts):
            continue
        gaps = [(abs(each.volts - volts[len(volts) // 2]), OTHERS)] if len(volts) > 2 else []
        if len(each.cells) > 3 and all(math.isfinite(cell) for cell in each.cells):
            gaps.append((abs(each.volts - sum(each.cells)), OWN_SUM))
        if gaps:
            gap, limit = max(gaps, key=lambda pair: pair[0] / pair[1])
            yield _over("contradiction", each.module, gap, limit, 0.2 * limit)
