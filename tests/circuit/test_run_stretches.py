"""Many equal pieces of a profile at once against ordinary steps, piece by piece, and against scipy."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from bankwright.circuit.run.loads import Profile, RunLoad
from bankwright.circuit.run.modes import Weights, carried
from bankwright.circuit.run.modules import Limits, run_modules
from bankwright.circuit.run.ports import Ports
from bankwright.circuit.run.run import Run, run
from bankwright.circuit.run.stretch import Stretches
from support.energy import energy_of
from support.run_banks import bank, lfp_curve

MINUTE = 60.0


def minutes(count: int, watts: float, seed: int = 3, piece: float = MINUTE) -> RunLoad:
    """A new power every piece, both ways."""
    luck = np.random.default_rng(seed)
    values = watts * np.sin(np.linspace(0, 5, count)) + 0.3 * watts * luck.uniform(-1, 1, count)
    return RunLoad("load", "power", Profile(tuple(piece * k for k in range(count)), tuple(values.tolist())))


def both_ways(monkeypatch, *args, **more) -> tuple[Run, Run, int]:
    """The run as it is, the run by ordinary steps, and how many pieces the first took at once."""
    taken, plain = [], Stretches.ahead

    def counted(self, *given):
        found = plain(self, *given)
        taken.append(0 if found is None else found.count)
        return found

    monkeypatch.setattr(Stretches, "ahead", counted)
    quick = run(*args, **more)
    monkeypatch.setattr(Stretches, "fit", staticmethod(lambda *_: False))
    return quick, run(*args, **more), sum(taken)


def at_turns(found: Run) -> np.ndarray:
    """Rows just before each whole minute."""
    return np.searchsorted(found.time, MINUTE * np.arange(1, int(found.time[-1] / MINUTE)) - 1e-6, side="right")


@pytest.mark.parametrize("count", [1, 4, 7])
def test_a_day_in_minutes_is_that_of_ordinary_steps(monkeypatch, count):
    ports, modules = bank(count)
    quick, slow, taken = both_ways(
        monkeypatch, ports, modules, [minutes(1440, 150.0 * count)], until=86400.0, soc=0.5, tolerance=1e-5
    )
    assert taken > 400
    assert not quick.events
    one, two = at_turns(quick), at_turns(slow)
    assert quick.time[one] == pytest.approx(slow.time[two])
    assert quick.voltage[one] == pytest.approx(slow.voltage[two], abs=5e-5)
    assert quick.module_current[one] == pytest.approx(slow.module_current[two], abs=5e-3)
    assert quick.soc[-1] == pytest.approx(slow.soc[-1], abs=5e-7)
    assert (np.diff(quick.time) >= 0).all()


def test_modules_far_apart_and_unlike(monkeypatch):
    modules = run_modules(
        lfp_curve(), [100.0, 40.0, 280.0], [8e-3, 30e-3, 2e-3], branch_1=([6e-3, 0.0, 1e-3], 35.0),
        branch_2=([5e-3, 2e-2, 0.0], [1000.0, 400.0, 2000.0]), names=("A", "B", "C"),
    )  # fmt: skip
    ports = Ports.common_bar(np.array([1e-3, 2e-3, 5e-4]), 1e-3)
    quick, slow, taken = both_ways(
        monkeypatch, ports, modules, [minutes(600, 4000.0)], until=36000.0, soc=[0.5, 0.7, 0.35], tolerance=1e-5
    )
    assert taken > 300
    one, two = at_turns(quick), at_turns(slow)
    assert quick.voltage[one] == pytest.approx(slow.voltage[two], abs=1e-4)
    assert quick.soc[-1] == pytest.approx(slow.soc[-1], abs=1e-6)


def test_events_come_at_their_moments_all_the_same(monkeypatch):
    limits = Limits(discharge_trip=60.0, discharge_delay=20.0, charge_trip=40.0, charge_delay=3.0, reclose_after=300.0)
    ports, modules = bank(3, limits=limits)
    load = RunLoad("load", "power", minutes(400, 7500.0).profile, cut_out=44.0)
    quick, slow, taken = both_ways(monkeypatch, ports, modules, [load], until=24000.0, soc=0.6, tolerance=1e-6)
    assert taken > 50
    assert len(slow.events) > 4
    assert [(e.what, e.at) for e in quick.events] == [(e.what, e.at) for e in slow.events]
    assert [e.time for e in quick.events] == pytest.approx([e.time for e in slow.events], abs=1e-3)


def test_the_end_of_the_curve_ends_it_there(monkeypatch):
    ports, modules = bank(2)
    load = RunLoad("load", "current", Profile(tuple(MINUTE * k for k in range(900)), (40.0,) * 450 + (41.0,) * 450))
    quick, slow, taken = both_ways(monkeypatch, ports, modules, [load], until=54000.0, soc=0.5, tolerance=1e-5)
    assert taken > 100
    assert quick.ended == slow.ended == "stopped"
    assert quick.time[-1] == pytest.approx(slow.time[-1], abs=0.05)


def test_charge_and_energy_close_over_a_stretch():
    ports, modules = bank(4)
    amps = np.random.default_rng(1).uniform(-40, 50, 240)
    load = RunLoad("load", "current", Profile(tuple(MINUTE * k for k in range(240)), tuple(amps.tolist())))
    found = run(ports, modules, [load], until=240 * MINUTE, soc=0.5, tolerance=1e-5)
    moved = ((found.soc[0] - found.soc[-1]) * modules.capacity).sum()
    assert moved == pytest.approx(MINUTE * amps.sum(), abs=1e-9 * MINUTE * np.abs(amps).sum())
    book = energy_of(ports, modules, [load], found)  # Simpson over whole minutes, whose branches answer in 35 s
    assert abs(book["given"] - book["taken"] - book["lost"]) < 2e-5 * 50 * MINUTE * np.abs(amps).sum()
    assert found.module_current.sum(-1) == pytest.approx(found.load_current[:, 0], abs=1e-9)


def test_two_modules_against_a_general_integrator():
    """scipy's eighth-order method, piece by piece; two modules on a straight curve, current given."""
    curve = ([0.0, 1.0], [3.0, 3.5])
    r0, r1, q = np.array([8e-3, 12e-3]), np.array([6e-3, 9e-3]), np.array([100.0, 80.0]) * 3600
    modules = run_modules(curve, q / 3600, r0, branch_1=(r1, 35.0), branch_2=(5e-3, 1000.0), names=("A", "B"))
    amps = tuple(np.random.default_rng(2).uniform(-30, 40, 64).tolist())
    load = RunLoad("load", "current", Profile(tuple(MINUTE * k for k in range(64)), amps))
    found = run(Ports.common_bar(np.zeros(2)), modules, [load], until=64 * MINUTE, soc=[0.5, 0.6], tolerance=1e-7)

    def rates(_, y, drawn):
        E = 16 * (3.0 + 0.5 * y[:2]) - y[2:4] - y[4:]
        bus = ((E / r0).sum() - drawn) / (1 / r0).sum()
        i = (E - bus) / r0
        return np.concatenate([-i / q, (r1 * i - y[2:4]) / 35.0, (5e-3 * i - y[4:]) / 1000.0])

    y = np.array([0.5, 0.6, 0, 0, 0, 0])
    for value in amps:
        y = solve_ivp(rates, (0, MINUTE), y, "DOP853", args=(value,), rtol=1e-11, atol=1e-13).y[:, -1]
    assert found.soc[-1] == pytest.approx(y[:2], abs=1e-9)
    assert found.branches[0, -1] == pytest.approx(y[2:4], abs=1e-8)
    assert found.branches[1, -1] == pytest.approx(y[4:], abs=1e-8)


