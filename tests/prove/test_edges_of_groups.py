"""Limits of Prove that several readings meet together, of figures due and of what was set, from both sides."""

from __future__ import annotations

from types import MappingProxyType

import pytest

from bankwright.prove import share_checks
from bankwright.prove.meters import Clamp
from bankwright.prove.share_subject import ShareSubject
from bankwright.prove.sheet.due import Facts
from bankwright.prove.sheet.judge import judged_due
from bankwright.prove.sheet.places import branch_ohms
from bankwright.prove.sheet.sheet import prove_sheet
from bankwright.prove.terminals import full_current
from support import prove_edges, prove_edges_due
from support.edges import Edge, holds
from support.prove_edges import FULL, ON_BAR, one, sheet, warm, zeroed
from support.proved import barn, one_round, solved

pytestmark = pytest.mark.quick


@pytest.mark.parametrize("edge", [*prove_edges.EDGES, *prove_edges_due.EDGES], ids=str)
def test_a_limit_holds_from_both_sides(edge: Edge) -> None:
    holds(edge)


def test_full_current_of_a_link_is_its_share_of_the_inverters() -> None:
    # 233.8 A over five branches, two of seventeen per cent apart at the most: the worst carries less than 60 A
    assert 2 * 5000.0 / 0.93 / 46.0 / 5 < full_current(solved("bars"), "L3+").current < 60.0


def test_a_terminal_on_a_bar_has_its_limit_after_an_hour() -> None:
    most = ON_BAR * (90.0 - 38.0) / 4.0
    assert pytest.approx(0.79, abs=0.01) == ON_BAR
    told = warm("V-WARM-1")
    assert [told(most * part).verdict for part in (0.997, 1.003)] == ["pass", "fail"]


def test_at_once_is_said_from_fifteen_kelvin_on() -> None:
    told = warm("V-WARM-2")
    assert "when it can be" in told(4.0 + 15.0).do.text()
    assert "at once" in told(4.0 + 15.015).do.text()


def test_the_meter_widens_the_limit_at_zero_load() -> None:
    # a zero of 0.2 A of a clamp, 99 % of a flat error: 0.198 A; the whole band has to lie outside 2 A
    clamp = Clamp("clamp", 0.0, 0.2, 0.0, 0.0)

    assert [zeroed(2.0 + 0.198 + off, clamp).verdict for off in (-0.004, 0.004)] == ["pass", "caution"]


def test_too_little_load_settles_no_warmth() -> None:
    def told(part: float) -> str:
        taken = {("E4", "current", "main+"): part * FULL, ("E4", "temperature_difference", "main+@bar+1"): 0.1}
        return sheet("V-WARM-1", "E4", taken, "main+@bar+1").verdict

    assert [told(part) for part in (0.3996, 0.4004)] == ["unknown", "pass"]  # 40 %, NETA 100.18 (read)


# figures that the network gives, with the width of their band where the meter and the current as read make it: of the
# sag 3.275 % of it and 40 mV, of a run 3.275 % of it, 0.5 % and 0.5 mV of the hand meter, of a closing 30 mV and 0.5 A
LOADED = {("E1", "voltage", "bar+1"): 51.2, ("E2", "current", "main+"): 200.0, ("F0", "voltage", "bar+1"): 51.2}
LOADED |= {("F1", "current", "main+"): 160.0, ("B2", "voltage_drop", "M2"): 0.1}
LOADED |= {(step, "current", f"M{k}"): amps for step, amps in (("E2", 40.0), ("F1", -32.0)) for k in range(1, 6)}
AT_200 = 0.02 + 0.01 + 0.55 / 200.0
AT_160 = 0.02 + 0.01 + 0.55 / 160.0
BANDS = [
    ("V-SAG-1", "E2", "voltage", "bar+1", 51.2 - 0.591, 0.591 * AT_200 + 0.04),
    ("V-CHARGE-1", "F1", "voltage", "bar+1", 51.2 + 0.473, 0.473 * AT_160 + 0.04),
    ("V-PATH-1", "E2", "voltage_drop", "main+", 0.1531, 0.1531 * (AT_200 + 0.005) + 5e-4),
    ("V-PATH-1", "E2", "voltage_drop", "I2-lead", 0.0355, 0.0355 * (AT_200 + 0.005) + 5e-4),
    ("V-BRANCH-1", "E2", "current", "M1", 40.09, 40.09 * AT_200 + 0.5),
    ("V-BRANCH-1", "F1", "current", "M1", -32.07, 32.07 * AT_160 + 0.5),
]


