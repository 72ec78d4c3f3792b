"""The small decisions inside the checks of Plan: which column, which factor, which end of a band, from both sides.

What lies around a decision is put in by the test, so that one line of it stands alone; its figures are worked out here
by hand, or named with their source.
"""

from __future__ import annotations

from dataclasses import replace
from math import log, sqrt
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from bankwright.bank.model import Device
from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import Computed
from bankwright.forms.trace import Traced
from bankwright.forms.wording import Figure
from bankwright.plan.checks import clearing, conduit, device, device_volts, dip, drop, earthing, post, share
from bankwright.plan.context import Plan, plan_of
from support.plan_cases import RACEWAY, edited

pytestmark = pytest.mark.quick


class Beside:
    """A plan of the sound bank with some of its parts put in by a test."""

    def __init__(self, **own: Any) -> None:
        self.own = own
        self.plan = plan_of(own.pop("bank", None) or _sound())

    def __getattr__(self, name: str) -> Any:
        return self.own[name] if name in self.own else getattr(self.plan, name)


def _sound() -> Any:
    return edited({})


def iec() -> Plan:
    return plan_of(edited({"rules": "iec-60364"}))


ASSUMED = Input("x", "not given", Figure(1.0, "resistance", 0.5, 2.0), Computed("a range"), True, Missing("x", "Ask."))


def amps(value: float, low: float | None = None, high: float | None = None) -> Traced:
    return Traced(Figure(value, "current", low, high))


def a_device(kind: str = "fuse", class_: str | None = "gG", rating: float | None = 100.0, **more: Any) -> Device:
    """The main fuse of the sound bank as another kind."""
    (main,) = [d for d in _sound().devices if d.kind.name == "main"][:1]
    return replace(main, kind=replace(main.kind, type=kind, device_class=class_, rating=rating), **more)


# --- P-CLEAR-1: what a conductor stands


@pytest.mark.parametrize(("material", "part"), [("copper", 1.0), ("tinned copper", 1.0), ("aluminium", 148.0 / 226.0)])
def test_a_strap_of_aluminium_stands_what_its_metal_does(material: str, part: float) -> None:
    cable: Any = SimpleNamespace(strap=SimpleNamespace(material=material, path="kinds.strap.S"))
    assert clearing._metal(cable) == pytest.approx(part, rel=1e-9)
    # the printed k of PVC at 70 degC: 115 of copper, 76 of aluminium (IEC 60364-4-43 43A, from memory): 0.661
    assert clearing._metal(cable) == pytest.approx({1.0: 1.0}.get(part, 76.0 / 115.0), rel=0.01)


def test_a_strap_of_brass_is_asked_for() -> None:
    cable: Any = SimpleNamespace(strap=SimpleNamespace(material="brass", path="kinds.strap.S"))
    with pytest.raises(NeedsValue, match="material"):
        clearing._metal(cable)
    assert clearing._metal(SimpleNamespace(strap=None)) == 1.0  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("insulation", "start", "end"),
    [(84.9, 84.9, 160.0), (85.0, 85.0, 250.0), (90.0, 90.0, 250.0), (70.0, 70.0, 160.0), (None, 90.0, 160.0)],
)
def test_insulation_of_85_degrees_and_more_stands_250(insulation: float | None, start: float, end: float) -> None:
    plan = plan_of(_sound())
    (link,) = [each for each in plan.bank.links if each.name == "main+"]
    assert link.cable is not None
    changed = replace(link, cable=replace(link.cable, insulation_degc=insulation))
    limit, _ = clearing._withstand(plan, changed)
    k = 226.0 * sqrt(log((234.5 + end) / (234.5 + start)))  # A s^0.5/mm2, IEC 60949 form
    assert limit == pytest.approx((k * 1e6 * link.cable.area) ** 2, rel=4e-3)


