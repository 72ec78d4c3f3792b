"""Cards of the findings about joints.

Gives: GROWN, CARRIES, INSIDE, STRAY, READY, CARDS.
Sources: stand at each.
"""

from __future__ import annotations

from bankwright.forms.card import Card
from bankwright.forms.origin import Source

__all__ = ["CARDS", "CARRIES", "GROWN", "INSIDE", "READY", "STRAY"]

BENCH = Source("bench of pretend telemetry", place="docs/watch-joints.md", how_known="derived")
HEAT = Source("ANSI/NETA ATS-2003", "2003", "100.18, 15 K over its like; 2 W: common practice", "read")

GROWN = Card(
    "W-JOINT-1",
    "No joint grows",
    "r < min(2 W, 15 K G) / I^2",
    HEAT,
    why="A joint that goes bad grows by tenths of a milliohm for months before it is hot. Differences of the modules' "
    "voltages on their currents show it; any growth that stands out of this bank's own baseline is a caution to look, "
    "and it fails where the heat at this bank's largest current passes 2 W, or 15 K above the cable.",
)
CARRIES = Card(
    "W-JOINT-2",
    "With what has grown every module stays below its limit",
    "i_k(r) < I_cont",
    Source("network of the bank with the grown resistance", how_known="derived"),
    why="A branch that grows hands its current to the others.",
)
INSIDE = Card(
    "W-JOINT-3",
    "No module's own way grows",
    "-R d(ln share), temperature taken off",
    BENCH,
    ends_at="caution",
    why="Shares move where the drops do not: cells that age or are colder than told, the module's own switch, or its "
    "current sensor. From here these are one thing.",
)
STRAY = Card(
    "W-JOINT-4",
    "The modules' voltages agree",
    "V_k - (W i)_k is one voltage for all",
    Source("Kirchhoff's voltage law", how_known="stated law"),
    ends_at="caution",
    why="All modules sit on one bus: a voltage that comes to stand off what all share is a sensor that drifts.",
)
READY = Card(
    "W-JOINT-5",
    "Joints can be heard",
    "14 days of baseline; step <= 20 mV; noise >= 0.2 of a step; deviation of a day <= 37.5 uohm",
    BENCH,
    ends_at="caution",
    why="What is promised of joints holds for voltages that are fine enough, modules read back to back, and a load "
    "that comes and goes.",
)
CARDS = (GROWN, CARRIES, INSIDE, STRAY, READY)
