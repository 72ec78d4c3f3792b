"""Thin conductors that chargers feed, and the bond in a short to the frame."""

import pytest

from bankwright.handbook.wires import ohm_per_m
from bankwright.physics.conductor import conduit_fill
from bankwright.physics.fault import time_constant
from bankwright.plan.checks import CHECKS
from bankwright.plan.context import plan_of
from bankwright.plan.zones.guarding import bond_resistance, guarding_of
from support.plan_cases import INV, LOAD, SHORT, edited

BY_CODE = {check.code: check for check in CHECKS}
TEN = {**SHORT, "cable": "10 AWG"}  # terminals not marked, under 100 A: column of 60 degC, 30 A (310.16, 110.14(C))


def tap(length="2 m", **edits):
    load = {**LOAD, "lead": {**TEN, "length": length}}
    return edited({"+loads": load, "wiring.branch": SHORT, **edits})


def fed(bank, link="D1+lead"):
    """Findings on a cable that speak of what chargers send."""
    found = BY_CODE["P-REACH-1"].function(plan_of(bank))
    return [f for f in found if f.at == (link,) and (f.missing or "can send" in f.text.text())]


def test_a_charger_is_a_source_only_for_what_carries_less_than_it_sends():
    (finding,) = fed(tap())  # the inverter charges with 60 A
    assert finding.verdict == "fail"
    assert "60.0 A into 2.00 m" in finding.text.text()
    assert fed(tap(**{f"{INV}.charger.current": "30 A"})) == []
    (finding,) = fed(tap(**{f"{INV}.charger.current": "30.1 A"}))
    assert finding.verdict == "fail"


def test_a_charger_that_does_not_say_what_it_sends_is_unknown():
    (finding,) = fed(tap(**{f"{INV}.charger.current": None}))
    assert finding.verdict == "unknown"
    assert [item.key for item in finding.missing] == [f"{INV}.charger.current"]


def test_a_device_where_the_thin_cable_begins_leaves_nothing_bare():
    fuse = {"name": "FD", "kind": "main", "on": "D1+lead", "at": "J+"}
    assert fed(tap(**{"+devices": fuse})) == []
    (finding,) = fed(tap(**{"+devices": {**fuse, "at": "300 mm"}}))
    assert finding.verdict == "pass"
    assert finding.figure.value == pytest.approx(0.3)


def test_what_comes_from_the_two_ends_of_a_cable_does_not_add():
    # two inverters charge with 60 A each; the lead of one meets its own 60 A or the other's, never 120 A
    second = {"+inverters": {"name": "I2", "kind": "inv"}}
    assert fed(tap(**second, **{"wiring.branch": {**SHORT, "cable": "3 AWG"}}), "I1+lead") == []
    both = [each for each in fed(tap(**second)) if "120 A" in each.text.text()]
    assert [each.at for each in both] == [("D1+lead",)]


@pytest.mark.parametrize(("length", "place"), [("3 m", "I1+"), ("12 m", "bar+1")])
def test_the_bond_lies_in_the_loop_of_a_short_to_the_frame(length, place):
    """One module alone: E / (R + bond) by Ohm's law from the same short without the bond."""
    plain, bonded = (edited({"site.earthing.bond_length": each} if each else {}) for each in (None, length))
    ohm = ohm_per_m("4 AWG").value * float(length.split()[0]) * (234.5 + 90) / (234.5 + 20)  # IEC law of copper
    assert bond_resistance(bonded) == pytest.approx(ohm, rel=2e-3)
    without, within = (guarding_of(plan_of(bank)) for bank in (plain, bonded))
    row = next(k for k, pair in enumerate(within.pairs) if pair.place == place and pair.other == "bar-4" and k > 9)
    volts = 16 * 3.0
    for bare, loaded in zip(without._alone[0].current[:, row], within._alone[0].current[:, row], strict=True):
        assert loaded == pytest.approx(volts / (volts / bare + bond_resistance(bonded)), rel=1e-6)


def test_a_bond_without_a_length_counts_as_none():
    assert bond_resistance(edited({})) == 0.0


def test_a_conduit_of_four_and_the_time_constant_of_a_loop():
    # four of 1/4 the diameter fill 4/16 of it; NEC chapter 9 note 1 counts areas. 2 mohm, 2 uH: 1 ms
    assert conduit_fill(4, 0.01, 0.04) == pytest.approx(0.25)
    assert time_constant(2e-6, 2e-3) == pytest.approx(1e-3)