def test_the_cut_that_heats_most_is_the_worst_and_one_that_may_not_be_there_counts_past_the_limit(monkeypatch) -> None:  # type: ignore[no-untyped-def]
    heats = {"a": (1.0, 3.0), "b": (2.5, 2.6), "perhaps": (0.5, 5.0)}
    monkeypatch.setattr(clearing, "heat_of", lambda _plan, cut, _end: tuple(
        SimpleNamespace(heat=value) for value in heats[cut.name]
    ))  # fmt: skip
    origin = SimpleNamespace(path="devices[0]")
    a, b = (SimpleNamespace(name=name, unplaced=None) for name in "ab")
    perhaps = SimpleNamespace(name="perhaps", unplaced=SimpleNamespace(origin=origin))

    def told(limit: float) -> tuple[float, bool]:
        found = clearing._hottest(None, (a, b, perhaps), "largest", limit)  # type: ignore[arg-type]
        assert found is not None
        return max(each.heat for each in found[0]), bool(found[1])

    assert told(6.0) == (3.0, False)
    assert told(5.001) == (3.0, False)
    assert told(4.999) == (5.0, True)
    assert told(3.001) == (5.0, True)
    assert told(2.999) == (3.0, False)  # what is sure is past it already
    assert clearing._hottest(None, (), "largest", 1.0) is None  # type: ignore[arg-type]


def least(monkeypatch: Any, values: list[float], assumed: bool) -> Traced:
    rows = [SimpleNamespace(current=v, pair=SimpleNamespace(place=f"p{v:g}", other="q"), module="M1") for v in values]
    monkeypatch.setattr(clearing, "guarding_of", lambda _: SimpleNamespace(least=lambda _: rows))
    plan = Beside(faults=SimpleNamespace(assumed=lambda _: (ASSUMED,) if assumed else ()))
    return clearing._least(plan, a_device())[0]  # type: ignore[arg-type]


def test_the_smallest_fault_has_a_band_where_something_stands_in(monkeypatch: Any) -> None:
    found = least(monkeypatch, [500.0, 300.0, 400.0], assumed=True)
    assert (found.figure.value, found.figure.low, found.figure.high) == (300.0, 300.0, 500.0)
    assert found.case is not None
    assert "p300" in found.case
    assert found.inputs == (ASSUMED,)
    plain = least(monkeypatch, [500.0, 300.0, 400.0], assumed=False)
    assert (plain.figure.value, plain.figure.low, plain.figure.high, plain.inputs) == (300.0, None, None, ())
    # a thousandth of the largest: closer than that nothing hangs on what stands in
    assert least(monkeypatch, [500.0, 499.499], assumed=True).figure.high == 500.0
    assert least(monkeypatch, [500.0, 499.501], assumed=True).figure.high is None


# --- P-DEVICE-2: what a device may be


@pytest.mark.parametrize(
    ("kind", "class_", "rating", "factor"),
    [
        ("breaker", "IEC 60898-1, C", 100.0, 1.45),
        ("breaker", "IEC 60947-2", 100.0, 1.3),
        ("breaker", None, 100.0, 1.45),
        ("fuse", "gG", 16.0, 1.6),
        ("fuse", "gG", 15.9, 1.9),
        ("fuse", "gG", 10.0, 1.9),
        ("fuse", "gG", None, 1.6),
    ],
)
def test_what_trips_a_device_for_sure(kind: str, class_: str | None, rating: float | None, factor: float) -> None:
    # IEC 60898-1 1.45 In [read], IEC 60947-2 1.3 In [copy], IEC 60269-1 1.6 In from 16 A, 1.9 In below [read]
    assert device._tripping(iec(), a_device(kind, class_, rating)) == factor


def test_a_fuse_without_its_class_is_asked_for() -> None:
    with pytest.raises(NeedsValue, match="class"):
        device._tripping(iec(), a_device(class_=None))


