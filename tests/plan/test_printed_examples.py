"""Worked examples of the checks, each as a bank or as the check's own inequality.

Where no other source is named the figures come from closed forms (ladder of equal sources, current divider, Ohm's law),
worked out by hand to the digits printed.
"""

import pytest

from bankwright.plan.checks import CHECKS
from bankwright.plan.context import plan_of
from support.plan_cases import edited
from support.plan_rows import on_bar, row

BY_CODE = {check.code: check for check in CHECKS}
K, INV, F = "kinds.module.S100", "kinds.inverter.inv", "kinds.device.main"
CHAIN_5 = {"count": 5, "feed": "opposite ends", "ratio": 0.02}


def found(code, bank, at=None, side=None):
    findings = list(BY_CODE[code].function(plan_of(bank)))
    return [f for f in findings if (at is None or at in f.at) and (side is None or (f.case or "").startswith(side))]


def worst(code, bank, side="full discharge"):
    return max(found(code, bank, side=side), key=lambda finding: finding.figure.value)


def test_share_of_a_row_as_designed():
    # Closed form of the ladder, x 0.02, opposite ends, N 5: 58.2 A of 280 A; x 0.05, same end, N 4: 104.4 A of 320 A.
    good = worst("P-SHARE-1", row(amps=280.0, **CHAIN_5))
    bad = worst("P-SHARE-1", row(4, "same end", 0.05, 320.0))
    assert good.figure.value == pytest.approx(58.2, abs=0.05)
    assert good.verdict == "pass"
    assert bad.figure.value == pytest.approx(104.4, abs=0.05)
    assert bad.verdict == "fail"


@pytest.mark.parametrize(("limit", "verdict"), [("100 A", "pass"), ("75 A", "caution"), ("70 A", "fail")])
def test_share_inside_tolerances_on_a_common_bar(limit, verdict):
    # Flat and independent 14 +- 3 mohm, N 5, 280 A: 99 % quantile 72.4 A, corner 78.0 A.
    bank = on_bar(5, 280.0, resistance={"dc": "14 mohm +- 3 mohm"}, limit=limit)
    finding = worst("P-SHARE-2", bank)
    assert finding.figure.value == pytest.approx(72.4, rel=0.01)
    assert finding.text.figures["corner"].value == pytest.approx(78.0, abs=0.05)
    assert finding.verdict == verdict


def test_share_with_one_away():
    # x 0.02, opposite ends, 280 A: 71.4 A with an end or the middle one away, 73.3 A with the second or fourth.
    bank = row(amps=280.0, **CHAIN_5)
    plan = plan_of(bank)
    for away, expected in (("M1", 71.4), ("M3", 71.4), ("M5", 71.4), ("M2", 73.3), ("M4", 73.3)):
        case = f"full discharge at lowest voltage, {away} open"
        assert max(plan.worst(m.name, (case,)).value for m in bank.modules) == pytest.approx(expected, abs=0.05)
    tolerant = row(amps=280.0, resistance={"dc": "14 mohm +- 3 mohm"}, **CHAIN_5)
    corner = max(found("P-SHARE-3", tolerant, side="full discharge"), key=lambda finding: finding.figure.high)
    assert corner.figure.high == pytest.approx(96.9, abs=0.15)
    assert corner.verdict == "caution"


def test_four_to_three_on_a_common_bar_is_a_fail_at_the_limit():
    # Practice case: 300 A over four modules of 100 A; one opens, and 100 A of 100 A leave no margin.
    finding = worst("P-SHARE-3", on_bar(4, 300.0))
    assert finding.figure.value == pytest.approx(100.0, abs=1e-6)
    assert finding.verdict == "fail"


def test_a_surge_that_trips_the_near_one_takes_all_four():
    # N 5, x 0.02, opposite ends, 500 A: worst 104 A; N 4, x 0.05, same end: 163 A of 150 A, then all four in turn.
    calm = row(amps=100.0, surge=500.0 * 46.0, **CHAIN_5)
    finding = found("P-TRIP-1", calm, side="surge")[0]
    assert finding.verdict == "pass"
    storm = row(4, "same end", 0.05, 100.0, surge=500.0 * 40.0)
    broken = found("P-TRIP-1", storm, side="surge")[0]
    assert broken.verdict == "fail"
    assert broken.text.text().count("M") >= 4


def test_device_for_a_continuous_inverter():
    # 6000 W, 92 %, 48.0 V: 135.87 A, x 1.25 = 169.8 A: 175 A; published worked example of NEC 706.30, 240.6(A).
    bank = {f"{INV}.power": "6 kW", f"{INV}.charger": None}
    good = found("P-DEVICE-1", edited({**bank, f"{F}.rating": "175 A"}), "F1")[0]
    assert good.figure.value == pytest.approx(169.84, abs=0.01)
    assert good.verdict == "pass"
    assert found("P-DEVICE-1", edited({**bank, f"{F}.rating": "150 A"}), "F1")[0].verdict == "fail"


