"""Bands of the tests of shares and millivolts from both sides, with meters that are exact or have one flat error.

The sheet's own ends stand here again: module 14 +- 3 mohm at 30 s, terminals 75 degC; what the network gives beside
them is read off the finding, whose two ends must be the ones that it is judged by.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from bankwright.forms.finding import Finding
from bankwright.prove import millivolt_checks, module_checks, share_checks
from bankwright.prove.currents import Level
from bankwright.prove.meters import Clamp, Millivolts
from bankwright.prove.millivolt_subject import MillivoltSubject, Read
from bankwright.prove.share_subject import ShareSubject
from support.prove_edges import one, sheet
from support.prove_edges_due import strings
from support.proved import barn, one_round, solved

pytestmark = pytest.mark.quick

EXACT = Clamp("clamp", 0.0, 0.0, 2e-9, 0.0)
ZERO = one_round(0, [0.0] * 5)


def shared(share: float) -> Finding:
    """M1 takes a share of the mean of all, the others 40 A each: 5 a / (a + 160) of the mean."""
    amps = 160.0 * share / (5.0 - share)
    rounds = ZERO, one_round(200, [amps, *[40.0] * 4], age=30.0)
    subject = ShareSubject(barn(), solved("bars"), rounds, clamp=EXACT)
    return one(tuple(share_checks.shares.function(subject)), "V-SHARE-1", "M1")


def test_a_share_lies_in_the_band_of_the_tolerances() -> None:
    low, high = shared(1.0).caution_limits or (None, None)
    assert low is not None
    assert high is not None
    # wider than one of five off alone (17 or 11 mohm beside 14), narrower than all off against it (beside 11 or 17)
    assert 5 / 17 / (1 / 17 + 4 / 11) < low < 5 / 17 / (1 / 17 + 4 / 14)
    assert 5 / 11 / (1 / 11 + 4 / 14) < high < 5 / 11 / (1 / 11 + 4 / 17)
    told = [shared(each).verdict for each in (0.999 * low, 1.001 * low, 0.999 * high, 1.001 * high)]
    assert told == ["caution", "pass", "pass", "caution"]


def module(ohms: float) -> Finding:
    """M1's sag at 40 A after 30 s."""
    volts = {"M1": 52.0}
    rounds = (
        replace(ZERO, volts=volts),
        one_round(200, [40.0] * 5, age=30.0, volts={"M1": 52.0 - 40.0 * ohms}),
    )
    subject = ShareSubject(barn(), solved("bars"), rounds, clamp=EXACT, cells_degc={"M1": 25.0})
    return one(tuple(module_checks.module_resistance.function(subject)), "V-MODULE-1", "M1")


@pytest.mark.parametrize(("sheet_says", "way"), [(11e-3, -1.0), (17e-3, 1.0)])
def test_a_module_lies_outside_its_sheet_with_its_whole_band(sheet_says: float, way: float) -> None:
    found = module(sheet_says)
    assert found.figure is not None
    assert found.figure.quantity == "resistance"
    half = (found.figure.high or 0.0) - sheet_says
    # two readings of 20 mV over 40 A, and half a percent: 95 % of their sum lies between 0.5 and 1.1 mohm
    assert 0.5e-3 < half < 1.1e-3
    edge = sheet_says + way * half
    told = [module(edge + way * off * 1e-3 * sheet_says).verdict for off in (-1.0, 1.0)]
    assert told == ["pass", "caution"]


ALONE = Level(80, ("I1",), frozenset({"M1", "M2", "M4", "M5"}))


def at_joint(ohms: float, code: str, meter: Millivolts) -> Finding:
    """A joint of M3's lead, which carries 80 A alone."""
    read = Read("L3+@M3+", ALONE, 80.0 * ohms, 0.0, 40.0, "")
    subject = MillivoltSubject(barn(), solved("bars"), (read,), meter=meter)
    (check,) = [each for each in millivolt_checks.CHECKS if each.code == code]
    return one(tuple(check.function(subject)), code)


def test_a_drop_lies_in_the_band_of_the_file_and_the_meter() -> None:
    meter = Millivolts("meter", 0.0, 5.0, 1e-5)  # five counts of 10 uV
    low, high = at_joint(20e-6, "V-DROP-1", meter).caution_limits or (None, None)
    assert low is not None
    assert high is not None
    # 20 +- 10 uohm at 80 A: 1.6 mV, 99 % of a flat 0.8 mV and 50 uV of the meter on each side
    half = 0.99 * 0.8e-3 + 5e-5
    assert (low, high) == pytest.approx((1.6e-3 - half, 1.6e-3 + half), rel=2e-3)
    told = [
        at_joint(v / 80.0, "V-DROP-1", meter).verdict for v in (0.999 * low, 1.001 * low, 0.999 * high, 1.001 * high)
    ]
    assert told == ["caution", "pass", "pass", "caution"]


def test_a_terminal_fails_at_its_rating_and_cautions_five_kelvin_below() -> None:
    meter = Millivolts("meter", 0.0, 0.0, 0.0)

    def hot(ohms: float) -> Finding:
        return at_joint(ohms, "V-TERMINAL-1", meter)

    def highest(ohms: float) -> float:
        figure = hot(ohms).figure
        assert figure is not None
        assert figure.quantity == "temperature_degc"
        assert figure.high is not None
        return figure.high

    slope = (highest(2e-4) - highest(1e-4)) / 1e-4  # K a micro-ohm: heat and what leads it away are in proportion
    for degc, told in ((75.0, ["caution", "fail"]), (70.0, ["pass", "caution"])):
        edge = 1e-4 + (degc - highest(1e-4)) / slope
        assert [hot(edge * part).verdict for part in (0.999, 1.001)] == told
    assert hot(1e-4).limits == (None, 75.0)


def string(volts: float) -> str:
    taken = {("H1", "temperature_degc", "A"): 42.0, ("H1", "irradiance", "A"): 800.0, ("H1", "voltage", "A"): volts}
    return sheet("V-SUN-1", "H1", taken, "A", "voltage", strings=strings()).verdict


def test_a_string_lies_within_six_hundredths_of_what_is_due_and_never_below_nothing() -> None:
    due = 371.2  # V, 8 x 49.5 V at 45 degC and 800 W/m2, as computed elsewhere (test_power_up_sun)
    told = [string(due * part) for part in (0.9385, 0.9415, 1.0585, 1.0615)]
    assert told == ["caution", "pass", "pass", "caution"]
    assert [string(volts) for volts in (-0.1, 0.0)] == ["fail", "caution"]