@pytest.mark.parametrize(
    ("guards", "most"),
    [
        ([("fuse", "gG", 100.0)], 100.0 * 1.45 / 1.6),
        ([("fuse", "gG", 10.0)], 100.0 * 1.45 / 1.9),
        ([("breaker", "IEC 60947-2", 100.0)], 100.0),  # never above the ampacity
        ([("breaker", None, 100.0)], 100.0),
        ([("breaker", "IEC 60947-2", 100.0), ("fuse", "gG", 100.0)], 100.0 * 1.45 / 1.6),
    ],
)
def test_the_second_condition_of_the_iec_book(guards: list[tuple[str, str | None, float]], most: float) -> None:
    # I2 <= 1.45 Iz (IEC 60364-4-43, 433.1): In <= 1.45 Iz / (what trips it for sure), and In <= Iz
    limit, steps, _ = device._limits(iec(), tuple(a_device(*each) for each in guards), 100.0)
    assert (limit, steps) == (pytest.approx(most), None)


@pytest.mark.parametrize(
    ("kind", "ampacity", "limit", "steps"),
    [
        ("fuse", 95.0, 100.0, (None, 95.0)),
        ("fuse", 100.0, 100.0, None),
        ("fuse", 100.1, 110.0, (None, 100.1)),
        ("fuse", 600.5, 601.0, (None, 600.5)),  # fuses have 601 A, breakers have not (240.6(A))
        ("breaker", 600.5, 700.0, (None, 600.5)),
        ("breaker", 799.0, 800.0, (None, 799.0)),  # to 800 A (240.4(B))
        ("breaker", 800.0, 800.0, None),
        ("breaker", 801.0, 801.0, None),  # above it round down (240.4(C))
    ],
)
def test_the_next_standard_size_of_the_nec_book(kind: str, ampacity: float, limit: float, steps: object) -> None:
    plan = plan_of(_sound())
    assert device._limits(plan, (a_device(kind),), ampacity)[:2] == (limit, steps)
    assert device._limits(plan, (a_device(kind), a_device(kind)), ampacity)[:2] == (
        ampacity,
        None,
    )  # several in parallel


@pytest.mark.parametrize(("size", "most"), [("14 AWG", 15), ("12 AWG", 20), ("10 AWG", 30), ("8 AWG", None)])
def test_small_conductors_have_a_device_of_their_own_in_the_nec_book(size: str, most: float | None) -> None:
    link: Any = SimpleNamespace(cable=SimpleNamespace(size=size))
    assert device._small(plan_of(_sound()), link) == most  # 240.4(D) [read]
    assert device._small(iec(), link) is None


# --- P-VOLTS-2: polarised devices


@pytest.mark.parametrize(
    ("short", "current", "is_fault"),
    [(1.0, 0.3, False), (1.001, 0.3, True), (1.001, 0.5, True), (20.0, 10.0, False), (20.02, 10.0, True)],
)
def test_a_short_is_one_above_twice_the_current_and_an_ampere(short: float, current: float, is_fault: bool) -> None:
    assert device_volts._is_fault(amps(short), amps(current)) is is_fault


def polarised(monkeypatch: Any, kind: str, ways: tuple[float, float, float, float], turned: bool | None) -> Finding:
    monkeypatch.setattr(device_volts, "_ways", lambda *_: tuple(amps(value) for value in ways))
    monkeypatch.setattr(device_volts, "_charger_of", lambda *_: None)
    return device_volts._polarised(plan_of(_sound()), a_device(kind, reversed=turned), ())