@pytest.mark.slow
@settings(max_examples=8)
@given(st.integers(0, 5000), st.sampled_from([0.5, 10.0, 60.0, 900.0]))
def test_whatever_bank_and_length_of_piece(seed, piece):
    luck = np.random.default_rng(seed)
    count = int(luck.integers(1, 6))
    modules = run_modules(
        lfp_curve(), luck.uniform(30, 300, count), luck.uniform(1e-3, 3e-2, count), names=tuple("ABCDEF"[:count]),
        branch_1=(luck.uniform(0, 2e-2, count), 35.0), branch_2=(luck.uniform(0, 2e-2, count), 1000.0),
    )  # fmt: skip
    load = minutes(60, 800.0 * count, seed, piece)
    ports = Ports.common_bar(luck.uniform(0, 3e-3, count), 5e-4)
    asked = {"until": 60 * piece, "soc": luck.uniform(0.35, 0.65, count), "tolerance": 1e-5}
    with pytest.MonkeyPatch.context() as patch:
        quick, slow, _ = both_ways(patch, ports, modules, [load], **asked)
    assert [e.what for e in quick.events] == [e.what for e in slow.events]
    assert quick.soc[-1] == pytest.approx(slow.soc[-1], abs=2e-6)
    assert quick.voltage[-1] == pytest.approx(slow.voltage[-1], abs=2e-4)


def test_a_straight_push_on_one_mode_is_its_closed_form():
    """y' = -r y + a + b t over one step, and a sum by doubling against one after the other."""
    for rate in (0.0, 1e-9, 1e-5, 2e-2, 3.0):
        w = Weights.of(np.array([rate]), 50.0)
        t = np.linspace(0, 50.0, 200_001)
        push = 2.0 + (7.0 - 2.0) * t / 50.0
        exact = np.trapezoid(np.exp(-rate * (50.0 - t)) * push, t)
        assert (w.start * 2.0 + w.end * 7.0)[0] == pytest.approx(exact, rel=1e-6)
    w = Weights.of(np.array([0.0, 0.01, 0.3]), 4.0)
    added = np.random.default_rng(5).normal(size=(37, 3))
    y = np.array([1.0, -2.0, 0.5])
    together = carried(w, y, added)
    for row, push in enumerate(added):
        assert together[row] == pytest.approx(y, abs=1e-12)
        y = w.decay * y + push
