"""Cells in the logbook stop a module; too high, drifting and exchanged readings are told; load levels part causes."""

from dataclasses import replace

import numpy as np
import pytest

from bankwright.bank.model import Bank
from bankwright.forms.readings import Instrument
from bankwright.logbook.clocks import SystemClock
from bankwright.logbook.logbook import open_logbook
from bankwright.logbook.typed import typed_reading
from bankwright.match.asked import asked_of, asked_words
from bankwright.match.collect import Typed, collected
from bankwright.match.entry import CellReading, meter_of, module_reading, same_meter
from bankwright.match.levels import lines_of
from bankwright.match.verdicts import Match, match_of
from support.match_banks import bank, readings

EVEN = {"M1": "52.60 V", "M2": "52.60 V", "M3": "52.60 V"}


def of(found: Match, code: str) -> list:
    return [f for f in (*found.stopped, *found.joining, *found.charge, *found.unlike) if f.code == code]


def with_cells(of_bank: Bank, *cells: tuple[int, float, float]) -> Match:
    made = readings(of_bank, EVEN)
    held = tuple(CellReading(*cell) for cell in cells)
    return match_of(of_bank, (replace(made[0], cells=held), *made[1:]))


@pytest.mark.parametrize(
    ("volts", "age", "verdict"),
    [(0.0, 60.0, "fail"), (-0.2, 60.0, "fail"), (3.7, 60.0, "fail"), (2.4, 9e6, "fail"), (3.7, 9e6, "unknown"),
     (3.32, 60.0, None), (3.65, 60.0, None)],
)  # fmt: skip
def test_a_cell_that_may_not_rest_there_stops_its_module(volts: float, age: float, verdict: str | None) -> None:
    found = with_cells(bank(), (3, volts, age))
    told = of(found, "M-STOP-5")
    assert [f.verdict for f in told] == ([] if verdict is None else [verdict])
    if verdict is not None:
        assert told[0].at == ("M1",)
        assert found.may_join == verdict
        assert "M1" not in found.order
        assert "3" in told[0].text.text("metric")
        assert not [sheet for sheet in found.plans if "M1" in sheet.title]


def test_cells_far_apart_are_a_caution_and_stop_nothing() -> None:
    found = with_cells(bank(), (1, 3.10, 60.0), (2, 3.30, 60.0))
    assert [f.verdict for f in of(found, "M-STOP-5")] == ["caution"]
    assert "M1" in found.order


def test_cells_come_from_the_logbook_however_the_module_was_read(tmp_path) -> None:
    here = bank()
    with open_logbook(tmp_path / "b.toml", here) as book:
        for at, text in (("M1.c1", "0.0 V"), ("M2.c3", "3.70 V"), ("M3.c4", "3.30 V")):
            book.append_reading(typed_reading(at, text, SystemClock().now(), bank=here).reading)
        made = collected(here, Typed(voltage=tuple(f"{k}={v}" for k, v in EVEN.items())), book)
    assert {f.at[0] for f in of(match_of(here, made), "M-STOP-5")} == {"M1", "M2"}


def test_a_module_above_the_end_of_charge_of_its_cells_stops() -> None:
    high = {"M1": "60.0 V", "M2": "60.0 V", "M3": "60.0 V"}  # 16 x 3.65 V = 58.4 V
    found = match_of(bank(), readings(bank(), high))
    assert [f.verdict for f in of(found, "M-STOP-6")] == ["fail"] * 3
    assert found.may_join == "fail"
    fresh = {"M1": "57.6 V", "M2": "57.6 V", "M3": "57.6 V"}
    assert not of(match_of(bank(), readings(bank(), fresh)), "M-STOP-6")


def test_an_empty_module_whose_cells_are_all_known_is_not_asked_again() -> None:
    low = {"M1": "47.2 V", "M2": "47.2 V", "M3": "47.2 V"}
    made = readings(bank(), low)
    asked = of(match_of(bank(), made), "M-STOP-4")
    assert {f.verdict for f in asked} == {"unknown"}
    cells = tuple(CellReading(n, 2.95, 60.0) for n in range(1, 17))
    told = of(match_of(bank(), tuple(replace(r, cells=cells) for r in made)), "M-STOP-4")
    assert {f.verdict for f in told} == {"caution"}
    assert not any(f.missing for f in told)


@pytest.mark.parametrize(("rested", "verdict"), [(60.0, "unknown"), (6 * 3600.0, None), (None, "caution")])
def test_a_module_that_still_moves_is_read_again_before_it_is_closed(rested: float | None, verdict: str | None) -> None:
    here = bank(takes=12)
    made = readings(here, EVEN, temperature_degc=5.0)
    if rested is None:
        made = tuple(replace(r, rested=None) for r in made)
    else:
        made = (*made[:2], replace(made[2], rested=rested, last="charged"))
    told = of(match_of(here, made), "M-READ-4")
    assert [f.verdict for f in told] == ([] if verdict is None else [verdict])
    if verdict == "unknown":
        assert told[0].at == ("M3",)
        assert told[0].missing[0].key == "readings.M3.voltage"
        # 16 cells x 25.1 mV (slow part at 5 degC) + 16 x 19.3 mV e^(-60/40) at one minute, half an hour later next to 0
        slow, quick = 16 * 25.1e-3 * np.exp(-60 / 409.2), 16 * 19.3e-3 * np.exp(-60 / 40)
        gone = 16 * 25.1e-3 * np.exp(-1860 / 409.2)
        moved = next(i for i in told[0].inputs if i.symbol == "V_r").figure
        assert moved.value == pytest.approx(slow + quick - gone, abs=0.01)


