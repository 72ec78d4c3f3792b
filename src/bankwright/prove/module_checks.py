"""Modules and their sensors by the load test: resistance as measured, and a sensor told from a branch.

Gives: CHECKS. Subject: ShareSubject. Volts at the posts at rest and under load give each module's own resistance; the
clamp beside the module's sensor parts a gain and an offset of the sensor from what the branch does.
Limits: needs volts, or both instruments; without them nothing is said.
Sources: stand at each check.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from bankwright.circuit.inverse.band import half_width
from bankwright.circuit.network import Array
from bankwright.circuit.of_bank.at_age import resistance_at
from bankwright.forms.card import Card
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import FileKey
from bankwright.forms.wording import Figure, say
from bankwright.prove.meters import current_errors
from bankwright.prove.share_subject import LACKING, Due, ShareSubject, missing_of
from bankwright.prove.sources import PRACTICE, SHEET
from bankwright.prove.which import VOLT_COUNTS, VOLT_GAIN

__all__ = ["CHECKS"]

_MODULE = Card("V-MODULE-1", "Module's resistance is that of its sheet", "(U_0 - U) / i", SHEET, ends_at="caution")
_GAIN = Card(
    "V-SENSOR-1", "Module's sensor has no gain of its own", "(i_bus - i_clamp) / i", PRACTICE, ends_at="caution"
)
_OFFSET = Card("V-SENSOR-2", "Module's sensor has no offset", "i_bus - i_clamp at 0", PRACTICE, ends_at="caution")


@check(_MODULE.code, _MODULE.title)
def module_resistance(subject: ShareSubject) -> Iterator[Finding]:
    """Sag at the module's own posts over its own current lies inside the sheet's tolerance, by its own band.

    Why: with links and joints measured, this is what is left in the module; outside it is asked of the maker.
    Not seen here: what lies between the module's posts and its cells; 1 K colder cells are 2.3 % of the cell part.
    Source: data sheet at the age of the step and the temperature of the cells; Ohm's law [stated law].
    """
    for due in subject.dues:
        if due.lacking or due.taken.by != _best_by(subject):
            continue
        rest = _volts(subject, 0.0, None)
        under = _volts(subject, due.taken.level.load, due)
        for place, module in enumerate(due.taken.modules):
            if module in rest and module in under:
                yield _resistance(subject, due, place, rest[module], under[module])


def _best_by(subject: ShareSubject) -> str:
    return subject.bys[0]


def _volts(subject: ShareSubject, load: float, due: Due | None) -> dict[str, float]:
    found: dict[str, list[float]] = {}
    for each in subject.rounds:
        if each.level.load == load and (due is None or each.level == due.taken.level):
            for name, volts in each.volts.items():
                found.setdefault(name, []).append(volts)
    return {name: float(np.mean(volts)) for name, volts in found.items()}


def _resistance(subject: ShareSubject, due: Due, place: int, rest: float, under: float) -> Finding:
    module = subject.bank.module(due.taken.modules[place])
    assert due.taken.age is not None
    amps, errors = float(due.taken.values[place]), due.taken.errors[place]
    value = (rest - under) / amps
    moves = np.concatenate([-value * errors / amps, [VOLT_COUNTS / amps] * 2, [VOLT_GAIN * value]])
    half = float(half_width(moves[None, :])[0])
    figure = Figure(value, "resistance", value - half, value + half)
    try:
        sheet = resistance_at(module, due.taken.age, (subject.cells_degc or {}).get(module.name))
    except LACKING as error:
        return _MODULE.unknown(module.name, missing_of(error))
    key = FileKey(f"{module.kind.path}.resistance")
    inputs = (Input("R", "sheet at this age", Figure(sheet.nominal, "resistance", sheet.low, sheet.high), key),)
    text = say("{module} has {value} post to post; {low} to {high} is in its sheet",
               module=module.name, value=figure, low=Figure(sheet.low, "resistance"),
               high=Figure(sheet.high, "resistance"))  # fmt: skip
    do = say("Read its cells' temperature beside the others'; if it is as warm as they are, ask the maker.")
    room = (sheet.low - 2 * half, sheet.high + 2 * half)  # only what its whole band puts outside counts
    return _MODULE.found(module.name, figure, (None, None), text, do, inputs=inputs, caution_limits=room)


def _pairs(subject: ShareSubject, module: str) -> tuple[Array, Array, list[dict[str, float]]]:
    """Clamp's current and what the sensor shows more (readings,), with the errors of each difference."""
    amps, more, errors = [], [], []
    for each in subject.rounds:
        clamp, bus = each.of("clamp").get(module), each.of("bus").get(module)
        if clamp is None or bus is None:
            continue
        key = f"{each.level.load:g} {each.number}"
        found = current_errors("clamp", module, clamp.value, key, subject.clamp, bus=subject.bus)
        amps.append(clamp.value)
        more.append(bus.value - clamp.value)
        errors.append({**found, f"step {key}": subject.bus.step / 2})
    return np.array(amps), np.array(more), errors


