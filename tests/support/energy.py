"""The books of energy of a run, kept beside it: Simpson's rule over every step, its middle computed anew.

For runs in which no switch moves and no load leaves. Nothing of the run's own loop is used, only single steps of it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bankwright.circuit.run.loads import LoadSide, RunLoad
from bankwright.circuit.run.modules import RunModules
from bankwright.circuit.run.ports import Ports
from bankwright.circuit.run.run import Run
from bankwright.circuit.run.step import Node, Rig, Stage, State


def energy_of(ports: Ports, modules: RunModules, loads: Sequence[RunLoad], found: Run) -> dict[str, float]:
    """Energy given by the modules, taken by the loads, lost; in J."""
    rig, side = Rig.of(modules, ports), LoadSide(loads, ports.load_names, ())
    stage = Stage(rig, side, np.ones(rig.shape, dtype=bool))
    taken = lost = 0.0
    for here in np.flatnonzero(np.diff(found.time) > 0.0):
        side.turn(float(found.time[here]))
        h = float(found.time[here + 1] - found.time[here])
        start = stage.settle(_state(rig, found, here))
        end = stage.settle(_state(rig, found, here + 1))
        assert start is not None
        assert end is not None
        assert end.current == _near(found.module_current[here + 1])
        tried = stage.try_step(start, h / 2)
        middle = start if tried is None else tried[0]
        for at, weight in ((start, h / 6), (middle, 2 * h / 3), (end, h / 6)):
            taken += weight * float(np.sum(np.atleast_1d(at.U) * np.atleast_1d(at.J)))
            lost += weight * (float(rig.heat(at, at.current).sum()) + _metal(ports, at))
    held = [_held(modules, _state(rig, found, place)) for place in (0, len(found.time) - 1)]
    return {"given": held[0] - held[1], "taken": taken, "lost": lost}


def _near(current: np.ndarray):
    import pytest

    return pytest.approx(current, rel=1e-6, abs=1e-6)


def _state(rig: Rig, found: Run, place: int) -> State:
    temperature = found.temperature_degc[place]
    Y = np.array([found.soc[place], *found.branches[:, place]])
    return State(float(found.time[place]), Y, temperature, rig.factor(temperature))


def _metal(ports: Ports, at: Node) -> float:
    """Heat in the wiring. [W]"""
    J = np.atleast_1d(at.J)[len(ports.fed) :]
    through = ports.passive @ at.current + (ports.across @ J if len(J) else 0.0)
    loops = float((ports.own @ J + ports.across.T @ at.current) @ J) if len(J) else 0.0
    return float(through @ at.current) + loops


def _held(m: RunModules, state: State) -> float:
    """Energy held by curve and branches. [J]"""
    held = (m.capacity * m.curves.energy(state.Y[0], m.shift)).sum()
    for volts, r, tau in ((state.Y[1], m.r1, m.tau1), (state.Y[2], m.r2, m.tau2)):
        held += (np.divide(tau, r, out=np.zeros(r.shape), where=r > 0) * volts**2 / 2).sum()
    return float(held)
