"""No plan leads a hand into harm: cold modules, chargers that are too much or too little, the wrong module moved."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bankwright.forms.sheets import Sheet
from bankwright.match.bring import resistor_sheet
from bankwright.match.cautions import fuse_for
from bankwright.match.timed import Hours, Tools, charger_for, hours_to_full, through_resistor
from bankwright.match.verdicts import Match, match_of
from support.match_banks import bank, readings

FIVE = {"M1": "53.20 V", "M2": "51.00 V", "M3": "53.20 V", "M4": "53.20 V", "M5": "53.20 V"}


def words(sheet: Sheet) -> str:
    return " ".join(
        text.text() for step in sheet.steps for text in (*step.acts, step.done, *(c.words for c in step.cautions))
    )


def titled(found: Match, start: str) -> list[Sheet]:
    return [sheet for sheet in found.plans if sheet.title.startswith(start)]


@pytest.mark.slow
def test_a_cold_module_is_warmed_before_any_plan_charges_it_and_gets_no_resistor():
    five = bank("AAAAA")
    given = [replace(r, temperature_degc=-3.0 if r.module == "M2" else 15.0) for r in readings(five, FIVE)]
    found = match_of(five, given)
    full = titled(found, "Every module to full")[0]
    second = full.steps[1]
    assert "Do not charge M2 yet" in second.acts[0].text()
    assert "Do not charge" not in full.steps[0].acts[0].text()
    alone = titled(found, "Charge M2")[0]
    assert "Do not charge M2 yet" in alone.steps[0].acts[0].text()
    assert not titled(found, "Level")


def test_a_room_that_may_be_cold_says_so():
    five = bank("AAAAA", ambient="-5 degC to 30 degC")
    found = match_of(five, readings(five, FIVE, temperature_degc=None))
    assert "may be at" in titled(found, "Every module")[0].steps[0].acts[0].text()


def test_too_cold_alone_moves_nothing_and_takes_no_volt():
    three = bank()
    volts = {"M1": "53.20 V", "M2": "53.18 V", "M3": "53.20 V"}
    given = [replace(r, temperature_degc=-3.0 if r.module == "M2" else 15.0) for r in readings(three, volts)]
    found = match_of(three, given)
    assert found.may_join == "fail"
    assert found.largest_difference == 0.0
    assert not titled(found, "Level")


def test_a_cold_module_that_gives_only_within_the_digits_still_stops():
    three = bank()
    volts = {"M1": "53.2 V", "M2": "53.3 V", "M3": "53.2 V"}
    given = [replace(r, temperature_degc=-3.0 if r.module == "M2" else 15.0) for r in readings(three, volts)]
    cold = next(f for f in match_of(three, given).joining if f.code == "M-JOIN-4" and f.at == ("M2",))
    assert cold.verdict == "fail"


def test_a_hot_module_takes_nothing():
    three = bank()
    kind = three.modules[0].kind
    warm = replace(kind, charge=replace(kind.charge, highest_degc=50.0))
    three = three.replaced(modules=tuple(replace(module, kind=warm) for module in three.modules))
    given = readings(three, {"M1": "53.2 V", "M2": "53.1 V", "M3": "53.2 V"}, temperature_degc=55.0)
    found = match_of(three, given)
    assert next(f for f in found.joining if f.code == "M-JOIN-1").verdict == "fail"
    assert "Let it cool" in titled(found, "Every module")[0].steps[0].acts[0].text()


def test_the_charger_named_is_held_to_what_the_module_takes():
    module = bank("A").modules[0]  # takes 50 A
    strong = charger_for(module, 80.0, 60.0)
    assert strong.current == 50.0
    assert strong.ceiling <= 3.65 * 16
    assert len(strong.notes) == 2
    assert charger_for(module, 80.0, limit=12.0).current == 12.0
    found = match_of(bank("AA"), readings(bank("AA"), {"M1": "53.4 V", "M2": "51 V"}), tools=Tools(80.0, 60.0))
    text = " ".join(words(sheet) for sheet in found.plans)
    assert "80.0 A." not in text
    assert "takes 50 A at most" in text


def test_a_charger_that_ends_too_low_never_counts_as_full():
    module = bank("A").modules[0]
    weak = charger_for(module, 10.0, 53.0)
    assert weak.ceiling >= 3.45 * 16
    assert "too low" in weak.notes[0]
    found = match_of(bank("AA"), readings(bank("AA"), {"M1": "53.4 V", "M2": "51 V"}), tools=Tools(10.0, 53.0))
    assert all("53.0 V;" not in words(sheet) for sheet in found.plans)


def test_a_small_charger_has_a_tail_to_fall_to():
    module = bank("A").modules[0]
    from bankwright.match.charge_range import ChargeRange

    small = charger_for(module, 3.0, 56.8)
    assert small.tail < small.current
    hours = hours_to_full(module, ChargeRange("M1", 0.3, 0.5, (), (52.0, 52.6), False), small)
    assert hours.low > 0.45 * 100 / 3


@pytest.mark.slow
def test_every_charge_names_its_ceiling_and_every_resistor_its_fuses():
    five = bank("AAAAA")
    found = match_of(five, readings(five, FIVE))
    assert " V; read it without" in words(titled(found, "Charge M2")[0])
    level = words(titled(found, "Level")[0])
    assert "fuse" in level
    assert "both plus posts" in level
    assert fuse_for(5.4) == 10.0
    for sheet in found.plans:
        assert "recovery" not in words(sheet) or "No recovery" in words(sheet)


@pytest.mark.slow
def test_only_the_outermost_module_is_moved():
    five = bank("AAAAA")
    low = match_of(five, readings(five, FIVE))
    assert titled(low, "Charge M2")
    assert not titled(low, "Discharge")  # one of four that lie together would then lie alone
    high = match_of(five, readings(five, {**dict.fromkeys(FIVE, "51.00 V"), "M4": "53.20 V"}))
    assert titled(high, "Discharge M4")
    assert not titled(high, "Charge")


def test_a_resistor_levels_the_outermost_against_the_joined_others():
    # 2.2 V: the others give four times as much, so it takes far more ampere-hours than between two modules
    five = bank("AAAAA")
    given = {r.module: r for r in readings(five, FIVE)}
    rest = [given[name] for name in ("M3", "M4", "M5")]
    pair = through_resistor(five, given["M1"], given["M2"], 0.4, 25.0)
    four = through_resistor(five, given["M1"], given["M2"], 0.4, 25.0, beside=rest)
    assert four.alone == "M2"
    assert four.joined == ("M1", "M3", "M4", "M5")
    assert four.moved_ah[0] > pair.moved_ah[0]
    # at the end four modules have given what one took
    assert "Close these first" in words(resistor_sheet(four, ["M1", "M3", "M4", "M5"]))


def test_unlike_counts_of_cells_get_no_plan_at_all():
    two = bank("AA")
    other = replace(two.modules[1], kind=replace(two.modules[1].kind, cells=15))
    mixed = two.replaced(modules=(two.modules[0], other))
    found = match_of(mixed, readings(two, {"M1": "52.6 V", "M2": "49.3 V"}), tools=Tools(resistor=10.0))
    assert found.may_join == "fail"
    assert found.plans == ()


def test_a_module_far_below_the_others_is_stopped_until_its_cells_are_read():
    five = bank("AAAAA")
    found = match_of(five, readings(five, {**FIVE, "M2": "44.00 V"}))
    stop = next(f for f in found.stopped if f.code == "M-STOP-4")
    assert (stop.verdict, stop.at) == ("fail", ("M2",))
    assert "every cell" in stop.do.text()
    assert found.plans == ()
    empty = match_of(five, readings(five, dict.fromkeys(FIVE, "46.00 V")))
    assert {f.verdict for f in empty.stopped} == {"unknown"}


@pytest.mark.slow
def test_a_bus_that_opens_blames_the_module_that_opens():
    five = bank("AAAAA")
    trip = next(f for f in match_of(five, readings(five, FIVE)).joining if f.code == "M-JOIN-3")
    assert (trip.verdict, trip.at) == ("fail", ("M2",))


@pytest.mark.parametrize(
    ("hours", "text"),
    [
        (Hours(100.0, 240.0), "4.2 days to 10.0 days"),
        (Hours(18.0, 46.0), "18 h to 46 h"),
        (Hours(0.0, 3.6), "up to 3.6 h"),
        (Hours(0.5, 0.51), "about 31 min"),
        (Hours(5.0, None), "5.0 h to more than 14 days"),
    ],
)
def test_times_read_well(hours, text):
    assert hours.words() == text


def test_looks_come_before_the_latest_end():
    two = bank("AA")
    found = match_of(two, readings(two, {"M1": "57.60 V", "M2": "54.40 V"}))
    for sheet in found.plans:
        for step in sheet.steps:
            if step.duration is not None and step.duration < 1800:
                assert "every 30 min" not in " ".join(act.text() for act in step.acts)
