"""Limits that step: at the step, one below and one above it; ends of published windows; constants with their source.

Each number is written here a second time, with where it is from; a value, a sign or a case that moves is met by one
of the two sides.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from bankwright.bank.model import Bank
from bankwright.forms.card import Card
from bankwright.forms.finding import Finding
from bankwright.forms.toleranced import Toleranced, exact
from bankwright.forms.trace import PRACTICE
from bankwright.handbook import densities
from bankwright.plan.checks import CHECKS, cells, charge, order, precharge, windows
from bankwright.plan.context import plan_of
from bankwright.plan.zones import beside, guarding, taps
from support.plan_cases import INV, K, edited, sound

BY_CODE = {check.code: check for check in CHECKS}


def found(code: str, bank: Bank) -> list[Finding]:
    return list(BY_CODE[code].function(plan_of(bank)))


def verdicts(code: str, **edits: object) -> set[str]:
    return {finding.verdict for finding in found(code, edited({k.replace("__", "."): v for k, v in edits.items()}))}


# --- bars: 1.55 A/mm2 (NEC 366.23 [read]); caution to 3.5 up to 100 mm2 gross, 2.0 above (BS 159 and published bars)


@pytest.mark.parametrize(
    ("gross", "material", "passes", "ends"),
    [
        (99.9e-6, "copper", 1.55, 3.5),
        (0.02 * 0.005, "copper", 1.55, 3.5),  # 20 x 5 mm
        (100.1e-6, "copper", 1.55, 2.0),
        (0.02 * 0.005, "aluminium", 1.085, 3.5 * 1.085 / 1.55),
        (100.1e-6, "aluminium", 1.085, 2.0 * 1.085 / 1.55),
    ],
)
def test_a_bar_of_100_mm2_is_still_a_small_one(gross: float, material: str, passes: float, ends: float) -> None:
    got = densities.density_steps(gross, material)
    assert got == pytest.approx((passes * 1e6, ends * 1e6), rel=2e-3)


def bars(**keys: object) -> Bank:
    return edited({f"bars[{n}].{key}": value for n in (0, 1) for key, value in keys.items()})


@pytest.mark.parametrize(("ambient", "asks"), [("34.9 degC", True), ("35 degC", False), ("35.1 degC", False)])
def test_a_bar_rated_in_milder_air_than_this_room_s_is_asked_for(ambient: str, asks: bool) -> None:
    findings = found("P-BAR-1", bars(rating="400 A", rated_ambient=ambient))  # the room rises to 35 degC
    assert all(bool(finding.missing) is asks for finding in findings)
    assert {finding.verdict for finding in findings} == ({"unknown"} if asks else {"pass"})


@pytest.mark.parametrize(("material", "row"), [("copper", "1.550"), ("aluminium", "1.085")])
def test_what_a_bar_may_carry_comes_from_the_row_of_its_metal(material: str, row: str) -> None:
    (item,) = {item for f in found("P-BAR-1", bars(material=material)) for item in f.inputs if item.symbol == "J"}
    assert item.figure is not None
    assert f"{item.figure.value / 1e6:.3f}" == row  # type: ignore[union-attr]


# --- charge by temperature: the least of the steps that the cells may lie in while charging is allowed at all

STEPS = ((0.0, 0.0), (5.0, 20.0), (15.0, 50.0), (45.0, 25.0))


def limit(low: float, high: float, table: object = STEPS, **keys: object) -> float:
    kind = edited({}).modules[0].kind
    given = {"by_temperature": table, "continuous": None, "lowest_degc": None, **keys}
    return charge.charge_limit(replace(kind, charge=replace(kind.charge, **given)), low, high)[0]  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("low", "high", "amps"),
    [
        (20.0, 30.0, 50.0),  # one step
        (14.9, 30.0, 20.0),  # reaches into the step below
        (15.0, 30.0, 50.0),  # a step begins at its temperature
        (20.0, 44.9, 50.0),
        (20.0, 45.0, 25.0),
        (3.0, 4.0, 0.0),  # only where nothing may be taken
        (-10.0, 30.0, 20.0),  # where nothing may be taken no charge is asked of it
        (46.0, 50.0, 25.0),  # the last step has no end
        (50.0, 50.0, 25.0),
    ],
)
def test_charge_limit_is_the_least_of_the_steps_that_are_met(low: float, high: float, amps: float) -> None:
    assert limit(low, high) == amps


def test_charge_limit_counts_no_step_below_the_lowest_charge_temperature() -> None:
    table = ((0.0, 10.0), (5.0, 20.0), (15.0, 50.0))
    assert limit(-5.0, 30.0, table) == 10.0
    assert limit(-5.0, 30.0, table, lowest_degc=5.0) == 20.0
    assert limit(-5.0, 30.0, table, lowest_degc=15.0) == 50.0
    assert limit(-5.0, 4.0, table, lowest_degc=15.0) == 50.0  # never colder than where it may be charged
    assert limit(7.0, 30.0, table, lowest_degc=5.0) == 20.0


def test_charge_limit_is_never_above_the_one_value_of_the_sheet() -> None:
    assert limit(20.0, 30.0, continuous=40.0) == 40.0
    assert limit(20.0, 30.0, continuous=60.0) == 50.0
    assert limit(20.0, 30.0, (), continuous=60.0) == 60.0


@pytest.mark.parametrize(("step", "reached"), [("39 degC", True), ("39.1 degC", False)])
def test_the_rack_s_rise_counts_for_the_cells_that_charge(step: str, reached: bool) -> None:
    """35 degC in the room and 4 K in the rack: a step that begins at 39 degC is met."""
    table = {f"{K}.charge.by_temperature": [["0 degC", "50 A"], [step, "12 A"]]}
    for finding in found("P-CHARGE-1", edited(table)):
        assert finding.limits[1] == (12.0 if reached else 50.0)


def unlike(table: str, **keys: object) -> dict[str, object]:
    """The second module is of another kind."""
    other = dict(sound().data["kinds"]["module"]["S100"])
    other[table] = {**other[table], **keys}
    return {"kinds.module.S2": other, "modules[1].kind": "S2"}


@pytest.mark.parametrize(("setting", "verdict"), [("56.7 V to 60 V", "pass"), ("56.9 V to 60 V", "fail")])
def test_a_charger_comes_down_to_the_kind_that_is_full_first(setting: str, verdict: str) -> None:
    """16 x 3.55 V = 56.8 V for one kind, 58.4 V for the others: the lower one decides."""
    edits = {**unlike("charge", cell_full="3.55 V"), f"{INV}.charger.voltage": setting}
    assert {finding.verdict for finding in found("P-CHARGE-4", edited(edits))} == {verdict}


def test_pre_charge_meets_the_kind_that_is_full_at_most() -> None:
    bank = edited(unlike("charge", cell_full="3.55 V"))
    plan = plan_of(bank)
    assert precharge.filling(plan, bank.inverters[0], False).emf == pytest.approx(16 * 3.65)
    (finding,) = found("P-PRECHARGE-4", bank)
    assert finding.figure is not None
    assert finding.figure.value == pytest.approx((16 * 3.65) ** 2 / 25.0)


@pytest.mark.parametrize(("sheet", "most"), [("57 V", 57.0), ("61 V", 16 * 3.75)])
def test_a_setting_stays_under_the_lower_of_trip_and_sheet(sheet: str, most: float) -> None:
    edits = {f"{K}.charge.highest_voltage": sheet, f"{INV}.charger.setting": "56.5 V"}
    assert [finding.limits[1] for finding in found("P-CHARGE-5", edited(edits))] == [pytest.approx(most)]


def test_an_inverter_stops_above_the_trip_that_comes_first() -> None:
    """2.6 V and 2.5 V a cell: 41.6 V and 40 V."""
    findings = found("P-VOLTS-3", edited(unlike("discharge", cell_trip="2.6 V")))
    assert any(finding.limits[0] == pytest.approx(41.6) for finding in findings)
    assert not any(finding.limits[0] == pytest.approx(40.0) for finding in findings)


# --- energy: what the plate says, else cells x 3.2 V x capacity


@pytest.mark.parametrize(
    ("energy", "total"), [("5.12 kWh", 15.36), ("4.8 kWh", 14.4), (None, 3 * 16 * 3.2 * 100 / 1000)]
)
def test_energy_in_one_place_is_the_plate_s_or_follows_from_the_cells(energy: str | None, total: float) -> None:
    (finding,) = found("P-PLACE-1", edited({f"{K}.energy": energy}))
    assert finding.figure is not None
    assert finding.figure.value == pytest.approx(total, rel=1e-9)


# --- cells: the room falls to 8 degC, the rack rises to 39; windows of published cell sheets


@pytest.mark.parametrize(("lowest", "asks"), [("7.9 degC", False), ("8 degC", True), ("8.1 degC", True)])
def test_at_its_lowest_temperature_a_module_has_to_say_whether_it_stops(lowest: str, asks: bool) -> None:
    edits = {f"{K}.charge.inhibits": None, f"{K}.charge.heated": None, f"{K}.charge.lowest": lowest}
    (finding,) = [each for each in found("P-CHARGE-2", edited(edits)) if "charged" in each.text.text()]
    assert bool(finding.missing) is asks


HOT = [
    # side, room at its highest [degC; the rack adds 4 K], verdict, limit: 45 to 60 degC to charge, 60 to discharge
    ("charge", 35.9, "caution", 45.0),
    ("charge", 36.0, "unknown", None),
    ("charge", 55.9, "unknown", None),
    ("charge", 56.0, "fail", 60.0),
    ("discharge", 50.9, "caution", 60.0),
    ("discharge", 51.0, "unknown", None),
    ("discharge", 55.9, "unknown", None),
    ("discharge", 56.0, "fail", 60.0),
]


@pytest.mark.parametrize(("side", "room", "verdict", "most"), HOT)
def test_a_silent_sheet_is_asked_from_5_k_under_the_published_window(
    side: str, room: float, verdict: str, most: float | None
) -> None:
    other = "discharge" if side == "charge" else "charge"
    edits = {f"{K}.{side}.highest": None, f"{K}.{other}.highest": "90 degC", "site.ambient": f"8 degC to {room} degC"}
    findings = [each for each in found("P-CHARGE-3", edited(edits)) if not each.limits[1] or each.limits[1] < 90.0]
    assert [each.verdict for each in findings] == [verdict]
    assert findings[0].limits[1] == most


def test_windows_of_published_cells_stand_as_documented() -> None:
    assert dict(cells.HOT_ENDS) == {"charge": (45.0, 60.0), "discharge": (60.0, 60.0)}
    assert cells.NEAR == 5.0


# --- a release acts from a fifth under its setting where no tolerance is stated (IEC 60947-2 8.3.3.1.2, from memory)


def test_a_release_without_tolerance_acts_a_fifth_early() -> None:
    assert order._low_end(exact(1000.0)) == pytest.approx(800.0)
    assert order._low_end(Toleranced(1000.0, 900.0, 1200.0)) == 900.0


# --- a capacitance without tolerance: 20 % either way (common practice, no source)


def test_a_capacitance_without_tolerance_may_be_a_fifth_more_or_less() -> None:
    plan = plan_of(edited({f"{INV}.capacitance": "20 mF"}))
    filled = precharge.filling(plan, plan.bank.inverters[0], False)
    assert (filled.capacitance, filled.least) == pytest.approx((24e-3, 16e-3))
    plan = plan_of(edited({f"{INV}.capacitance": "20 mF +- 10 %"}))
    filled = precharge.filling(plan, plan.bank.inverters[0], False)
    assert (filled.capacitance, filled.least) == pytest.approx((22e-3, 18e-3))


# --- taps of NEC 240.21(B)(1) and (2) [from memory]: 10 ft with a tenth, 25 ft with a third of what feeds them

AHEAD = 300.0  # A, of the two devices that feed it


class _Carries:
    def __init__(self, amps: float) -> None:
        self.value, self.inputs = amps, ()


@pytest.mark.parametrize(
    ("carries", "own", "before", "fails", "feet"),
    [
        (30.0, 20.0, 3.0, False, 10),
        (29.9, 20.0, 3.0, True, 10),  # less than a tenth
        (40.0, 50.0, 3.0, True, 10),  # less than its own device
        (50.0, 50.0, 3.0, False, 10),
        (30.0, 20.0, 10 * 0.3048, None, 10),  # a tenth is enough to 10 ft and no further
        (99.9, 20.0, 3.06, True, 25),
        (100.0, 20.0, 3.06, False, 25),  # a third
        (100.0, 20.0, 3.0, False, 25),
        (99.9, 20.0, 3.0, False, 10),
        (299.9, 20.0, 3.06, False, 25),
        (300.0, 20.0, 3.06, None, None),  # carries all that feeds it: no tap
    ],
)
def test_a_tap_carries_a_tenth_to_10_ft_and_a_third_to_25(
    monkeypatch: pytest.MonkeyPatch, carries: float, own: float, before: float, fails: bool | None, feet: int | None
) -> None:
    plan = plan_of(edited({}))
    device = replace(plan.bank.devices[0], distance=0.0)
    mine = replace(device, kind=replace(device.kind, rating=own))
    ahead = tuple(replace(device, kind=replace(device.kind, rating=AHEAD / 2)) for _ in range(2))
    monkeypatch.setattr(taps, "_device", lambda *_: (mine, before, ahead))
    monkeypatch.setattr(taps, "carried", lambda *_: _Carries(carries))
    link = next(link for link in plan.bank.links if link.pole == plan.protected_pole)
    found = taps.tap(plan, link, card=Card("P-REACH-1", "", "", PRACTICE))
    assert (None if found is None else round((found.limits[1] or 0.0) / 0.3048)) == feet
    if found is not None and fails is not None:
        assert (found.verdict == "fail") is fails


# --- constants that no bank of the edges moves by 2 %: each with the source that stands beside it in the code


def test_constants_stand_as_documented() -> None:
    assert (windows.FILLS, windows.FLAT) == (3.40, 3.10)  # V a cell; common practice, no source
    assert (precharge.ABOVE, precharge.BELOW, precharge.MOST_LEFT) == (1.2, 0.8, 2.0)
    assert (beside.ARC, beside.WHOLE, guarding.SMALL) == (0.5, 0.99, 0.01)
    assert order.INSTANT_BAND == 0.2
    assert pytest.approx(100e-6, rel=1e-12) == densities.SMALL
    assert pytest.approx((7 * 0.0254, 10 * 0.3048, 25 * 0.3048), rel=1e-12) == (taps.AT_ONCE, taps.SHORT, taps.LONG)
