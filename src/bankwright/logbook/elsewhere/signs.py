"""Which way a current or a power counts: what its heading says, or what charge, volts and watts of the same rows prove.

Gives: with_signs(), Evidence, of_charge(), of_volts(). Inside, what leaves the module (or is taken from the bank) is
positive. Where nothing proves it, it is asked.
Sources: a module that gives current loses charge, and its voltage falls with it (Ohm's law of its own resistance).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from bankwright.logbook.elsewhere.asked import Asked
from bankwright.logbook.elsewhere.scale import Scaled
from bankwright.logbook.elsewhere.told import Told

__all__ = ["Evidence", "of_charge", "of_volts", "with_signs"]

_STRONG = 0.5  # of 1, likeness of two columns; our choice
_WINDOWS = 200


@dataclass(frozen=True, slots=True)
class Evidence:
    """1: positive leaves the module; -1: positive charges it; 0: nothing is proved."""

    sign: int
    words: str = ""


def with_signs(found: Sequence[Scaled], seconds: np.ndarray, asked: Asked, told: Told) -> list[Scaled]:
    """Turn what counts the other way round; `seconds` (row,) are the times of the sample's first rows."""
    out = list(found)
    for k, one in enumerate(found):
        if one.take.quantity not in ("current", "power"):
            continue
        evidence = _evidence(one, found, seconds, asked)
        name = one.candidate.heading
        if evidence.sign == 0:
            if _has_no_sign(one, found):
                told.ask(
                    f"sign of {name}",
                    f"{name} is never negative, while the charge rises and falls: its sign was lost",
                    f'--take "{name}=nothing"',
                )
            else:
                told.ask(
                    f"sign of {name}",
                    f"does a positive {name} charge the bank, or leave it? {evidence.words}",
                    "--positive charging or --positive discharging",
                )
            continue
        words = "positive leaves the module" if evidence.sign > 0 else "positive charges; it is turned round"
        told.settle(f"sign of {name}", words, evidence.words)
        if evidence.sign < 0:
            take = replace(one.take, factor=-one.take.factor, offset=-one.take.offset)
            out[k] = replace(one, take=take)
    return out


def _evidence(one: Scaled, found: Sequence[Scaled], seconds: np.ndarray, asked: Asked) -> Evidence:
    if one.candidate.meaning.way:
        sign = 1 if one.candidate.meaning.way == "discharge" else -1
        return Evidence(sign, f"the heading says {one.candidate.meaning.way}")
    note = _noted(one.candidate.heading)
    if note is not None:
        return note
    if asked.positive is not None:
        return Evidence(1 if asked.positive == "discharging" else -1, "as told")
    owner = one.take.at.split(".")[0]
    flow = one.inside[: len(seconds)]
    tried = []
    for other in _beside(found, owner, ("soc", "capacity_ah")):
        tried.append(of_charge(flow, other.inside[: len(seconds)], seconds, other.candidate.heading))
    volts = _beside(found, owner, ("voltage",)) or _beside(found, owner, ("cell_voltage",))
    for other in volts[:1]:
        tried.append(of_volts(one.inside, other.inside, other.candidate.heading))
    for other in _beside(found, owner, ("current",)) if one.take.quantity == "power" else []:
        tried.append(_like(flow, one, other, found, seconds, asked=asked))
    proofs = [evidence for evidence in tried if evidence.sign]
    if len({proof.sign for proof in proofs}) > 1:
        return Evidence(0, "; but ".join(proof.words for proof in proofs))
    return proofs[0] if proofs else Evidence(0, "nothing in the file proves it")


def _noted(heading: str) -> Evidence | None:
    """`(+ charging)`, `positive = discharge`."""
    found = re.search(
        r"(?:\+|positive?|pos\.?)\s*[:=]?\s*(?:is\s+)?(charg|laden|lade|dis|entlad)", heading, re.IGNORECASE
    )
    if found is None:
        return None
    leaves = found[1].lower().startswith(("dis", "ent"))
    return Evidence(1 if leaves else -1, "the heading says so")


