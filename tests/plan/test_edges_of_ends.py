"""Which end of what is not given a check of Plan tells and judges by, each alone, the ends put in by the test."""

from __future__ import annotations

from dataclasses import replace
from math import hypot, inf, pi
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from bankwright.circuit.cases import SURGE
from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Input, Missing
from bankwright.forms.origin import Computed
from bankwright.forms.trace import Traced
from bankwright.forms.wording import Figure
from bankwright.plan.checks import clearing, device, dip, leads, load_volts, post, short_circuit, trips, volts
from bankwright.plan.context import plan_of
from bankwright.plan.zones import heat
from support.plan_cases import LOAD, edited

pytestmark = pytest.mark.quick

SETTLE = Missing("x", "Ask.")
RANGE = Input("R", "not given", Figure(1.0, "resistance", 0.5, 2.0), Computed("a range"), True, SETTLE)
CASE = "full discharge"


class Beside:
    """A plan of the sound bank with some of its parts put in by a test."""

    def __init__(self, bank: Any = None, **own: Any) -> None:
        self.own, self.plan = own, plan_of(bank or edited({}))

    def __getattr__(self, name: str) -> Any:
        return self.own[name] if name in self.own else getattr(self.plan, name)


def some(**fields: Any) -> Any:
    return SimpleNamespace(**fields)


def ends(figure: Figure | None) -> tuple[float | None, float, float | None]:
    assert figure is not None
    return figure.low, figure.value, figure.high


# --- heat and clearing


@pytest.mark.parametrize(
    ("heats", "missing", "told"),
    [
        ((3.0, 5.0, 4.0), False, (3.0, 5.0, 5.0)),
        ((4.9951, 5.0), False, (None, 5.0, None)),  # a thousandth apart
        ((4.9949, 5.0), False, (4.9949, 5.0, 5.0)),
        ((3.0, 5.0), True, (0.0, 5.0, 5.0)),  # it may not be there at all
    ],
)
def test_the_worst_heat_and_its_band(heats: tuple[float, ...], missing: bool, told: object) -> None:
    asked: list[str] = []
    faults = some(assumed=lambda end: asked.append(end) or (RANGE,))
    for end, way in (("largest", "highest"), ("smallest", "lowest")):
        worst, figure, inputs = clearing._heat_figure(
            Beside(faults=faults), end, tuple(some(heat=h) for h in heats), missing  # type: ignore[arg-type]
        )  # fmt: skip
        assert (worst.heat, ends(figure)) == (max(heats), told)
        assert bool(inputs) is (heats[0] < 4.995)
        assert asked.pop() == way


def test_heat_at_the_largest_and_at_the_smallest_fault(monkeypatch: Any) -> None:
    monkeypatch.setattr(heat, "_largest", lambda *_: iter([some(heat=9.0)]))
    monkeypatch.setattr(heat, "_smallest", lambda *_: iter([None, some(heat=1.0)]))
    assert [each.heat for each in heat.heat_of(None, some(fed=(1,)), "largest")] == [9.0]  # type: ignore[arg-type]
    assert [each.heat for each in heat.heat_of(None, some(fed=(1,)), "smallest")] == [1.0]  # type: ignore[arg-type]
    assert heat.heat_of(None, some(fed=()), "largest") == ()  # type: ignore[arg-type]


def cleared(monkeypatch: Any, low: float, high: float, *inputs: Input) -> Any:
    """A device that needs 1000 / half the current in seconds, nothing below 100 A."""
    fault = Traced(Figure(low, "current", low, high) if inputs else Figure(low, "current"), inputs, case=CASE)
    monkeypatch.setattr(clearing, "_least", lambda *_: (fault, ()))
    monkeypatch.setattr(clearing, "clearing", lambda _device, half: inf if half < 100.0 else 1000.0 / half)
    monkeypatch.setattr(clearing, "_aided", lambda _plan, _device, found, _ok: found)
    plan = plan_of(edited({}))
    return clearing._cleared_soon(plan, plan.bank.devices[0])


