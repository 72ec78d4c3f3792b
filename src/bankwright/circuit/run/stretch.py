"""Many equal pieces of a load's profile at once, where nothing else happens: a year in minutes.

Gives: Stretch, Stretches. All pieces are followed beside each other (circuit/run/course). What settles first is what
comes first, so a stretch ends before the first step that does not settle, misses the tolerance, passes a bound or
cannot be fed; that one is left to ordinary steps, which find the moment of an event.
Limits: one variant, one load that asks a power or a current in steps, temperatures that stay.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

import numpy as np

from bankwright.circuit.network import Array
from bankwright.circuit.run.course import SETTLED, Course, Pieces, Straight, course_of
from bankwright.circuit.run.loads import LoadSide, RunLoad
from bankwright.circuit.run.modes import Modes
from bankwright.circuit.run.step import Node, Rig, State
from bankwright.circuit.run.switchboard import Switchboard

__all__ = ["Stretch", "Stretches"]

LEAST, MOST = 4, 128  # pieces, steps
MOST_PARTS = 32  # of a piece
REST = 16  # ordinary steps after a stretch that came to nothing
STEEPNESS = 1.5  # slopes of the model stand on a ladder of such rungs, so that modes serve again
FLATTEST = 0.02  # V, slope of the model where the curve is level
MOST_KEPT = 64


@dataclass(frozen=True, eq=False, slots=True)
class Stretch:
    """What came of it: the nodes inside, on both sides of every turn, and the state at its end."""

    count: int  # steps
    last: float  # start of the last piece
    state: State
    time: Array  # (nodes,)
    Y: Array  # (3, nodes, M)
    current: Array  # (nodes, M)
    E: Array
    J: Array  # (nodes,)
    U: Array


class Stretches:
    """Looks ahead along the profile of the load."""

    def __init__(self, rig: Rig, loads: LoadSide, tolerance: float) -> None:
        """Lay out the profile."""
        self.rig, self.loads, self.tolerance = rig, loads, tolerance
        self.load: RunLoad = loads.loads[0]
        profile = self.load.profile
        self.times, self.values = np.asarray(profile.times), np.asarray(profile.values, dtype=float)
        lengths = np.diff(self.times)
        alike = np.abs(np.diff(lengths)) <= 1e-9 * lengths[1:]
        stops = np.append(np.flatnonzero(~alike) + 1, len(lengths))  # places where runs of equal lengths end
        self.until = stops[np.searchsorted(stops, np.arange(len(lengths)), side="right")] if len(lengths) else stops
        self.most, self.rest, self.parts = MOST, 0, 1
        self._modes: dict[tuple[bytes, bytes, bytes], Modes] = {}

    @staticmethod
    def fit(rig: Rig, loads: LoadSide) -> bool:
        """Whether a run may have stretches at all."""
        load = loads.loads[0]
        steps = load.profile.kind == "steps" and len(load.profile.times) > LEAST and load.law in ("power", "current")
        return loads.one and not rig.lead and not rig.warms and steps

    def ahead(self, node: Node, board: Switchboard, end: float) -> Stretch | None:
        """The pieces from a node on that can be taken at once; None where ordinary steps must go on."""
        if self.rest:
            self.rest -= 1
            return None
        pieces = None if self.loads.gone else self._pieces(node.time, end)
        if pieces is None:
            return None
        with np.errstate(all="ignore"):  # what runs away is cut off
            course = course_of(node, self._made_for(node, board.stage.on), pieces, self.tolerance)
        smooth = int((course.error > self.tolerance).argmax()) if (course.error > self.tolerance).any() else self.most
        count = self._good(node, board, course) // pieces.parts * pieces.parts
        self._tuned(course, count, smooth)
        if count < max(2, pieces.parts):
            self.rest = REST if smooth > count or pieces.parts >= MOST_PARTS else 0
            return None
        return self._taken(node, course, pieces, count)

    def _tuned(self, course: Course, count: int, smooth: int) -> None:
        """Finer parts where straight lines are too coarse, coarser ones where they are fine; lengths that settle."""
        whole = count == len(course.fed)
        if smooth <= count < len(course.fed) and self.parts < MOST_PARTS:
            self.parts *= 2
        elif whole and self.parts > 1 and course.error.max() < self.tolerance / 8:
            self.parts //= 2
        elif not whole and smooth > count:
            self.most = max(LEAST * self.parts, count)
        else:
            self.most = min(MOST, 2 * self.most)

    def _pieces(self, time: float, end: float) -> Pieces | None:
        """Equal pieces from here on; None where they are few or time does not stand at a start."""
        period = self.load.profile.period
        base = 0.0 if period is None else np.floor(time / period + 1e-12) * period
        place = bisect_right(self.load.profile.times, time - base + 1e-9) - 1
        if place + LEAST >= len(self.times) or abs(self.times[place] + base - time) > 1e-6:
            return None
        h = float(self.times[place + 1] - self.times[place])
        most = max(LEAST, self.most // self.parts)
        count = min(most, int(self.until[place]) - place, int((end - time) / h + 1e-9))
        if count < LEAST:
            return None
        ends = self.times[place : place + count + 1] + base
        times = np.interp(np.arange(count * self.parts + 1) / self.parts, np.arange(count + 1), ends)
        return Pieces(times, np.repeat(self.values[place : place + count], self.parts), h / self.parts, self.parts)

    def _made_for(self, node: Node, on: np.ndarray) -> Straight:
        """Modes near the slopes of a node; kept by their values."""
        steep = np.log(np.maximum(node.alpha, FLATTEST)) / np.log(STEEPNESS)
        slope = STEEPNESS ** np.rint(steep)
        key = (on.tobytes(), np.asarray(node.factor).tobytes(), slope.tobytes())
        if key not in self._modes:
            if len(self._modes) >= MOST_KEPT:
                self._modes.clear()
            self._modes[key] = Modes.of(node.view, self.rig.modules, slope, node.factor)
        return Straight(self.rig, self._modes[key], slope, self.load.law == "power")

    def _good(self, node: Node, board: Switchboard, c: Course) -> int:
        """Steps before the first that is not settled, not exact enough, not fed, or passes a bound."""
        fine = c.fed & (c.error <= self.tolerance) & (c.off[1:] <= SETTLED * self.tolerance)
        count = len(fine) if fine.all() else int(fine.argmin())
        for part, J in ((slice(0, count), c.J0), (slice(1, count + 1), c.J1)):
            if count:
                nodes = self._nodes(node, c, part, J[: part.stop - part.start])
                count = min(count, board.bounds.first_passed(nodes, len(nodes.E)))
                if board.cut_outs or board.tails:
                    leaving = board.leaving(nodes).any(axis=-1)
                    count = min(count, int(leaving.argmax()) if leaving.any() else count)
        return count

    def _nodes(self, node: Node, c: Course, part: slice, J: Array) -> Node:
        """Nodes of a course, time first; axes as of variants."""
        E, view = c.E[part], node.view
        current = E @ view.K.T + J[:, None] * view.k[:, 0]
        U = (E @ view.u[0] - float(view.Z[0, 0]) * J)[:, None]
        return Node(
            node.time, c.Y[:, part], node.temperature, node.factor, view, E, c.slope[part], current, J[:, None], U
        )

    def _taken(self, node: Node, c: Course, pieces: Pieces, count: int) -> Stretch:
        """The first steps of a course: ends of all but the last, and the starts that follow where the load turns."""
        ends = self._nodes(node, c, slice(1, count), c.J1[: count - 1])
        starts = self._nodes(node, c, slice(1, count), c.J0[1:count])

        twice = np.arange(1, count) % pieces.parts == 0
        kept = np.stack([np.ones_like(twice), twice], axis=1).reshape(-1)

        def woven(name: str, axis: int) -> Array:
            pair = np.stack([getattr(ends, name), getattr(starts, name)], axis=axis + 1)
            return np.compress(kept, pair.reshape(*pair.shape[:axis], -1, *pair.shape[axis + 2 :]), axis=axis)

        state = State(float(pieces.times[count]), c.Y[:, count].copy(), node.temperature, node.factor)
        return Stretch(
            count=count, last=float(pieces.times[count - 1]), state=state,
            time=np.repeat(pieces.times[1:count], 2)[kept], Y=woven("Y", 1), current=woven("current", 0),
            E=woven("E", 0), J=woven("J", 0)[:, 0], U=woven("U", 0)[:, 0],
        )  # fmt: skip