@pytest.mark.parametrize(
    ("kind", "ways", "turned", "verdict"),
    [
        # out, back, short out, short back
        ("disconnect", (100.0, 0.0999, 0.0, 0.0), False, "pass"),
        ("disconnect", (100.0, 0.1001, 0.0, 0.0), False, "fail"),  # both ways in operation: a thousandth counts
        ("disconnect", (0.1001, 100.0, 0.0, 0.0), True, "fail"),
        ("disconnect", (100.0, 0.0, 0.0, 0.0), True, "fail"),  # the wrong way round
        ("disconnect", (0.0, 100.0, 0.0, 0.0), True, "pass"),
        ("disconnect", (100.0, 0.0, 0.0, 300.0), False, "caution"),  # a short runs against its marks
        ("breaker", (100.0, 0.0, 300.0, 300.0), False, "fail"),  # it must break shorts both ways
        ("breaker", (100.0, 0.0, 300.0, 0.9), False, "pass"),
        ("breaker", (100.0, 0.0, 0.0, 300.0), True, "caution"),  # its marks fit the short, not the current
        ("breaker", (100.0, 0.0, 0.0, 300.0), False, "fail"),
        ("breaker", (0.0, 0.0, 0.0, 0.0), False, "pass"),
    ],
)
def test_a_polarised_device_fits_what_it_must_break(monkeypatch, kind, ways, turned, verdict) -> None:  # type: ignore[no-untyped-def]
    assert polarised(monkeypatch, kind, ways, turned).verdict == verdict


def test_nobody_said_which_way_round_it_sits(monkeypatch: Any) -> None:
    found = polarised(monkeypatch, "disconnect", (100.0, 0.0, 0.0, 0.0), None)
    assert found.verdict == "unknown"
    assert [missing.key.rpartition(".")[2] for missing in found.missing] == ["reversed"]


# --- P-DROP-1 and P-DROP-2: ends of a band


def dropped(monkeypatch: Any, values: list[float], band: float, assumed: bool) -> Finding:
    monkeypatch.setattr(drop, "_drops", lambda *_: values)
    monkeypatch.setattr(drop, "_joints_assumed", lambda *_: (band, (ASSUMED,) if assumed else ()))
    stood = SimpleNamespace(voltages=(), metal=(ASSUMED,))
    plan = Beside(stood=stood, currents=lambda _: None)
    user = SimpleNamespace(name="I1")
    return drop._drop(plan, user, "full power, lowest voltage")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("values", "band", "assumed", "ends"),
    [
        ([0.8, 1.0, 0.9], 0.05, True, (0.75, 1.0, 1.05)),
        ([0.8, 1.0, 0.9], 0.0, False, (0.8, 1.0, 1.0)),  # the ends differ: what stands in is said
        ([0.9991, 1.0], 0.05, False, (None, 1.0, None)),  # by less than a thousandth
        ([0.9989, 1.0], 0.05, False, (0.9489, 1.0, 1.05)),
        ([0.02, 0.02], 0.05, True, (0.0, 0.02, 0.07)),  # never below nothing
    ],
)
def test_a_drop_has_the_band_of_what_stands_in(monkeypatch, values, band, assumed, ends) -> None:  # type: ignore[no-untyped-def]
    figure = dropped(monkeypatch, values, band, assumed).figure
    assert figure is not None
    nominal = 16 * 3.2
    told = [None if end is None else end * nominal for end in (figure.low, figure.value, figure.high)]
    assert told == [None if end is None else pytest.approx(end) for end in ends]


def test_the_largest_loss_to_any_module_counts() -> None:
    solution = SimpleNamespace(voltage=lambda name: {"I1": 50.0, "M1": 51.0, "M2": 51.4, "M3": 50.7}[name])
    plan = Beside(steadies=((SimpleNamespace(case=lambda _: solution),),))
    user = SimpleNamespace(name="I1")
    assert drop._drops(plan, user, "case", "discharge") == [pytest.approx(1.4)]  # type: ignore[arg-type]
    up = SimpleNamespace(voltage=lambda name: {"I1": 52.0, "M1": 51.0, "M2": 51.4, "M3": 50.7}[name])
    plan = Beside(steadies=((SimpleNamespace(case=lambda _: up),),))
    assert drop._drops(plan, user, "case", "charge") == [pytest.approx(1.3)]  # type: ignore[arg-type]


