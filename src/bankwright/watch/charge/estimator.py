"""State of charge of a bank and of each of its modules, block by block.

Gives: Estimator, Charge, Heap, Anchor, UNKNOWN and the anchors' sizes. Every number comes with its 95 % band; where
half of it is above 10 points the answer is `unknown` (the band is still there). Anchors: the top (98.5 -+ 1.0 %) and
the empty end (3.5 -+ 1.5 %).
Limits: modules in parallel on one pair of bars. A module that is off the bus, or silent, is told as such. A gap is
bridged by the current on both sides of it, with a doubt of 5 % of the capacity an hour; after five hours or so the
state of charge may be anywhere, until the curve tells.
Sources: own trials on open data and in simulation (docs/charge.md); anchors: design choice, tested there.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from bankwright.circuit.network import Array
from bankwright.watch.charge.apart import Apart, Flags, Shared
from bankwright.watch.charge.blocks import GAP, Blocks, Relaxing
from bankwright.watch.charge.common import Common
from bankwright.watch.charge.facts import Facts
from bankwright.watch.charge.library import CurveBand
from bankwright.watch.charge.mixture import Look, Prior

__all__ = ["LOW_SD", "LOW_SOC", "TOP_SD", "TOP_SOC", "UNKNOWN", "Anchor", "Charge", "Estimator", "Heap"]

UNKNOWN, NARROWEST = 0.10, 0.01  # half band from which on nothing is said; nothing is said finer
TOP_VOLTS, TOP_RATE, TOP_SOC, TOP_SD, TOP_APART = 3.45, 0.05, 0.985, 0.010, 0.007
LOW_VOLTS, LOW_RATE, LOW_SOC, LOW_SD = 3.0, 0.1, 0.035, 0.015
AGAIN = 0.04  # of the charge that must move between two anchors of one kind
IDLE, WORKS = 0.004, 0.03  # C: a module that gives less while the others give more is off the bus
STEP_RATE = 1.0  # C: after such a step in the last minute the relaxation is not known well enough
BRIDGED = 3600.0  # s of a gap over which the current on both sides still says something
GAP_DOUBT = 0.05  # of the capacity an hour, while nobody listens; own choice
AGREE, ALIKE = 0.012, 0.1  # V a cell, C: who differs by more, in both, tells of another time; own choice
WALK = 0.03 / np.sqrt(24) / 100  # 1/h per sqrt(h): an offset of 100 Ah wanders by 0.03 A a day; own choice
UNPROVED = 0.018  # of the charge, added to the doubt of a difference from the mean, until an anchor [own trials]
BANK_OFFSET = 1.5  # offsets of a bank's sensors do not average out like luck: times their share


@dataclass(frozen=True, slots=True)
class Heap:
    """One of several places where a state of charge may be, with its weight."""

    soc: float
    weight: float


@dataclass(frozen=True, slots=True)
class Charge:
    """State of charge of a bank or a module as a share; `low` and `high` hold it with 95 %."""

    name: str
    time: float  # s since 1970
    soc: float | None  # None: unknown
    low: float
    high: float
    why: str = ""  # of an unknown: "band" | "off" | "silent"

    @property
    def half(self) -> float:
        """Half of the band."""
        return (self.high - self.low) / 2


@dataclass(frozen=True, slots=True)
class Anchor:
    """The whole bank was full, or empty; charge counted by each module until then. [Ah]"""

    time: float
    is_top: bool
    counted: tuple[float, ...]
    hours: float  # counted over, since the estimator began; without gaps
    offset: tuple[float, ...] = ()  # of each current sensor, as it was known then [A]


@dataclass(eq=False)
class Estimator:
    """Carries a bank through its blocks."""

    facts: Facts
    common: Common
    apart: Apart
    relaxing: Relaxing
    factor: float  # of the resistance that the curve was made for
    end: float = float("nan")  # of the last block
    last_current: Array = field(default_factory=lambda: np.zeros(0))
    counted: Array = field(default_factory=lambda: np.zeros(0))
    hours: float = 0.0
    anchors: tuple[Anchor, ...] = ()
    anchored: tuple[float, float] = (float("nan"), float("nan"))  # charge through the bank at the last top and low

    @classmethod
    def begin(
        cls, facts: Facts, *, soc: float | None = None, sd: float = 0.02, prior: Prior | None = None,
        curve: CurveBand | None = None,
    ) -> Estimator:  # fmt: skip
        """Start where nothing is known, or at a state of charge known to `sd`."""
        prior, count = prior or Prior(offset_walk=WALK), len(facts.names)
        share = min(BANK_OFFSET / np.sqrt(count), 1.0)
        mean = replace(prior, offset=prior.offset * share, offset_walk=prior.offset_walk / np.sqrt(count))
        common = Common.begin(curve or facts.curve(1.0), mean, float(facts.offset_volts.mean()), soc, sd)
        apart = Apart.begin(count, prior.offset)
        return cls(facts, common, apart, Relaxing.rested(count), 1.0, counted=np.zeros(count))

    def take(self, blocks: Blocks, degc: Array | None = None) -> None:
        """Go through blocks; `degc` (block, module) temperature of the cells, NaN or None where it is not known."""
        warm = np.full(blocks.volts.shape, np.nan) if degc is None else degc
        factors = self.facts.factor(warm) if len(blocks) else warm
        for k in range(len(blocks)):
            self._block(blocks, k, factors[k])

    def contest(self, hours: Array, rate: Array) -> None:
        """Before blocks of an hour of which the clock of a log passed so much twice, (module,) [h].

        What was read then belongs somewhere else as well: its count may be wrong by the most that the module moves in
        an hour, `rate` (module,) as a share of its capacity, and the bank's mean by its part of that.
        """
        if not (hours > 0).any():
            return
        self.common.doubt(float((hours * rate).mean()))
        self.anchored = (float("nan"), float("nan"))
        for m in np.flatnonzero(hours > 0):
            self.apart.away(int(m))

    def _block(self, blocks: Blocks, k: int, factor: Array) -> None:
        on = self._on(blocks.volts[k], blocks.current[k])
        if not on.any():
            return
        self._gap(blocks, k, on)
        self._warm(float(factor[on].mean()))
        hours = (blocks.end[k] - max(blocks.start[k], self.end if np.isfinite(self.end) else 0.0)) / 3600
        charge = np.where(on, blocks.charge[k] / self.facts.capacity_ah, 0.0)
        over = np.where(on, blocks.over[k] * factor + self.facts.metal * blocks.current[k], 0.0)
        mean = float(charge[on].mean())
        seen = None
        volts = float((blocks.volts[k][on] + over[on]).mean())
        steps = bool((blocks.jump[k][on] / self.facts.capacity_ah[on] > STEP_RATE).any())
        torn = self._torn(blocks.volts[k][on], charge[on], hours)
        if torn:
            self.common.doubt(float(np.ptp(charge[on])))
        elif not steps:
            seen = Look(np.array([volts]), np.array([over[on].mean()]), np.array([mean / 2]))
        self.common.step(mean, hours, seen)
        self.counted = self.counted + np.where(on, np.nan_to_num(blocks.charge[k]), 0.0)
        self.hours += hours
        shared = Shared(charge, over, on, hours, self.common.mean(), self.common.slope(), self.facts.offset_volts)
        if torn:
            for m in np.flatnonzero(on):
                self.apart.away(int(m))
        else:
            self.apart.step(shared)
        self.end, self.last_current = float(blocks.end[k]), blocks.last_current[k]
        self._anchor(blocks, k, on)

    def _torn(self, volts: Array, charge: Array, hours: float) -> bool:
        """Whether modules that share one voltage tell of different times: clocks of their logs part."""
        apart = len(volts) > 1 and float(np.ptp(volts)) > AGREE
        return apart and hours > 0 and float(np.ptp(charge)) > ALIKE * hours

    def _on(self, volts: Array, current: Array) -> Flags:
        """Who was heard and takes part; whoever was found off stays so until it gives current again."""
        heard = np.isfinite(volts) & np.isfinite(current)
        rate = np.abs(np.where(heard, current, 0.0)) / self.facts.capacity_ah
        works = bool(heard.any()) and float(rate[heard].max()) > WORKS
        idle = rate < IDLE
        return np.asarray(heard & ~(idle & (works | ~self.apart.was_on)))

    def _gap(self, blocks: Blocks, k: int, on: Flags) -> None:
        """What passed while nobody listened."""
        passed = max(float(blocks.start[k]) - self.end, float(np.nanmax(blocks.gap[k][on])))
        if not passed > GAP:
            return
        guess = 0.0
        if passed <= BRIDGED and len(self.last_current):
            both = (self.last_current + blocks.current[k])[on] / 2 / self.facts.capacity_ah[on]
            guess = float(np.nan_to_num(both).mean()) * passed / 3600
        self.common.lose(passed / 3600, guess, GAP_DOUBT * passed / 3600)
        self.anchored = (float("nan"), float("nan"))

    def _warm(self, factor: float) -> None:
        if abs(factor / self.factor - 1) > 0.02 and not self.common.speaks.curve.is_own:
            self.common.warmed(self.facts.curve(factor))
            self.factor = factor

    def _anchor(self, blocks: Blocks, k: int, on: Flags) -> None:
        volts, rate = blocks.volts[k][on], blocks.current[k][on] / self.facts.capacity_ah[on]
        passed = self.common.passed
        if (volts >= TOP_VOLTS).all() and (rate <= 0.002).all() and (rate > -TOP_RATE).all():
            if not abs(passed - self.anchored[0]) < AGAIN:
                self.common.anchor(TOP_SOC, TOP_SD)
                self.apart.anchor(on, TOP_APART)
                self._keep(True, on)
            self.anchored = (passed, self.anchored[1])
        elif (volts < LOW_VOLTS).all() and (rate >= 0).all() and (rate < LOW_RATE).all():
            if not abs(passed - self.anchored[1]) < AGAIN:
                self.common.anchor(LOW_SOC, LOW_SD)
                self._keep(False, on)
            self.anchored = (self.anchored[0], passed)

    def _keep(self, is_top: bool, on: Flags) -> None:
        if on.all():
            counted, offset = (tuple(float(v) for v in values) for values in (self.counted, self.whole_offsets()[0]))
            self.anchors += (Anchor(self.end, is_top, counted, self.hours, offset),)

    # --- answers

    def bank(self) -> Charge:
        """State of charge of the bank's mean."""
        return _said("bank", self.end, self.common.mean(), *self.common.band())

    def modules(self) -> tuple[Charge, ...]:
        """State of charge of each module."""
        mean, (low, high) = self.common.mean(), self.common.band()
        away, sd = self.apart_charge()
        answer = []
        for m, name in enumerate(self.facts.names):
            if not self.apart.was_on[m]:
                answer.append(Charge(name, self.end, None, 0.0, 1.0, "off"))
                continue
            own = 1.96 * float(sd[m]) if len(self.facts.names) > 1 else 0.0
            z = mean + float(away[m])
            ends = z - np.hypot(mean - low, own), z + np.hypot(high - mean, own)
            answer.append(_said(name, self.end, z, float(ends[0]), float(ends[1])))
        return tuple(answer)

    def apart_charge(self) -> tuple[Array, Array]:
        """How far each module lies off the mean of those on the bus, and one standard deviation. (module,)

        From an unknown start on curves of other cells the slope may be that of another place on the curve, and what a
        voltage says of a difference is off by as much: that is added until the bank was full or empty once.
        """
        away, sd = self.apart.charge()
        return away, sd if self.common.is_proved else np.hypot(sd, UNPROVED)

    def heaps(self) -> tuple[Heap, ...]:
        """Places where the bank's state of charge may be, where there is more than one."""
        found = tuple(Heap(*place) for place in self.common.speaks.places())
        return found if len(found) > 1 else ()

    def whole_offsets(self) -> tuple[Array, Array]:
        """Offset of each current sensor, with the part that all share, and one standard deviation. [A] (module,)"""
        (mean, mean_sd), (away, sd) = self.common.speaks.offset(), self.apart.offset()
        several = len(self.facts.names) > 1
        value, doubt = mean[0] + (away if several else 0.0), np.hypot(mean_sd[0], sd if several else 0.0)
        return np.asarray(value * self.facts.capacity_ah), np.asarray(doubt * self.facts.capacity_ah)

    def offsets(self) -> tuple[Array, Array]:
        """Offset of each current sensor off the mean of all, and one standard deviation. [A] (module,)"""
        value, sd = self.apart.offset()
        return value * self.facts.capacity_ah, sd * self.facts.capacity_ah


def _said(name: str, time: float, soc: float, low: float, high: float) -> Charge:
    """A number inside 0..1 with a band that is never finer than it can be."""
    z = min(max(soc, 0.0), 1.0)
    low, high = max(min(low, z - NARROWEST), 0.0), min(max(high, z + NARROWEST), 1.0)
    return Charge(
        name, time, None if (high - low) / 2 > UNKNOWN else z, low, high, "band" if (high - low) / 2 > UNKNOWN else ""
    )