def test_ampacity_is_two_tests_that_are_not_multiplied():
    # 2/0, 90 degC insulation, 75 degC terminals, 40 degC: 175 >= 169.8, min(195 x 0.91, 175) = 175; 1/0: 150 < 169.8.
    bank = {
        f"{INV}.power": "6 kW",
        "site.ambient": "8 degC to 40 degC",
        "wiring.main.method": "raceway",
        "wiring.main.bundled": 2,
    }
    first, second = (found(code, edited(bank), "main+")[0] for code in ("P-CABLE-1", "P-CABLE-2"))
    assert (first.limits[1], second.limits[1]) == (175.0, 175.0)
    assert (first.verdict, second.verdict) == ("pass", "pass")
    small = found("P-CABLE-1", edited({**bank, "wiring.main.cable": "1/0 AWG"}), "main+")[0]
    assert small.limits[1] == 150.0
    assert small.verdict == "fail"


@pytest.mark.parametrize(("air", "limit", "verdict"), [("40", 175.0, "pass"), ("55", 148.2, "caution")])
def test_heating_by_the_ripple(air, limit, verdict):
    # Without capacitors k_r = 1.225: 166.4 A against 175 A at 40 degC and 195 x 0.76 = 148.2 A at 55 degC.
    bank = edited(
        {
            f"{INV}.power": "6 kW",
            f"{INV}.capacitance": "1 uF",
            "site.ambient": f"8 degC to {air} degC",
            "wiring.main.method": "raceway",
            "wiring.main.bundled": 2,
        }
    )
    finding = found("P-CABLE-3", bank, "main+")[0]
    assert finding.figure.value == pytest.approx(166.4, abs=0.1)
    assert finding.limits[1] == pytest.approx(limit)
    assert finding.verdict == verdict
    assert found("P-CABLE-2", bank, "main+")[0].verdict == "pass"


@pytest.mark.parametrize(("air", "rating", "verdict"), [("40", "160 A", "pass"), ("30", "200 A", "fail")])
def test_gg_fuse_and_35_mm2_under_the_other_book(air, rating, verdict):
    # IEC 60364-5-52 B.52.12 method F, 35 mm2: 200 A at 30 degC, 182 A at 40 degC; 1.6 In <= 1.45 Iz.
    bank = edited(
        {
            "rules": "iec-60364",
            "wiring.main.cable": "35 mm2",
            "site.ambient": f"8 degC to {air} degC",
            f"{F}.rating": rating,
            f"{F}.class": "gG",
        }
    )
    finding = found("P-DEVICE-2", bank, "main+")[0]
    assert finding.verdict == verdict


@pytest.mark.parametrize(("rating", "verdict"), [("320 A", "pass"), ("200 A", "fail")])
def test_current_through_the_posts_of_a_row(rating, verdict):
    # 5 modules, opposite ends, 300 A: with the near one away all of it passes through that module's posts.
    bank = row(amps=300.0, posts={"pairs": 2, "inner": "40 uohm", "through": rating}, **CHAIN_5)
    finding = max(found("P-POST-1", bank), key=lambda each: each.figure.value)
    assert finding.figure.value == pytest.approx(300.0, rel=1e-6)
    assert finding.verdict == verdict


FUSES = """
[kinds.device.B]
type = "fuse"
rating = "125 A"
interrupts = "{icn}"
volts = "80 V"
[[devices]]
name = "FB"
kind = "B"
on = "each module +"
at = "bar end"
"""


@pytest.mark.parametrize(
    ("count", "icn", "amps", "verdict"),
    [(3, "50 kA", 19.3e3, "pass"), (3, "20 kA", 19.3e3, "caution"), (4, "20 kA", 28.9e3, "fail")],
)
def test_fault_through_a_branch_fuse(count, icn, amps, verdict):
    # Practice case: 4.8 mohm and 3 m of 2/0 a module, 53.6 V: 9.6 kA a branch; facts read at marinehowto.com.
    bank = on_bar(
        count,
        100.0,
        length="1.5 m",
        cable="2/0 AWG",
        more=FUSES.format(icn=icn),
        resistance={"dc": "14 mohm", "ohmic": "4.8 mohm"},
        full="3.35 V",
        charger="0.001 A",
    )
    findings = found("P-FAULT-1", bank)
    assert findings[0].figure.value == pytest.approx(amps, rel=0.01)
    assert {finding.verdict for finding in findings} == {verdict}