def in_a_surge(monkeypatch: Any, rows: list[tuple[float, str, float]]) -> Finding:
    told = iter(rows)
    monkeypatch.setattr(dip, "_surges", lambda *_: next(told))
    monkeypatch.setattr(dip, "_trough", lambda *_: 0.0)
    plan = Beside(steadies=(tuple(rows),), surge_assumed=(ASSUMED,))
    return dip._lowest_voltage_in_a_surge_at(plan, plan.bank.inverters[0])  # type: ignore[arg-type]


def test_the_lowest_voltage_of_a_surge_and_its_band(monkeypatch: Any) -> None:
    found = in_a_surge(monkeypatch, [(48.0, "a", 1.0), (45.0, "b", 1.0), (46.0, "c", 1.0)])
    assert found.figure is not None
    assert (found.figure.value, found.figure.low, found.figure.high, found.case) == (45.0, 45.0, 48.0, "b")
    same = in_a_surge(monkeypatch, [(48.0, "a", 1.0), (47.9991, "b", 1.0)])
    assert same.figure is not None
    assert (same.figure.value, same.figure.high) == (47.9991, None)
    apart = in_a_surge(monkeypatch, [(48.0, "a", 1.0), (47.9989, "b", 1.0)])
    assert apart.figure is not None
    assert apart.figure.high == 48.0


def test_a_surge_that_cannot_be_delivered_fails_unless_the_better_end_delivers_it(monkeypatch: Any) -> None:
    never = in_a_surge(monkeypatch, [(0.0, "a", 0.8), (0.0, "b", 0.9)])
    assert (never.verdict, never.figure and never.figure.value) == ("fail", 0.8)
    perhaps = in_a_surge(monkeypatch, [(0.0, "a", 0.8), (46.0, "b", 1.0)])
    assert (perhaps.verdict, perhaps.figure) == ("unknown", None)


@pytest.mark.parametrize(("phases", "is_nothing"), [(1, False), (2, False), (3, True), (None, True)])
def test_three_phases_have_no_trough(phases: int | None, is_nothing: bool) -> None:
    plan = plan_of(_sound())
    (inverter, *_) = plan.bank.inverters
    kind = replace(inverter.kind, phases=phases)
    bank = plan.bank.replaced(inverters=(replace(inverter, kind=kind),))
    found = dip._trough(plan_of(bank), bank.inverters[0], 48.0)
    assert (found == 0.0) is is_nothing


def test_the_trough_is_in_proportion_to_power_and_its_line() -> None:
    plan = plan_of(_sound())
    (inverter, *_) = plan.bank.inverters

    def at(volt: float, frequency: float | None, power: float) -> float:
        kind = replace(inverter.kind, phases=1, frequency=frequency, surge_power=power, capacitance=None)
        bank = plan.bank.replaced(inverters=(replace(inverter, kind=kind),))
        return dip._trough(plan_of(bank), bank.inverters[0], volt)

    assert at(48.0, 50.0, 10e3) == pytest.approx(2.0 * at(48.0, 50.0, 5e3))
    assert at(48.0, 50.0, 5e3) == pytest.approx(at(24.0, 50.0, 5e3) / 2.0)
    assert at(48.0, None, 5e3) == pytest.approx(at(48.0, 50.0, 5e3))  # 50 Hz where nobody said
    assert at(48.0, 60.0, 5e3) > at(48.0, 50.0, 5e3)


# --- P-EARTH-3, P-POST-2, P-SHARE


def test_the_bond_follows_the_largest_device_and_the_largest_line(monkeypatch: Any) -> None:
    guards = [a_device(rating=rating) for rating in (100.0, 300.0, 200.0)]
    monkeypatch.setattr(earthing.lines, "in_line", lambda *_: guards)
    cited, told = earthing._section(plan_of(_sound()))
    assert cited.at["size"] == "4 AWG"  # NEC 250.122: 300 A takes 4 AWG [read]
    assert "300 A" in told
    monkeypatch.setattr(earthing.lines, "in_line", lambda *_: [])
    with pytest.raises(NeedsValue, match="devices"):
        earthing._section(plan_of(_sound()))