@pytest.mark.parametrize(("code", "step", "quantity", "at", "figure", "meter"), BANDS, ids=lambda v: str(v))
def test_a_band_of_the_network_holds_from_both_sides(  # type: ignore[no-untyped-def]
    code, step, quantity, at, figure, meter
) -> None:
    now = next(now for now in prove_sheet(Facts(barn(), MappingProxyType(LOADED)), {}).steps if now.step.id == step)
    (due,) = [r.due for r in now.readings if (r.due.code, r.due.quantity, r.due.at) == (code, quantity, at)]
    low, high = due.band if due.band != (None, None) else due.window
    assert low is not None
    assert high is not None
    # the table's figure; on each side at least what meter and current leave, at most that and the bank's tolerances
    assert low < figure - 0.99 * meter < figure + 0.99 * meter < high
    assert high - low < 2.0 * (meter + 0.25 * abs(figure if quantity != "voltage" else figure - 51.2))
    out = 1e-3 * (high - low)
    told = [judged_due(due, value).verdict for value in (low - out, low + out, high - out, high + out)]
    assert told == ["caution", "pass", "pass", "caution"]


def test_a_closing_current_has_three_counts_and_half_an_ampere() -> None:
    # M2 onto M1: 6 +- 1 mohm each and what lies between; 0.1 V +- 0.03 V
    now = next(now for now in prove_sheet(Facts(barn(), MappingProxyType(LOADED), may_join=True), {}).steps
               if now.step.id == "B2")  # fmt: skip
    (due,) = [r.due for r in now.readings if (r.due.code, r.due.at) == ("V-JOIN-2", "M2")]
    own, other = (branch_ohms(barn(), barn().module(name)) for name in ("M2", "M1"))
    assert 6e-3 < own.nominal < 7e-3
    low, high = due.window
    assert low == pytest.approx(0.07 / (own.high + other.high) - 0.5)
    assert high == pytest.approx(0.13 / (own.low + other.low) + 0.5)
    assert low is not None
    assert high is not None
    told = [judged_due(due, value).verdict for value in (0.999 * low, 1.001 * low, 0.999 * high, 1.001 * high)]
    assert told == ["caution", "pass", "pass", "caution"]


def test_sums_close_within_what_six_readings_leave() -> None:
    # half a count of 0.1 A each, nothing else: 99 % of a sum of six flat errors of 0.05 A is 0.1762 A (Irwin-Hall),
    # the program's sample is 3 % off that
    clamp = Clamp("clamp", 0.0, 0.0, 0.1, 0.0)

    def told(gap: float) -> str:
        rounds = one_round(0, [0.0] * 5), one_round(200, [40.0] * 5, main=200.0 - gap)
        subject = ShareSubject(barn(), solved("bars"), rounds, clamp=clamp)
        return one(tuple(share_checks.closure.function(subject)), "V-SUM-1", "main+").verdict

    assert [told(gap) for gap in (-0.183, -0.169, 0.169, 0.183)] == ["unknown", "pass", "pass", "unknown"]


def test_branches_and_main_of_the_sheet_close_within_what_a_plain_clamp_leaves() -> None:
    def told(main: float) -> str:
        return sheet("V-SUM-2", "E2", {**LOADED, ("E2", "current", "main+"): main}, "main+").verdict

    # place 1 % and zero 0.5 A of each of six: within 2.58 standard deviations of their sum, 3.9 A
    deviation = ((200.0**2 + 5 * 40.0**2) * 0.01**2 / 3 + 6 * (0.5**2 + 0.05**2) / 3) ** 0.5
    most = 2.576 * deviation
    assert [told(200.0 + part * most) for part in (-1.1, -0.85, 0.85, 1.1)] == ["unknown", "pass", "pass", "unknown"]
