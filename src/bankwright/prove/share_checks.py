"""The checks of the share test: zero load, closure, age, shares, limits, modules, sensors.

Gives: CHECKS. Subject: ShareSubject. Three kinds of reading: a limit (fails), an expectation (outside
its band: caution, "not as computed"), a closure (outside: what was read, and all that follows from it, is unknown).
Limits: which element it is, is told by the inverse (which.py); joints are found by millivolts, not here.
Sources: stand at each check; bands are [99 % interval over the tolerances] + [limits of the reading], added.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from bankwright.bank.asks import asking
from bankwright.circuit.cases import CHARGE, LOWEST
from bankwright.circuit.inverse.band import half_width
from bankwright.forms.card import Card
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import Computed
from bankwright.forms.wording import Figure, Say, say
from bankwright.prove.branch_limits import branch_limits
from bankwright.prove.closures import BY_WORDS, SUM, branches_close, open_closures
from bankwright.prove.currents import Taken
from bankwright.prove.meters import By, current_errors
from bankwright.prove.share_subject import Due, ShareSubject
from bankwright.prove.sources import AT_ZERO, CIRCUIT, PRACTICE, SHEET

__all__ = ["CHECKS"]

_ZERO = Card("V-ZERO-1", "No current between modules at zero load", "|i_k(0)| <= 2 A", PRACTICE, ends_at="caution")
_AGE = Card("V-AGE-1", "Read while the step is young", "30 s <= age <= 120 s", PRACTICE, ends_at="caution")
_SHARE = Card("V-SHARE-1", "Each module takes the share computed", "i_k / mean, zero off", CIRCUIT, ends_at="caution")
_LIMIT = Card("V-LIMIT-1", "No module passes its limit at full load", "i_k(full) < I_cont", SHEET)


@check(_ZERO.code, _ZERO.title)
def zero_load(subject: ShareSubject) -> Iterator[Finding]:
    """With no load every module carries next to nothing: |i_k(0)| <= 2 A, and the readings of all add up to nothing.

    Why: 0.1 V less in one module looks at 200 A like 2.9 mohm, at 50 A like 22 mohm, and shows itself at zero load.
    Compulsory: without it nothing is concluded from the currents under load.
    Not seen here: which charge each module has (Match's second verdict).
    Source: an hour after joining below 1 to 2 A [common practice, no source].
    """
    for by in subject.bys:
        if not subject.has_zero(by):
            how = "Open all loads and chargers, wait 2 min, read every module's current with the same instrument."
            yield _ZERO.unknown(subject.modules, (asking(f"readings.{by}.zero", how),))
            continue
        reads = [(r.at, r.value) for each in subject.rounds if each.level.load == 0.0 for r in each.of(by).values()]
        modules = [(at, value) for at, value in reads if at in subject.modules]
        same_sign = len({value > 0 for _, value in modules}) == 1 and len(modules) > 1
        for at in subject.modules:
            value = float(np.mean([amps for name, amps in modules if name == at]))
            half = _zero_half(subject, by, at, value)
            text = say("{at} carries {amps} at zero load, {by}", at=at, amps=Figure(value, "current"), by=BY_WORDS[by])
            do = (
                "All show one sign: zero the clamp in place and read again."
                if same_sign
                else "Its charge differs from the others' (Match), this is no joint: let the bank level, then repeat."
            )
            yield _ZERO.found(
                at,
                Figure(value, "current", value - half, value + half),
                (None, None),
                text,
                say(do),
                caution_limits=(-AT_ZERO - 2 * half, AT_ZERO + 2 * half),
            )


def _zero_half(subject: ShareSubject, by: By, at: str, value: float) -> float:
    errors = current_errors(by, at, value, "0", subject.clamp, bus=subject.bus)
    return float(half_width(np.array([list(errors.values())]), 0.99)[0])


@check(SUM.code, SUM.title)
def closure(subject: ShareSubject) -> Iterator[Finding]:
    """The branch currents add up to the main's within what the meters leave open (99 %).

    Why: a closure that fails accuses no joint: it says that the readings, and all that is computed from them, are
    unknown.
    Not seen here: a gain that all readings of one clamp share (it falls out of sums and shares).
    Source: Kirchhoff's current law [stated law]; errors of the instruments: prove/meters.
    """
    yield from branches_close(subject)


@check(_AGE.code, _AGE.title)
def age(subject: ShareSubject) -> Iterator[Finding]:
    """Every reading carries the age of the step; a share test is read between 30 s and 120 s after it.

    Why: the same +1 mohm in one branch shows as -10.6 % of the mean at once, -7.7 % after 30 s, -1.7 % after an hour.
    The figure due is computed for the age of the reading, so an earlier one is judged too.
    Not seen here: a load that is not steady (thermostat, burst-fired heater).
    Source: common practice, no source; ages from own runs with two relaxation branches.
    """
    for due in subject.dues:
        ages = [value for value in due.taken.ages if value is not None]
        at, case = due.taken.modules, f"{due.taken.level.load:g} A {due.taken.by}"
        if len(ages) < len(due.taken.ages):
            yield _AGE.unknown(at, due.lacking)
            continue
        figure = Figure(float(np.mean(ages)), "time", min(ages), max(ages))
        text = say("Read {age} after the step", age=figure)
        do = say("Load off for 2 min, then again: wait 30 s, up the rack and down again within 2 min of the step.")
        yield _AGE.found(at, figure, (None, None), text, do, case=case, caution_limits=(30.0, 120.0))


@check(_SHARE.code, _SHARE.title)
def shares(subject: ShareSubject) -> Iterator[Finding]:
    """Each module's current over the mean of all, zero readings taken off, lies in the band computed for this load.

    Why: a module outside it does not do what the file says: resistance, cold cells, charge, a sensor, or a joint.
    Not seen here: a joint inside the module's own tolerance: with 14 +- 3 mohm the worst branch is named by its share
    in one bank of three. Millivolts over every joint follow, whatever the shares say.
    Source: the bank's network at this load, age and temperature [derived]; band: 99 % over the tolerances, plus limits.
    """
    for level, names in subject.not_read:
        how = f"Read every module that is on at {level.load:g} A with the same instrument: shares are parts of a whole."
        yield _SHARE.unknown(names, tuple(asking(f"readings.{name}.current", how) for name in names))
    broken = open_closures(subject)
    for due in subject.dues:
        lacking = due.lacking + tuple(gap for found in broken for gap in found.missing)
        if lacking or due.expected is None:
            yield _SHARE.unknown(due.taken.modules, tuple(dict.fromkeys(lacking)))
            continue
        halves = half_width(due.taken.share_errors, 0.99)
        for place, module in enumerate(due.taken.modules):
            yield _share(due, module, float(due.taken.shares[place]), float(halves[place]))


def _share(due: Due, module: str, share: float, half: float) -> Finding:
    band = due.of(module).share(module)
    assert band.low is not None
    assert band.high is not None
    low, high = band.low - half, band.high + half
    figure = Figure(share, "share")
    text = say(
        "{module} takes {share} of the mean {by}; {due} is due, {low} to {high} with the meter",
        module=module,
        share=figure,
        by=BY_WORDS[due.taken.by],
        due=band,
        low=Figure(low, "share"),
        high=Figure(high, "share"),
    )
    side = "low" if share < low else "high" if share > high else ""
    case = f"{due.taken.level.load:g} A {due.taken.by}"
    inputs = (
        Input("b_s", "99 % interval over the tolerances", band, Computed("network over the file's tolerances")),
        Input("b_r", "limits of the reading", Figure(half, "share"), Computed("errors of the instrument (99 %)")),
    )
    return _SHARE.found(
        module, figure, (None, None), text, _meaning(side), caution_limits=(low, high), inputs=inputs, case=case
    )


def _meaning(side: str) -> Say:
    if side == "low":
        return say(
            "Likeliest first: its resistance above the sheet, colder cells, its charge (zero reading), the sensor or "
            "the clamp's place, a joint. In a chain: all low before a gap, high behind it: the link at that gap. "
            "Read the millivolts of its joints and links next."
        )
    if side == "high":
        return say(
            "At the end of a chain a high current means a bad link behind it, not a good module. Else: the others are "
            "higher in resistance or colder. Read the millivolts of all joints and links next."
        )
    return say("Read the millivolts of every joint and link all the same: shares do not find them.")


@check(_LIMIT.code, _LIMIT.title)
def limits(subject: ShareSubject) -> Iterator[Finding]:
    """Each module's current, scaled to the largest steady current of the bank, stays below what its branch bears.

    Why: whatever the cause, a module past its limit trips, and the others carry its part.
    Not seen here: one module away (Plan, P-SHARE); a limit that falls with temperature.
    Source: data sheets of the module, its breaker and the devices in its leads, as the bank file has them.
    """
    broken = open_closures(subject)
    for due in subject.dues:
        way = LOWEST if due.taken.level.load > 0 else CHARGE
        full = subject.full[way]
        gaps = tuple(gap for found in broken for gap in found.missing)
        gaps += tuple(gap for gap in due.lacking if gap.key.endswith(".zero"))
        gaps += (full,) if isinstance(full, Missing) else ()
        known = 0.0 if isinstance(full, Missing) else full
        for place, module in enumerate(due.taken.modules):
            found = _scaled(subject, due.taken, place, module, known)
            stands = not gaps or (found.verdict == "fail" and not broken)
            yield found if stands else _LIMIT.unknown(module, gaps)


def _scaled(subject: ShareSubject, made: Taken, place: int, module: str, full: float) -> Finding:
    """The current of one module at full load, by what was read at this one."""
    bears = branch_limits(subject.bank, module, made.level.load < 0)
    least = min(
        (limit for limit in bears if limit.value is not None), key=lambda limit: limit.value or 0.0, default=None
    )
    gaps = tuple(asking(limit.key) for limit in bears if limit.value is None)
    total = abs(float(made.values.sum()))
    ratio = max(full / total, 1.0) if total > 0.0 else 1.0
    value = abs(float(made.values[place])) * ratio
    half = float(half_width(made.errors[place][None, :], 0.99)[0]) * ratio
    figure = Figure(value, "current", max(value - half, 0.0), value + half)
    text = say(
        "{module} would carry {value} when the bank carries {full}",
        module=module,
        value=figure,
        full=Figure(max(full, total), "current"),
    )
    do = say("Keep the load below that at which it reaches its limit; find the cause by millivolts before full load.")
    case = f"{made.level.load:g} A {made.by}"
    if least is None or least.value is None:
        return _LIMIT.found(module, figure, (None, None), text, do, case=case, missing=gaps)
    given = Input("I_cont", least.whose, Figure(least.value, "current"), subject.bank.key(least.key))
    return _LIMIT.found(module, figure, (None, least.value), text, do, case=case, inputs=(given,), missing=gaps)


CHECKS = (zero_load, closure, age, shares, limits)