def test_backfeed_into_one_module():
    # N 5, branches 7.0 mohm, faulted lead 0.5 mohm, 54.4 V: 54.4 / (7.0/4 + 0.5) mohm = 24.2 kA of 10 kA.
    bank = on_bar(
        5,
        100.0,
        lead="125 uohm",
        resistance={"dc": "14 mohm", "ohmic": "6.5 mohm"},
        full="3.4 V",
        charger="0.001 A",
        breaker={"interrupts": "10 kA", "volts": "80 V"},
    )
    finding = found("P-FAULT-2", bank)[0]
    assert finding.figure.value == pytest.approx(24.2e3, rel=0.01)
    assert finding.verdict == "fail"


def test_voltage_of_a_device_where_a_charger_reaches_higher():
    assert (
        found("P-DEVICE-4", edited({f"{F}.volts": "60 V", f"{INV}.charger.voltage": "48 V to 64 V"}), "F1")[0].verdict
        == "fail"
    )
    assert found("P-DEVICE-4", edited({f"{F}.volts": "32 V"}), "F1")[0].verdict == "fail"


@pytest.mark.parametrize(("small", "large", "verdict"), [("200 A", "400 A", "pass"), ("350 A", "400 A", "fail")])
def test_order_of_opening_by_ratio_of_ratings(small, large, verdict):
    # One class in series opens in order from 2 to 1 on [UL 248, from memory].
    lead = {"type": "fuse", "class": "class T", "rating": small, "volts": "80 V"}
    bank = edited(
        {
            "kinds.device.lead": lead,
            "+inverters": {"name": "I2", "kind": "inv"},
            "+devices": {"name": "FI", "kind": "lead", "on": "I2+lead", "at": "J+"},
            f"{F}.rating": large,
        }
    )
    assert [finding.verdict for finding in found("P-CLEAR-5", bank)] == [verdict]


@pytest.mark.parametrize(
    ("hole", "stud", "gap", "verdict"),
    [("9 mm", "M8", 1.0, "pass"), ("10.32 mm", "M8", 2.32, "caution"), ("9 mm", "3/8 in", -0.525, "fail")],
)
def test_hole_and_stud(hole, stud, gap, verdict):
    # Clearance holes of ISO 273 and ASME B18.2.8 [read]: M8 normal 9.0 mm, 3/8 in normal 10.32 mm.
    finding = found("P-JOINT-1", edited({"kinds.lug.ring.hole": hole, f"{K}.posts.stud": stud}), "L1-@M1-")[0]
    assert finding.figure.value * 1e3 == pytest.approx(gap, abs=0.001)
    assert finding.verdict == verdict


def test_charging_with_one_away_passes_the_limit_that_all_five_keep():
    # 200 A over five is 40 A each, 42 A at a worst share of 1.04; over four 52 A of 50 A.
    bank = row(amps=100.0, charger="200 A", **CHAIN_5)
    assert worst("P-SHARE-1", bank, "full charge").figure.value == pytest.approx(41.6, abs=0.1)
    finding = max(found("P-CHARGE-1", bank), key=lambda each: each.figure.value)
    assert finding.figure.value == pytest.approx(52.4, abs=0.1)
    assert finding.verdict == "fail"


def test_eight_modules_in_a_utility_closet_are_too_many():
    # IRC 2021 R328.5: 40 kWh in a utility closet; 8 x 5.12 = 40.96 kWh.
    more = {f"+modules#{k}": {"name": f"M{k}", "kind": "S100"} for k in range(4, 9)}
    studs = [f"M{k}" for k in range(1, 9)] + ["main"]
    edits = {
        "site.place": "utility closet",
        "bars[0].studs": studs,
        "bars[1].studs": studs,
        "site.earthing.at": ["bar-9"],
        **more,
    }
    finding = found("P-PLACE-1", edited(edits))[0]
    assert finding.figure.value == pytest.approx(40.96)
    assert finding.verdict == "fail"


@pytest.mark.parametrize(("ohm", "verdict"), [("7 mohm", "pass"), ("10 mohm", "caution")])
def test_unlike_modules(ohm, verdict):
    # 100 Ah 14 mohm beside 200 Ah: R Q equal at 7 mohm, 18 % from the mean at 10 mohm.
    big = {"cells": 16, "capacity": "200 Ah", "resistance": {"dc": ohm}}
    bank = edited({"kinds.module.BIG": big, "modules[2].kind": "BIG"})
    verdicts = [finding.verdict for finding in found("P-UNLIKE-1", bank)]
    assert max(verdicts, key=["pass", "caution", "fail"].index) == verdict


def test_a_module_that_closes_again_meets_the_whole_inverter():
    # 6 kW, 0.92, at 44 V on one module: 148 A of 135 A.
    bank = edited({f"{K}.trips.recloses": "after 30 s", f"{INV}.power": "6 kW", f"{INV}.cut_out": "44 V"})
    finding = found("P-START-2", bank)[0]
    assert finding.figure.value == pytest.approx(148.2, abs=0.05)
    assert finding.limits[1] == pytest.approx(135.0)
    assert finding.verdict == "fail"