@pytest.mark.parametrize(("amps", "verdict"), [(399.6, "fail"), (400.0, "fail"), (400.4, "caution"), (420.5, "pass")])
def test_the_smallest_fault_is_cleared_within_five_seconds(monkeypatch: Any, amps: float, verdict: str) -> None:
    assert cleared(monkeypatch, amps, amps).verdict == verdict  # 2000 / 400 A = 5 s


def test_the_slower_end_is_told_and_an_end_that_never_opens_is_asked_for(monkeypatch: Any) -> None:
    found = cleared(monkeypatch, 500.0, 1000.0, RANGE)
    assert ends(found.figure) == (2.0, 4.0, 4.0)
    assert cleared(monkeypatch, 199.9, 199.9).verdict == "fail"  # it does not open at all
    with pytest.raises(NeedsValue, match="x"):
        cleared(monkeypatch, 199.9, 1000.0, RANGE)
    assert cleared(monkeypatch, 150.0, 199.0, RANGE).verdict == "fail"  # at neither end


# --- devices


def test_a_device_is_held_against_the_largest_of_the_conductors_it_opens() -> None:
    currents = {"main+": 80.0, "main-": 120.0, "M1": 55.0}
    plan = Beside(
        design_current=lambda name: Traced(Figure(currents[name], "current")),
        inside_tolerances=lambda name, worst: worst,
        worst=lambda name, cases: Traced(Figure(currents[name], "current")),
        bases=(), aways=(),
    )  # fmt: skip
    found = device.worst_current(plan, some(on="main+", also_on=("main-",), name="S"))  # type: ignore[arg-type]
    assert found.value == 120.0
    own = device.worst_current(plan, some(on="M1", also_on=(), name="M1"))  # type: ignore[arg-type]
    assert own.value == 55.0


@pytest.mark.parametrize(("on", "whole"), [("a", 100.0), ("elsewhere", 180.0)])
def test_a_set_is_guarded_together_unless_the_device_sits_on_one(monkeypatch: Any, on: str, whole: float) -> None:
    members = (some(name="a", amps=100.0), some(name="b", amps=80.0))
    monkeypatch.setattr(device, "carried", lambda _plan, link, *_: device.Ampacity(link.amps, (), ()))
    plan: Any = some(set_of=lambda _: members)
    assert device._allowed(plan, members[0], (some(on=on),), 200.0).value == whole  # type: ignore[arg-type]


# --- volts in a surge, and over the discharge


def test_the_trough_is_the_swing_of_all_single_phases_over_the_loop(monkeypatch: Any) -> None:
    bank = edited({})
    (one, *_) = bank.inverters
    kind = replace(
        one.kind, phases=1, frequency=50.0, surge_power=9e3, efficiency=0.9, capacitance=None, capacitor_resistance=None
    )
    three = replace(one, name="I3", kind=replace(kind, phases=3))
    four = replace(one, name="I4", kind=replace(kind, phases=2, surge_power=4.5e3))
    monkeypatch.setattr(dip, "loop_of", lambda *_: (0.01, 2e-5))
    monkeypatch.setattr(dip, "balanced", lambda _: False)
    plan = plan_of(bank.replaced(inverters=(replace(one, kind=kind), three, four)))
    found = dip._trough(plan, plan.bank.inverters[0], 48.0)
    # 15 kW from 48 V through 10 mohm and 20 uH at 100 Hz; no capacitor: the bank gives all of it
    assert found == pytest.approx(hypot(0.01, 2 * pi * 100.0 * 2e-5) * 15e3 / 48.0)


