"""Section: temperature. Each sensor beside its neighbours, each module beside the others, the warmth of the days.

Gives: section(), BELIEVED, WARMS, EVEN.
Limits: a deviation is told from three days on. One module alone has no neighbour: there the air of the room stands in,
where it is read.
Sources: warmth.py, calendar.py; limits in kelvin are our choice.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from bankwright.bank.asks import asking
from bankwright.bank.model import Module
from bankwright.circuit.network import Array
from bankwright.circuit.run.bank import parts_of
from bankwright.forms.card import Card
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, Say, say
from bankwright.physics.middle import middle
from bankwright.watch.charge.daily import kept_track
from bankwright.watch.charge.facts import facts_of
from bankwright.watch.running.calendar import HOW, yearly_loss
from bankwright.watch.running.hours import DEGC, Hours, hours_of, probes_of, room_of, sensors_of
from bankwright.watch.running.stand_ins import NO_HEAT, NO_WARMTH
from bankwright.watch.running.tables import HOUR, Table, hourly
from bankwright.watch.running.warmth import LEAST_DAYS, LEAST_WATTS, Beside, above, beside, heat_of, still
from bankwright.watch.section import Asked, Row, Section

__all__ = ["BELIEVED", "EVEN", "WARMS", "section"]

TITLE = "Temperature"
CHOICE = Source("our choice", how_known="common practice, no source")
BELIEVED = Card(
    "W-WARM-1", "Temperature sensors can be believed", "off the others of its module at rest <= 3 K; it moves", CHOICE,
    ends_at="caution",
    why="Charging in the cold and discharging in the heat are stopped by these readings; a sensor that stands still or"
    " has come off its cell stops nothing.",
)  # fmt: skip
WARMS = Card(
    "W-WARM-2", "No place warms more than its neighbours under load", "more than the others at the largest heat <= 3 K",
    CHOICE, ends_at="caution",
    why="Modules alike, with like currents, warm alike. One that warms more has more resistance inside, or its air is"
    " blocked.",
)  # fmt: skip
EVEN = Card(
    "W-WARM-3", "Modules stand at one temperature", "off the others at rest <= 5 K", CHOICE, ends_at="caution",
    why="A colder module has more resistance and takes less of the current: that is no joint. The coldest one sets what"
    " the whole bank may be charged with.",
)  # fmt: skip
AT_REST, UNDER_LOAD, APART = 3.0, 3.0, 5.0  # K
WARM = 30.0  # degC from which an hour is counted as warm; our choice


@dataclass(frozen=True, eq=False, slots=True)
class _Seen:
    """All that is read of the temperatures."""

    hours: Hours
    sensors: tuple[tuple[str, ...], ...]  # of each module
    degc: tuple[Table, ...]  # (hour, sensor) of each module
    modules: Array  # (hour, module) middle of the sensors that move
    room: Array  # (hour,)
    heat: Array  # (hour, module) W

    @property
    def is_loaded(self) -> bool:
        """Whether the modules, in the mean, were warmed enough for differences to be told."""
        told = np.isfinite(self.heat).any(axis=1)
        return bool(told.any()) and float(np.quantile(np.nanmean(self.heat[told], axis=1), 0.95)) >= LEAST_WATTS


def section(asked: Asked) -> Section:
    """Each module whose temperature is heard."""
    seen = _seen(asked)
    silent = [m.name for m, at in zip(asked.bank.modules, seen.sensors, strict=True) if not at]
    findings: list[Finding] = []
    if silent:
        findings.append(BELIEVED.unknown(tuple(silent), (_hear(silent),)))
    for m, module in enumerate(asked.bank.modules):
        if seen.sensors[m]:
            findings += [_believed(seen, m), *_warms(seen, m, module)]
    stand_ins = [NO_WARMTH] if len(silent) == len(asked.bank.modules) else []
    unknown = {f.code for f in findings if f.verdict == "unknown"}
    stand_ins += [NO_HEAT] if WARMS.code in unknown and not seen.is_loaded else []
    return Section(
        "temperature", TITLE, tuple(findings), tuple(_rows(asked, seen)), notes=tuple(_notes(seen)),
        stand_ins=tuple(stand_ins), rests_on=("temperature_degc", "current"),
    )  # fmt: skip


def _hear(names: list[str]) -> Missing:
    how = "Let bankwright listen to the temperatures of the modules, or bring a log that holds them."
    lacks = f"temperature of {', '.join(names)}"
    return replace(asking("telemetry.temperature", how), ask="measure", lacks=lacks)


def _seen(asked: Asked) -> _Seen:
    hours, names = hours_of(asked), [module.name for module in asked.bank.modules]
    sensors = tuple(sensors_of(asked.telemetry, name) for name in names)
    degc = tuple(_degc(asked, at, hours.time) for at in sensors)
    inside = [_middle(one, _stuck(one)) for one in degc]
    room = _middle(_degc(asked, room_of(asked.bank, asked.telemetry), hours.time), ())
    ohm = np.array([_ohm(module) for module in asked.bank.modules])
    return _Seen(hours, sensors, degc, np.array(inside).T, room, heat_of(hours.amps.mean, ohm))


def _degc(asked: Asked, at: tuple[str, ...], time: Array) -> Table:
    ends = np.full(len(at), DEGC[0]), np.full(len(at), DEGC[1])
    return hourly(asked, {"temperature_degc": ends}, at, time)[0]


def _ohm(module: Module) -> float:
    parts = parts_of(module)
    return parts.ohmic.nominal + parts.quick + parts.slow


def _middle(found: Table, leave: tuple[int, ...]) -> Array:
    """Median of the sensors, hour by hour; NaN where none was heard."""
    kept = [k for k in range(found.mean.shape[1]) if k not in leave]
    return middle(found.mean[:, kept])


def _stuck(found: Table) -> tuple[int, ...]:
    """Sensors that stand still while the others of the module move."""
    ranges = [_range(found.low[:, k], found.high[:, k]) for k in range(found.mean.shape[1])]
    others = [max((r for j, r in enumerate(ranges) if j != k), default=0.0) for k in range(len(ranges))]
    return tuple(k for k in range(len(ranges)) if still(found.low[:, k], found.high[:, k], others[k]))


def _range(low: Array, high: Array) -> float:
    return float(np.nanmax(high) - np.nanmin(low)) if np.isfinite(low).any() else 0.0


# --- one module


def _believed(seen: _Seen, m: int) -> Finding:
    """Marks, sensors that stand still, and those that lie off the others of the module."""
    name, found, at = seen.hours.names[m], seen.degc[m], seen.sensors[m]
    do = say("Read the module's own display, and a thermometer laid on it; look at the plug of the sensor.")
    wrong = [f"{place} says what no cell has in {int(found.wrong[:, k].sum())} h: a mark for no value, or a wire off"
             for k, place in enumerate(at) if found.wrong[:, k].sum() > 0]  # fmt: skip
    stuck = _stuck(found) if len(at) > 1 else _stuck_module(seen, m)
    wrong += [f"{at[k]} has not moved by a step while its neighbours did: a stale value" for k in stuck]
    worst = max(_off(seen, m, stuck), key=lambda one: abs(one[1].rest), default=None)
    if worst is not None and _beyond(worst[1], "rest", AT_REST):
        by = _kelvin(worst[1].rest, worst[1].rest_sd)
        others = "the others of its module" if len(at) > 2 else "the only other one; which of the two is off is open"
        wrong.append(f"{worst[0]} lies {by} off at rest from {others}")
    if wrong:
        text = say("{module}: {all}", module=name, all="; ".join(wrong))
        return BELIEVED.found(name, None, (None, None), text, do, forced="caution")
    return BELIEVED.found(name, None, (None, None), say("The sensors of {module} agree and move", module=name), do)


def _stuck_module(seen: _Seen, m: int) -> tuple[int, ...]:
    """The only sensor of a module, which stands still while the other modules move."""
    found = seen.degc[m]
    others = [_range(one.low, one.high) for k, one in enumerate(seen.degc) if k != m and one.mean.size]
    return (0,) if still(found.low[:, 0], found.high[:, 0], max(others, default=0.0)) else ()


def _off(seen: _Seen, m: int, leave: tuple[int, ...]) -> Iterator[tuple[str, Beside]]:
    """Each sensor of a module beside the others of it."""
    found, heat = seen.degc[m].mean, seen.heat[:, m]
    kept = [k for k in range(found.shape[1]) if k not in leave]
    for k in kept if len(kept) > 1 else ():
        away = found[:, k] - middle(found[:, [j for j in kept if j != k]])
        one = beside(away, heat, seen.hours.time)
        if one is not None:
            yield seen.sensors[m][k], one


def _beyond(one: Beside, what: str, limit: float) -> bool:
    """Whether the whole band of a deviation lies beyond a limit, on either side."""
    low, high = one.band(what)
    return low > limit or high < -limit


def _kelvin(value: float, sd: float) -> str:
    return f"{value:+.1f} ± {1.96 * sd:.1f} K"


def _warms(seen: _Seen, m: int, module: Module) -> Iterator[Finding]:
    """The module beside the others, and its sensors beside each other."""
    name = module.name
    for at, one in _off(seen, m, _stuck(seen.degc[m])):
        if one.more is not None and one.band("more")[0] > UNDER_LOAD:
            yield _warm(at, one, "{place} warms {more} more under load than the others of its module")
    among = _among(seen, m)
    if among is None:
        yield _alone(seen, m, name)
        return
    if among.more is None or not seen.is_loaded:
        yield WARMS.unknown(name, (_load(),))
    elif among.band("more")[0] > UNDER_LOAD:
        yield _warm(name, among, "{place} warms {more} more under load than the other modules")
    else:
        figure = Figure(among.more, "temperature_difference", *among.band("more"))
        text = say("{place} warms with the others: {more} apart at the largest load", place=name, more=figure)
        yield WARMS.found(name, figure, (None, None), text, say("Nothing is to be done."))
    yield _even(name, among)


def _warm(place: str, one: Beside, words: str) -> Finding:
    figure = Figure(one.more or 0.0, "temperature_difference", *one.band("more"))
    do = say("Feel and look first: air blocked, a fan, sun on it. Then its joints and its cells with the load on.")
    text = say(words, place=place, more=figure)
    return WARMS.found(place, figure, (None, None), text, do, forced="caution")


def _even(name: str, one: Beside) -> Finding:
    low, high = one.band("rest")
    figure = Figure(one.rest, "temperature_difference", low, high)
    text = say("{module} stands {off} off the others at rest", module=name, off=figure)
    if not _beyond(one, "rest", APART):
        return EVEN.found(name, figure, (None, None), text, say("Nothing is to be done."))
    do = say("Give all modules one temperature: away from a cold wall, from sun and from a heater. Until then judge "
             "shares of the current with their temperatures, and let the coldest sensor rule the charge.")  # fmt: skip
    return EVEN.found(name, figure, (None, None), text, do, forced="caution")


def _among(seen: _Seen, m: int) -> Beside | None:
    """A module beside the middle of the others."""
    away = seen.modules[:, m] - middle(np.delete(seen.modules, m, axis=1))
    return beside(away, seen.heat[:, m], seen.hours.time)


def _alone(seen: _Seen, m: int, name: str) -> Finding:
    """Without neighbours, or in fewer than three days with them, nothing is judged."""
    how = f"Let bankwright listen for {LEAST_DAYS} days with a load on the bank."
    if seen.modules.shape[1] == 1:
        how = (
            "Read the air of the room beside the module's temperature (a column named room temperature): it stands in."
        )
    lacks = f"{name}: nothing to lay its temperature beside"
    missing = replace(asking("telemetry.temperature", how), ask="measure", lacks=lacks)
    rise = above(seen.modules[:, m], seen.room, seen.heat[:, m], seen.hours.time)
    if seen.modules.shape[1] == 1 and rise is not None and rise.more is not None:
        figure = Figure(rise.more, "temperature_difference", *rise.band("more"))
        text = say("{module} rises {more} above the room at its largest load", module=name, more=figure)
        return WARMS.found(name, figure, (None, None), text, say("Nothing is to be done."))
    return WARMS.unknown(name, (missing,))


def _load() -> Missing:
    how = "Load the bank for some hours on three days, at a quarter of the capacity an hour or more."
    return replace(asking("telemetry.current", how), ask="measure", lacks="too little load was heard")


# --- rows


def _rows(asked: Asked, seen: _Seen) -> Iterator[Row]:
    soc = _charge(asked)
    for m, name in enumerate(seen.hours.names):
        degc = seen.modules[:, m]
        told = degc[np.isfinite(degc)]
        if len(told):
            yield Row(name, Figure(float(told[-1]), "temperature_degc"), None, _warmth(seen, m, told, soc))
        for probe in probes_of(asked.telemetry, name):
            found = _degc(asked, (probe,), seen.hours.time).high
            if np.isfinite(found).any():
                hottest = Figure(float(np.nanmax(found)), "temperature_degc")
                yield Row(probe, hottest, None, say("at most; not a cell"))


def _charge(asked: Asked) -> tuple[float, float]:
    """Lowest and highest mean state of charge over the hours that are shown; 0 and 1 where it was not kept."""
    facts, _ = facts_of(asked.bank)
    track = np.empty((0, 4)) if facts is None else kept_track(facts, asked.telemetry)
    track = track[track[:, 0] >= asked.since] if len(track) else track
    return (float(track[:, 2].mean()), float(track[:, 3].mean())) if len(track) else (0.0, 1.0)


def _warmth(seen: _Seen, m: int, told: Array, soc: tuple[float, float]) -> Say:
    gaps: dict[str, Figure | str] = {
        "low": Figure(float(np.nanmin(seen.degc[m].low)), "temperature_degc"),
        "high": Figure(float(np.nanmax(seen.degc[m].high)), "temperature_degc"),
        "warm": Figure(float((told >= WARM).sum()) * HOUR, "time"), "all": Figure(len(told) * HOUR, "time"),
        "limit": Figure(WARM, "temperature_degc"),
    }  # fmt: skip
    words = "{low} to {high}; {warm} of {all} at {limit} or more"
    rise = above(seen.modules[:, m], seen.room, seen.heat[:, m], seen.hours.time)
    if rise is not None:
        words += "; {above} above the room at rest"
        gaps["above"] = _kelvin(rise.rest, rise.rest_sd)
        if rise.more is not None and seen.is_loaded:
            words += ", {more} more at the largest load"
            gaps["more"] = _kelvin(rise.more, rise.more_sd)
    loss = yearly_loss(told, soc)
    if loss is None:
        return say(f"{words}; warmer than published ageing in store goes", **gaps)
    gaps |= {"least": Figure(loss.low, "share"), "most": Figure(loss.high, "share"), "how": HOW}
    return say(f"{words}; a year of such days costs {{least}} to {{most}} of the capacity ({{how}})", **gaps)


def _notes(seen: _Seen) -> Iterator[Say]:
    if not np.isfinite(seen.room).any():
        yield say("The air of the room is not read: what a module rises above it is unknown. A column named room"
                  " temperature, or a probe of the bus at bank.room, would tell.")  # fmt: skip
