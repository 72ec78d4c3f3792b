"""Two measured cells in parallel: their resistances from one step of current and one of voltage.

Data: Weng et al., arXiv 2310.10396, repository wengandrew/current-imbalance, MIT, copyright 2022 Andrew Weng; every
fourth row, rounded (one row in 20 s or more). Two aged NMC cells, 1.83 and 1.93 Ah, at C/4; positive = charge. The
resistances published beside them are those of a model fitted to each cell alone, over its state of charge.
Not the same thing: the first row after a step is up to 20 s old, the published value is that of a slow discharge. So
the comparison is loose (a quarter), and the figures are printed.
"""

from __future__ import annotations

import numpy as np
import pytest

from bankwright.circuit.inverse.elements import told
from bankwright.circuit.inverse.fit import fit
from bankwright.circuit.inverse.looks import Observation, State, current_look, voltage_look
from bankwright.circuit.inverse.point import Unknowns, predicted
from bankwright.circuit.inverse.prior import prior_of
from bankwright.circuit.network import Edge, Element, Network
from bankwright.forms.toleranced import Toleranced
from support.networks import load
from support.run_banks import DATA

ROOM = Toleranced(0.4, 0.05, 0.9)  # ohm; says next to nothing
MEASURED = np.loadtxt(DATA / "parallel_two_cells_c4.csv", delimiter=",", skiprows=1)
PUBLISHED = np.loadtxt(DATA / "parallel_two_cells_ocv_r.csv", delimiter=",", skiprows=1)
STEPS = {"charge from empty": 3544.0, "discharge from full": 20744.0}


def cells() -> Network:
    edges = [Edge(name, "-", "+", "module", (Element(name, "module", ROOM),)) for name in ("one", "two")]
    return Network.of([*edges, load("tester", "+", "-")])


def step(start: float) -> tuple[np.ndarray, np.ndarray]:
    """The last row before a step and the first after it: volts, current of both cells (discharge positive)."""
    place = int(np.searchsorted(MEASURED[:, 0], start - 1.0))
    before, after = MEASURED[place - 1], MEASURED[place]
    return np.array([before[1], -before[2], -before[3]]), np.array([after[1], -after[2], -after[3]])


@pytest.mark.parametrize("which", STEPS)
def test_resistances_of_both_cells(which: str, capsys: pytest.CaptureFixture[str]) -> None:
    rest, under = step(STEPS[which])
    states = (State("rest", {"tester": float(rest[1:].sum())}), State("step", {"tester": float(under[1:].sum())}))
    unknowns = Unknowns(cells(), states)
    rows = [(state, values) for state, values in zip(states, (rest, under), strict=True)]
    read = [
        Observation(current_look(name, state.name), float(values[place]), 0.01)
        for state, values in rows
        for place, name in ((1, "one"), (2, "two"))
    ]
    prior = prior_of(unknowns, np.full(2, rest[0]), 0.01, apart=0.05)
    ratio = fit(prior, read)
    volts = [Observation(voltage_look("+", "-", state.name), float(values[0]), 5e-4) for state, values in rows]
    found = fit(prior, [*read, *volts])
    soc = [float(np.interp(rest[0], PUBLISHED[:, column], PUBLISHED[:, 0])) for column in (1, 3)]
    published = [float(np.interp(soc[k], PUBLISHED[:, 0], PUBLISHED[:, column])) for k, column in enumerate((2, 4))]
    ours = [found.value("one"), found.value("two")]
    with capsys.disabled():
        print(f"\n  two measured cells, {which}: {ours[0]:.3f} and {ours[1]:.3f} ohm from one step;")
        print(f"  published {published[0]:.3f} and {published[1]:.3f} ohm at this charge")
    assert ours == pytest.approx(published, rel=0.25)
    # closed form: at one voltage at rest, the step of the bus over each cell's own step of current
    sag = rest[0] - under[0]
    assert ours == pytest.approx(list(sag / (under[1:] - rest[1:])), rel=0.05)
    # currents alone: one number, the ratio
    assert ratio.value("one") / ratio.value("two") == pytest.approx(ours[0] / ours[1], rel=0.06)
    band = ratio.band("one", "two")
    assert band[1] - band[0] > 3 * (found.band("one", "two")[1] - found.band("one", "two")[0])


def test_two_cells_give_one_number_by_currents_and_two_with_a_voltage() -> None:
    unknowns = Unknowns(cells(), (State("step", {"tester": 1.25}),))
    start = unknowns.start(np.array([0.5, 0.3]), np.full(2, 3.2))
    looks = [current_look("one", "step"), current_look("two", "step"), voltage_look("+", "-", "step")]
    _, rows = predicted(unknowns, looks, start)
    by_currents, by_all = (told(rows[:n, :2], ["one", "two"], start[:2]) for n in (2, 3))
    assert (by_currents.rank, by_currents.only_ratios) == (1, True)
    assert (by_all.rank, by_all.only_ratios) == (2, False)
