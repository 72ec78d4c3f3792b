"""Random banks under random loads: what must hold whatever comes.

Charge is counted by hand from the load's own profile; energy by books beside it; nothing else is trusted.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bankwright.circuit.run.loads import Profile, RunLoad
from bankwright.circuit.run.modules import Limits, run_modules
from bankwright.circuit.run.ports import Ports
from bankwright.circuit.run.run import Run, run
from support.energy import energy_of
from support.run_banks import lfp_curve

SEEDS = st.integers(0, 10_000)
TRIPS = Limits(
    discharge_trip=90.0, discharge_delay=2.0, charge_trip=70.0, charge_delay=2.0, cell_high=3.6, cell_low=2.6,
    reclose_after=120.0,
)  # fmt: skip


class Luck:
    """A random bank, wiring and profile."""

    def __init__(self, seed: int, limits: Limits | None = None) -> None:
        luck = np.random.default_rng(seed)
        self.count = int(luck.integers(1, 7))
        self.capacity = luck.uniform(20, 300, self.count)
        self.ohmic = luck.uniform(1e-3, 40e-3, self.count)
        self.quick = luck.uniform(0, 20e-3, self.count)
        self.slow = luck.uniform(0, 20e-3, self.count)
        self.leads = luck.uniform(0, 3e-3, self.count)
        self.soc = luck.uniform(0.3, 0.7, self.count)
        self.limits = limits
        pieces = int(luck.integers(1, 6))
        scale = 10.0 ** luck.uniform(-2, 3)  # s a piece: hundredths of a second to a quarter of an hour
        self.times = tuple(float(t) for t in np.concatenate([[0.0], np.cumsum(luck.uniform(0.1, 1, pieces))]) * scale)
        self.amps = tuple(float(a) for a in luck.uniform(-0.4, 0.4, pieces) * self.capacity.sum())
        self.until = self.times[-1]

    def modules(self, rows: int | None = None):
        tall = (lambda x: x) if rows is None else (lambda x: np.broadcast_to(x, (rows, self.count)))
        return run_modules(
            lfp_curve(),
            tall(self.capacity),
            tall(self.ohmic),
            names=tuple(f"M{k + 1}" for k in range(self.count)),
            branch_1=(self.quick, 35.0),
            branch_2=(self.slow, 1000.0),
            limits=self.limits,
        )

    def load(self, law: str) -> RunLoad:
        watts = 1.0 if law == "current" else 50.0
        return RunLoad("load", law, Profile(self.times[:-1], tuple(a * watts for a in self.amps)))

    def go(self, law: str = "current", **more) -> Run:
        return run(
            Ports.common_bar(self.leads, 5e-4), self.modules(), [self.load(law)], until=self.until, soc=self.soc,
            **{"tolerance": 1e-4, **more},
        )  # fmt: skip


def in_order(found: Run) -> None:
    assert (np.diff(found.time) >= 0).all()
    times = [event.time for event in found.events]
    assert times == sorted(times)
    assert all(0 <= time <= found.time[-1] + 1e-9 for time in times)


def longest_above(time: np.ndarray, current: np.ndarray, trip: float) -> float:
    """Longest span of nodes in a row beyond the trip."""
    longest, start = 0.0, None
    for t, amps in zip(time, current, strict=True):
        if amps <= trip:
            start = None
            continue
        start = t if start is None else start
        longest = max(longest, t - start)
    return longest


@settings(max_examples=40)
@given(SEEDS)
def test_charge_closes_and_nothing_is_nan(seed):
    luck = Luck(seed)
    found = luck.go()
    in_order(found)
    assert np.isfinite(found.module_current).all()
    assert np.isfinite(found.soc).all()
    end = float(found.time[-1])
    through = sum(
        a * max(min(t1, end) - t0, 0.0) for a, t0, t1 in zip(luck.amps, luck.times, luck.times[1:], strict=False)
    )
    moved = float(((found.soc[0] - found.soc[-1]) * luck.capacity * 3600).sum())
    turned = sum(abs(a) * (t1 - t0) for a, t0, t1 in zip(luck.amps, luck.times, luck.times[1:], strict=False))
    assert moved == pytest.approx(through, abs=1e-9 * max(turned, 1.0) + 1e-6)
    assert found.module_current.sum(-1) == pytest.approx(
        found.load_current.sum(-1), abs=1e-6 * max(map(abs, luck.amps))
    )


@settings(max_examples=25)
@given(SEEDS)
def test_energy_closes_under_power(seed):
    luck = Luck(seed)
    found = luck.go("power", tolerance=1e-5)
    in_order(found)
    book = energy_of(Ports.common_bar(luck.leads, 5e-4), luck.modules(), [luck.load("power")], found)
    assert book["lost"] >= 0.0
    turned = sum(50 * abs(a) * (t1 - t0) for a, t0, t1 in zip(luck.amps, luck.times, luck.times[1:], strict=False))
    assert abs(book["given"] - book["taken"] - book["lost"]) < 1e-4 * (turned + abs(book["lost"])) + 1e-3


@settings(max_examples=30)
@given(SEEDS)
def test_trips_and_reclosing_never_break_the_books(seed):
    luck = Luck(seed, TRIPS)
    for law in ("current", "power"):
        found = luck.go(law)
        in_order(found)
        assert np.isfinite(found.soc).all()
        assert np.isfinite(found.module_current).all()
        ends = luck.modules().soc_ends
        assert (found.soc >= ends[0].min() - 1e-6).all()
        assert (found.soc <= ends[1].max() + 1e-6).all()
        for current, trip in ((found.module_current, 90.0), (-found.module_current, 70.0)):
            for column in current.T:
                assert longest_above(found.time, column, trip * (1 + 1e-6)) < 2.0 + 1e-3
        opened: dict[str, bool] = {}
        for event in found.events:
            if "recloses" in event.what:
                assert opened.get(event.at, False), f"{event.at} recloses without having opened"
                opened[event.at] = False
            elif "opens" in event.what or "blocks" in event.what:
                opened[event.at] = True


@settings(max_examples=20)
@given(SEEDS, st.floats(0.1, 0.9))
def test_an_interrupted_run_is_the_beginning_of_the_whole_one(seed, share):
    luck = Luck(seed)
    whole = luck.go()
    cut = luck.go(progress=lambda done, time: done < share)
    kept = len(cut.time) - 1  # the last one kept is written once more at the end
    assert cut.time[:kept] == pytest.approx(whole.time[:kept], abs=0)
    assert cut.soc[:kept] == pytest.approx(whole.soc[:kept], abs=0)
    assert cut.time[-1] in whole.time
    if cut.time[-1] < whole.time[-1]:
        assert cut.ended == "interrupted"


@settings(max_examples=20)
@given(SEEDS)
def test_a_variant_in_a_batch_of_its_like_is_what_it_is_alone(seed):
    luck = Luck(seed, TRIPS)
    load = RunLoad("load", "power", Profile(luck.times[:-1], tuple(a * 50 for a in luck.amps)))
    ports = Ports.common_bar(luck.leads, 5e-4)
    alone = run(ports, luck.modules(), [load], until=luck.until, soc=luck.soc, tolerance=1e-5)
    three = run(
        ports, luck.modules(3), [load], until=luck.until, soc=np.broadcast_to(luck.soc, (3, luck.count)), tolerance=1e-5
    )
    assert three.soc[0] == pytest.approx(three.soc[2], abs=0, nan_ok=True)
    if alone.ended == "at its time":
        assert three.soc[1, -1] == pytest.approx(alone.soc[-1], abs=1e-6)
    mine = [(e.at, e.what) for e in three.events if e.variant == 1]
    assert mine == [(e.at, e.what) for e in alone.events]
    when = [e.time for e in three.events if e.variant == 1]
    assert when == pytest.approx([e.time for e in alone.events], abs=1e-3, rel=1e-4)


@settings(max_examples=20)
@given(SEEDS)
def test_a_charger_never_passes_its_ceiling(seed):
    luck = Luck(seed)
    ceiling = 53.6
    load = RunLoad("load", "charger", Profile.constant(0.3 * luck.capacity.sum()), ceiling=ceiling, tail=0.5)
    found = run(
        Ports.common_bar(luck.leads, 5e-4), luck.modules(), [load], until=6 * 3600.0, soc=luck.soc, tolerance=1e-4
    )
    in_order(found)
    assert found.load_voltage[:, 0].max() <= ceiling + 2e-3
    assert np.isfinite(found.soc).all()


@settings(max_examples=20)
@given(SEEDS, st.floats(1.0, 300.0))
def test_modules_waking_onto_a_running_load_take_their_share(seed, again):
    """One of them trips at once, and closes again by itself while the others carry the load."""
    luck = Luck(seed)
    assume(luck.count >= 2)
    trip = np.full(luck.count, np.inf)
    trip[1] = 1e-6
    luck.limits = Limits(discharge_trip=trip, charge_trip=trip, reclose_after=again)
    amps = 0.1 * luck.capacity.sum()
    load = RunLoad("load", "current", Profile.constant(amps))
    found = run(
        Ports.common_bar(luck.leads, 5e-4), luck.modules(), [load], until=1.5 * again, soc=luck.soc, tolerance=1e-4
    )
    in_order(found)
    before = (found.time > 1e-6) & (found.time < again - 1e-6)
    assert np.abs(found.module_current[before, 1]).max() == 0.0
    assert found.soc[before, 1] == pytest.approx(luck.soc[1], abs=1e-9)
    assert [(e.at, e.time) for e in found.events_of("recloses")] == [("M2", pytest.approx(again, abs=1e-6))]
    assert [e.at for e in found.events_of("opens")] == ["M2", "M2"]  # it trips anew
    assert found.module_current.sum(-1) == pytest.approx(amps, rel=1e-6)


@pytest.mark.soak
def test_charge_and_trips_of_a_thousand_random_banks():
    """Runs over time of a thousand random banks: charge closes, nothing is NaN, trips and reclosing keep the books."""
    for check in (test_charge_closes_and_nothing_is_nan, test_trips_and_reclosing_never_break_the_books):
        inner = check.hypothesis.inner_test
        for seed in range(20_000, 20_500):
            inner(seed)
