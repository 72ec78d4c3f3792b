"""Practice cases of joining and sharing: inputs and what is expected, with the arithmetic beside each."""

import pytest

from bankwright.match.bring import resistor_sheet
from bankwright.match.extend import bank_charge, extension
from bankwright.match.inrush import join_band
from bankwright.match.timed import through_resistor
from bankwright.match.uneven import uneven_sharing
from bankwright.match.verdicts import match_of
from support.match_banks import bank, readings


def test_joining_two_packs_through_a_resistor():
    # 10 ohm, 0.5 W stands sqrt(0.5 x 10) = 2.24 V; at 2.0 V: 0.2 A, 0.4 W; 100 Ah modules: days, and zero is no proof
    two = bank("AA")
    for apart, text in ((2.0, "53.40 V"), (0.7, "52.10 V"), (0.2, "51.60 V")):
        high, low = readings(two, {"M1": text, "M2": "51.40 V"})
        plan = through_resistor(two, high, low, 10.0, 0.5)
        assert plan.largest_difference == pytest.approx(2.24, abs=0.01)
        assert plan.stands is True
        assert plan.first_current == pytest.approx(apart / 10, rel=0.01)
        assert plan.first_power == pytest.approx(apart**2 / 10, rel=0.01)
        if apart > 1:
            assert plan.hours.low > 50
        notes = " ".join(note.text() for note in resistor_sheet(plan).notes)
        assert "does not prove equal charge" in notes
    high, low = readings(two, {"M1": "53.9 V", "M2": "51.4 V"})
    too_small = resistor_sheet(through_resistor(two, high, low, 10.0, 0.5))
    assert any("does not stand it" in caution.words.text() for caution in too_small.steps[0].cautions)


def test_swapping_batteries_without_losing_power():
    # 0.7 V apart, loop of 40 to 160 mohm: 4.4 to 17.5 A
    low, high = join_band(0.7, (0.040, 0.160))
    assert (low, high) == (pytest.approx(4.4, abs=0.05), pytest.approx(17.5, abs=0.05))
    # transposed to the bank: 16 cells, 11.2 V apart is no reading of one chemistry; 0.7 V a module of 16 cells
    two = bank("AA", ohmic=4, takes=50)
    found = match_of(two, readings(two, {"M1": "53.4 V", "M2": "52.7 V"}, temperature_degc=25.0))
    assert found.may_join == "fail"


def test_a_rule_of_a_tenth_of_a_volt_taken_to_lfp():
    # 0.1 V / 20 mohm = 5 A: the current is nothing; on the plateau 6.25 mV a cell hide 5 to 20 points
    two = bank("AA")
    plateau = match_of(
        two, readings(two, {"M1": "52.80 V", "M2": "52.90 V"}, meter="0 % + 0 digits", temperature_degc=25.0)
    )
    current = next(f for f in plateau.joining if f.code == "M-JOIN-1")
    assert current.verdict == "pass"
    assert current.figure.value == pytest.approx(5.0, rel=0.02)
    assert plateau.equally_charged == "unknown"
    assert any("full, one by one" in sheet.title for sheet in plateau.plans)
    top = match_of(
        two, readings(two, {"M1": "56.00 V", "M2": "56.10 V"}, meter="0 % + 0 digits", temperature_degc=25.0)
    )
    assert next(f for f in top.charge if f.code == "M-CHARGE-1").verdict == "pass"
    assert next(f for f in top.joining if f.code == "M-JOIN-1").verdict == "pass"


def test_one_of_three_takes_less_charging_current():
    found = uneven_sharing({"A": 20.0, "B": 21.0, "C": 12.0})
    assert found.verdict == "unknown"
    words = found.text.text()
    assert all(part in words for part in ("state of charge", "resistance", "capacity"))
    assert any("discharge" in gap.how for gap in found.missing)
    charging = {"A": 20.0, "B": 21.0, "C": 12.0}
    both = uneven_sharing(charging, {"A": -20.0, "B": -20.0, "C": -12.0})
    assert "low in both directions" in both.text.text()
    fuller = uneven_sharing(charging, {"A": -18.0, "B": -18.0, "C": -25.0})
    assert "holds more charge" in fuller.text.text()


def test_packs_of_different_capacity_in_parallel():
    # 100 and 200 Ah: 33 and 67 A of 100 A; 40 % and 70 % make (40 x 100 + 70 x 200) / 300 = 60 %, not 55 %
    mixed = bank("AB")
    found = extension(mixed, power=5120.0)
    assert found.first_share[0] == pytest.approx(1 / 3, abs=0.01)
    assert found.first_share[1] == pytest.approx(2 / 3, abs=0.01)
    assert bank_charge([0.40, 0.70], [100, 200]) == pytest.approx(0.60)
    # limits of 1 C: with 5 % less resistance in the small one it reaches its limit first, below 300 A
    share = (1 / 9.5) / (1 / 9.5 + 1 / 5.0)
    assert 100 / share < 300