def test_a_modules_lowest_volts_and_their_band(monkeypatch: Any) -> None:
    told = iter([(44.0, "M2"), (46.0, "M1"), (45.0, "M3")])
    monkeypatch.setattr(dip, "_lowest", lambda *_: next(told))
    plan = Beside(
        edited({"kinds.module.S100.discharge.cell_trip": "2.5 V"}), steadies=((1, 2, 3),), surge_assumed=(RANGE,)
    )
    found = dip._cells(plan, plan.bank.modules[0])  # type: ignore[arg-type]
    assert found is not None
    assert (found.at, ends(found.figure), found.limits) == (("M2",), (44.0, 44.0, 46.0), (40.0, None))


def solution(volts_of: dict[str, float], load: float) -> Any:
    return some(potential=lambda name: volts_of.get(name, 0.0), voltage=lambda _: load)


def lossy(*rows: tuple[float, float]) -> Beside:
    """Ends at which M2 stands at some volts, the others at 50 V, and a load at some volts."""
    answers = [solution({"M1+": 50.0, "M2+": high, "M3+": 50.0}, load) for high, load in rows]
    cases = tuple(some(case=lambda _name, each=each: each) for each in answers)
    stood = some(resistances={"dc": (RANGE,)}, voltages=())
    bank = edited({"+loads": {**LOAD, "lowest_input": "40 V", "terminals": {"stud": "M8"}}})
    return Beside(bank, steadies=(cases,), stood=stood, surge_assumed=(RANGE,))


def test_a_load_needs_its_lowest_input_and_the_largest_drop() -> None:
    plan = lossy((51.0, 49.0), (51.5, 49.0), (50.5, 49.0))
    load: Any = replace(plan.bank.loads[0], lowest_input=40.0)
    assert load_volts._drops(plan, load) == (1.5, 2.5)  # type: ignore[arg-type]
    found = load_volts._over_the_discharge(plan, load)  # type: ignore[arg-type]
    assert ends(found.figure) == (41.5, 42.5, 42.5)
    assert load_volts._drops(lossy(), load) == (0.0, 0.0)  # type: ignore[arg-type]


def test_a_load_sees_the_lowest_volts_of_the_surge() -> None:
    plan = lossy((51.0, 44.0), (51.0, 42.0), (51.0, 43.0))
    found = load_volts._in_a_surge(plan, replace(plan.bank.loads[0], lowest_input=40.0))  # type: ignore[arg-type]
    assert found is not None
    assert ends(found.figure) == (42.0, 42.0, 44.0)


def test_the_fewest_cells_set_the_top_of_a_load() -> None:
    plan = lossy((50.0, 50.0))
    first, *rest = plan.bank.modules
    bank = plan.bank.replaced(modules=(first, replace(rest[0], kind=replace(first.kind, cells=14)), *rest[1:]))
    made = Beside(bank, steadies=plan.steadies, stood=plan.stood)
    found = load_volts._over_the_discharge(made, replace(bank.loads[0], lowest_input=40.0))  # type: ignore[arg-type]
    assert found.caution_limits == (None, pytest.approx(14 * 3.0))


# --- leads, terminals, the constant of a short, the surge of several inverters


def spread(monkeypatch: Any, *rows: list[float]) -> Any:
    """Shares over those of like leads at each end of what is not given."""
    found = [np.array(row) for row in rows]
    made = some(worst=found[0], spreads=[float(np.abs(row - 1.0).max()) for row in found])
    monkeypatch.setattr(leads, "_Ratios", lambda _: made)
    monkeypatch.setattr(leads, "_ratios", lambda *_: None)
    plan = Beside(stood=some(resistances={"dc": (RANGE,)}), currents=lambda _: None)
    links = {link: (name,) for link, name in zip(plan.bank.links, ("M1", "M2", "M3"), strict=False)}
    return leads._spread(plan, links, CASE)  # type: ignore[arg-type]