def test_what_still_moves_is_read_again_though_no_limit_is_passed() -> None:
    """0.6 C before it, 1 min of rest at 5 degC: 0.41 V of the table, after 0.55 C, in proportion; then 47 min."""
    for takes, rested, due in ((0.6, 60.0, ["caution"]), (0.6, 2800.0, []), (1.1, 60.0, ["caution"])):
        here = bank()
        kind = here.modules[0].kind
        kind = replace(kind, charge=replace(kind.charge, continuous=takes * kind.capacity_ah, by_temperature=()))
        here = here.replaced(modules=tuple(replace(m, kind=kind) for m in here.modules))
        made = readings(here, EVEN, temperature_degc=5.0)
        told = of(match_of(here, (*made[:2], replace(made[2], rested=rested, last="charged"))), "M-READ-4")
        assert [f.verdict for f in told] == due
        if due:
            moved = next(i for i in told[0].inputs if i.symbol == "V_r").figure
            assert moved.value == pytest.approx(0.411 * takes / 0.55, rel=0.02)


def test_readings_that_fit_only_exchanged_are_suspected() -> None:
    here = bank()
    made = readings(here, {"M1": "52.90 V", "M2": "52.61 V", "M3": "52.60 V"})
    crossed = (replace(made[0], before=52.61), replace(made[1], before=52.90), replace(made[2], before=52.60))
    told = of(match_of(here, crossed), "M-READ-5")
    assert [(f.at, f.more, f.verdict) for f in told] == [(("M1",), ("M2",), "unknown")]
    straight = (replace(made[0], before=52.90), replace(made[1], before=52.61), made[2])
    assert not of(match_of(here, straight), "M-READ-5")


def test_a_gain_error_cancels_within_one_range_only() -> None:
    """Two ranges of one hand meter, written down in the logbook; the smaller one that holds the value is taken."""
    ranges = (
        Instrument("hand", "voltage", 0.005, 2, 0.01, 0.0, 52.65),
        Instrument("hand", "voltage", 0.005, 2, 0.1, 0.0, 600.0),
    )
    meter = meter_of("hand", bank(), ranges)
    low, near, high = (module_reading("M1", volts, meter, bank(), ranges) for volts in ("52.60 V", "52.61 V", "52.7 V"))
    assert same_meter((low, near))
    assert not same_meter((low, high))


def currents(total: float, share: tuple[float, ...], offset: tuple[float, ...]) -> dict[str, float]:
    return {f"M{n}": s * total + a for n, (s, a) in enumerate(zip(share, offset, strict=True), 1)}


def test_a_difference_of_charge_is_not_called_a_resistance() -> None:
    """Three modules of 16 mohm, M3 60 mV lower: a loop of two laws solved by hand, I = (E_k - V) / R."""
    R, E, levels = 0.016, np.array([52.62, 52.62, 52.56]), []
    for total in (6.0, 150.0):
        V = E.mean() - total * R / 3
        levels.append({f"M{n}": float((e - V) / R) for n, e in enumerate(E, 1)})
    assert levels[0]["M3"] < 0.8 * levels[0]["M1"]  # looks like a bad joint at 6 A
    found = match_of(bank(), (), levels=levels)
    told = of(found, "M-TAKE-2")
    assert [f.verdict for f in told] == ["pass"]
    assert "M3 lies 40 mV below" in told[0].text.text("metric")  # against the mean of all three
    assert not of(found, "M-TAKE-1")


def test_a_resistance_is_found_under_a_difference_of_charge() -> None:
    share = np.array([1.0, 1.0, 1 / 1.8])
    share /= share.sum()
    levels = [currents(total, tuple(share), (2.0, -5.0, 3.0)) for total in (20.0, 100.0, 150.0)]
    told = of(match_of(bank(), (), levels=levels), "M-TAKE-2")
    assert [(f.at, f.verdict) for f in told] == [(("M3",), "caution")]
    assert "1.8 times the resistance" in told[0].text.text("metric")
    assert lines_of(levels)[2].scatter == pytest.approx(0.0, abs=1e-9)


def test_discharging_alone_is_judged_and_near_levels_ask_for_another() -> None:
    one = {"M1": 20.0, "M2": 20.0, "M3": 10.0}
    assert [f.verdict for f in of(match_of(bank(), (), discharging=one), "M-TAKE-1")] == ["unknown"]
    near = {name: amps * 1.05 for name, amps in one.items()}
    assert [f.verdict for f in of(match_of(bank(), (), discharging=one, levels=(near,)), "M-TAKE-2")] == ["unknown"]


LOAD = '\n[[loads]]\nname = "pump"\n{what}\n'


@pytest.mark.parametrize(
    ("what", "asked"), [('power = "9 kW"', 9000.0 + 4000 / 0.93), ('current = "100 A"', 5120.0 + 4000 / 0.93)]
)
def test_direct_loads_count_in_what_is_asked(what: str, asked: float) -> None:
    here = bank(more=LOAD.format(what=what))
    assert sum(asked_of(here).values()) == pytest.approx(asked)
    assert "pump as given" in asked_words(here)[0]


def test_a_bank_that_says_nothing_of_loads_says_that_half_c_is_assumed() -> None:
    here = bank(inverter=None)
    found = match_of(here, readings(here, EVEN), cycle=True)
    told = of(found, "M-OLD-2")[0]
    assert told.inputs[0].assumed
    assert "0.5 C, assumed" in told.text.text("metric")
