"""The state of charge that the modules of a bank share, or that of one module alone.

Gives: Common. A mixture with a lasting error of the curve; where the offset of the current sensor is not known to
0.6 % of the capacity an hour, a second one with a drifting error speaks until the capacity has gone through twice
(a first pass with a large offset is where a lasting error goes astray), and as long as the two contradict each other
the band holds both.
Limits: blocks and who is on the bus are settled in estimator.py.
Sources: own trials on open data and in simulation (docs/charge.md).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bankwright.circuit.network import Array
from bankwright.watch.charge.curve_error import NODES, Drifting, Lasting, Motion
from bankwright.watch.charge.library import GRID, CurveBand
from bankwright.watch.charge.mixture import OPEN, OWN, Look, Mixture, Prior

__all__ = ["Common"]

KNOWN = 0.006  # 1/h: an offset known to this leaves the lasting error in charge from the start
PASSES = 2.0  # of the capacity
LASTING, DRIFTING = 48, 64  # components
KNEE, TOP = 0.90, 3.50  # of the charge; V a cell: between them curves of other cells part
MOST = 0.06  # V [own trials]
UNPROVED = 0.07  # of the charge, added to the doubt of who began anywhere, until an anchor [own trials in simulation]
REACH = 0.03  # of the charge on both sides, over which the learned slope is taken


@dataclass(eq=False)
class Common:
    """One series of blocks met by one or two mixtures."""

    lasting: Mixture
    drifting: Mixture | None
    passed: float = 0.0  # capacities that went through
    is_proved: bool = True  # begun at a known charge, or anchored since; else a foreign curve may have led all astray

    @classmethod
    def begin(
        cls, curve: CurveBand, prior: Prior, offset_volts: float, soc: float | None = None, sd: float = 0.15
    ) -> Common:
        """Start at a state of charge known to `sd`, or anywhere."""
        lasting = Mixture.begin(
            curve, Lasting(_lasting_doubt(curve), curve.along), prior, offset_volts, [soc], sd=[sd], components=LASTING
        )
        drifting = None
        if prior.offset > KNOWN:
            drifting = Mixture.begin(
                curve, Drifting(curve.doubt, curve.along), prior, offset_volts, [soc], sd=[sd], components=DRIFTING
            )
        return cls(lasting, drifting, is_proved=soc is not None or curve.is_own)

    def _both(self) -> tuple[Mixture, ...]:
        return (self.lasting,) if self.drifting is None else (self.lasting, self.drifting)

    def step(self, charge: float, hours: float, look: Look | None) -> None:
        """Carry through a block; `look` None where the voltage says nothing."""
        self.passed += abs(charge)
        for one in self._both():
            one.move(Motion(np.array([charge]), hours))
            if look is not None and not (one is self.lasting and _parts(one, look)):
                one.see(look)
        if self.drifting is not None and self.passed >= PASSES and self._agree():
            self.drifting = None

    def _agree(self) -> bool:
        (low, high), (other_low, other_high) = (_ends(one) for one in self._both())
        return low <= other_high and other_low <= high

    def anchor(self, soc: float, sd: float) -> None:
        """The state of charge is known from elsewhere."""
        self.is_proved = True
        for one in self._both():
            one.anchor(0, soc, sd)

    def doubt(self, sd: float) -> None:
        """What was counted may be wrong by so much, as a share."""
        if sd >= OPEN and not self.speaks.curve.is_own:
            self.is_proved = False
        for one in self._both():
            one.doubt(sd)

    def lose(self, hours: float, guess: float, doubt: float) -> None:
        """Nothing was counted for so long."""
        if doubt >= OPEN and not self.speaks.curve.is_own:
            self.is_proved = False
        for one in self._both():
            one.lose(hours, guess, doubt)

    def warmed(self, curve: CurveBand) -> None:
        """Go on with the curve at another temperature."""
        for one in self._both():
            one.curve = curve

    # --- answers

    @property
    def speaks(self) -> Mixture:
        """The mixture whose mean is said."""
        return self.drifting or self.lasting

    def mean(self) -> float:
        """State of charge. [0..1]"""
        return float(self.speaks.mean()[0])

    def band(self) -> tuple[float, float]:
        """Lower and upper end of the 95 % band.

        Many days over the same flat teach the filters a charge and a curve that go together, and both may be off by as
        much: from an unknown start that is added, until the bank was full or empty once.
        """
        ends = [_ends(one) for one in (self._both() if self.passed >= PASSES else (self.speaks,))]
        low, high = min(low for low, _ in ends), max(high for _, high in ends)
        if self.is_proved:
            return low, high
        mean = self.mean()
        return max(mean - np.hypot(mean - low, UNPROVED), 0.0), min(mean + np.hypot(high - mean, UNPROVED), 1.0)

    def slope(self) -> float:
        """Slope of the curve as learned so far, around the present state of charge. [V a cell over the whole charge]"""
        one = self.lasting
        z, learned = self.mean(), (one.weight[0][:, None] * one.x[0, :, OWN:]).sum(axis=0)
        low, high = max(z - REACH, 0.0), min(z + REACH, 1.0)
        ends = [float(np.interp(at, GRID, one.curve.centre) + np.interp(at, NODES, learned)) for at in (low, high)]
        return (ends[1] - ends[0]) / (high - low)


def _lasting_doubt(curve: CurveBand) -> Array:
    """Near its ends a curve is steep, but full and empty are voltages themselves: no cell lies off by more."""
    return curve.doubt if curve.is_own else np.minimum(curve.doubt, MOST)


def _parts(one: Mixture, look: Look) -> bool:
    """Whether curves of other cells part here: some rise from 93 % on, some from 99 %; the count goes on alone.

    A drifting error forgets what it learned there; a lasting one would keep it.
    """
    return not one.curve.is_own and float(one.mean()[0]) > KNEE and float(look.volts[0]) < TOP


def _ends(one: Mixture) -> tuple[float, float]:
    low, high = one.band()
    return float(low[0]), float(high[0])
