"""Decisions of chains of trips, of starting, of switching off and of the arc, each alone and from both sides.

What lies around a decision is put in by the test. The sound bank: three modules of 100 A, a trip of 150 A, which may
come a tenth earlier where no tolerance is stated.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from bankwright.circuit.errors import CircuitError
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import Computed
from bankwright.forms.trace import Traced
from bankwright.forms.wording import Figure
from bankwright.plan.checks import start, switching, trips, volts
from bankwright.plan.context import plan_of
from support.plan_cases import edited

pytestmark = pytest.mark.quick

SETTLE = Missing("x", "Ask.")
RANGE = Input("R", "not given", Figure(1.0, "resistance", 0.5, 2.0), Computed("a range"), True, SETTLE)
CASE = "full discharge"


def some(**fields: Any) -> Any:
    return SimpleNamespace(**fields)


def chain(lost: bool, *gone: str) -> Any:
    return trips.Chain(CASE, tuple(some(module=name) for name in gone), lost, None)


def corner(monkeypatch: Any, *ends: list[float]) -> trips.Corner | None:
    monkeypatch.setattr(trips, "corners_of", lambda *_: [np.diag(end) for end in ends])
    return trips._corner(plan_of(edited({})), CASE)


def test_the_corner_counts_by_its_smaller_end_and_says_its_larger(monkeypatch: Any) -> None:
    found = corner(monkeypatch, [100.0, -120.0, 80.0], [110.0, -100.0, 90.0])
    assert found is not None
    assert (found.module, found.current, found.most) == ("M1", 100.0, 110.0)  # M2 has 100 too: the first stays
    other = corner(monkeypatch, [90.0, -120.0, 80.0], [110.0, -101.0, 90.0])
    assert other is not None
    assert (other.module, other.current, other.most) == ("M2", 101.0, 120.0)
    low = trips.trip_low(plan_of(edited({})).bank.modules[0], "discharge")
    assert other.ratio == pytest.approx(101.0 / low)


def test_a_corner_without_a_solution_is_none(monkeypatch: Any) -> None:
    def none(*_: Any) -> None:
        raise CircuitError("no")

    monkeypatch.setattr(trips, "corners_of", none)
    assert trips._corner(plan_of(edited({})), CASE) is None


def worst_of(
    monkeypatch: Any, current: Traced, cornered: tuple[float, float] | None = None, chains: tuple[Any, ...] = ()
) -> Finding:
    plan = plan_of(edited({}))
    low = trips.trip_low(plan.bank.modules[0], "discharge")
    made = None if cornered is None else trips.Corner(cornered[0] / low, "M2", *cornered)
    monkeypatch.setattr(trips, "_nearest", lambda *_: (current.value / low, "M1", replace(current, case=CASE)))
    monkeypatch.setattr(trips, "_corner", lambda *_: made)
    monkeypatch.setattr(trips, "_too_much", lambda *_: False)
    monkeypatch.setattr(trips, "_chains", lambda *_: chains)
    return trips._worst_of(plan, "full discharge", (CASE,))


def low_end() -> float:
    return trips.trip_low(plan_of(edited({})).bank.modules[0], "discharge")


def amps(value: float, low: float | None = None, high: float | None = None, *inputs: Input) -> Traced:
    return Traced(Figure(value, "current", low, high), inputs, case=CASE)


@pytest.mark.parametrize(
    ("part", "verdict"), [(0.9, "pass"), (0.9519, "pass"), (0.9529, "caution"), (0.999, "caution")]
)
def test_a_current_near_the_trip_cautions(monkeypatch: Any, part: float, verdict: str) -> None:
    found = worst_of(monkeypatch, amps(part * low_end()))
    assert (found.verdict, found.at, found.limits) == (verdict, ("M1",), (None, low_end()))


@pytest.mark.parametrize(
    ("chains", "verdict"),
    [
        ((chain(True, "M1", "M2"),), "fail"),
        ((chain(False, "M1"),), "caution"),
        ((chain(True),), "fail"),
        ((chain(True, "M1"), chain(True, "M1", "M2")), "fail"),
    ],
)
def test_past_the_trip_the_chain_decides(monkeypatch: Any, chains: tuple[Any, ...], verdict: str) -> None:
    assert worst_of(monkeypatch, amps(1.001 * low_end()), chains=chains).verdict == verdict


def test_ends_that_do_not_agree_settle_nothing(monkeypatch: Any) -> None:
    chains = (chain(True, "M1"), chain(False, "M1"))
    told = worst_of(monkeypatch, amps(1.1 * low_end(), 1.01 * low_end(), 1.2 * low_end(), RANGE), chains=chains)
    assert (told.verdict, told.missing) == ("unknown", (SETTLE,))
    lost = worst_of(monkeypatch, amps(1.1 * low_end()), chains=chains)  # nothing stands in: the first is told
    assert lost.verdict == "fail"
    assert trips._agree((chain(True, "M1"), chain(True, "M1", "M2")))
    assert not trips._agree((chain(True), chain(True, "M1")))


@pytest.mark.parametrize(("low", "is_sure"), [(0.999, False), (1.001, True)])
def test_a_range_is_past_the_trip_with_its_lower_end(monkeypatch: Any, low: float, is_sure: bool) -> None:
    current = amps(1.1 * low_end(), low * low_end(), 1.1 * low_end(), RANGE)
    found = worst_of(monkeypatch, current, chains=(chain(True, "M1"),))
    assert (found.verdict == "fail") is is_sure


def test_the_corner_is_told_where_it_alone_passes_the_trip(monkeypatch: Any) -> None:
    low = low_end()
    told = worst_of(monkeypatch, amps(0.9 * low), (1.001 * low, 1.1 * low), (chain(True, "M2"),))
    assert (told.at, told.verdict) == (("M2",), "fail")
    mild = worst_of(monkeypatch, amps(0.9 * low), (1.001 * low, 1.1 * low), (chain(False, "M2"),))
    assert (mild.at, mild.verdict) == (("M2",), "caution")
    near = worst_of(monkeypatch, amps(0.9 * low), (0.999 * low, 0.9995 * low))
    assert (near.at, near.verdict) == (("M1",), "caution")  # its band reaches there
    assert near.figure is not None
    assert near.figure.high == pytest.approx(0.9995 * low)


@pytest.mark.parametrize(("lasts", "is_spared"), [(2.997, True), (3.0, False), (3.003, False), (None, False)])
def test_a_surge_that_ends_before_the_delay_spares_the_corner(
    monkeypatch: Any, lasts: float | None, is_spared: bool
) -> None:
    bank = edited({})
    discharge = replace(bank.modules[1].kind.discharge, trip_delay=3.0)
    modules = tuple(replace(m, kind=replace(m.kind, discharge=discharge)) for m in bank.modules)
    plan = plan_of(bank.replaced(modules=modules))
    monkeypatch.setattr(trips, "_chains", lambda *_: (chain(True, "M2"),))
    found = trips._by_corner(plan, "a surge", amps(100.0), trips.Corner(1.1, "M2", 150.0, 160.0), lasts)
    assert (found.verdict == "caution") is is_spared
    assert (found.text is not None and "over before its delay" in found.text.text()) is is_spared


def test_of_two_that_are_as_near_the_first_is_told() -> None:
    rows = [(0.8, "a"), (0.9, "b"), (0.9 * (1 + 5e-10), "c")]
    assert trips._first(rows)[1] == "b"
    assert trips._first([*rows, (0.9 * (1 + 2e-9), "d")])[1] == "d"
    told = [(ratio, name, amps(1.0)) for ratio, name in rows]
    assert trips._leading(told)[1] == "b"


# --- starting


def black(how: str | None, amperes: float, chargers: bool, limit: float = 100.0) -> Finding:
    plan = plan_of(edited({}))
    first = plan.bank.modules[0]
    kind = replace(first.kind, trips=replace(first.kind.trips, restart=how))
    keep = start._precharging, start.trip_low
    bank = plan.bank.replaced(chargers=plan.bank.chargers if chargers else ())
    standby = sum(inverter.kind.standby_current or 0.0 for inverter in bank.inverters)
    try:
        start._precharging = lambda _: (amperes - standby, [])
        start.trip_low = lambda *_: limit
        return start._first_module_wakes_the_inverters_at(plan_of(bank), replace(first, kind=kind))
    finally:
        start._precharging, start.trip_low = keep


@pytest.mark.parametrize(
    ("how", "amperes", "verdict"),
    [
        ("by button", 95.0, "pass"),
        ("by button", 95.5, "caution"),
        ("by button", 100.1, "fail"),
        (None, 50.0, "unknown"),
        ("by charger", 50.0, "caution"),  # nothing wakes it
        ("by charger", 100.1, "fail"),
    ],
)
def test_one_module_wakes_the_inverters(how: str | None, amperes: float, verdict: str) -> None:
    if how is not None and how not in start.WAKES:
        how = next(each for each in start.WAKES if each != "by charger")
    assert black(how, amperes, chargers=False).verdict == verdict


def test_pre_charge_begins_from_the_fullest_module(monkeypatch: Any) -> None:
    plan = plan_of(edited({}))
    volts_of = {"M1": 52.0, "M2": 58.0, "M3": 55.0}
    monkeypatch.setattr(start, "full_voltage", lambda module: volts_of[module.name])
    ohms = [inverter.kind.precharge.resistor for inverter in plan.bank.inverters if inverter.kind.precharge]
    assert ohms
    assert start._precharging(plan)[0] == pytest.approx(sum(58.0 / (each or 1.0) for each in ohms))


@pytest.mark.parametrize(("delay", "waits"), [(4.995, False), (5.0, False), (5.005, True), (None, False)])
def test_every_inverter_waits_longer_than_the_modules_need(delay: float | None, waits: bool) -> None:
    plan = plan_of(edited({}))
    module = plan.bank.modules[0]
    own = replace(module.kind.trips, recloses="after a delay", reclose_delay=5.0)
    inverters = tuple(replace(i, kind=replace(i.kind, start_delay=delay)) for i in plan.bank.inverters)
    made = plan_of(plan.bank.replaced(inverters=inverters))
    found = start._reclosing_module_meets_its_load_at(made, replace(module, kind=replace(module.kind, trips=own)))
    assert found.text is not None
    assert ("waits longer" in found.text.text()) is waits


# --- the arc, and the threshold of touch


@pytest.mark.parametrize(
    ("nominal", "highest", "rows"),
    [(50.0, 58.4, {50.0}), (50.1, 58.4, set()), (51.2, 60.0, set()), (51.2, 60.1, {60.0}), (48.0, 60.1, {50.0, 60.0})],
)
def test_a_threshold_lies_between_nominal_and_highest(nominal: float, highest: float, rows: set[float]) -> None:
    # 50 V OSHA, NEC; 60 V NEC 480.7(A) [read]
    found = volts.rows_between(plan_of(edited({})), nominal, highest)
    assert {value for value, _ in found} == rows


def burning(monkeypatch: Any, times: list[float], bare: bool = False, arc: float = 900.0) -> tuple[float, list[float]]:
    seen: list[float] = []
    guards = tuple(some(name=f"F{k}", origin=Computed("x"), time=t) for k, t in enumerate(times))

    def clears(device: Any, current: float) -> float:
        seen.append(current)
        return float(device.time)

    monkeypatch.setattr(volts, "bare_ways", lambda *_: ("M1",) if bare else ())
    monkeypatch.setattr(volts.lines, "guards_towards", lambda *_: guards)
    monkeypatch.setattr(volts, "clearing", clears)
    return volts._burns(plan_of(edited({})), "bar+1", arc)[0], seen


def test_an_arc_burns_until_the_last_device_clears_its_part_and_two_seconds_at_most(monkeypatch: Any) -> None:
    assert burning(monkeypatch, [0.1, 0.4, 0.2]) == (0.4, [300.0] * 3)
    assert burning(monkeypatch, [0.1, 1.999]) == (1.999, [450.0] * 2)
    assert burning(monkeypatch, [0.1, 2.001])[0] == 2.0  # NFPA 70E practice [read]
    assert burning(monkeypatch, [0.1], bare=True) == (2.0, [])
    assert burning(monkeypatch, [0.1], arc=0.5)[1] == [1.0]


# --- switching off


@pytest.mark.parametrize(
    ("current", "kind", "verdict"),
    [(99.9, "breaker", "pass"), (100.0, "breaker", "pass"), (100.1, "breaker", "fail"), (100.1, "disconnect", "pass")],
)
def test_a_breaker_breaks_its_rating_and_a_switch_what_its_sheet_says(
    monkeypatch: Any, current: float, kind: str, verdict: str
) -> None:
    plan = plan_of(edited({}))
    (device,) = [d for d in plan.bank.devices if d.kind.type == "disconnect"][:1]
    made = replace(device, kind=replace(device.kind, type=kind, rating=100.0))
    asked: list[str] = []
    monkeypatch.setattr(switching, "rated", lambda _plan, _device, what: asked.append(what) or some(
        value=1000.0, not_dc="", missing=()
    ))  # fmt: skip
    own = SimpleNamespace(
        design_current=lambda _: Traced(Figure(current, "current"), case=CASE), bank=plan.bank, book=plan.book
    )
    found = switching._breaks_enough(own, made, plan.book.source("switching"))  # type: ignore[arg-type]
    assert found.verdict == verdict
    assert asked == ["interrupts" if kind == "disconnect" else "volts"]