def test_the_larger_spread_is_told_with_the_smaller_as_its_other_end(monkeypatch: Any) -> None:
    found = spread(monkeypatch, [1.08, 0.95, 0.97], [1.12, 0.94, 0.94])
    assert (found.at, ends(found.figure)) == (("M1",), (pytest.approx(0.08), pytest.approx(0.12), pytest.approx(0.12)))
    assert spread(monkeypatch, [1.05, 0.91, 1.04]).at == ("M2",)  # the odd one may carry less
    assert ends(spread(monkeypatch, [1.08, 0.95, 0.97]).figure)[::2] == (None, None)
    assert [spread(monkeypatch, [1.1 * part, 1.0, 0.99]).verdict for part in (0.9999, 1.0001)] == ["pass", "caution"]


def test_a_terminal_is_told_at_its_warmer_end(monkeypatch: Any) -> None:
    plan = plan_of(edited({}))
    (link,) = [each for each in plan.bank.links if each.name == "main+"]
    given = Beside(design_current=lambda _: Traced(Figure(90.0, "current", 80.0, 100.0), case=CASE))
    monkeypatch.setattr(post, "_column", lambda *_: (100.0, 75.0, ()))
    monkeypatch.setattr(post, "heating_factor", lambda *_: Traced(Figure(1.0, "ratio")))
    monkeypatch.setattr(post, "hottest_air", lambda *_: Traced(Figure(30.0, "temperature_degc")))
    found = post._temperature_of_terminals_at(given, link)  # type: ignore[arg-type]
    # 30 + 45 (I / 100)^2: 58.8 degC at 80 A, 75 degC at 100 A
    assert ends(found.figure) == (pytest.approx(58.8), pytest.approx(75.0), pytest.approx(75.0))


def test_a_short_begins_from_the_fullest_module(monkeypatch: Any) -> None:
    full = {"M1": 52.0, "M2": 58.0, "M3": 55.0}
    monkeypatch.setattr(short_circuit, "full_voltage", lambda module: full[module.name])
    monkeypatch.setattr(short_circuit, "loop_henry", lambda *_: 1e-5)
    faults = some(at=lambda _, opposite: Traced(Figure(5800.0, "current", 2900.0, 5800.0), case=opposite))
    plan = Beside(faults=faults)
    user = plan.users[0]
    most, least, henry, fault = short_circuit._constant(plan, user)  # type: ignore[arg-type]
    assert (henry, fault.case) == (1e-5, user.posts[1])
    assert (most, least) == (pytest.approx(1e-5 / 0.01), pytest.approx(1e-5 / 0.02))  # 58 V over 5.8 and 2.9 kA


@pytest.mark.parametrize(("times", "lasts"), [((2.0, 5.0), 5.0), ((2.0, None), None)])
def test_a_surge_lasts_as_long_as_the_longest_or_nobody_knows(monkeypatch, times, lasts) -> None:  # type: ignore[no-untyped-def]
    bank = edited({})
    (one, *_) = bank.inverters
    made = tuple(replace(one, name=f"I{k}", kind=replace(one.kind, surge_time=t)) for k, t in enumerate(times))
    low = trips.trip_low(bank.modules[0], "discharge")
    seen: list[object] = []
    worst = Traced(Figure(1.1 * low, "current"), case=SURGE)
    monkeypatch.setattr(trips, "_need_surge_resistance", lambda _: None)
    monkeypatch.setattr(trips, "_nearest", lambda *_: (1.1, "M1", worst))
    monkeypatch.setattr(trips, "_corner", lambda *_: None)
    monkeypatch.setattr(trips, "_chains", lambda _plan, _case, told, *_: seen.append(told) or (
        trips.Chain(SURGE, (), True, None),
    ))  # fmt: skip
    trips._worst_of(plan_of(bank.replaced(inverters=made)), "a surge", (SURGE,))
    trips._worst_of(plan_of(bank.replaced(inverters=made)), "full discharge", (CASE,))
    assert seen == [lasts, None]


def test_the_slowest_device_ends_an_arc_beside_a_bare_way(monkeypatch: Any) -> None:
    monkeypatch.setattr(volts, "bare_ways", lambda *_: ("M1",))
    assert volts._burns(plan_of(edited({})), "bar+1", 100.0)[:2] == (2.0, "ahead of the first device, 2 s")