@pytest.mark.parametrize(("area", "size"), [(53.4e-6, "1/0 AWG"), (53.5e-6, "2/0 AWG"), (21.1e-6, "4 AWG")])
def test_a_strap_counts_as_the_smallest_size_with_its_section(area: float, size: str) -> None:
    # 1/0 AWG 53.475 mm2, 2/0 AWG 67.43 mm2, 4 AWG 21.15 mm2 (ASTM B258 formula)
    strap: Any = SimpleNamespace(area=area, strap=object(), size="strap")
    assert earthing._size(plan_of(_sound()), strap) == size
    cable: Any = SimpleNamespace(area=area, strap=None, size="own")
    assert earthing._size(plan_of(_sound()), cable) == "own"


@pytest.mark.parametrize(
    ("rating", "degc"), [(60.0, 60.0), (74.9, 60.0), (75.0, 75.0), (89.9, 75.0), (90.0, 90.0), (105.0, 90.0)]
)
def test_terminals_take_the_column_at_or_below_their_rating(monkeypatch: Any, rating: float, degc: float) -> None:
    monkeypatch.setattr(post, "by_terminals", lambda *_: SimpleNamespace(value=100.0, inputs=()))
    plan = plan_of(_sound())
    (link,) = [each for each in plan.bank.links if each.name == "main+"]
    assert post._column(plan, link, rating)[:2] == (100.0, degc)


@pytest.mark.parametrize(
    ("flows", "limit", "told"),
    [
        ([30.0, 50.0, 40.0], 40.1, share.EVEN),  # an even share of 40 A stays inside
        ([30.0, 50.0, 40.0], 39.9, share.LESS),
        ([60.0, 60.0, 0.0], 50.0, share.LESS),  # one that is away takes no share
        ([60.0, 60.0, 0.0], 60.1, share.EVEN),
    ],
)
def test_other_wiring_helps_where_an_even_share_would_fit(flows: list[float], limit: float, told: object) -> None:
    plan = Beside(currents=lambda _: np.array([flows]), place=lambda name: int(name[1:]) - 1)
    worst = Traced(Figure(50.0, "current"), case="full discharge")
    assert share._advice(plan, worst, limit) is told  # type: ignore[arg-type]
    down = Traced(Figure(50.0, "current"), case="full charge")
    expected = share.SLOWER if told is share.LESS else told
    assert share._advice(plan, down, limit) is expected  # type: ignore[arg-type]


def test_the_corner_widens_the_band_upward_alone(monkeypatch: Any) -> None:
    plan = plan_of(_sound())
    module = plan.bank.modules[1]
    ends = [np.diag([1.0, -45.0, 1.0]), np.diag([1.0, 52.0, 1.0])]
    monkeypatch.setattr(share, "corners_of", lambda *_: ends)
    worst = Traced(Figure(50.0, "current", 48.0, 51.0), case="full discharge")
    found = share._with_corner(plan, module, worst).figure
    assert (found.value, found.low, found.high) == (50.0, 48.0, 52.0)
    wide = Traced(Figure(50.0, "current", 48.0, 55.0), case="full discharge")
    assert share._with_corner(plan, module, wide).figure.high == 55.0


# --- P-CABLE-5: how many lie in a conduit is not given


@pytest.mark.parametrize(("bore", "due"), [("40.6607 mm", "unknown"), ("40.6197 mm", "fail")])
def test_the_poles_of_a_lead_alone_may_overfill_a_conduit(bore: str, due: str) -> None:
    """Two cables of 16 mm fill 31 % of 40.64 mm (NEC chapter 9 table 1); more of them only fill it further."""
    lies = {key: value for key, value in RACEWAY.items() if not key.endswith(".bundled")}
    plan = plan_of(edited({**lies, "wiring.main.conduit": bore}))
    found = [each for each in conduit.cables_fit_the_conduit.function(plan) if each.at[0] in ("main+", "main-")]
    assert {each.verdict for each in found} == {due}
