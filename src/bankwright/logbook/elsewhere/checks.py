"""Cross-checks by physics: the sum of the cells beside the module, volts times amperes beside watts, cells in range.

Gives: checked(). What disagrees is told with both figures; where a scale is open, the check that settles it says so.
Limits: a sample; nothing is changed here but scales that were open. Sources: Kirchhoff's voltage law; P = U I.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from bankwright.logbook.elsewhere.facts import PLAUSIBLE_CELL
from bankwright.logbook.elsewhere.scale import Scaled
from bankwright.logbook.elsewhere.told import Told

__all__ = ["checked"]

_DECADES = {1.0: "A", 1e-3: "mA", 0.1: "0.1 A", 1e-2: "0.01 A"}


def checked(found: Sequence[Scaled], told: Told) -> list[Scaled]:
    """Hold columns of one module against each other; currents whose unit was open may get it from the watts."""
    out = list(found)
    for owner in dict.fromkeys(s.take.at.split(".")[0] for s in found):
        mine = [k for k, s in enumerate(out) if s.take.at.split(".")[0] == owner]
        cells = [k for k in mine if out[k].take.quantity == "cell_voltage" and ".c" in out[k].take.at]
        volts = next((k for k in mine if out[k].take.quantity == "voltage" and out[k].take.at == owner), None)
        amps = next((k for k in mine if out[k].take.quantity == "current" and out[k].take.at == owner), None)
        watts = next((k for k in mine if out[k].take.quantity == "power" and out[k].take.at == owner), None)
        levels = _cell_values(out, cells)
        if len(cells):
            _range(owner, levels, told)
        whole = volts is not None and _is_whole(levels, out[volts])
        if len(cells) >= 2 and volts is not None and whole:
            _sum(owner, levels, out[volts], told)
        if amps is not None and watts is not None and volts is not None:
            out[amps], out[watts] = _watts(out[amps], out[volts], out[watts], told)
    return out


def _cell_values(found: Sequence[Scaled], cells: Sequence[int]) -> np.ndarray:
    """(row, cell) V; taps less the tap below."""
    by_heading = {s.candidate.heading: s.inside for s in found}
    columns = [found[k].inside - (by_heading[found[k].take.less] if found[k].take.less else 0.0) for k in cells]
    return np.stack(columns, axis=1) if columns else np.empty((0, 0))


def _is_whole(levels: np.ndarray, volts: Scaled) -> bool:
    """Whether the cells of the log are all cells of the pack: not fewer than three in four of its volts."""
    total, pack = np.nansum(levels, axis=1), volts.inside
    return bool(np.nanmedian(np.abs(total)) > 0.75 * np.nanmedian(np.abs(pack))) if levels.size else False


def _range(owner: str, levels: np.ndarray, told: Told) -> None:
    good = levels[~np.isnan(levels)]
    if not len(good):
        return
    inside = (good >= PLAUSIBLE_CELL[0]) & (good <= PLAUSIBLE_CELL[1])
    low, high = np.quantile(good, [0.01, 0.99])
    words = f"{inside.mean():.1%} of the values lie between {PLAUSIBLE_CELL[0]} and {PLAUSIBLE_CELL[1]} V"
    told.check(f"cells of {owner}", f"{low:.3f} to {high:.3f} V", words)


def _sum(owner: str, levels: np.ndarray, volts: Scaled, told: Told) -> None:
    total, pack = levels.sum(axis=1), volts.inside
    good = ~(np.isnan(total) | np.isnan(pack)) & (np.nan_to_num(pack) != 0)
    if not good.any():
        return
    away = float(np.median(total[good] - pack[good]))
    share = abs(away) / float(np.median(np.abs(pack[good])))
    verdict = "agrees" if share < 0.02 else "does not agree"
    words = f"sum of {levels.shape[1]} cells less {volts.candidate.heading}: {away:+.3f} V in the middle ({share:.1%})"
    told.check(f"sum of cells of {owner}", verdict, words)


def _watts(amps: Scaled, volts: Scaled, watts: Scaled, told: Told) -> tuple[Scaled, Scaled]:
    """Volts times amperes against watts; an open unit of the current, or of the power, is the one that fits."""
    made, power = volts.inside * amps.inside, watts.inside
    good = (
        ~(np.isnan(made) | np.isnan(power))
        & (np.abs(np.nan_to_num(made)) > 5 * amps.take.factor)
        & (np.abs(np.nan_to_num(power)) > 1e-2)
    )
    if good.sum() < 3:
        return amps, watts
    ratio = float(np.median(np.abs(power[good] / made[good])))
    name, other = amps.candidate.heading, watts.candidate.heading
    of_amps, of_watts = (next((q for q in told.open if q.what == f"unit of {n}"), None) for n in (name, other))
    scale = next((scale for scale in _DECADES if abs(ratio / scale - 1) < 0.1), None)
    if of_amps is not None and of_watts is None and scale is not None:
        told.open.remove(of_amps)
        told.settle(name, f"in {_DECADES[scale]}", f"volts times {_DECADES[scale]} are the watts of {other}")
        take = replace(amps.take, factor=amps.take.factor * scale, written=_DECADES[scale])
        return replace(amps, take=take), watts
    if of_watts is not None and of_amps is None and scale in (1.0, 1e-3):
        unit = "W" if scale == 1.0 else "kW"
        told.open.remove(of_watts)
        told.settle(other, f"in {unit}", f"it is volts times amperes of {name}, in {unit}")
        take = replace(watts.take, factor=watts.take.factor / scale, written=unit)
        return amps, replace(watts, take=take)
    verdict = "agrees" if abs(ratio - 1) < 0.1 else "does not agree"
    words = f"{watts.candidate.heading} is {ratio:.3g} times {volts.candidate.heading} x {name} in the middle"
    told.check(f"watts of {watts.take.at}", verdict, words)
    return amps, watts