def _beside(found: Sequence[Scaled], owner: str, quantities: Sequence[str]) -> list[Scaled]:
    """Columns of the same module."""
    owners = (
        (owner,)
        if any(s.take.quantity in quantities and s.take.at.split(".")[0] == owner for s in found)
        else ("bank",)
    )
    mine = [s for s in found if s.take.quantity in quantities and s.take.at.split(".")[0] in owners]
    return [s for s in mine if not s.candidate.meaning.way and not s.take.at.endswith((".in", ".out"))]


def _likeness(a: np.ndarray, b: np.ndarray) -> float:
    good = ~(np.isnan(a) | np.isnan(b))
    top = float(np.sqrt((a[good] ** 2).sum() * (b[good] ** 2).sum()))
    return float((a[good] * b[good]).sum() / top) if top > 0 else 0.0


def of_charge(flow: np.ndarray, charge: np.ndarray, seconds: np.ndarray, name: str) -> Evidence:
    """Charge that falls while the current is positive: it leaves."""
    count = len(flow)
    if count < 3 or np.nanmax(charge, initial=-np.inf) - np.nanmin(charge, initial=np.inf) <= 0:
        return Evidence(0)
    edges = np.unique(np.linspace(0, count - 1, min(_WINDOWS, count)).astype(int))
    step = np.clip(np.diff(seconds, append=seconds[-1:]), 0, 3600)
    moved = np.add.reduceat(np.nan_to_num(flow) * step, edges[:-1])
    change = np.diff(charge[edges])
    steady = np.nanmax(charge) - np.nanmin(charge)
    likeness = _likeness(moved, change)
    if abs(likeness) < _STRONG or not np.isfinite(steady) or (np.count_nonzero(change) < 2 and abs(likeness) < 0.9):
        return Evidence(0)
    fell = "falls" if likeness < 0 else "rises"
    return Evidence(1 if likeness < 0 else -1, f"{name} {fell} while it is positive (likeness {abs(likeness):.2f})")


def of_volts(flow: np.ndarray, volts: np.ndarray, name: str) -> Evidence:
    """Volts that fall when the current rises: it leaves."""
    if len(flow) < 9 or not np.nanmax(np.abs(flow), initial=0) > 0:
        return Evidence(0)
    for lag in (lag for lag in (1, 2, 5, 20) if 2 * lag < len(flow)):
        rise, change = flow[lag:] - flow[:-lag], volts[lag:] - volts[:-lag]
        steps = np.abs(rise) > 0.2 * np.nanmax(np.abs(flow))  # a real change, no noise of the meter
        likeness = _likeness(rise[steps], change[steps])
        if steps.sum() >= 2 and abs(likeness) >= _STRONG:
            fell = "falls" if likeness < 0 else "rises"
            return Evidence(1 if likeness < 0 else -1, f"{name} {fell} when it rises (likeness {abs(likeness):.2f})")
    return Evidence(0)


def _like(
    flow: np.ndarray, one: Scaled, other: Scaled, found: Sequence[Scaled], seconds: np.ndarray, *, asked: Asked
) -> Evidence:
    """A power that goes with the current of the same module."""
    likeness = _likeness(flow, other.inside[: len(seconds)])
    evidence = _evidence(other, [s for s in found if s is not one], seconds, asked)
    if abs(likeness) < 0.8 or not evidence.sign:
        return Evidence(0)
    sign = evidence.sign * (1 if likeness > 0 else -1)
    return Evidence(sign, f"it goes {'with' if likeness > 0 else 'against'} {other.candidate.heading}")


def _has_no_sign(one: Scaled, found: Sequence[Scaled]) -> bool:
    owner = one.take.at.split(".")[0]
    flow = one.inside
    if not len(flow[~np.isnan(flow)]) or np.nanmin(flow) < 0 or np.nanmax(flow) <= 0:
        return False
    for other in _beside(found, owner, ("soc", "capacity_ah")):
        change = np.diff(other.inside)
        change = change[~np.isnan(change)]
        if change[change > 0].sum() > 0.02 and -change[change < 0].sum() > 0.02:
            return True
    return False