def _line(amps: Array, more: Array, errors: Sequence[dict[str, float]]) -> tuple[Array, Array]:
    """Offset and gain of a line through the differences (2,), and half of their 99 % intervals (2,)."""
    design = np.stack([np.ones_like(amps), amps], axis=1)
    solver = np.linalg.pinv(design)
    names = list(dict.fromkeys(name for each in errors for name in each))
    columns = np.array([[each.get(name, 0.0) for name in names] for each in errors])
    return np.asarray(solver @ more), half_width(solver @ columns, 0.99)


@check(_GAIN.code, _GAIN.title)
def sensor_gain(subject: ShareSubject) -> Iterator[Finding]:
    """What the sensor shows more than the clamp does not grow with the current by more than both may be off.

    Why: a difference that grows with the current is the sensor's gain; both instruments agreeing is the branch.
    Not seen here: a gain that differs between charge and discharge.
    Source: gain of a module's sensor within 1 % [common practice, no source], of the clamp: its data sheet.
    """
    for module in subject.modules:
        amps, more, errors = _pairs(subject, module)
        if len(amps) < 2 or np.ptp(amps) < 5.0:
            continue
        (_, gain), (_, half) = _line(amps, more, errors)
        figure = Figure(float(gain), "share")
        text = say("{module}'s sensor shows {gain} more than the clamp, growing with the current", module=module,
                   gain=figure)  # fmt: skip
        do = say("The sensor, not the branch: keep the gain with the module; its shares on the bus are off by as much.")
        room = subject.bus.gain + float(half)
        yield _GAIN.found(module, figure, (None, None), text, do, caution_limits=(-room, room))


@check(_OFFSET.code, _OFFSET.title)
def sensor_offset(subject: ShareSubject) -> Iterator[Finding]:
    """What the sensor shows more than the clamp at no current is no more than both may be off.

    Why: a difference that stays the same at every load is the sensor's offset; it is taken off by the zero reading.
    Not seen here: an offset that drifts with temperature.
    Source: offset of a module's sensor within 0.3 A [common practice, no source].
    """
    for module in subject.modules:
        amps, more, errors = _pairs(subject, module)
        if len(amps) < 2 or np.ptp(amps) < 5.0:
            continue
        (offset, _), (half, _) = _line(amps, more, errors)
        figure = Figure(float(offset), "current")
        text = say("{module}'s sensor shows {offset} more than the clamp at no current", module=module, offset=figure)
        do = say("Take the zero reading off, always: it is the sensor's offset, no current between modules.")
        room = subject.bus.offset + float(half)
        yield _OFFSET.found(module, figure, (None, None), text, do, caution_limits=(-room, room))


CHECKS = (module_resistance, sensor_gain, sensor_offset)
