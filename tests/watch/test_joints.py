"""Growth of joints on pretend telemetry: what is told apart, found and refused; a day is reduced once.

The pretend bank is another hand's simulation than the product's engine (tests/support/joints), with figures of the
reference study; what the whole bench gives stands in docs/watch-joints.md.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from bankwright.circuit.of_bank.cell_part import temperature_factor
from bankwright.circuit.run.bank import parts_of
from bankwright.circuit.steady import steady
from bankwright.forms.readings import Columns
from bankwright.logbook.telemetry.store import open_telemetry
from bankwright.watch.joints.blocks import LAGS
from bankwright.watch.joints.cycles import Series, checked, cycles_of
from bankwright.watch.joints.daily import daily, day_name, day_of, days_of, kept_numbers, rebuilt
from bankwright.watch.joints.growth import base_days, base_of, growths, hours_of
from bankwright.watch.joints.hours import FORM, Day, packed, reduced, unpacked
from bankwright.watch.joints.judged import Grown, judged
from bankwright.watch.joints.limits import PlaceLimit, limit_of, whole_cases
from bankwright.watch.joints.section import _as_read, section
from bankwright.watch.joints.sensors import sensor_noise, too_coarse
from bankwright.watch.joints.shares import shares_of
from bankwright.watch.joints.told import grown_finding
from bankwright.watch.joints.wiring import wiring_of
from bankwright.watch.section import Asked, Section
from support.joints.bound import group_bounds
from support.joints.files import bank_of
from support.joints.pretend import Fault, PretendBank, Sensors
from support.joints.trial import KINDS

FIRST = 20500  # days since 1970 of the pretend bank's first day
FIVE = Sensors(period=5.0)


@cache
def days(wiring: str, *faults: Fault, kind: Sensors = FIVE, count: int = 17, seed: int = 3) -> tuple[Day, ...]:
    bank = bank_of(4, wiring)
    names = tuple(module.name for module in bank.modules)
    made = PretendBank(bank, seed, kind, faults)
    told = [reduced(names, cycles, warm, k) for k, (cycles, warm) in enumerate(made.days(count))]
    return tuple(replace(day, hour=day.hour + FIRST * 24) for day in told)


def told_of(tmp_path: Path, wiring: str, *faults: Fault, kind: Sensors = FIVE) -> Section:
    bank, found = bank_of(4, wiring), days(wiring, *faults, kind=kind)
    with open_telemetry(tmp_path / "bench.toml") as telemetry:
        for k, day in enumerate(found):
            telemetry.put_state(day_name(FIRST + k), FORM, packed(day))
        end = (FIRST + len(found)) * 86400.0
        return section(Asked(bank, telemetry, end - 30 * 86400, end, end))


def verdicts(found: Section) -> dict[str, str]:
    return {finding.code: finding.verdict for finding in found.findings}


# --- what is one thing from here (circuit: hand-drawn chains; section 9 of the study: groups)


def test_a_chain_fed_at_opposite_ends_has_mirrors_and_single_ends() -> None:
    wiring = wiring_of(bank_of(4, "chain opposite ends"))
    assert wiring.rank == 3
    names = {group.modules: group for group in wiring.groups}
    assert ("M1",) in names  # plus link 1 carries M1 alone
    assert ("M4",) in names
    plus = next(g for g in wiring.groups if "L2+" in g.names)
    assert plus.modules == ("M1", "M2")
    assert "L2-" in plus.mirror


def test_a_chain_fed_at_one_end_does_not_tell_plus_from_minus() -> None:
    wiring = wiring_of(bank_of(4, "chain same end"))
    group = next(g for g in wiring.groups if "L3+" in g.names)
    assert "L3-" in group.names
    assert group.modules == ("M4",)
    assert len(wiring.groups) == 3


def test_on_bars_a_lead_is_one_group_and_the_mains_are_in_none() -> None:
    wiring = wiring_of(bank_of(4, "bars"))
    group = next(g for g in wiring.groups if "L3+" in g.names)
    assert {"L3+@M3+", "L3-", "L3-@M3-"} <= set(group.names)
    assert not [name for g in wiring.groups for name in g.names if name.startswith("main")]
    assert wiring.strength()[wiring.groups.index(group)] == pytest.approx(0.75)  # 1 - 1/N


# --- checks before anything else


def heard(count: int = 400, modules: int = 4) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    draw = np.random.default_rng(7)
    time = 2.0 * np.arange(count)
    load = np.where((np.arange(count) // 40) % 2, 20.0, 4.0)
    amps = load[:, None] + draw.normal(0, 0.03, (count, modules))
    volts = np.round(52.6 - 0.01 * amps + draw.normal(0, 0.003, (count, modules)), 2)
    return time, np.round(amps, 2), volts


def test_readings_that_are_none_are_taken_out_and_single_gaps_are_mended() -> None:
    time, amps, volts = heard()
    volts[10, 1], amps[10, 1] = 0.0, 0.0  # garbage
    volts[50, 2] = 655.35  # sentinel
    amps[90, 3] = 9.5  # a spike
    volts[200:202, 0] = np.nan  # two in a row
    found = checked(time, amps, volts, 16, 2.0)
    assert len(found.time) == 398
    assert not {400.0, 402.0} & set(found.time.tolist())
    assert found.voltage[10, 1] == pytest.approx((volts[9, 1] + volts[11, 1]) / 2)
    assert abs(found.voltage[50, 2] - 52.4) < 0.05
    assert found.current[90, 3] < 5.0
    assert found.step.tolist() == pytest.approx([0.01] * 4)


def test_a_module_that_says_the_same_for_long_while_others_move_is_not_believed() -> None:
    time, amps, volts = heard()
    amps[100:220, 2], volts[100:220, 2] = 4.0, 52.56
    found = checked(time, amps, volts, 16, 2.0)
    assert len(found.time) <= 282
    calm = checked(time, *(np.repeat(column[:1], 400, axis=0) for column in (amps, volts)), 16, 2.0)
    assert len(calm.time) == 400  # nobody moves: a quiet night is no fault


def test_a_cycle_begins_with_the_module_that_is_read_first_whatever_its_name() -> None:
    time, amps, volts = heard(100)
    late = (0.32, 0.16, 0.0, 0.48)
    series = [Series(time + late[k], amps[:, k], volts[:, k]) for k in range(4)]
    found = cycles_of(series, 16)
    assert len(found.time) == 100
    assert found.period == pytest.approx(2.0)
    assert (found.current == amps).all()
    assert len(cycles_of(series[:1], 16).time) == 0
    nothing = Series(np.empty(0), np.empty(0), np.empty(0))
    assert len(cycles_of([*series[:3], nothing], 16).time) == 0


@pytest.mark.parametrize(("noise", "step"), [(0.003, 0.01), (0.001, 0.01), (0.0024, 0.001), (0.003, 0.1)])
def test_noise_and_step_of_a_voltage_are_told_from_its_readings(noise: float, step: float) -> None:
    draw = np.random.default_rng(1)
    level = 52.0 + np.linspace(0, 1.5, 20000)[:, None]
    volts = np.round((level + draw.normal(0, noise, (20000, 3))) / step) * step
    found = sensor_noise(
        checked(2.0 * np.arange(20000), np.ones((20000, 3)) + draw.normal(0, 0.02, (20000, 3)), volts, 16, 2.0)
    )
    assert found[1] == pytest.approx([step] * 3)
    assert bool(too_coarse(found).any()) == (step > 0.02 or noise < 0.2 * step)
    if not too_coarse(found).any():
        assert found[0] == pytest.approx([noise] * 3, rel=0.1)


# --- what is found


@pytest.mark.slow
def test_a_joint_that_grows_is_found_in_its_group_with_its_size(tmp_path: Path) -> None:
    found = told_of(tmp_path, "bars", Fault("element", "L2+@M2+", 0.3e-3, 15.3))
    (grown,) = (f for f in found.findings if f.code == "W-JOINT-1")
    assert grown.verdict == "caution"  # significant, and below the limit of its place
    assert grown.limits[1] is not None
    assert grown.limits[1] > 0.35e-3
    assert "L2+@M2+" in grown.at
    assert grown.figure is not None
    assert grown.figure.value == pytest.approx(0.3e-3, abs=0.06e-3)
    assert "--apart" in grown.do.text()
    lane = next(lane for lane in found.lanes if lane.name == "M2 branch")
    assert lane.marks[0].time == pytest.approx((FIRST + 15.3) * 86400, abs=86400)


@pytest.mark.soak
@pytest.mark.parametrize("kind", [FIVE, Sensors()])
def test_shares_read_a_large_growth_as_large_and_accuse_no_module(kind: Sensors) -> None:
    """A share falls as 1 / (R + growth); its logarithm alone left 0.3 mohm of it, called a module that shrank."""
    bank, size = bank_of(4, "bars"), 2.2e-3
    told = days("bars", Fault("element", "L2+@M2+", size, 14.0), kind=kind)
    found = judged(wiring_of(bank), [parts_of(module) for module in bank.modules], told, 0)
    assert found.grown is not None
    assert found.grown.by_shares is not None
    assert found.grown.where == "wiring"
    assert found.grown.by_shares[0] == pytest.approx(size, rel=0.35)
    assert found.inside == ()


def pure(names: tuple[str, ...], ohms: np.ndarray, number: int, apart: float) -> Day:
    """A day of modules that are nothing but resistances, `apart` of them outside of what the voltage sees. [ohm]"""
    draw, count = np.random.default_rng(number), len(names)
    mean = draw.normal(0, 8, 600).cumsum() / 10 + draw.normal(0, 8, 600)
    current = mean[:, None] / ohms * count / (1 / ohms).sum() + draw.normal(0, 0.01, (600, count))
    volts = -(current * (ohms - apart))
    slow = [np.convolve(mean, np.exp(-np.arange(300) * 10 / lag), "full")[:600] * 10 / lag for lag in LAGS]
    channel = np.concatenate([current, volts, np.array(slow).T], axis=1)
    nothing = np.full((1, 3 * count), np.nan)
    gram = (channel - channel.mean(axis=0)).T @ (channel - channel.mean(axis=0))
    one = np.ones(1)
    return Day(names, np.array([24 * number]), gram[None], 600 * one, 600 * one, nothing, np.zeros((2, count)), 2.0)


@pytest.mark.parametrize("size", [0.1e-3, 1e-3, 4e-3])
def test_shares_of_pure_resistances_read_a_growth_of_any_size(size: float) -> None:
    bank = bank_of(4, "bars")
    wiring, parts = wiring_of(bank), [parts_of(module) for module in bank.modules]
    ohms = np.array([part.ohmic.nominal for part in parts]) + np.diag(wiring.nominal)
    apart = float(np.diag(wiring.nominal).mean())
    base = [pure(wiring.modules, ohms, k, apart) for k in range(14)]
    later = [pure(wiring.modules, ohms + np.array([0, size, 0, 0]), 14, apart)]
    found = shares_of(wiring, parts, later, [base])
    assert found.growth[0] == pytest.approx(size * np.array([-0.25, 0.75, -0.25, -0.25]), rel=0.03, abs=3e-6)


@pytest.mark.slow
def test_a_healthy_bank_says_so_and_how_finely_it_hears(tmp_path: Path) -> None:
    found = told_of(tmp_path, "chain opposite ends")
    assert verdicts(found) == dict.fromkeys(("W-JOINT-5", "W-JOINT-1", "W-JOINT-3", "W-JOINT-4"), "pass")
    assert all(row.figure is not None for row in found.rows)


@pytest.mark.slow
def test_growth_inside_a_module_and_a_drifting_voltage_are_no_joint(tmp_path: Path) -> None:
    faults = Fault("cells", 2, 1e-3, 14.0), Fault("volts zero", 0, 0.04, 14.0)
    found = told_of(tmp_path, "bars", *faults)
    assert verdicts(found)["W-JOINT-1"] == "pass"
    inside = next(f for f in found.findings if f.code == "W-JOINT-3")
    assert (inside.verdict, inside.at) == ("caution", ("M3",))
    warm = np.nanmean([day.mean[:, -2].mean() for day in days("bars", *faults)[-3:]])
    size = 1e-3 * float(temperature_factor(warm))  # cells that are colder have more
    assert inside.figure is not None
    assert (inside.figure.low or 0.0) < size < (inside.figure.high or 0.0), "it reads up to 30 % too much, and says so"
    stray = next(f for f in found.findings if f.code == "W-JOINT-4")
    assert (stray.verdict, stray.at) == ("caution", ("M1",))


@pytest.mark.slow
def test_a_voltage_too_coarse_is_said_and_nothing_is_told_of_drops(tmp_path: Path) -> None:
    coarse = replace(KINDS["2 s, 100 mV"], period=5.0)
    found = told_of(tmp_path, "bars", Fault("element", "L2+@M2+", 0.3e-3, 15.0), kind=coarse)
    (ready,) = (f for f in found.findings if f.code == "W-JOINT-5")
    assert ready.verdict == "unknown"
    assert "voltage too coarse" in (ready.text.text() if ready.text else "")
    assert "W-JOINT-1" not in verdicts(found)
    assert all(row.figure is None for row in found.rows)


def test_too_few_days_or_none_of_late_are_unknown(tmp_path: Path) -> None:
    bank = bank_of(4, "bars")
    with open_telemetry(tmp_path / "bench.toml") as telemetry:
        end = FIRST * 86400.0
        (finding,) = section(Asked(bank, telemetry, end - 30 * 86400, end, end)).findings
    assert (finding.code, finding.verdict) == ("W-JOINT-5", "unknown")
    assert "0 of 14 days" in (finding.text.text() if finding.text else "")


@pytest.mark.slow
def test_days_that_could_not_be_used_are_not_called_well(tmp_path: Path) -> None:
    found = told_of(tmp_path, "bars", Fault("volts gain", 1, 0.06, 14.0))  # 3 V off: no reading
    assert verdicts(found) == {"W-JOINT-5": "unknown"}
    assert all(row.figure is None for row in found.rows)


@pytest.mark.slow
def test_the_seen_size_follows_the_growth_and_no_other_group_is_blamed() -> None:
    wiring = wiring_of(bank_of(4, "chain same end"))
    group = next(k for k, g in enumerate(wiring.groups) if "L2+" in g.names)
    found = days("chain same end", Fault("element", "L2+", 0.12e-3, 15.0))
    told = judged(wiring, [parts_of(m) for m in bank_of(4, "chain same end").modules], found, FIRST * 24)
    assert told.grown is not None
    assert told.grown.group == group
    assert told.grown.size == pytest.approx(0.12e-3, abs=0.03e-3)


# --- limits of a place


def test_the_limit_is_that_of_the_place_by_heat_at_its_own_current() -> None:
    bank = bank_of(4, "chain opposite ends")
    solved = steady(bank)
    ends = limit_of(bank, solved, ("L1+", "L1+@M2+"), whole_cases(solved))
    middle = limit_of(bank, solved, ("L3+", "L3+@M4+"), whole_cases(solved))
    assert ends is not None
    assert middle is not None
    assert middle.current > 2 * ends.current  # three modules' current against one's
    assert ends.ohms <= 2.0 / ends.current**2 * (1 + 1e-9)
    assert middle.ohms < ends.ohms / 4


def test_growth_past_the_limit_of_its_place_fails_and_below_it_is_a_caution() -> None:
    wiring, limit = wiring_of(bank_of(4, "bars")), PlaceLimit(0.4e-3, "2 W in one joint", 70.0, "full discharge")
    verdicts = []
    for size in (0.1e-3, 0.37e-3, 0.5e-3):
        grown = Grown(0, size, 0.01e-3, 9.0, 24, None, "wiring", (size, 0.05e-3), (), True)
        verdicts.append(grown_finding(wiring, grown, limit).verdict)
    assert verdicts == ["caution", "caution", "fail"]
    assert grown_finding(wiring, None, None).verdict == "pass"


def test_the_bound_of_a_chain_is_that_of_a_branch_by_its_pattern() -> None:
    wiring = wiring_of(bank_of(4, "chain opposite ends"))
    bounds = group_bounds(wiring, 1e-10)
    ends = next(k for k, g in enumerate(wiring.groups) if g.modules == ("M1",))
    middle = next(k for k, g in enumerate(wiring.groups) if g.modules == ("M1", "M2"))
    assert bounds[ends] == pytest.approx(np.sqrt(1e-10 * 15 / 14 / 0.75))
    assert bounds[middle] == pytest.approx(np.sqrt(1e-10 * 15 / 14 / (1.0 * 4)))


@pytest.mark.parametrize("kind", ["bars", "chain opposite ends"])
def test_the_chart_shows_the_branches_in_the_order_of_the_modules(kind: str) -> None:
    wiring = wiring_of(bank_of(4, kind))
    shown = _as_read(wiring)
    assert sorted(number for number, _ in shown) == list(range(len(wiring.groups)))
    assert all(wiring.groups[number] is group for number, group in shown)
    alone = [group.modules[0] for _, group in shown if len(group.modules) == 1]
    assert alone == sorted(alone)
    assert [len(group.modules) == 1 for _, group in shown] == [True] * len(alone) + [False] * (len(shown) - len(alone))


# --- what is kept


def test_a_day_comes_back_from_its_bytes_as_it_was() -> None:
    (day, *_) = days("bars", count=1)
    again = unpacked(packed(day))
    for name in Day.__dataclass_fields__:
        assert np.array_equal(getattr(again, name), getattr(day, name), equal_nan=name in ("mean", "sensor")), name
    for bad in (b"", b"abc", packed(day)[:-8]):
        with pytest.raises(ValueError):
            unpacked(bad)


@pytest.mark.slow
def test_rebuilt_from_raw_equals_what_the_daily_runs_kept_and_an_interrupted_run_goes_on(
    tmp_path: Path,
) -> None:
    bank = bank_of(4, "bars")
    names = tuple(module.name for module in bank.modules)
    made = PretendBank(bank, 5, Sensors(period=20.0))
    with open_telemetry(tmp_path / "bench.toml") as telemetry:
        for k, (cycles, _) in enumerate(made.days(3)):
            _write(telemetry, names, cycles.time + FIRST * 86400.0, cycles.voltage, cycles.current)
            if k:  # the day before is over
                for _ in daily(bank, telemetry, (FIRST + k) * 86400.0 + 3600.0):
                    pass
        assert kept_numbers(telemetry) == (FIRST, FIRST + 1)
        before = {n: telemetry.state(day_name(n)).blob for n in kept_numbers(telemetry)}  # type: ignore[union-attr]
        run = rebuilt(bank, telemetry, (FIRST + 2) * 86400.0 + 3600.0)
        assert next(run) == (1, 2)  # stopped here
        run.close()
        assert list(rebuilt(bank, telemetry, (FIRST + 2) * 86400.0 + 3600.0)) == [(2, 2)]
        assert next(rebuilt(bank, telemetry, (FIRST + 2) * 86400.0 + 3600.0)) == (1, 2)  # whole: begins again
        after = {n: telemetry.state(day_name(n)).blob for n in kept_numbers(telemetry)}  # type: ignore[union-attr]
        assert after == before
        assert len(days_of(bank, telemetry, (FIRST,))[0]) == 24
        assert not len(day_of(bank, telemetry, FIRST + 50))


def _write(telemetry, names, time, volts, amps) -> None:  # type: ignore[no-untyped-def]
    columns = []
    for k, name in enumerate(names):
        good = np.zeros((len(time), 1), np.uint8)
        columns.append(Columns("voltage", (name,), time + 0.16 * k, volts[:, k : k + 1], good))
        columns.append(Columns("current", (name,), time + 0.16 * k, amps[:, k : k + 1], good))
    telemetry.append_dated(*columns, source="pretend")


def test_another_nominal_resistance_needs_no_raw_data() -> None:
    wiring = wiring_of(bank_of(4, "bars"))
    found = hours_of(wiring, days("bars", count=3))
    other = replace(wiring, nominal=wiring.nominal + 1e-4 * np.eye(4))
    moved = hours_of(other, days("bars", count=3))
    own = wiring.patterns @ np.eye(4) @ wiring.patterns.T  # a further 0.1 mohm in each branch, as each group sees it
    assert own.shape == found.A.shape[1:]
    assert not np.allclose(found.b, moved.b)
    back = hours_of(replace(other, nominal=wiring.nominal), days("bars", count=3))
    assert np.allclose(back.b, found.b)
    assert len(growths(found, base_of(wiring, hours_of(wiring, base_days(days("bars")))))) == 7


def test_the_sum_of_fine_cells_stands_in_for_a_coarse_voltage(tmp_path: Path) -> None:
    bank = bank_of(4, "bars")
    names = tuple(module.name for module in bank.modules)
    draw, time = np.random.default_rng(2), FIRST * 86400.0 + np.arange(0.0, 3 * 3600.0, 5.0)
    load = np.where((np.arange(len(time)) // 60) % 2, 20.0, 4.0)
    amps = np.round(load[:, None] + draw.normal(0, 0.03, (len(time), 4)), 2)
    true = 52.6 - 0.01 * amps + np.array([0.0, 0.03, -0.02, 0.01])
    volts = np.round(true, 1)  # steps of 0.1 V: too coarse
    parts = true[:, :, None] / 16 + draw.normal(0, 0.6e-3, (len(time), 4, 16))
    with open_telemetry(tmp_path / "bench.toml") as telemetry:
        _write(telemetry, names, time, volts, amps)
        coarse = day_of(bank, telemetry, FIRST)
        assert too_coarse(coarse.sensor).all()
        for k, name in enumerate(names[:3]):  # all but one module's cells: not yet
            _write_cells(telemetry, name, time + 0.16 * k, parts[:, k])
        assert np.array_equal(day_of(bank, telemetry, FIRST).sensor[1], coarse.sensor[1])
        _write_cells(telemetry, names[3], time + 0.48, parts[:, 3])
        fine = day_of(bank, telemetry, FIRST)
    assert fine.sensor[1] == pytest.approx([1e-3] * 4)
    assert fine.sensor[0] == pytest.approx([4 * (0.6**2 + 1 / 12) ** 0.5 * 1e-3] * 4, rel=0.1)
    assert not too_coarse(fine.sensor).any()
    assert fine.mean[0, 4:8] == pytest.approx(true[:720].mean(axis=0), abs=2e-3)  # and they are the modules' volts


def _write_cells(telemetry, name, time, volts) -> None:  # type: ignore[no-untyped-def]
    good = np.zeros(volts.shape, np.uint8)
    places = tuple(f"{name}.c{k}" for k in range(1, volts.shape[1] + 1))
    telemetry.append_dated(Columns("cell_voltage", places, time, np.round(volts, 3), good), source=f"cells of {name}")
